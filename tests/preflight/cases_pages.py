# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases of boxes, margins, type area, folios and pages alike."""

from __future__ import annotations

from typing import Any

from attrs import evolve

from foldproof.geometry import Rect
from foldproof.manuscript.file_facts import FileFacts
from foldproof.manuscript.model import PageFact, PageInk, PageObjects, TrimSource
from foldproof.manuscript.seen import PrintedNumber, TypeArea
from foldproof.units import mm_to_pt
from tests.preflight.case import NOTE, QUERY, Passes, Trips
from tests.preflight.facts import TRIM, a_page, a_picture, an_ink, an_object, bleeds, facts, stands

BOOK = 48
WIDTH = TRIM[0]


# --- folios ---------------------------------------------------------------------------------------------------------


def number(text: str, at: Rect | None = None) -> PrintedNumber:
    values = {"i": 1, "ii": 2, "iii": 3, "iv": 4}
    style = "roman" if text in values else "arabic"
    return PrintedNumber(style, values.get(text) or int(text), text, at or Rect(68, 8, 72, 11))


def numbered(*texts: str | None, odd: dict[int, str] | None = None) -> dict[int, PageObjects | None]:
    """Pages with these folios; ``odd``: a number in the place of the folio that does not count on."""
    return {
        n: an_object(
            n,
            folio=text,
            numbers=(number(text),) if text else (number(odd[n]),) if odd and n in odd else (),
            odd_folio=number(odd[n]) if odd and n in odd else None,
            type_area=an_area(18, WIDTH - 24),
        )
        for n, text in enumerate(texts)
    }


def counting(first: int, last: int) -> list[str | None]:
    return [str(n) for n in range(first, last + 1)]


def folio_book(*texts: str | None, odd: dict[int, str] | None = None) -> Any:
    return facts(count=len(texts), objects=numbered(*texts, odd=odd))


def two_numbers(index: int, left: int, right: int) -> PageObjects:
    """One at each end of a line."""
    return an_object(index, numbers=(number(str(left), Rect(20, 8, 24, 11)), number(str(right), Rect(110, 8, 114, 11))))


# --- type area ------------------------------------------------------------------------------------------------------


def an_area(left: float, right: float, *, head: float = 190.0, foot: float = 25.0, **more: Any) -> TypeArea:
    return TypeArea(left, right, head, foot, **{"lines": 30, "of": 36, **more})


def mirrored(index: int, inner: float = 18.0, outer: float = 24.0) -> TypeArea:
    """Of a book whose margins change sides: even indices are rectos, their spine at the left."""
    return an_area(inner, WIDTH - outer) if index % 2 == 0 else an_area(outer, WIDTH - inner)


def set_book(areas: dict[int, TypeArea | None] | None = None, *, count: int = BOOK, usual: Any = mirrored) -> Any:
    changed = areas or {}
    return facts(
        count=count,
        objects={n: an_object(n, type_area=changed[n] if n in changed else usual(n)) for n in range(count)},
    )


def shifted(index: int, right: float = 0.0, up: float = 0.0) -> dict[int, TypeArea | None]:
    area = mirrored(index)
    return {
        index: evolve(
            area,
            left_mm=area.left_mm + right,
            right_mm=area.right_mm + right,
            head_mm=area.head_mm + up,
            foot_mm=area.foot_mm + up,
        )
    }


# --- boxes and margins ----------------------------------------------------------------------------------------------


def off_middle(index: int, right_mm: float) -> PageFact:
    """A page whose MediaBox gives more room at one side of the trim than at the other."""
    trim = a_page(index).boxes.trim
    side = mm_to_pt(10.0)
    media = Rect(
        trim.x0 - side - mm_to_pt(right_mm), trim.y0 - side, trim.x1 + side - mm_to_pt(right_mm), trim.y1 + side
    )
    return a_page(index, boxes={"media": media})


def sheet(index: int) -> PageFact:
    """The trim of the job in the middle of a sheet of two by two pages."""
    trim = a_page(index).boxes.trim
    across, up = mm_to_pt((290 - 140) / 2), mm_to_pt((440 - 216) / 2)
    page = Rect(trim.x0 - across, trim.y0 - up, trim.x1 + across, trim.y1 + up)
    return a_page(index, trim_source=TrimSource.JOB, bleed_box_mm=None, boxes={"media": page, "crop": page})


def over_the_spine(index: int, **picture: Any) -> tuple[dict[int, PageInk | None], dict[int, PageObjects | None]]:
    """A picture from a verso (its index) to the recto that faces it."""
    left = a_picture(300, place_mm=Rect(60, 80, 143, 150))
    right = a_picture(300, **{"place_mm": Rect(-3, 80, 60, 150), **picture})
    return (
        {index: an_ink(index, right=bleeds(3.0)), index + 1: an_ink(index + 1, left=bleeds(3.0))},
        {index: an_object(index, pictures=(left,)), index + 1: an_object(index + 1, pictures=(right,))},
    )


def crossing(sides: tuple[tuple[int, str], ...] | None = None, **picture: Any) -> Any:
    ink, objects = over_the_spine(7, **picture)
    return facts(ink=ink, objects=objects, sides=sides)


def near_spine(index: int, distance: float) -> PageInk:
    return an_ink(index, **{"left" if index % 2 == 0 else "right": stands(distance)})


ONE_SIDE = tuple((1 + n // 8, "front") for n in range(16))
APART = tuple((1 + n // 4, "front" if n % 4 in (0, 3) else "back") for n in range(16))
GLUED = {"book": {"binding": "glued"}}
TWINS = FileFacts(page_digests=tuple("a" if n in (4, 9) else str(n) for n in range(16)))

TRIPS = (
    Trips(
        "already-imposed",
        "two folios a line",
        facts(
            count=8,
            objects={n: two_numbers(n, 16 - n, n + 1) for n in range(8)},
        ),
        QUERY,
        "already-imposed/folios",
        says=("on 8 pages", "16 and 1"),
    ),
    Trips(
        "already-imposed",
        "room for two by two of the job's trim",
        facts(
            count=8,
            pages={n: sheet(n) for n in range(8)},
            ink={n: an_ink(n, left=bleeds(5), right=bleeds(5)) for n in range(8)},
            job={"book": {"trim": "140 x 216 mm"}},
        ),
        QUERY,
        "already-imposed/size",
        says=("2 by 2 pages",),
    ),
    Trips(
        "already-imposed",
        "pages as large as a sheet",
        facts(count=4, pages={n: a_page(n, trim_mm=(640, 900)) for n in range(4)}, trim_mm=(640, 900)),
        QUERY,
        "already-imposed/large",
    ),
    Trips(
        "bleed-box",
        "a box that goes 1 mm beyond the trim",
        facts(pages={4: a_page(4, bleed_box_mm=1.0)}, ink={4: an_ink(4, head=bleeds(3.0), right=bleeds(3.0))}),
        QUERY,
        "bleed-box",
        5,
        ("fore-edge and head", "only 1 mm"),
        1.0,
    ),
    Trips(
        "box-order",
        "a BleedBox beyond the page",
        facts(pages={2: evolve(a_page(2), boxes=evolve(a_page(2).boxes, beyond=frozenset({"BleedBox"})))}),
        NOTE,
        "box-order/beyond",
        3,
        ("BleedBox runs beyond the MediaBox",),
    ),
    Trips(
        "crossovers",
        "halves on one side",
        crossing((*ONE_SIDE[:7], (1, "front"), (1, "front"), *ONE_SIDE[9:])),
        NOTE,
        "crossovers/together",
        8,
        ("over the spine to page 9", "front of sheet 1"),
    ),
    Trips(
        "crossovers",
        "halves on two sheets",
        crossing(APART),
        QUERY,
        "crossovers/apart",
        8,
        ("front of sheet 2 and the front of sheet 3", "colour"),
    ),
    Trips("crossovers", "no make-up yet", crossing(), NOTE, "crossovers/unknown", 8),
    Trips(
        "folios",
        "57 twice and 58 missing",
        folio_book(*counting(50, 57), None, *counting(59, 66), odd={8: "57"}),
        QUERY,
        "folios/doubled",
        9,
        ("its folio is 57; by the pages round about it should be 58", "page 8 as well, and 58 is missing"),
        findings=2,
    ),
    Trips(
        "folios",
        "a misprint",
        folio_book(*counting(1, 7), None, *counting(9, 16), odd={7: "88"}),
        QUERY,
        "folios/odd",
        8,
        ("88", "should be 8"),
        "88",
    ),
    Trips(
        "folios",
        "two pages lost",
        folio_book(*counting(1, 6), *counting(9, 16)),
        QUERY,
        "folios/missing",
        7,
        ("folios 7 and 8 are missing",),
    ),
    Trips(
        "folios",
        "a page set twice",
        folio_book(*counting(1, 6), *counting(6, 16)),
        QUERY,
        "folios/doubled",
        7,
        ("folio 6 stands twice",),
    ),
    Trips(
        "folios",
        "a part numbered for itself",
        folio_book(*counting(1, 8), *counting(1, 8)),
        NOTE,
        "folios/again",
        9,
    ),
    Trips(
        "folios",
        "plates that are not counted",
        folio_book(*counting(1, 6), None, None, *counting(7, 16)),
        NOTE,
        "folios/not-counted",
        7,
        ("2 of the 2 pages between folio 6 and folio 7 are not counted",),
    ),
    Trips("folios", "a page without", folio_book(*counting(1, 9), None, *counting(11, 18)), NOTE, "folios/none", 10),
    Trips(
        "folios",
        "even numbers on rectos",
        folio_book(None, *counting(1, 15)),
        QUERY,
        "folios/sides",
        None,
        ("From page 2 (folio 1) to page 16 (folio 15)",),
    ),
    Trips(
        "folios",
        "front matter that begins on a verso",
        folio_book(None, "i", "ii", "iii", "iv", None, *counting(1, 10)),
        NOTE,
        "folios/front-matter",
        None,
        ("From page 2 (folio i) to page 5 (folio iv)",),
    ),
    Trips(
        "gutter-side",
        "a blank that is missing",
        set_book({n: mirrored(n + 1) for n in range(20, BOOK)}),
        QUERY,
        "gutter-side/from-here",
        21,
        ("from here to page 48", "6 mm"),
    ),
    Trips("gutter-side", "one page", set_book({20: mirrored(21)}), QUERY, "gutter-side/page", 21, ("pages 19 and 23",)),
    Trips(
        "inner-margin",
        "a line near the spine of a sewn book",
        facts(ink={4: near_spine(4, 8.0)}),
        QUERY,
        "inner-margin/page",
        5,
        ("8 mm from the spine; in a sewn book 13 mm are wanted",),
        8.0,
    ),
    Trips(
        "inner-margin",
        "a thick glued book",
        facts(count=40, ink={n: near_spine(n, 17.0) for n in range(40)}, job=GLUED, bulk_mm=20.0),
        QUERY,
        "inner-margin/book",
        None,
        ("40 of 40 pages", "20 mm", "of 20 mm bulk"),
        17.0,
    ),
    Trips(
        "inner-margin",
        "versos alone",
        facts(count=40, ink={n: near_spine(n, 9.0 if n % 2 else 20.0) for n in range(40)}),
        QUERY,
        "inner-margin/book",
        None,
        ("20 of 20 versos",),
    ),
    Trips(
        "inner-margin",
        "a picture",
        facts(
            ink={4: an_ink(4, left={"nearest_mm": 6.0, "nearest_place_mm": Rect(6, 80, 10, 90)})},
            objects={4: an_object(4, pictures=(a_picture(300, place_mm=Rect(6, 60, 60, 110)),))},
        ),
        NOTE,
        "inner-margin/picture",
        5,
    ),
    Trips(
        "page-of-other-measure",
        "a page from another setting",
        set_book({20: an_area(18, WIDTH - 20)}),
        QUERY,
        "page-of-other-measure/wider",
        21,
        ("102 mm long, those of the book 98 mm",),
    ),
    Trips(
        "page-of-other-measure",
        "a page scaled down",
        set_book({20: an_area(23, WIDTH - 29, lines=34)}),
        NOTE,
        "page-of-other-measure/narrower",
        21,
    ),
    Trips(
        "trim-offset",
        "one page's trim has been moved",
        facts(pages={n: off_middle(n, 4.0 if n == 6 else 0.0) for n in range(16)}),
        QUERY,
        "trim-offset/page",
        7,
        ("4 mm right of the middle", "on most rectos in the middle"),
    ),
    Trips(
        "trim-offset",
        "no room at the spine",
        facts(pages={n: off_middle(n, -1.5 if n % 2 == 0 else 1.5) for n in range(16)}),
        NOTE,
        "trim-offset/sides",
        None,
        ("1.5 mm left of the middle on rectos and 1.5 mm right of the middle on versos",),
    ),
    Trips("twin-pages", "a page twice", facts(
              book={"facts": TWINS}, objects={n: an_object(n, numbers=(number("7"),)) for n in (4, 9)}
          ), QUERY, "twin-pages", 10, ("the same as page 5",)),
    Trips("twin-pages", "a fly-title twice", facts(
              book={"facts": TWINS}, objects={n: an_object(n, text_count=2) for n in (4, 9)}
          ), NOTE, "twin-pages/little", 10),
    Trips("type-area-drift", "one page aside", set_book(shifted(20, right=3.0)), QUERY, "type-area-drift/aside", 21,
          ("3 mm farther right than on other rectos",)),
    Trips("type-area-drift", "one page low", set_book(shifted(21, up=-2.0)), QUERY, "type-area-drift/height", 22,
          ("2 mm lower",)),
    Trips(
        "type-area-drift",
        "pages that creep",
        set_book(usual=lambda n: an_area(18 + n / 40, WIDTH - 24 + n / 40), count=80),
        QUERY,
        "type-area-drift/slow",
        None,
        ("to the right",),
    ),
    Trips(
        "type-area-register",
        "margins that do not change sides",
        set_book(usual=lambda n: an_area(18, WIDTH - 24)),
        QUERY,
        "type-area-register/one-sided",
        None,
        ("18 mm at the left and 24 mm at the right", "6 mm off"),
        6.0,
    ),
    Trips(
        "type-area-register",
        "two masters that differ",
        set_book(usual=lambda n: mirrored(n) if n % 2 else an_area(19, WIDTH - 23)),
        NOTE,
        "type-area-register/across",
        None,
        ("19 mm on rectos and 18 mm on versos",),
    ),
    Trips(
        "type-area-register",
        "versos lower than rectos",
        set_book(usual=lambda n: mirrored(n) if n % 2 else evolve(mirrored(n), head_mm=192.0, foot_mm=27.0)),
        QUERY,
        "type-area-register/height",
        None,
        ("2 mm higher on rectos",),
    ),
)  # fmt: skip

PASSES = (
    Passes("already-imposed", "chapter number and folio", facts(
        objects={n: two_numbers(n, 1 + n // 5, n + 1) for n in range(16)},
    )),
    Passes("already-imposed", "two numberings side by side", facts(
        objects={n: two_numbers(n, 101 + n, n + 1) for n in range(16)},
    )),
    Passes("already-imposed", "a small book on large pages", facts(
        count=8, pages={n: sheet(n) for n in range(8)}, job={"book": {"trim": "140 x 216 mm"}},
    )),
    Passes("already-imposed", "a large book whose job says so", facts(
        count=4, pages={n: a_page(n, trim_mm=(450, 600)) for n in range(4)}, trim_mm=(450, 600),
        job={"book": {"trim": "450 x 600 mm"}},
    )),
    Passes("bleed-box", "nothing reaches the trim", facts(pages={4: a_page(4, bleed_box_mm=0.0)})),
    Passes("bleed-box", "matter that stops there too is another check's", facts(
        pages={4: a_page(4, bleed_box_mm=1.0)}, ink={4: an_ink(4, head=bleeds(1.0))},
    )),
    Passes("bleed-box", "the spine of a sewn book", facts(
        pages={4: a_page(4, bleed_box_mm=1.0)}, ink={4: an_ink(4, left=bleeds(3.0))},
    )),
    Passes("crossovers", "pictures in different scales", crossing(APART, ppi_y=180.0)),
    Passes("crossovers", "at different heights", crossing(APART, place_mm=Rect(-3, 10, 60, 78))),
    Passes("crossovers", "recto and verso of a leaf", facts(
        ink={6: an_ink(6, left=bleeds(3.0)), 7: an_ink(7, right=bleeds(3.0))},
        objects={
            6: an_object(6, pictures=(a_picture(300, place_mm=Rect(-3, 80, 60, 150)),)),
            7: an_object(7, pictures=(a_picture(300, place_mm=Rect(60, 80, 143, 150)),)),
        },
    )),
    Passes("folios", "roman front matter, then arabic", folio_book(None, None, "iii", "iv", *counting(1, 12))),
    Passes("folios", "front matter without numbers", folio_book(None, None, None, None, *counting(5, 16))),
    Passes("folios", "a spread is another check's", facts(
        count=12,
        pages={5: a_page(5, trim_mm=(280, 216))},
        objects=numbered(*counting(1, 5), None, *counting(8, 13)),
    )),
    Passes("folios", "none at all", folio_book(*[None] * 16)),
    Passes("folios", "chapters that open without one", folio_book(
        *[None if n % 5 == 0 else str(n + 1) for n in range(40)]
    )),
    Passes("gutter-side", "margins that change sides", set_book()),
    Passes("gutter-side", "a book set one-sided", set_book(usual=lambda n: an_area(18, WIDTH - 24))),
    Passes("gutter-side", "pages of pictures between", set_book(dict.fromkeys(range(10, 30)))),
    Passes("inner-margin", "13 mm within a pixel", facts(ink={4: near_spine(4, 12.65)})),
    Passes("inner-margin", "10 mm in a stitched book", facts(
        ink={4: near_spine(4, 10.2)}, job={"book": {"binding": "stitched"}},
    )),
    Passes("inner-margin", "17.5 mm in a thin glued book", facts(
        ink={n: near_spine(n, 17.5) for n in range(16)}, job=GLUED, bulk_mm=6.0,
    )),
    Passes("inner-margin", "the fore-edge is another check's", facts(ink={4: an_ink(4, right=stands(8.0))})),
    Passes("page-of-other-measure", "an indented list", set_book({20: an_area(26, WIDTH - 24)})),
    Passes("page-of-other-measure", "a table of a few lines", set_book({20: an_area(12, WIDTH - 12, lines=8, of=30)})),
    Passes("page-of-other-measure", "a quotation", set_book({20: an_area(24, WIDTH - 30, lines=20)})),
    Passes("trim-offset", "in the middle", facts(pages={n: off_middle(n, 0.0) for n in range(16)})),
    Passes("trim-offset", "a page of another size is another check's", facts(
        pages={6: a_page(6, trim_mm=(200, 216), room_mm=9)},
    )),
    Passes("twin-pages", "blank pages", facts(
        book={"facts": TWINS}, ink={n: an_ink(n, blank=True) for n in (4, 9)},
        objects={n: an_object(n, text_count=0, colours=(), folio=None) for n in (4, 9)},
    )),
    Passes("type-area-drift", "all in place", set_book()),
    Passes("type-area-drift", "a chapter that begins low", set_book({20: an_area(18, WIDTH - 24, head=140.0)})),
    Passes("type-area-drift", "an indented list", set_book({20: an_area(26, WIDTH - 24)})),
    Passes("type-area-register", "mirrored", set_book()),
    Passes("type-area-register", "the same margins at both sides", set_book(usual=lambda n: an_area(20, WIDTH - 20))),
)  # fmt: skip
