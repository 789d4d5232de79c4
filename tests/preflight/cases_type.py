# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases of the checks on fonts, on the colour of type and lines, and on spot colours."""

from __future__ import annotations

from typing import Any

from foldproof.geometry import Rect
from foldproof.manuscript.file_facts import FileFacts, FontProgram, SpotFact
from foldproof.manuscript.model import ColourUse, FontFact, FontKind
from foldproof.manuscript.seen import PaintUse, TextUse, Transparency
from foldproof.preflight.model import Facts
from tests.preflight.case import NOTE, QUERY, STOP, Passes, Trips
from tests.preflight.facts import a_page, a_picture, an_object, facts

PLACE = Rect(20, 30, 60, 34)
BLACK = {"space": "DeviceCMYK", "values": (0.0, 0.0, 0.0, 1.0)}
WHITE = {"space": "DeviceCMYK", "values": (0.0, 0.0, 0.0, 0.0)}
#: a red in two inks
RED = {"space": "DeviceCMYK", "values": (0.0, 0.9, 0.8, 0.0)}
FOUR = (("Cyan", 0.6), ("Magenta", 0.4), ("Yellow", 0.4), ("Black", 0.05))


def cmyk(*percent: float) -> dict[str, Any]:
    return {"space": "DeviceCMYK", "values": tuple(value / 100 for value in percent)}


def some_type(size_pt: float = 10.0, **fields: Any) -> TextUse:
    return TextUse(
        **{
            "font": "ABCDEF+Serif",
            "size_pt": size_pt,
            "how": "fill",
            **BLACK,
            "overprint": False,
            "overprint_mode": 0,
            "alpha": 1.0,
            "blend": "Normal",
            "glyphs": 40,
            "undefined": 0,
            "count": 2,
            "first_mm": PLACE,
            **fields,
        }
    )


def some_paint(what: str = "fill", **fields: Any) -> PaintUse:
    return PaintUse(
        **{
            "what": what,
            **BLACK,
            "overprint": False,
            "overprint_mode": 0,
            "alpha": 1.0,
            "blend": "Normal",
            "count": 3,
            "first_mm": PLACE,
            **fields,
        }
    )


def a_line(width_pt: float, **fields: Any) -> PaintUse:
    return some_paint("stroke", **{"thinnest_pt": width_pt, "thinnest_mm": PLACE, **fields})


def typed(*uses: TextUse) -> Facts:
    """The plain book, with this type on its third page."""
    return facts(objects={2: an_object(2, texts=uses)})


def painted(*uses: PaintUse) -> Facts:
    return facts(objects={2: an_object(2, paints=uses)})


def program(key: str = "5 0", **fields: Any) -> FontProgram:
    return FontProgram(**{"key": key, "fs_type": None, "bitmap": False, "digest": "a", "size_bytes": 9000, **fields})


def holding(*programs: FontProgram, fonts: dict[str, FontFact] | None = None, **pages: Any) -> Facts:
    return facts(book={"facts": FileFacts(programs=programs), **({"fonts": fonts} if fonts else {})}, **pages)


def spots(*found: SpotFact, also: tuple[str, ...] = ()) -> Facts:
    names = tuple(dict.fromkeys([*(spot.name for spot in found), *also]))
    return facts(book={"spots": names, "facts": FileFacts(spots=found)})


def ink(name: str, tint: str = "a", alternate: str = "DeviceCMYK", pages: tuple[int, ...] = (3,)) -> SpotFact:
    return SpotFact(name, alternate, tint, pages)


PICTURES = {"7 0": FontFact("7 0", "", FontKind.TYPE3, True, False)}
COPIES = {f"{n} 0": FontFact(f"{n} 0", f"{chr(64 + n) * 6}+Serif", FontKind.CID_CFF, True, True) for n in range(1, 13)}
WHOLE = {"5 0": FontFact("5 0", "Serif", FontKind.TRUETYPE, True, False)}

LISTED = {
    "5 0": FontFact("5 0", "ABCDEF+Serif", FontKind.CID_CFF, True, True),
    "9 0": FontFact("9 0", "Courier", FontKind.TYPE1, False, False),
}
#: what may hide the use of a font that is listed: type of no font that the page lists, masks, an interpreter cut short
HIDDEN: tuple[dict[str, Any], ...] = (
    {"texts": (some_type(), some_type(font="NimbusMonoPS-Regular"))},
    {"texts": (some_type(),), "transparency": Transparency(soft_masks=True)},
    {"texts": (some_type(),), "cut_short": True},
    {"texts": (some_type(),), "remarks": ("a stream does not unpack",)},
    {"texts": ()},
)

TRIPS = (
    *(
        Trips(
            "fonts-embedded",
            f"listed, and perhaps shown ({number})",
            facts(
                book={"fonts": LISTED},
                pages={2: a_page(2, fonts=("5 0", "9 0"))},
                objects={2: an_object(2, **fields)},
            ),
            STOP,
            "fonts-embedded/Courier",
            3,
        )
        for number, fields in enumerate(HIDDEN, 1)
    ),
    Trips(
        "fonts-embedded",
        "listed, and a layer might show it",
        facts(
            book={"fonts": LISTED, "layers": ("Notes",)},
            pages={2: a_page(2, fonts=("5 0", "9 0"))},
            objects={2: an_object(2, texts=(some_type(),))},
        ),
        STOP,
        "fonts-embedded/Courier",
        3,
    ),
    Trips(
        "bitmap-type",
        "letters that are pictures",
        holding(program("7 0", bitmap=True, digest=""), fonts=PICTURES, pages={2: a_page(2, fonts=("7 0",))}),
        QUERY,
        "bitmap-type",
        3,
        ("the letters of 1 font are kept as small pictures",),
        1,
    ),
    Trips(
        "missing-glyphs",
        "two signs",
        typed(some_type(undefined=2, undefined_mm=Rect(30, 30, 40, 34))),
        QUERY,
        "missing-glyphs",
        3,
        ("2 signs are shown that Serif does not have",),
        2,
    ),
    # fsType 2: restricted licence embedding (OpenType specification, table OS/2)
    Trips(
        "font-licence",
        "restricted",
        holding(program(fs_type=2)),
        QUERY,
        "font-licence/restricted/Serif",
        None,
        ("The font Serif (pages 1 to 16) says of itself that it must not be embedded",),
        "fsType 2",
    ),
    # 0x200: bitmap embedding only
    Trips(
        "font-licence",
        "pictures of it only",
        holding(program(fs_type=0x208)),
        QUERY,
        "font-licence/pictures-only/Serif",
        None,
        ("only its pictures may be embedded",),
    ),
    # 0x100: no subsetting
    Trips(
        "font-licence",
        "a part of one that is to stay whole",
        holding(program(fs_type=0x104)),
        NOTE,
        "font-licence/no-subset/Serif",
        None,
        ("only whole",),
    ),
    Trips(
        "font-copies",
        "twelve parts of one face",
        holding(*(program(key, digest=key) for key in COPIES), fonts=COPIES),
        NOTE,
        "font-copies",
        None,
        ("Serif (12 times)", "108 kB"),
        12,
    ),
    Trips(
        "damaged-fonts",
        "cut short",
        holding(program(damaged="it is cut short"), pages={n: a_page(n, fonts=()) for n in (1, 2)}, count=3),
        STOP,
        "damaged-fonts/Serif",
        1,
        ("does not read (it is cut short)",),
    ),
    Trips(
        "small-type",
        "4 pt",
        typed(some_type(4.0), some_type(4.5, glyphs=2)),
        QUERY,
        "small-type/one-ink",
        3,
        ("type of 4 pt (Serif) is set; 5 pt is the least, and 42 signs on the page are smaller",),
        4.0,
    ),
    Trips(
        "small-type",
        "8 pt in red",
        typed(some_type(8.0, **RED)),
        QUERY,
        "small-type/inks",
        3,
        ("90 % magenta and 80 % yellow; 9 pt",),
        8.0,
    ),
    Trips(
        "small-type",
        "6.5 pt in a picture",
        typed(some_type(6.5, **WHITE, ground=FOUR)),
        QUERY,
        "small-type/reversed",
        3,
        ("left white in a ground of 60 % cyan, 40 % magenta and 40 % yellow; 7 pt",),
        6.5,
    ),
    Trips(
        "small-type",
        "5.5 pt in black",
        typed(some_type(5.5, space="DeviceGray", values=(1.0,), ground=(("Black", 1.0),))),
        QUERY,
        "small-type/reversed",
        3,
        ("a ground of 100 % black; 6 pt",),
        5.5,
    ),
    Trips(
        "grey-type",
        "7 pt in half a black",
        typed(some_type(7.0, space="DeviceGray", values=(0.5,))),
        QUERY,
        "grey-type",
        3,
        ("a tint of 50 % black", "below 8 pt"),
        7.0,
    ),
    Trips(
        "grey-type",
        "black made grey by transparency",
        typed(some_type(7.0, alpha=0.6)),
        QUERY,
        "grey-type",
        3,
        ("a tint of 60 % black",),
    ),
    Trips(
        "rich-black-type",
        "9 pt with cyan under it",
        typed(some_type(9.0, **cmyk(60, 0, 0, 100))),
        QUERY,
        "rich-black-type/small",
        3,
        ("60 % cyan and 100 % black; under 12 pt",),
        9.0,
    ),
    Trips(
        "rich-black-type",
        "a heading in all inks",
        typed(some_type(36.0, **cmyk(100, 100, 100, 100))),
        QUERY,
        "rich-black-type/all-inks",
        3,
        ("solid in all four inks",),
        400.0,
    ),
    Trips(
        "four-colour-grey",
        "a grey of three",
        typed(some_type(9.0, **cmyk(50, 40, 40, 0))),
        QUERY,
        "four-colour-grey",
        3,
        ("50 % cyan, 40 % magenta and 40 % yellow",),
        9.0,
    ),
    Trips(
        "black-knocks-out",
        "on a red ground",
        typed(some_type(9.0, ground=(("Magenta", 0.9), ("Yellow", 0.8)))),
        QUERY,
        "black-knocks-out",
        3,
        ("a ground of 90 % magenta and 80 % yellow",),
        9.0,
    ),
    # ISO 32000-1, table 148: with mode 0 DeviceCMYK paints all four process plates, overprint or not
    Trips(
        "black-knocks-out",
        "overprint mode 0",
        typed(some_type(9.0, overprint=True, ground=(("Magenta", 0.9),))),
        QUERY,
        "black-knocks-out",
        3,
    ),
    # the same table: any other process space paints all of them
    Trips(
        "black-knocks-out",
        "DeviceGray",
        typed(
            some_type(
                9.0,
                space="DeviceGray",
                values=(0.0,),
                overprint=True,
                overprint_mode=1,
                ground=(("Magenta", 0.9),),
            )
        ),
        QUERY,
        "black-knocks-out",
        3,
    ),
    # the same table: a zero in DeviceCMYK leaves the plate alone with mode 1
    Trips(
        "white-overprints",
        "white type",
        typed(some_type(**WHITE, overprint=True, overprint_mode=1)),
        QUERY,
        "white-overprints",
        3,
        ("white type is set to overprint",),
    ),
    Trips(
        "white-overprints",
        "areas and rules",
        painted(
            some_paint(**WHITE, overprint=True, overprint_mode=1),
            some_paint("stroke", space="Separation(Lantern Gold)", values=(0.0,), overprint=True),
        ),
        QUERY,
        "white-overprints",
        3,
        ("white areas and rules are set to overprint",),
    ),
    Trips(
        "all-plates",
        "type inside the trim",
        typed(some_type(space="Separation(All)", values=(1.0,))),
        QUERY,
        "all-plates",
        3,
        ("type is set in the registration colour", "in black"),
    ),
    Trips(
        "all-plates",
        "an area and a picture",
        facts(
            objects={
                6: an_object(
                    6,
                    paints=(some_paint(space="Separation(All)", values=(1.0,)),),
                    pictures=(a_picture(300, space="Indexed(Separation(All))"),),
                )
            }
        ),
        QUERY,
        "all-plates",
        7,
        ("areas and pictures are set",),
    ),
    Trips(
        "spot-names",
        "case, spaces, hyphens, paper",
        spots(ink("Lantern Gold"), ink("lantern-gold"), ink("Lantern Gold C")),
        QUERY,
        "spot-names/alike/lanterngold",
        None,
        ('"Lantern Gold", "lantern-gold" and "Lantern Gold C" differ in spelling',),
        3,
    ),
    Trips("spot-names", "numbers", spots(ink("Ember 12 C"), ink("ember 12c")), QUERY, "spot-names/alike/ember12"),
    Trips(
        "spot-names",
        "a process ink in small letters",
        spots(ink("black")),
        QUERY,
        "spot-names/process/black",
        None,
        ('A spot colour is called "black" (page 4), nearly as the process ink Black',),
    ),
    Trips(
        "spot-names",
        "two recipes",
        spots(ink("Ember"), ink("Ember", tint="b", pages=(7,)), ink("Ember", pages=(4, 5, 6))),
        NOTE,
        "spot-names/recipe/Ember",
        None,
        ("described in 2 ways, with other values of DeviceCMYK, otherwise than elsewhere on page 8",),
        2,
    ),
    Trips(
        "thin-lines",
        "a hairline",
        painted(a_line(0.0)),
        QUERY,
        "thin-lines/line",
        3,
        ("as thin as the plate-setter can draw",),
        0.0,
    ),
    Trips(
        "thin-lines",
        "a tenth of a point",
        painted(a_line(0.1), a_line(0.2)),
        QUERY,
        "thin-lines/line",
        3,
        ("a line is 0.1 pt (0.04 mm) thick; 0.125 pt",),
        0.1,
    ),
    Trips(
        "thin-lines",
        "a filled rectangle that is a rule",
        painted(some_paint(space="DeviceGray", values=(0.0,), thinnest_pt=0.08)),
        QUERY,
        "thin-lines/line",
        3,
        measured=0.08,
    ),
    Trips(
        "thin-lines",
        "a fifth of a point",
        painted(a_line(0.2)),
        NOTE,
        "thin-lines/line",
        3,
        ("0.25 pt is the least",),
        0.2,
    ),
    Trips(
        "thin-lines",
        "red",
        painted(a_line(0.4, **RED)),
        QUERY,
        "thin-lines/inks",
        3,
        ("a line of 0.4 pt (0.14 mm) is printed in 90 % magenta and 80 % yellow; 0.5 pt",),
    ),
    Trips(
        "thin-lines",
        "grey",
        painted(a_line(0.4, space="DeviceGray", values=(0.5,))),
        NOTE,
        "thin-lines/tint",
        3,
        ("a tint of 50 % black",),
    ),
    Trips("thin-lines", "white", painted(a_line(0.3, **WHITE)), NOTE, "thin-lines/white", 3, ("a white line is",)),
    Trips(
        "rgb-matter",
        "black type on a screen, and its white is nothing",
        facts(
            objects={
                2: an_object(
                    2,
                    colours=(ColourUse("DeviceRGB", "text", 9, PLACE), ColourUse("DeviceRGB", "fill", 1, PLACE)),
                    texts=(some_type(space="DeviceRGB", values=(0.0, 0.0, 0.0)),),
                    paints=(some_paint(space="DeviceRGB", values=(1.0, 1.0, 1.0)),),
                )
            }
        ),
        QUERY,
        "rgb-matter/RGB",
        3,
        ("Page 3: black text in RGB",),
        limits={"inks": "cmyk"},
    ),
    # ISO 12647-2: tone values from 3 to 97 % print evenly (from memory)
    Trips(
        "light-tints",
        "2 % black",
        painted(some_paint(space="DeviceGray", values=(0.98,)), some_paint(**cmyk(2.5, 0, 0, 0))),
        QUERY,
        "light-tints",
        3,
        ("a tint of 2 % black", "3 % at least"),
        2.0,
    ),
    Trips(
        "heavy-tints",
        "type in 98 % black",
        typed(some_type(**cmyk(0, 0, 0, 98))),
        NOTE,
        "heavy-tints/type",
        3,
        ("type is set in 98 % black", "solid (100 %)"),
        98.0,
    ),
    Trips(
        "heavy-tints",
        "an area with 99 % cyan",
        painted(some_paint(**cmyk(99, 40, 0, 0))),
        NOTE,
        "heavy-tints/matter",
        3,
        ("99 % cyan",),
    ),
)

BESIDE = Rect(-30, 30, -10, 34)

PASSES = (
    Passes(
        "bitmap-type",
        "Type 3 of outlines",
        holding(program("7 0", digest=""), fonts=PICTURES, pages={2: a_page(2, fonts=("7 0",))}),
    ),
    Passes(
        "type3-fonts",
        "letters that are pictures are another check's",
        holding(program("7 0", bitmap=True), fonts=PICTURES, pages={2: a_page(2, fonts=("7 0",))}),
    ),
    Passes("missing-glyphs", "none", typed(some_type())),
    Passes(
        "missing-glyphs",
        "the spaces of a music font",
        facts(
            book={"fonts": {"5 0": FontFact("5 0", "ABCDEF+Neumes", FontKind.TYPE1_CFF, True, True)}},
            objects={2: an_object(2, texts=(some_type(undefined=9, undefined_blank=9, font="ABCDEF+Neumes"),))},
        ),
    ),
    Passes(
        "missing-glyphs",
        "invisible text, and a font that is not embedded",
        facts(
            book={"fonts": {"5 0": FontFact("5 0", "Serif", FontKind.TYPE1, False, False)}},
            objects={
                2: an_object(2, texts=(some_type(undefined=3, font="Serif"),)),
                3: an_object(3, texts=(some_type(undefined=3, how="invisible", font="Other"),)),
            },
        ),
    ),
    # 0: installable; 4: preview and print; 8: editable; 6: of several the mildest holds
    Passes("font-licence", "leave given", holding(*(program(fs_type=flags) for flags in (0, 4, 6, 8)))),
    Passes("font-licence", "a whole font that is to stay whole", holding(program(fs_type=0x104), fonts=WHOLE)),
    Passes("font-licence", "nothing said", holding(program())),
    Passes("font-copies", "ten", holding(*(program(key, digest=key) for key in list(COPIES)[:10]), fonts=COPIES)),
    Passes("font-copies", "one program for all", holding(*(program(key) for key in COPIES), fonts=COPIES)),
    Passes("damaged-fonts", "sound", holding(program())),
    Passes(
        "fonts-embedded",
        "a missing font that is listed for a page and not shown there",
        facts(
            book={"fonts": LISTED},
            pages={2: a_page(2, fonts=("5 0", "9 0"))},
            objects={2: an_object(2, texts=(some_type(),))},
        ),
    ),
    Passes(
        "type3-fonts",
        "a font that is listed for a page and not shown there",
        facts(
            book={"fonts": {**LISTED, **PICTURES}},
            pages={2: a_page(2, fonts=("5 0", "7 0"))},
            objects={2: an_object(2, texts=(some_type(),))},
        ),
    ),
    Passes("damaged-fonts", "no page calls for it", holding(program("99 0", damaged="it is empty"))),
    Passes(
        "small-type",
        "at the limits",
        typed(
            some_type(5.0),
            some_type(9.0, **RED),
            some_type(7.0, **WHITE, ground=FOUR),
            some_type(6.0, **WHITE, ground=(("Black", 1.0),)),
        ),
    ),
    Passes(
        "small-type",
        "beside the page, invisible, white on bare paper, of Type 3, bare spaces, black and grey of several inks",
        typed(
            some_type(3.0, first_mm=BESIDE, in_trim=False),
            some_type(3.0, how="invisible"),
            some_type(3.0, **WHITE),
            some_type(1.0, type3=True),
            some_type(1.0, glyphs=3, spaces=3),
            some_type(8.0, **cmyk(60, 0, 0, 100)),
            some_type(8.0, **cmyk(50, 40, 40, 10)),
        ),
    ),
    Passes("small-type", "colour, where one ink is printed", typed(some_type(8.0, **RED)), {"inks_pt": 0}),
    Passes(
        "grey-type",
        "8 pt, solid, white, several inks, a solid spot colour",
        typed(
            some_type(8.0, space="DeviceGray", values=(0.5,)),
            some_type(6.0),
            some_type(6.0, **WHITE),
            some_type(6.0, **RED),
            some_type(6.0, space="Separation(Lantern Gold)", values=(1.0,)),
        ),
    ),
    Passes(
        "rich-black-type",
        "black alone, a deep black heading, dark blue",
        typed(some_type(9.0), some_type(24.0, **cmyk(60, 40, 40, 100)), some_type(9.0, **cmyk(100, 80, 0, 40))),
    ),
    Passes(
        "four-colour-grey",
        "black, brown, blue, a grey heading, a tint of black",
        typed(
            some_type(9.0),
            some_type(9.0, **cmyk(30, 60, 80, 30)),
            some_type(9.0, **cmyk(90, 60, 20, 0)),
            some_type(14.0, **cmyk(50, 40, 40, 0)),
            some_type(9.0, **cmyk(0, 0, 0, 50)),
        ),
    ),
    Passes(
        "black-knocks-out",
        "overprinting, on paper, on grey, on yellow, large, in colour",
        typed(
            some_type(9.0, overprint=True, overprint_mode=1, ground=FOUR),
            some_type(9.0),
            some_type(9.0, ground=(("Black", 0.3),)),
            some_type(9.0, ground=(("Yellow", 0.9), ("Cyan", 0.1))),
            some_type(12.0, ground=FOUR),
            some_type(9.0, **RED, ground=FOUR),
            some_type(9.0, overprint=True, ground=(("Lantern Gold", 1.0),)),
            some_type(9.0, space="Separation(Black)", values=(1.0,), overprint=True, ground=FOUR),
        ),
    ),
    # ISO 32000-1, table 148
    Passes(
        "white-overprints",
        "mode 0, DeviceGray, no overprint, beside the page, a colour",
        typed(
            some_type(**WHITE, overprint=True, overprint_mode=0),
            some_type(space="DeviceGray", values=(1.0,), overprint=True, overprint_mode=1),
            some_type(**WHITE),
            some_type(**WHITE, overprint=True, overprint_mode=1, first_mm=BESIDE, in_trim=False),
            some_type(**cmyk(0, 0, 0, 1), overprint=True, overprint_mode=1),
        ),
    ),
    Passes(
        "all-plates",
        "marks beside the trim, and black",
        facts(
            objects={
                2: an_object(
                    2,
                    paints=(
                        some_paint("stroke", space="Separation(All)", values=(1.0,), first_mm=BESIDE, in_trim=False),
                        some_paint(),
                    ),
                    texts=(some_type(space="Separation(All)", values=(1.0,), how="invisible"),),
                )
            }
        ),
    ),
    Passes(
        "spot-names",
        "different inks, process inks, one recipe",
        spots(
            ink("Lantern Gold"),
            ink("Lantern Red"),
            ink("Ember 12"),
            ink("Ember 13"),
            ink("Vitamin C"),
            ink("a1"),
            ink("a1c"),
            ink("Lantern Gold", pages=(9,)),
            also=("Black", "All"),
        ),
    ),
    Passes(
        "thin-lines",
        "at the limits, and areas",
        painted(
            a_line(0.25),
            a_line(0.398),
            a_line(0.5, **RED),
            a_line(0.5, space="DeviceGray", values=(0.5,)),
            a_line(0.5, **WHITE),
            some_paint(),
        ),
    ),
    Passes(
        "thin-lines",
        "patches of a shaded surface, in tints, white and on a screen",
        painted(
            some_paint(space="DeviceRGB", values=(0.9, 0.4, 0.1), thinnest_pt=0.05),
            some_paint(**WHITE, thinnest_pt=0.05),
            some_paint(**cmyk(0, 0, 0, 30), thinnest_pt=0.05),
        ),
    ),
    Passes("thin-lines", "beside the page", painted(a_line(0.05, first_mm=BESIDE, in_trim=False))),
    Passes(
        "light-tints",
        "3 %, white, a light ink beside a strong one, transparent, on a screen",
        painted(
            some_paint(**cmyk(0, 0, 0, 3)),
            some_paint(**WHITE),
            some_paint(**cmyk(2, 0, 40, 0)),
            some_paint(**cmyk(0, 0, 0, 2), alpha=0.5),
            some_paint(space="DeviceRGB", values=(0.98, 0.98, 0.98)),
        ),
    ),
    Passes(
        "light-tints",
        "the steps of a gradation",
        painted(*(some_paint(**cmyk(0, 0, 0, 2 + 10 * step)) for step in range(6))),
    ),
    Passes(
        "heavy-tints",
        "the steps of a gradation",
        painted(*(some_paint(**cmyk(0, 0, 0, 98 - 10 * step)) for step in range(6))),
    ),
    Passes(
        "heavy-tints",
        "97 %, solid, and solid but for rounding",
        painted(
            some_paint(**cmyk(0, 0, 0, 97)),
            some_paint(),
            some_paint(space="DeviceGray", values=(0.004,)),
        ),
    ),
)
