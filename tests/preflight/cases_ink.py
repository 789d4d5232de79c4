# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases of the checks on ink: how much of it lies in one place, and which plates it costs."""

from __future__ import annotations

from attrs import evolve

from foldproof.geometry import Rect
from foldproof.manuscript.model import PageInk
from foldproof.manuscript.seen import InkPeak
from tests.preflight.case import NOTE, QUERY, Passes, Trips
from tests.preflight.facts import a_page, an_ink, facts

PLACE = Rect(40, 60, 45, 65)


def heavy(index: int, total: float, **more: object) -> PageInk:
    """A page whose heaviest square holds so much of three inks and full black."""
    inks = tuple((name, round((total - 1) / 3, 4)) for name in ("Cyan", "Magenta", "Yellow"))
    return evolve(an_ink(index), peak=InkPeak(total, (*inks, ("Black", 1.0)), PLACE, **more))  # type: ignore[arg-type]


def in_inks(index: int, **cover: float) -> PageInk:
    return an_ink(index, coverage={"Black": 0.05, **{name.replace("_", " "): part for name, part in cover.items()}})


#: three sheets, four pages a side
SIDES = tuple((1 + page // 8, "front" if page % 8 in (0, 3, 4, 7) else "back") for page in range(24))

TRIPS = (
    Trips(
        "total-ink",
        "a dark picture",
        facts(ink={4: heavy(4, 3.72, over=((3.5, 0.08), (3.6, 0.04), (3.7, 0.01)))}),
        QUERY,
        "total-ink",
        5,
        ("372 % of ink", "5 x 5 mm", "100 % black", "360 % is the most", "4 % of the page"),
        372.0,
    ),
    Trips(
        "total-ink",
        "a black ground of four inks, by the limit of a spec",
        facts(ink={4: heavy(4, 3.1)}),
        QUERY,
        "total-ink",
        5,
        ("310 %", "under 300 %"),
        310.0,
        limits={"limit_percent": 300},
    ),
    Trips(
        "light-plate",
        "one folio in colour",
        facts(ink={7: in_inks(7, Magenta=0.0001)}),
        NOTE,
        "light-plate/process",
        8,
        ("magenta prints 3 mm² of solid ink", "the pages round about", "a plate for so little"),
        3.02,  # a ten-thousandth of 140 x 216 mm
    ),
    Trips(
        "light-plate",
        "two inks that no other page of the side needs",
        facts(
            count=24,
            # pages 1, 4, 5 and 8 are printed together; page 2 is on the other side
            ink={3: in_inks(3, Cyan=0.00006, Magenta=0.00005), 1: in_inks(1, Cyan=0.3, Magenta=0.3)},
            sides=SIDES,
        ),
        NOTE,
        "light-plate/process",
        4,
        ("cyan and magenta print 1.8 mm²", "the side of the sheet", "2 plates"),
    ),
    Trips(
        "light-plate",
        "a poster, of which a trace is much",
        facts(count=1, pages={0: a_page(0, trim_mm=(6350, 12700))}, ink={0: in_inks(0, Cyan=0.0000272)}),
        NOTE,
        "light-plate/process",
        1,
        ("cyan prints 2200 mm² of solid ink: a plate for so little",),
    ),
    Trips(
        "light-plate",
        "a spot colour",
        facts(ink={7: in_inks(7, Lantern_Gold=0.0001)}),
        NOTE,
        "light-plate/spot",
        8,
        ('"Lantern Gold" prints',),
    ),
    Trips(
        "colour-pages",
        "a book in black with three coloured pages",
        facts(ink={3: in_inks(3, Cyan=0.1), 6: in_inks(6, Cyan=0.1, Magenta=0.2), 7: in_inks(7, Cyan=0.4)}),
        NOTE,
        "colour-pages",
        None,
        (
            "on 3 of 16 printed pages, pages 4, 7 and 8;",
            "13 pages in one ink, 2 pages in two inks and 1 page in three inks",
        ),
        3,
    ),
    Trips(
        "colour-pages",
        "two pages in black between coloured ones",
        facts(ink={n: in_inks(n, Cyan=0.1) for n in range(16) if n not in (4, 9)}),
        NOTE,
        "colour-pages",
        None,
        ("on 14 of 16 printed pages; in black alone are pages 5 and 10.",),
    ),
    Trips(
        "colour-pages",
        "the sides of the sheets",
        facts(count=24, ink={3: in_inks(3, Cyan=0.1), 7: in_inks(7, Cyan=0.1)}, sides=SIDES),
        NOTE,
        "colour-pages",
        None,
        ("which fall on 1 of 6 printed sides",),
    ),
)

PASSES = (
    Passes("total-ink", "just the limit", facts(ink={4: heavy(4, 3.6)})),
    Passes("total-ink", "over it by what rounding does", facts(ink={4: heavy(4, 3.608)})),
    Passes("total-ink", "a blank page", facts(ink={4: an_ink(4, blank=True)})),
    Passes("light-plate", "a page of pictures", facts(ink={7: in_inks(7, Magenta=0.2)})),
    Passes("light-plate", "black alone", facts()),
    Passes(
        "light-plate",
        "a trace beside a page that needs the plate anyway",
        facts(ink={7: in_inks(7, Magenta=0.0001), 9: in_inks(9, Magenta=0.1)}),
    ),
    Passes(
        "light-plate",
        "a trace on a side that needs the plate anyway",
        facts(count=24, ink={3: in_inks(3, Cyan=0.0001), 7: in_inks(7, Cyan=0.3)}, sides=SIDES),
    ),
    Passes("colour-pages", "a book in black", facts()),
    Passes("colour-pages", "a book in colour throughout", facts(ink={n: in_inks(n, Cyan=0.1) for n in range(16)})),
    Passes(
        "colour-pages",
        "blank pages do not count",
        facts(ink={n: an_ink(n, blank=True) if n % 2 else in_inks(n, Cyan=0.1) for n in range(16)}),
    ),
)
