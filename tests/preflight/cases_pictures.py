# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases of the checks on pictures."""

from __future__ import annotations

from typing import Any

from foldproof.geometry import Rect
from foldproof.manuscript.file_facts import FileFacts, ImageFact, Intent, Profile
from foldproof.manuscript.model import PictureKind, PictureUse
from foldproof.preflight.model import Facts
from tests.preflight.case import NOTE, QUERY, STOP, Passes, Trips
from tests.preflight.facts import a_picture, an_object, facts

PIXELS = (600, 400)
#: of a_picture(300): 50.8 x 33.9 mm from (20, 40)
PLACE = Rect(20, 40, 20 + 50.8, 40 + 400 / 300 * 25.4)


def an_image(key: str = "7 0", *, pages: tuple[int, ...] = (2,), **fields: Any) -> ImageFact:
    """The object that ``a_picture`` paints, unless said otherwise."""
    return ImageFact(
        **{
            "key": key,
            "width_px": PIXELS[0],
            "height_px": PIXELS[1],
            "bits": 8,
            "space": "DeviceCMYK",
            "mask": False,
            "filters": ("FlateDecode",),
            "interpolate": False,
            "intent": None,
            "alternates": 0,
            "alternate_prints": False,
            "opi": False,
            "soft_mask": False,
            "jpeg_quality": None,
            "profile": None,
            "pages": pages,
            "stored_bytes": 200_000,
            **fields,
        }
    )


def jpeg(quality: int, key: str = "7 0", **fields: Any) -> ImageFact:
    return an_image(key, filters=("DCTDecode",), jpeg_quality=quality, **fields)


def shown(*pictures: PictureUse, images: tuple[ImageFact, ...] = (), intents: tuple[Intent, ...] = ()) -> Facts:
    """A plain book with pictures on page 3."""
    return facts(
        objects={2: an_object(2, pictures=pictures)}, book={"facts": FileFacts(images=images, intents=intents)}
    )


def on_pages(*pages: tuple[PictureUse, ...], images: tuple[ImageFact, ...]) -> Facts:
    """A plain book with pictures from page 3 on."""
    return facts(
        objects={2 + n: an_object(2 + n, pictures=uses) for n, uses in enumerate(pages)},
        book={"facts": FileFacts(images=images)},
    )


def cmyk(description: str) -> Profile:
    return Profile(True, "", "2.1", "prtr", "CMYK", description, 4)


COATED = Intent("GTS_PDFX", "Lantern Coated", "", "", "", 4, cmyk("Lantern Row Coated"))
SOUND = shown(a_picture(300), images=(an_image(),))

TRIPS = (
    Trips(
        "picture-resolution",
        "far finer than any screen",
        shown(a_picture(900), images=(an_image(stored_bytes=400_000),)),
        NOTE,
        "picture-resolution/contone-high",
        3,
        # three quarters of the pixels are too many: (450 / 900) squared is a quarter
        ("a picture with 900 ppi", "about 300 KB heavier", "to 300 ppi"),
        900.0,
    ),
    Trips(
        "picture-resolution",
        "two too fine on one page: the one that weighs more is named, and the sum",
        shown(
            a_picture(900),
            a_picture(1800, pixels=(500, 500)),
            images=(an_image(stored_bytes=400_000), an_image("8 0", width_px=500, height_px=500)),
        ),
        NOTE,
        "picture-resolution/contone-high",
        3,
        # 300 KB, and 15/16 of 200 KB
        ("2 pictures, the heaviest with 900 ppi", "about 488 KB"),
    ),
    Trips(
        "picture-resolution",
        "line work finer than the plate-setter draws",
        shown(
            a_picture(7200, kind=PictureKind.LINE_WORK, pixels=(6000, 4000), space="DeviceGray"),
            images=(an_image(width_px=6000, height_px=4000, bits=1, space="DeviceGray"),),
        ),
        NOTE,
        "picture-resolution/line-high",
        3,
        ("a picture with 7200 ppi", "150 KB", "2400 ppi"),
    ),
    Trips(
        "picture-resolution",
        "an icon of 72 ppi is asked about and stops nothing",
        shown(a_picture(72, pixels=(16, 16))),
        QUERY,
        "picture-resolution/contone",
        3,
        ("a picture has 72 ppi at its placed size (16 x 16 pixels on 5.6 x 5.6 mm)",),
        72.0,
    ),
    Trips(
        "picture-resolution",
        "a pixel of two inches",
        shown(a_picture(0.5, pixels=(5, 5), place_mm=Rect(0, 0, 140, 216))),
        STOP,
        "picture-resolution/contone",
        3,
        ("a picture has 0.5 ppi",),
    ),
    Trips(
        "picture-resolution",
        "an icon beside a picture that stops the book",
        shown(a_picture(72, pixels=(16, 16)), a_picture(100)),
        STOP,
        "picture-resolution/contone",
        3,
        ("the worst of 2 pictures has 100 ppi",),
        100.0,
    ),
    Trips(
        "picture-distortion",
        "half as wide again",
        shown(a_picture(300, ppi_y=450.0)),
        QUERY,
        "picture-distortion",
        3,
        ("stretched by 50 % in width (300 ppi across and 450 ppi down",),
        50.0,
    ),
    Trips(
        "picture-distortion",
        "a little too high",
        shown(a_picture(300, ppi_x=324.0)),
        NOTE,
        "picture-distortion",
        3,
        ("8 % in height",),
    ),
    Trips(
        "picture-colour",
        "two RGB pictures in a four-ink book",
        shown(a_picture(300, space="DeviceRGB"), a_picture(300, space="Indexed(ICCBased(3))")),
        QUERY,
        "picture-colour/RGB",
        3,
        ("2 pictures are in RGB; the book is printed in four inks",),
        "RGB",
        {"inks": "cmyk"},
    ),
    Trips(
        "picture-colour",
        "Lab in a black book",
        shown(a_picture(300, space="Lab")),
        QUERY,
        "picture-colour/Lab",
        3,
        ("a picture is in Lab; the book is printed in black alone", "grey"),
        limits={"inks": "black"},
    ),
    Trips(
        "picture-colour",
        "any inks: noted",
        shown(a_picture(300, space="CalRGB")),
        NOTE,
        "picture-colour/RGB",
        3,
    ),
    Trips(
        "picture-colour",
        "another printing condition than the book's",
        shown(
            a_picture(300, space="ICCBased(4)"),
            images=(an_image(space="ICCBased(4)", profile=cmyk("Lantern Row Newsprint")),),
            intents=(COATED,),
        ),
        NOTE,
        "picture-colour/profile",
        3,
        ('carries the profile "Lantern Row Newsprint"; the book is made for "Lantern Row Coated"',),
        limits={"inks": "cmyk"},
    ),
    Trips("picture-depth", "16 bits", shown(a_picture(300, bits=16)), NOTE, "picture-depth", 3, ("16 bits",), 16.0),
    Trips(
        "picture-depth",
        "JPEG 2000 of 12 bits, which the object pass sees in 8",
        shown(a_picture(300), images=(an_image(filters=("JPXDecode",), bits=12),)),
        NOTE,
        "picture-depth",
        3,
        ("12 bits a colour",),
    ),
    Trips(
        "jpeg-2000",
        "one",
        shown(a_picture(300), images=(an_image(filters=("JPXDecode",)),)),
        NOTE,
        "jpeg-2000",
        3,
        ("a picture is coded as JPEG 2000",),
    ),
    Trips(
        "jpeg-2000",
        "one of two that cannot be told apart",
        shown(a_picture(300), a_picture(300), images=(an_image(filters=("JPXDecode",)), an_image("8 0"))),
        NOTE,
        "jpeg-2000",
        3,
        ("one of 2 pictures is coded",),
    ),
    Trips(
        "jbig2",
        "shapes that stand for others",
        shown(
            a_picture(600, kind=PictureKind.LINE_WORK),
            images=(an_image(bits=1, space="DeviceGray", filters=("JBIG2Decode",), coding="symbols"),),
        ),
        QUERY,
        "jbig2/symbols",
        3,
        ("a 1-bit picture is coded as JBIG2 with shapes", "Compare figures"),
    ),
    Trips(
        "jbig2",
        "pixel by pixel",
        shown(
            a_picture(600, kind=PictureKind.LINE_WORK),
            images=(an_image(bits=1, space="DeviceGray", filters=("JBIG2Decode",), coding="areas"),),
        ),
        NOTE,
        "jbig2/areas",
        3,
        ("older plate-setters",),
    ),
    Trips(
        "inline-pictures",
        "the larger of two",
        shown(
            a_picture(300, pixels=(100, 100), inline=True),
            a_picture(300, pixels=(50, 50), space="DeviceRGB", inline=True),
        ),
        NOTE,
        "inline-pictures",
        3,
        # 100 x 100 x 4 bytes
        ("2 pictures, the largest of 40 KB, stand in the text of the page",),
    ),
    Trips(
        "jpeg-quality",
        "pressed hard",
        shown(a_picture(300), images=(jpeg(12),)),
        QUERY,
        "jpeg-quality",
        3,
        ("JPEG of quality 12 of 100",),
        12.0,
    ),
    Trips(
        "jpeg-quality",
        "the worse of two",
        shown(a_picture(300), a_picture(300), images=(jpeg(45), jpeg(30, "8 0"))),
        NOTE,
        "jpeg-quality",
        3,
        ("the worst of 2 pictures was saved as JPEG of quality 30", "may show"),
    ),
    Trips(
        "jpeg-quality",
        "one of two that cannot be told apart",
        shown(a_picture(300), a_picture(300), images=(jpeg(90), jpeg(20, "8 0"))),
        QUERY,
        "jpeg-quality",
        3,
        ("one of 2 pictures was saved",),
    ),
    Trips(
        "picture-mirrored",
        "left to right",
        shown(a_picture(300, mirrored=True), a_picture(300)),
        NOTE,
        "picture-mirrored/sides",
        3,
        ("a picture is mirrored left to right",),
    ),
    Trips(
        "picture-mirrored",
        "top to bottom, alone in the book",
        shown(a_picture(300, mirrored=True, turned=180.0), *[a_picture(300)] * 3),
        NOTE,
        "picture-mirrored/upside-down",
        3,
    ),
    Trips(
        "picture-turned",
        "crooked by a slip",
        shown(a_picture(300, turned=359.3), a_picture(300, turned=90.4)),
        NOTE,
        "picture-turned/crooked",
        3,
        ("2 pictures are turned by up to 0.7 degrees",),
        0.7,
    ),
    Trips("picture-turned", "on its head", shown(a_picture(300, turned=180.0)), NOTE, "picture-turned/head", 3),
    Trips("picture-turned", "slanted", shown(a_picture(300, skewed=True)), NOTE, "picture-turned/skewed", 3),
    Trips(
        "hidden-picture-matter",
        "a corner of it is seen",
        shown(a_picture(300, shown_mm=Rect(20, 40, 45.4, 40 + 16.93)), images=(an_image(),)),
        NOTE,
        "hidden-picture-matter/clipped",
        3,
        # half the width and half the height are seen: three quarters of 200 KB are not
        ("25 % of a picture is seen", "about 150 KB"),
        75.0,
    ),
    Trips(
        "hidden-picture-matter",
        "beside the page",
        shown(a_picture(300, place_mm=Rect(-80, 40, -20, 80)), images=(an_image(),)),
        NOTE,
        "hidden-picture-matter/clipped",
        3,
        ("nothing of a picture is seen", "200 KB"),
        100.0,
    ),
    Trips(
        "hidden-picture-matter",
        "most of it runs off the page, however light",
        # 13 of 50 mm stand on the 140 mm of the trim and its 3 mm of bleed
        shown(a_picture(300, place_mm=Rect(130, 40, 180, 80)), images=(an_image(stored_bytes=9000),)),
        QUERY,
        "hidden-picture-matter/off-page",
        3,
        ("26 % of a picture is seen", "the rest runs off the page", "where it should"),
        74.0,
    ),
    Trips(
        "picture-interpolation",
        "coarse, and to be smoothed",
        shown(a_picture(120), images=(an_image(interpolate=True),)),
        NOTE,
        "picture-interpolation",
        3,
        ("a picture asks to be smoothed (120 ppi)",),
    ),
)

PASSES = (
    Passes("picture-resolution", "at the upper limit", shown(a_picture(450), images=(an_image(),))),
    Passes(
        "picture-resolution",
        "fine on one page, and needed so on another",
        on_pages((a_picture(900),), (a_picture(300),), images=(an_image(pages=(2, 3)),)),
    ),
    Passes(
        "picture-resolution",
        "fine, and as light as nothing",
        shown(a_picture(900), images=(an_image(stored_bytes=20_000),)),
    ),
    Passes("picture-resolution", "coarse, and behind its clip", shown(a_picture(20, shown_mm=Rect(20, 40, 20, 60)))),
    Passes("picture-distortion", "5 %", shown(a_picture(300, ppi_y=314.9))),
    Passes(
        "picture-distortion",
        "rules and gradients of a few pixels",
        shown(
            a_picture(1, kind=PictureKind.STENCIL, pixels=(1, 1), ppi_y=150.0, place_mm=Rect(20, 40, 80, 40.2)),
            a_picture(30, pixels=(8, 256), ppi_y=300.0),
        ),
    ),
    Passes(
        "picture-distortion",
        "a telefax in standard resolution, 204 by 98 dots an inch",
        shown(a_picture(204, kind=PictureKind.LINE_WORK, pixels=(1728, 1143), ppi_y=98.0)),
    ),
    Passes(
        "picture-colour",
        "grey, CMYK, spot; a stencil has no colour; of a soft mask nobody asks",
        shown(
            a_picture(300, space="ICCBased(1)"),
            a_picture(300, space="Separation(DeviceRGB)"),
            a_picture(300, kind=PictureKind.STENCIL, space="none"),
            a_picture(300, kind=PictureKind.SOFT_MASK, space="DeviceRGB"),
        ),
        {"inks": "cmyk"},
    ),
    Passes(
        "picture-colour",
        "the profile of the output intent, or one that cannot be read",
        shown(
            a_picture(300, space="ICCBased(4)"),
            a_picture(300, pixels=(500, 500), space="ICCBased(4)"),
            images=(
                an_image(space="ICCBased(4)", profile=cmyk("Lantern Row Coated")),
                an_image("8 0", width_px=500, height_px=500, space="ICCBased(4)", profile=Profile(False, "cut short")),
            ),
            intents=(COATED,),
        ),
        {"inks": "cmyk"},
    ),
    Passes("picture-depth", "8 bits", SOUND),
    Passes(
        "picture-depth",
        "one of two may be deeper",
        shown(
            a_picture(300), images=(an_image(filters=("JPXDecode",), bits=12), an_image("8 0", filters=("JPXDecode",)))
        ),
    ),
    Passes("jpeg-2000", "JPEG", shown(a_picture(300), images=(jpeg(90),))),
    Passes(
        "jpeg-2000",
        "named by the page and never painted: one painting, two that fit",
        shown(a_picture(300), images=(an_image(filters=("JPXDecode",)), an_image("8 0"))),
    ),
    Passes(
        "jpeg-2000",
        "the same size on another page, another size on this",
        shown(
            a_picture(300),
            images=(
                an_image(filters=("JPXDecode",), pages=(3,)),
                an_image("8 0", filters=("JPXDecode",), width_px=601),
                an_image("9 0", filters=("JPXDecode",), role="alternate"),
            ),
        ),
    ),
    Passes(
        "jbig2",
        "CCITT",
        shown(
            a_picture(600, kind=PictureKind.LINE_WORK),
            images=(an_image(bits=1, space="DeviceGray", filters=("CCITTFaxDecode",)),),
        ),
    ),
    Passes(
        "inline-pictures",
        "a small one, and a large one that is an object",
        shown(a_picture(300, pixels=(32, 32), inline=True), a_picture(300)),
    ),
    Passes("jpeg-quality", "at the limit", shown(a_picture(300), images=(jpeg(50),))),
    Passes("jpeg-quality", "so fine that no block is seen", shown(a_picture(450), images=(jpeg(20),))),
    Passes("jpeg-quality", "no JPEG", SOUND),
    Passes(
        "picture-mirrored",
        "a program that stores pictures from the foot up",
        on_pages(*[(a_picture(300, mirrored=True, turned=180.0),)] * 4, images=()),
    ),
    Passes("picture-turned", "by quarters, by less than is seen, by so much that it is meant", shown(
        *(a_picture(300, turned=angle) for angle in (0.0, 0.1, 90.0, 270.0, 12.0, 359.9)),
        a_picture(300, turned=180.0, mirrored=True),
    )),
    Passes(
        "hidden-picture-matter",
        "a folding plate: the picture goes on on the next pages",
        on_pages(
            (a_picture(300, place_mm=Rect(100, 40, 300, 140)),),
            (a_picture(300, place_mm=Rect(-43, 40, 157, 140)),),
            images=(an_image(pages=(2, 3)),),
        ),
    ),
    Passes(
        "hidden-picture-matter",
        "half of it stands on the page beside this",
        shown(a_picture(300, place_mm=Rect(70, 40, 210, 180)), images=(an_image(),)),
    ),
    Passes(
        "hidden-picture-matter",
        "half of it",
        shown(a_picture(300, shown_mm=Rect(20, 40, 47, 80)), images=(an_image(),)),
    ),
    Passes(
        "hidden-picture-matter",
        "cut into parts that stand on three pages",
        on_pages(
            *[(a_picture(300, shown_mm=Rect(20, 40, 37, 80)),)] * 3,
            images=(an_image(pages=(2, 3, 4)),),
        ),
    ),
    Passes(
        "hidden-picture-matter",
        "little weight",
        shown(a_picture(300, shown_mm=Rect(20, 40, 30, 80)), images=(an_image(stored_bytes=40_000),)),
    ),
    Passes("picture-interpolation", "fine enough", shown(a_picture(300), images=(an_image(interpolate=True),))),
    Passes("picture-interpolation", "coarse, and left as it is", shown(a_picture(120), images=(an_image(),))),
)  # fmt: skip
