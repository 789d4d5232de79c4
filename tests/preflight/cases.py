# SPDX-License-Identifier: AGPL-3.0-or-later
"""For every check: books that trip it, and books beside them that must not.

More of them stand beside this module, by subject (``cases_*.py``), and are gathered at its end.
"""

from __future__ import annotations

import importlib
from pathlib import Path

from foldproof.geometry import Rect
from foldproof.manuscript.model import AnnotationFact, ColourUse, FontFact, FontKind, PageFact, PictureKind, TrimSource
from foldproof.units import mm_to_pt
from tests.preflight.case import NOTE, QUERY, STOP, Passes, Trips
from tests.preflight.facts import a_page, a_picture, an_ink, an_object, bleeds, facts, stands


def annotation(subtype: str, *, prints: bool, shows: bool = True, place: Rect | None = None) -> AnnotationFact:
    return AnnotationFact(subtype, prints, shows, place or Rect(30, 40, 36, 46))


def rgb(what: str = "text") -> ColourUse:
    return ColourUse("DeviceRGB", what, 9, Rect(20, 30, 60, 34))


def spot(name: str) -> ColourUse:
    return ColourUse(f"Separation({name})", "fill", 1, Rect(20, 30, 60, 34))


def on_crop(index: int, width_mm: float, height_mm: float) -> PageFact:
    """A page without TrimBox: the trim of the job stands in the middle of what there is."""
    trim = a_page(index).boxes.trim
    across, up = mm_to_pt((width_mm - 140) / 2), mm_to_pt((height_mm - 216) / 2)
    page = Rect(trim.x0 - across, trim.y0 - up, trim.x1 + across, trim.y1 + up)
    return a_page(index, trim_source=TrimSource.JOB, bleed_box_mm=None, boxes={"media": page, "crop": page})


MISSING = {"9 0": FontFact("9 0", "Courier", FontKind.TYPE1, False, False)}
TYPE3 = {"7 0": FontFact("7 0", "", FontKind.TYPE3, True, False)}
SPREAD = (280.0, 216.0)
FULL = {"head": bleeds(5), "foot": bleeds(5), "right": bleeds(5)}
TRIM_PT = a_page(0).boxes.trim

TRIPS = (
    Trips(
        "annotations",
        "a sticky note that prints",
        facts(pages={2: a_page(2, annotations=(annotation("Text", prints=True),))}),
        QUERY,
        "annotations/print",
        3,
        ("1 sticky note will be printed", "flatten"),
    ),
    Trips(
        "annotations",
        "two text notes that vanish",
        facts(pages={2: a_page(2, annotations=(annotation("FreeText", prints=False),) * 2)}),
        QUERY,
        "annotations/vanish",
        3,
        ("2 text notes will not be printed",),
    ),
    Trips("blank-pages", "a blank page", facts(ink={5: an_ink(5, blank=True)}), NOTE, "blank-pages", 6),
    Trips(
        "blank-pages",
        "matter outside the trim",
        facts(ink={5: an_ink(5, blank=True, ink_mm=Rect(-3, 20, -1, 30))}),
        QUERY,
        "blank-pages/outside",
        6,
        ("outside the trim",),
    ),
    Trips(
        "blank-pages",
        "a book of nothing",
        facts(count=4, ink={n: an_ink(n, blank=True) for n in range(4)}),
        STOP,
        "blank-pages/all",
    ),
    Trips(
        "bleed",
        "a picture that stops 1.2 mm beyond the trim",
        facts(
            count=48,
            ink={40: an_ink(40, head=bleeds(1.2))},
            objects={40: an_object(40, folio="33", pictures=(a_picture(300, place_mm=Rect(10, 150, 80, 217.2)),))},
        ),
        STOP,
        "bleed/short",
        41,
        (
            "Page 41 (folio 33): the picture at the head stops 1.2 mm beyond the trim; 3 mm are asked for.",
            "Extend the picture frame",
            "3 mm of bleed",
        ),
        1.2,
    ),
    Trips(
        "bleed",
        "two edges, the worse one measured",
        facts(ink={4: an_ink(4, head=bleeds(2.0), right=bleeds(1.6))}),
        QUERY,
        "bleed/short",
        5,
        ("the matter at the fore-edge stops 1.6 mm beyond the trim and the matter at the head stops 2 mm",),
        1.6,
    ),
    Trips(
        "bleed",
        "three edges alike",
        facts(ink={4: an_ink(4, head=bleeds(1.0), foot=bleeds(1.0), right=bleeds(1.0))}),
        STOP,
        "bleed/short",
        5,
        ("Page 5: the matter at the fore-edge, foot and head stops 1 mm beyond the trim; 3 mm are asked for.",),
    ),
    Trips(
        "bleed",
        "a page that ends at its trim",
        facts(pages={4: a_page(4, room_mm=0, bleed_box_mm=None)}, ink={4: an_ink(4, foot=bleeds(0.0))}),
        STOP,
        "bleed/no-room",
        5,
        ("at the foot stops at the trim", "The PDF page ends there.", "bleed switched on"),
        0.0,
    ),
    Trips(
        "bleed",
        "enough ink, no box",
        facts(pages={4: a_page(4, bleed_box_mm=None)}, ink={4: an_ink(4, head=bleeds(3.0))}),
        NOTE,
        "bleed/no-box",
        5,
        ("no BleedBox",),
    ),
    Trips(
        "bleed",
        "the spine of a glued book",
        facts(ink={4: an_ink(4, left=bleeds(0.0))}, job={"book": {"binding": "glued"}}),
        STOP,
        "bleed/short",
        5,
        ("at the spine",),
    ),
    Trips(
        "bleed",
        "the fore-edge of a verso is its left",
        facts(ink={5: an_ink(5, left=bleeds(0.0))}),
        STOP,
        "bleed/short",
        6,
        ("at the fore-edge",),
    ),
    Trips(
        "bleed",
        "read from right to left, a recto opens to the left",
        facts(ink={4: an_ink(4, left=bleeds(0.0))}, job={"book": {"reading": "right to left"}}),
        STOP,
        "bleed/short",
        5,
        ("at the fore-edge",),
    ),
    Trips(
        "box-order",
        "a TrimBox wider than the BleedBox",
        facts(pages={3: a_page(3, boxes={"bleed": TRIM_PT.grown(-5)})}),
        QUERY,
        "box-order/BleedBox",
        4,
        ("beyond the BleedBox",),
    ),
    Trips(
        "cover-among-pages",
        "a wrap with a spine of 12 mm, which bleeds",
        facts(
            pages={0: a_page(0, trim_mm=(292, 216))},
            ink={0: an_ink(0, **FULL)},
            objects={0: an_object(0, folio=None)},
        ),
        QUERY,
        "cover-among-pages/wide",
        1,
        ("12 mm more",),
    ),
    Trips(
        "cover-among-pages",
        "a front that runs off on all sides",
        facts(ink={0: an_ink(0, **FULL)}, objects={0: an_object(0, folio=None)}),
        QUERY,
        "cover-among-pages/full",
        1,
        ("no folio",),
    ),
    Trips("encryption", "protected", facts(book={"encrypted": True}), STOP, "encryption"),
    Trips(
        "extra-inks",
        "black text set in four inks",
        facts(ink={6: an_ink(6, coverage={"Cyan": 0.02, "Magenta": 0.03, "Yellow": 0.02, "Black": 0.02})}),
        QUERY,
        "extra-inks",
        7,
        ("cyan, magenta and yellow", "3 %"),
        3.0,
        limits={"inks": "black"},
    ),
    Trips(
        "extra-inks",
        "a page of solid magenta",
        facts(ink={6: an_ink(6, coverage={"Magenta": 1.0})}),
        QUERY,
        "extra-inks",
        7,
        ("magenta would print, on 100 % of the page",),
        limits={"inks": "black"},
    ),
    Trips(
        "fonts-embedded",
        "one of the fourteen fonts",
        facts(book={"fonts": MISSING}, pages={8: a_page(8, fonts=("9 0",))}),
        STOP,
        "fonts-embedded/Courier",
        9,
        ("Courier", "Embed all fonts"),
    ),
    Trips("grain", "across", facts(grain_along_spine=False, stock="Hearth"), QUERY, "grain", None, ('"Hearth"',)),
    Trips(
        "live-margin",
        "a folio at the foot",
        facts(ink={4: an_ink(4, foot=stands(1.1))}),
        QUERY,
        "live-margin/outer",
        5,
        ("1.1 mm from the trim at the foot; 3 mm", "Move it inwards"),
        1.1,
    ),
    Trips(
        "live-margin",
        "beside a bleed on another edge",
        facts(ink={4: an_ink(4, head=bleeds(3.5), right=stands(0.5), foot=stands(2.0))}),
        QUERY,
        "live-margin/outer",
        5,
        ("0.5 mm from the trim at the fore-edge and 2 mm from the trim at the foot",),
        0.5,
    ),
    Trips(
        "lost-pages",
        "a page nobody can read",
        facts(lost={7: "it took longer than 30 s."}, ink={7: None}, objects={7: None}),
        STOP,
        "lost-pages/lost",
        8,
        ("longer than 30 s. No check",),
    ),
    Trips(
        "lost-pages",
        "a page with too many objects",
        facts(objects={7: an_object(7, cut_short=True)}),
        QUERY,
        "lost-pages/cut-short",
        8,
    ),
    Trips("page-count", "150 pages", facts(count=150), NOTE, "page-count/multiple", None, ("2 blank pages",), 150),
    Trips("page-count", "an odd count", facts(count=151), NOTE, "page-count/multiple", None, ("odd", "1 blank page ")),
    Trips(
        "page-count",
        "blanks in front count",
        facts(count=16, job={"book": {"blanks_front": 2}}),
        NOTE,
        "page-count/multiple",
        None,
        ("18 pages (2 blank ones in front included)",),
    ),
    Trips(
        "page-turn",
        "one page on its head",
        facts(pages={3: a_page(3, rotate=180)}),
        QUERY,
        "page-turn/mixed",
        4,
        ("/Rotate 180",),
    ),
    Trips(
        "page-turn",
        "no turn has most pages",
        facts(count=2, pages={1: a_page(1, rotate=90)}),
        QUERY,
        "page-turn/mixed",
        2,
        ("/Rotate 90, 1 of the 2 pages by 0",),
    ),
    Trips(
        "page-turn",
        "all lie across in the file",
        facts(pages={n: a_page(n, rotate=90) for n in range(16)}),
        NOTE,
        "page-turn/all",
    ),
    Trips(
        "picture-resolution",
        "a contone picture at 96 ppi",
        facts(objects={2: an_object(2, pictures=(a_picture(96), a_picture(120), a_picture(300)))}),
        STOP,
        "picture-resolution/contone",
        3,
        # 600 x 400 pixels at 96 ppi are 158.8 x 105.8 mm (25.4 mm an inch); 225 ppi of that are 1406 x 938 pixels
        ("the worst of 2 pictures has 96 ppi", "158.8 x 105.8 mm", "1406 x 938 pixels", "67.7 x 45.2 mm"),
        96.0,
    ),
    Trips(
        "picture-resolution",
        "a contone picture at 200 ppi",
        facts(objects={2: an_object(2, pictures=(a_picture(200),))}),
        QUERY,
        "picture-resolution/contone",
        3,
        ("a picture has 200 ppi",),
    ),
    Trips(
        "picture-resolution",
        "line work at 300 ppi",
        facts(objects={2: an_object(2, pictures=(a_picture(300, kind=PictureKind.LINE_WORK),))}),
        STOP,
        "picture-resolution/line",
        3,
        ("1-bit picture has 300 ppi", "800 ppi are asked for"),
    ),
    Trips(
        "picture-resolution",
        "a stencil stretched one way",
        facts(objects={2: an_object(2, pictures=(a_picture(900, kind=PictureKind.STENCIL, ppi_y=600.0),))}),
        QUERY,
        "picture-resolution/line",
        3,
        measured=600.0,
    ),
    Trips(
        "reader-mends",
        "a broken table",
        facts(book={"reader_warnings": ("xref not found", "object 4 has no end", "c", "d")}),
        QUERY,
        "reader-mends",
        None,
        ("4 remarks", "xref not found", "and 1 more"),
    ),
    Trips(
        "rgb-matter",
        "text in a four-ink book; the picture is another check's",
        facts(
            objects={
                2: an_object(2, colours=(rgb(),), pictures=(a_picture(300, space="Indexed(ICCBased(3))"),)),
            }
        ),
        QUERY,
        "rgb-matter/RGB",
        3,
        (": text in RGB; the book is printed in four inks",),
        limits={"inks": "cmyk"},
    ),
    Trips(
        "rgb-matter",
        "Lab in a black book",
        facts(objects={2: an_object(2, colours=(ColourUse("Lab", "fill", 1, None),))}),
        QUERY,
        "rgb-matter/Lab",
        3,
        ("tints in Lab", "black alone"),
        limits={"inks": "black"},
    ),
    Trips(
        "rgb-matter", "any inks: noted", facts(objects={2: an_object(2, colours=(rgb(),))}), NOTE, "rgb-matter/RGB", 3
    ),
    Trips(
        "spot-colours",
        "listed with its pages",
        facts(
            book={"spots": ("Ember",)},
            objects={n: an_object(n, colours=(spot("Ember"),)) for n in (2, 3, 4, 9)},
        ),
        NOTE,
        "spot-colours/Ember",
        None,
        ('"Ember" is used on pages 3 to 5 and 10',),
    ),
    Trips(
        "spot-colours",
        "one more than the spec counts on",
        facts(book={"spots": ("Ember",)}),
        QUERY,
        "spot-colours/too-many",
        says=('The book uses 1 spot colour, "Ember"; the spec counts on none.',),
        limits={"most_spots": 0},
        findings=2,
    ),
    Trips(
        "spot-colours",
        "named and not painted",
        facts(book={"spots": ("Ember",)}),
        NOTE,
        "spot-colours/Ember",
        says=('"Ember" is named in the file; no page was found that paints with it.',),
    ),
    Trips(
        "spot-colours",
        "more than anybody prints",
        facts(book={"spots": tuple(f"Ink {n}" for n in range(40))}),
        NOTE,
        "spot-colours/more",
        says=('"Ink 24", "Ink 25"', "and 8 more are spot colours too"),
        measured=16,
        findings=26,
    ),
    Trips(
        "spreads",
        "one spread",
        facts(pages={6: a_page(6, trim_mm=SPREAD)}),
        STOP,
        "spreads/page",
        7,
        ("280 x 216 mm", "single pages"),
    ),
    Trips(
        "spreads",
        "a spread with its bleed round it",
        facts(pages={6: a_page(6, trim_mm=(286, 222))}),
        STOP,
        "spreads/page",
        7,
    ),
    Trips(
        "spreads",
        "a book of spreads between two single pages",
        facts(pages={n: a_page(n, trim_mm=SPREAD) for n in range(1, 15)}, trim_mm=SPREAD),
        STOP,
        "spreads/halves",
        None,
        ("pages 1 and 16",),
    ),
    Trips(
        "spreads",
        "a book of wide pages",
        facts(pages={n: a_page(n, trim_mm=(297, 210)) for n in range(16)}, trim_mm=(297, 210)),
        QUERY,
        "spreads/wide",
    ),
    Trips(
        "spreads",
        "a spread on which the job's trim was set",
        facts(pages={2: on_crop(2, 286, 222)}, job={"book": {"trim": "140 x 216 mm"}}),
        STOP,
        "spreads/page",
        3,
        ("286 x 222 mm",),
    ),
    Trips(
        "trim-box",
        "no page states it",
        facts(pages={n: a_page(n, trim_source=TrimSource.CROP_BOX) for n in range(16)}),
        QUERY,
        "trim-box/crop-box",
        None,
        ("No page states a TrimBox; the CropBox is taken", "140 x 216 mm"),
    ),
    Trips(
        "trim-box",
        "one page does not",
        facts(pages={4: a_page(4, trim_source=TrimSource.MEDIA_BOX)}),
        QUERY,
        "trim-box/media-box",
        None,
        ("Page 5 states no TrimBox",),
    ),
    Trips(
        "trim-box",
        "the job says it",
        facts(pages={n: a_page(n, trim_source=TrimSource.JOB) for n in (4, 5)}),
        NOTE,
        "trim-box/job",
        None,
        ("Pages 5 and 6 state no TrimBox; the trim of the job",),
    ),
    Trips(
        "trim-marks",
        "a pair at a corner",
        facts(objects={2: an_object(2, mark_like=(Rect(5, 0, 5, 4), Rect(0, 5, 4, 5)))}),
        QUERY,
        "trim-marks",
        3,
    ),
    Trips(
        "trim-size",
        "one page is wider",
        facts(pages={2: a_page(2, trim_mm=(141, 216))}),
        STOP,
        "trim-size/other",
        3,
        ("141 x 216 mm; most pages are 140 x 216 mm",),
        "141 x 216",
    ),
    Trips(
        "trim-size",
        "a last page of another size",
        facts(pages={15: a_page(15, trim_mm=(148, 224))}),
        STOP,
        "trim-size/other",
        16,
        ("It is the last page of the file: a cover?", "Send a cover as a file of its own. A page of the book: set the"),
    ),
    Trips(
        "trim-size",
        "a last page that is too small for a cover",
        facts(pages={15: a_page(15, trim_mm=(108, 140))}),
        STOP,
        "trim-size/other",
        16,
        ("most pages are 140 x 216 mm. Set the",),
    ),
    Trips(
        "trim-size",
        "one page lies across",
        facts(pages={2: a_page(2, trim_mm=(216, 140))}),
        STOP,
        "trim-size/turned",
        3,
        ("lies across",),
    ),
    Trips(
        "trim-size",
        "the whole book is not what the job says",
        facts(trim_mm=(135, 210), job={"book": {"trim": "135 x 210 mm"}}),
        STOP,
        "trim-size/job",
        None,
        ("Every page is 140 x 216 mm; the job asks for 135 x 210 mm",),
    ),
    Trips(
        "trim-size",
        "one page is too small for the trim that the job sets on it",
        facts(pages={2: on_crop(2, 130, 200)}, job={"book": {"trim": "140 x 216 mm"}}),
        STOP,
        "trim-size/other",
        3,
        ("it is 130 x 200 mm; the job asks for 140 x 216 mm. The page is too small",),
    ),
    Trips(
        "trim-size",
        "the job's trim on pages that are not alike",
        facts(pages={n: on_crop(n, 210 if n != 5 else 216, 297) for n in range(16)}),
        QUERY,
        "trim-size/uneven",
        6,
        ("216 x 297 mm, most are 210 x 297 mm",),
    ),
    Trips(
        "type3-fonts",
        "two fonts without a name",
        facts(book={"fonts": TYPE3}, pages={2: a_page(2, fonts=("7 0",))}),
        QUERY,
        "type3-fonts",
        3,
        ("1 Type 3 font is used",),
    ),
    Trips("user-unit", "one page", facts(pages={2: a_page(2, user_unit=2.0)}), QUERY, "user-unit/mixed", 3),
    Trips(
        "user-unit", "all pages", facts(pages={n: a_page(n, user_unit=2.0) for n in range(16)}), NOTE, "user-unit/all"
    ),
)

PLAIN = facts()

PASSES = (
    Passes(
        "annotations",
        "links, and a note outside the paper",
        facts(
            pages={
                2: a_page(
                    2,
                    annotations=(
                        annotation("Link", prints=False),
                        annotation("Text", prints=True, place=Rect(160, 10, 170, 20)),
                        annotation("Popup", prints=False),
                    ),
                )
            }
        ),
    ),
    Passes("blank-pages", "a plain book", PLAIN),
    Passes("bleed", "enough but for whole points", facts(ink={4: an_ink(4, head=bleeds(2.75), right=bleeds(9))})),
    Passes("bleed", "the crease of a sewn book", facts(ink={4: an_ink(4, left=bleeds(0.0))})),
    Passes("bleed", "the crease on a verso", facts(ink={5: an_ink(5, right=bleeds(0.0))})),
    Passes("bleed", "a job without bleed", facts(ink={4: an_ink(4, head=bleeds(0.0))}, bleed_mm=0.0)),
    Passes("box-order", "boxes that hold one another", facts(pages={3: a_page(3, boxes={"crop": TRIM_PT.grown(0.2)})})),
    Passes("cover-among-pages", "a picture in front, folio on it", facts(ink={0: an_ink(0, **FULL)})),
    Passes(
        "cover-among-pages",
        "a book of pictures that bleed",
        facts(
            ink={n: an_ink(n, **FULL) for n in range(0, 16, 2)},
            objects={0: an_object(0, folio=None)},
        ),
    ),
    Passes(
        "cover-among-pages",
        "a last page of another size, told with the trim",
        facts(pages={15: a_page(15, trim_mm=(148, 224))}),
    ),
    Passes("cover-among-pages", "another size inside the book", facts(pages={6: a_page(6, trim_mm=(292, 216))})),
    Passes("encryption", "open", PLAIN),
    Passes("extra-inks", "black alone", PLAIN, {"inks": "black"}),
    Passes(
        "extra-inks",
        "a spot colour is another check's",
        facts(ink={6: an_ink(6, coverage={"Ember": 0.3})}),
        {"inks": "black"},
    ),
    Passes("extra-inks", "any inks", facts(ink={6: an_ink(6, coverage={"Cyan": 0.3})})),
    Passes("fonts-embedded", "a missing font that no page calls for", facts(book={"fonts": {**MISSING, **TYPE3}})),
    Passes("grain", "along", PLAIN),
    Passes("live-margin", "3 mm within a pixel", facts(ink={4: an_ink(4, foot=stands(2.65))})),
    Passes("live-margin", "close to the crease of a sewn book", facts(ink={4: an_ink(4, left=stands(0.5))})),
    Passes("lost-pages", "a plain book", PLAIN),
    Passes("page-count", "152 pages", facts(count=152)),
    Passes("page-count", "12 pages with 4 in front", facts(count=12, job={"book": {"blanks_front": 4}})),
    Passes("page-turn", "upright", PLAIN),
    Passes(
        "picture-resolution",
        "at the limits",
        facts(
            objects={
                2: an_object(2, pictures=(a_picture(225), a_picture(800, kind=PictureKind.STENCIL, pixels=(2000, 900))))
            }
        ),
    ),
    Passes(
        "picture-resolution",
        "soft masks, a gradient one pixel wide, an ornament, a picture beside the page",
        facts(
            objects={
                2: an_object(
                    2,
                    pictures=(
                        a_picture(20, kind=PictureKind.SOFT_MASK),
                        a_picture(10, pixels=(1, 256)),
                        a_picture(10, pixels=(256, 4)),
                        a_picture(100, pixels=(8, 8)),
                        a_picture(20, place_mm=Rect(-80, 20, -4, 60)),
                    ),
                )
            }
        ),
    ),
    Passes("reader-mends", "sound", PLAIN),
    Passes(
        "rgb-matter",
        "grey, CMYK and spot colours",
        facts(
            objects={
                2: an_object(
                    2,
                    colours=tuple(ColourUse(s, "fill", 1, None) for s in ("ICCBased(4)", "Indexed(DeviceCMYK)")),
                    pictures=(a_picture(300, space="ICCBased(1)"), a_picture(300, space="Separation(DeviceRGB)")),
                )
            }
        ),
        {"inks": "cmyk"},
    ),
    Passes("spot-colours", "none", PLAIN),
    Passes("spreads", "a wide cover at the front is another check's", facts(pages={0: a_page(0, trim_mm=(292, 216))})),
    Passes("spreads", "a landscape book whose job says so", facts(
        pages={n: a_page(n, trim_mm=(297, 210)) for n in range(16)},
        trim_mm=(297, 210),
        job={"book": {"trim": "297 x 210 mm"}},
    )),
    Passes("trim-box", "stated", PLAIN),
    Passes("trim-marks", "a single hairline", facts(objects={2: an_object(2, mark_like=(Rect(5, 0, 5, 4),))})),
    Passes("trim-size", "whole points instead of millimetres", facts(pages={2: a_page(2, trim_mm=(139.7, 216.2))})),
    Passes("trim-size", "a spread is another check's", facts(pages={2: a_page(2, trim_mm=SPREAD)})),
    Passes("trim-size", "turned in the file, upright for a reader", facts(pages={2: a_page(2, rotate=270)})),
    Passes("trim-size", "the job's trim on A4 pages", facts(pages={n: on_crop(n, 210, 297) for n in range(16)})),
    Passes("trim-size", "in a unit of its own", facts(pages={2: a_page(2, user_unit=2.5)})),
    Passes("type3-fonts", "outline fonts", PLAIN),
    Passes("user-unit", "points", PLAIN),
)  # fmt: skip

for _beside in sorted(Path(__file__).parent.glob("cases_*.py")):
    _module = importlib.import_module(f"tests.preflight.{_beside.stem}")
    TRIPS += _module.TRIPS
    PASSES += _module.PASSES
