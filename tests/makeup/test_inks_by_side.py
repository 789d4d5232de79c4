# SPDX-License-Identifier: AGPL-3.0-or-later
"""Inks by side: a plate for every ink that a side really carries, counted here page by page from where pages stand.

The worked book: 200 pages of A5 on one press.  A panel is 152 x 220 mm, a 16 of 4 x 2 panels 608 x 440, and two of them
stand on 1010 x 703: 12 sixteens make 6 sheets of two formes, and the 8 left over work and turn, one forme: 13 formes.
Of a 16 folded three times the outer forme carries pages 1 4 5 8 9 12 13 16 (house.md, the known answer of the fold
model; the same in the handbook's table of schemes).
"""

from __future__ import annotations

import json
import re
import subprocess
from collections import defaultdict
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.candidates import way_of
from foldproof.makeup.choose import plans
from foldproof.makeup.faces import classes_of
from foldproof.makeup.plan import Plan, Side
from foldproof.makeup.sections import Division, Unit
from tests.build import Fill, book
from tests.makeup import brute_folding as brute

HOUSE = load_house(None)
A5 = (148.0, 210.0)
PINNED = {"press": {"name": "Lamplighter 1020"}}
BLACK, FOUR = ("Black",), ("Cyan", "Magenta", "Yellow", "Black")
#: outer forme of sections 1, 3 and 5, inner forme of section 7: each on a sheet of its own in the order of the book
COLOURED = (1, 33, 65, 99)

Inks = Sequence[Sequence[str]]


def inked(pages: int, coloured: Sequence[int], empty: Sequence[int] = ()) -> list[tuple[str, ...]]:
    """Black everywhere, four colours or nothing on some pages, counted from 1."""
    return [() if n in empty else FOUR if n in coloured else BLACK for n in range(1, pages + 1)]


def planned(pages: int, inks: Inks, trim: tuple[float, float] = A5, **job: object) -> Plan:
    asked = Job.model_validate({**PINNED, **job})
    return plans(pages, trim, asked, HOUSE, title="A book", most=1, inks=inks)[0]


def counted(plan: Plan, inks: Inks) -> dict[int, tuple[set[str], set[str]]]:
    """By sheet, the inks of its front and its back, from the pages that stand there."""
    found: dict[int, tuple[set[str], set[str]]] = defaultdict(lambda: (set(), set()))
    for place in (*plan.places, *plan.again):
        if place.page is not None:
            found[place.sheet][place.side is Side.BACK].update(inks[place.page])
    return found


def plates(plan: Plan, inks: Inks) -> int:
    """One for every ink of a side; one set where it prints both sides."""
    sides = counted(plan, inks)
    return sum(
        len(sides[run.sheet][0] | sides[run.sheet][1])
        if run.way in ("work and turn", "work and tumble")
        else len(sides[run.sheet][0]) + len(sides[run.sheet][1])
        for run in plan.runs
    )


# --- 200 pages, colour on four sides --------------------------------------------------------------------------------


def test_two_hundred_pages_of_which_four_sides_carry_colour() -> None:
    inks = inked(200, COLOURED)
    plan = planned(200, inks)
    # 13 formes: made up for four 13 x 4, in black alone 13 x 1
    assert planned(200, [FOUR] * 200).plates == 52
    assert planned(200, [BLACK] * 200).plates == 13
    # sheet after sheet in the order of the book the colour falls on four sides: 13 + 4 x 3
    in_order = 25
    # two sections with colour on a sheet, all of it on one side: 13 + 2 x 3
    assert plan.plates == plates(plan, inks) == 19
    both = sorted(sorted(len(side) for side in sides) for sides in counted(plan, inks).values())
    assert both == [[1, 1]] * 5 + [[1, 4]] * 2
    (said,) = (rule for rule in plan.rules if "since they carry colour" in rule)
    assert said.endswith(f": 19 plates for the book instead of {in_order} in the order of the gathering.")
    sections = {int(n) for n in re.findall(r"\d+", said.split(": 19")[0]) if int(n) not in (1, 2)} | {1}
    assert {1, 3, 5, 7} <= sections
    # three of the four lie in the outer forme, one in the inner: one of them is turned over
    assert "Some sections lie face down on their sheet, so that colour falls on one side of it." in plan.rules


def test_one_outer_and_one_inner_page_share_a_side() -> None:
    """Page 1 is in the outer forme of its section, page 35 (the third of section 3) in the inner one."""
    inks = inked(200, (1, 35))
    plan = planned(200, inks)
    assert plan.plates == plates(plan, inks) == 13 + 3
    one, other = ((place.sheet, place.side) for place in plan.places if place.page in (0, 34))
    assert one == other


def test_the_four_sides_in_a_real_file(
    foldproof: Callable[..., subprocess.CompletedProcess[str]], tmp_path: Path
) -> None:
    def each(index: int) -> dict[str, object]:
        paints = [f"{c:d} {m:d} {y:d} 0 k" for c, m, y in ((1, 0, 0), (0, 1, 0), (0, 0, 1))]
        fills = [Fill((20, 40 + 30 * n, 60, 60 + 30 * n), paint) for n, paint in enumerate(paints)]
        return {"fills": fills} if index + 1 in COLOURED else {}

    book(200, tmp_path / "book.pdf", trim_mm=A5, bleed_mm=3, each=each)
    (tmp_path / "job.toml").write_text('[press]\nname = "Lamplighter 1020"\n', encoding="utf-8")
    words = ["--job", tmp_path / "job.toml", "--most", 1, "--format", "json"]
    done = foldproof("plan", tmp_path / "book.pdf", *words)
    assert done.returncode == 0, done.stderr
    (plan,) = json.loads(done.stdout)["plans"]
    sides = [(run["inks_front"], run["inks_back"]) for run in plan["runs"]]
    runs = [(run["way"], [len(side) for side in both]) for run, both in zip(plan["runs"], sides, strict=True)]
    told = sum(max(inks) if way.startswith("work") else sum(inks) for way, inks in runs)
    assert told == 19
    assert sorted(sorted(inks) for _, inks in runs) == [[1, 1]] * 5 + [[1, 4]] * 2
    coloured = [set(side) for both in sides for side in both if len(side) > 1]
    assert coloured == [set(FOUR)] * 2


# --- sides with nothing ---------------------------------------------------------------------------------------------


def test_a_side_with_nothing_on_it_has_no_plate_and_no_pass() -> None:
    """A 16 whose inner forme is empty: one plate, one make-ready, and half the press time of both sides."""
    outer = {1, 4, 5, 8, 9, 12, 13, 16}
    pinned = {"press": {"name": "Taper 740", "way": "two formes"}}
    half = planned(16, inked(16, (), sorted(set(range(1, 17)) - outer)), **pinned)
    full = planned(16, inked(16, ()), **pinned)
    assert (half.plates, full.plates) == (1, 2)
    assert sorted(half.runs[0].inks, key=len) == [(), BLACK]
    assert half.assumptions[6].endswith("1 sheet, printed on one side.")
    assert half.cost and full.cost

    def quantity(plan: Plan, what: str) -> float:
        return sum(line.quantity for line in plan.cost.lines if line.what == what)  # type: ignore[union-attr]

    assert {line.what for line in half.cost.lines} >= {"plates", "make-ready", "press time"}
    for what in ("plates", "make-ready"):
        assert quantity(half, what) * 2 == quantity(full, what)
    assert quantity(half, "press time") < 0.6 * quantity(full, "press time")


# --- reading order, and the plan's own inks -------------------------------------------------------------------------


@st.composite
def books(draw: st.DrawFn) -> tuple[int, list[tuple[str, ...]], str]:
    pages = draw(st.integers(1, 130))
    sets = draw(st.lists(st.sets(st.sampled_from([*FOUR, "Lamp Red"])), min_size=1, max_size=7))
    each = [tuple(sorted(one)) for one in sets]
    return pages, [each[n] for n in draw(st.lists(st.integers(0, len(each) - 1), min_size=pages, max_size=pages))], (
        draw(st.sampled_from(["sewn", "glued", "stitched"]))
    )  # fmt: skip


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(books())
def test_the_order_of_the_book_is_never_touched_whatever_its_inks(told: tuple[int, list[tuple[str, ...]], str]) -> None:
    pages, inks, binding = told
    plan = plans(
        pages, A5, Job.model_validate({"book": {"binding": binding}}), HOUSE, title="A book", most=1, inks=inks
    )[0]
    assert [place.position for place in plan.places] == list(range(len(plan.places)))
    assert [place.page for place in plan.places] == [*range(pages), *[None] * plan.blanks_back]
    assert [section.first for section in plan.sections] == sorted(section.first for section in plan.sections)
    sides = counted(plan, inks)
    for run in plan.runs:
        front, back = sides[run.sheet]
        if run.one_set:
            front = back = front | back
        assert (set(run.inks[0]), set(run.inks[1])) == (front, back)
    assert plan.plates == plates(plan, inks)


# --- classes of sections --------------------------------------------------------------------------------------------

SCHEMES = {scheme.name: scheme for scheme in HOUSE.schemes}


def formes(name: str, pages: Sequence[int], masks: Sequence[int]) -> tuple[int, int]:
    """Inks of both sides of a folded piece, by paper folded cell by cell; ``pages``: those of the piece, in order."""
    scheme = SCHEMES[name]
    folded = brute.fold(scheme.columns, scheme.rows, scheme.folds, scheme.head, spine_left=True)
    sides = []
    for back in (False, True):
        ink = 0
        for row in folded.forme(back=back):
            for page, _ in row:
                at = pages[page - 1]
                ink |= masks[at] if at < len(masks) else 0
        sides.append(ink)
    return sides[0], sides[1]


def test_rare_classes_that_come_to_be_alike_with_another_stand_among_it_in_order() -> None:
    """Ink on one side and no ink, of two sections, count together as ink on both: what the other two carry."""
    masks = [1, *[0] * 7, *[1] * 8, *[0] * 8, *[1] * 8]
    classes, exact = classes_of(
        Division((Unit((8,)),) * 4, 32), {8: (way_of(SCHEMES["8"]),)}, "left to right", masks, 2
    )
    assert not exact
    assert [[one.unit for one in members] for members in classes.members] == [[0, 1, 2, 3]]


@settings(max_examples=60, deadline=None)
@given(
    units=st.lists(
        st.sampled_from([(16,), (8,), (4,), (16, 8), (8, 16), (4, 8, 16), (32,), (24,), (12,)]), min_size=1, max_size=6
    ),
    data=st.data(),
    most=st.integers(1, 4),
)
def test_classes_of_sections_against_paper_folded_by_brute_force(
    units: list[tuple[int, ...]], data: st.DataObject, most: int
) -> None:
    names = {4: ("4",), 8: ("8", "8 strip"), 12: ("12", "12 long"), 16: ("16",), 24: ("24", "24 long"), 32: ("32",)}
    ways = {size: tuple(way_of(SCHEMES[name]) for name in each) for size, each in names.items()}
    capacity = sum(map(sum, units))
    # a few pages short: blanks at the end carry nothing
    masks = data.draw(st.lists(st.sampled_from([0, 1, 1, 1, 2, 7, 15]), min_size=capacity - 3, max_size=capacity - 3))
    classes, exact = classes_of(
        Division(tuple(Unit(pieces) for pieces in units), len(masks)), ways, "left to right", masks, most
    )
    assert sorted((one.unit, one.part) for each in classes.members for one in each) == [
        (unit, part) for unit, pieces in enumerate(units) for part in range(len(pieces))
    ]
    firsts = [sum(map(sum, units[:unit])) for unit in range(len(units))]
    for kind, members in zip(classes.kinds, classes.members, strict=True):
        assert [(one.unit, one.part) for one in members] == sorted((one.unit, one.part) for one in members)
        for one in members:
            pieces = units[one.unit]
            ahead, whole = sum(pieces[: one.part]) // 2, sum(pieces)
            size = pieces[one.part]
            stand = [firsts[one.unit] + n for n in range(whole)][ahead : whole - ahead]
            stand = stand if one.part == len(pieces) - 1 else [*stand[: size // 2], *stand[-(size // 2) :]]
            real = tuple(formes(name, stand, masks) for name in names[size])
            own = tuple((down, up) for up, down in one.kind.faces) if one.flipped else one.kind.faces
            assert own == real
            # what the search reckons with is never less than what is there
            asked = tuple((down, up) for up, down in kind.faces) if one.flipped else kind.faces
            assert all(
                a | b == a for faces, there in zip(asked, real, strict=True) for a, b in zip(faces, there, strict=True)
            )
            assert not exact or asked == real


def test_more_kinds_of_sections_than_are_told_apart() -> None:
    """Fifteen sections, each with a spot of its own on one page: inks are counted right, and it is said."""
    inks = [(*BLACK, f"Spot {n // 16}") if n % 16 == 5 else BLACK for n in range(240)]
    plan = planned(240, inks, sections={"pages": 16})
    for run in plan.runs:
        front, back = counted(plan, inks)[run.sheet]
        assert (set(run.inks[0]), set(run.inks[1])) == ((front | back,) * 2 if run.one_set else (front, back))
    # 7 sheets of two formes and one forme that works and turns, and 15 spots, each on one side
    assert plan.plates == plates(plan, inks) == 7 * 2 + 1 + 15
    assert any("The rarer sets of inks were weighed together" in rule for rule in plan.rules)
    few = planned(160, inked(160, (6,)))
    assert not any("weighed together" in rule for rule in few.rules)


# --- what is offered ------------------------------------------------------------------------------------------------

_OFFER = re.compile(
    r"Pages? ([\d, and]+) alone brings? colour to (?:the (front|back) of )?sheet (\d+): in black (?:it|they) would "
    r"save (\d+) plates? \(([\d.]+) crowns\)(?:; with its colour on page (\d+) instead, (\d+) plates?)?\."
)


@pytest.mark.parametrize("coloured", [COLOURED, (1, 35), (10, 41, 42, 151), (7,), (5, 6, 101, 102), range(3, 200, 16)])
def test_pages_that_alone_bring_colour_to_a_side(coloured: Sequence[int]) -> None:
    inks = inked(200, coloured)
    plan = planned(200, inks)
    offers = [found for offer in plan.offers if (found := _OFFER.fullmatch(offer))]
    assert len(offers) == sum("alone" in offer for offer in plan.offers) <= 3
    sides = {place.page: (place.sheet, place.side) for place in plan.places}
    for offer in offers:
        pages = [int(n) for n in re.findall(r"\d+", offer[1])]
        here = {sides[page - 1] for page in pages}
        assert len(here) == 1 and next(iter(here))[0] == int(offer[3])
        lean = [BLACK if n in pages else ink for n, ink in enumerate(inks, 1)]
        saved = plates(plan, inks) - plates(plan, lean)
        # 12 crowns a plate; five units print black or four in one pass and one make-ready
        assert (saved, 12.0 * saved) == (int(offer[4]), float(offer[5])) and saved > 0
        if offer[6]:
            here, there = pages[0] - 1, int(offer[6]) - 1
            moved = list(inks)
            moved[here], moved[there] = moved[there], moved[here]
            assert plates(plan, inks) - plates(plan, moved) == int(offer[7]) > 0
    if coloured == (7,):
        # nothing else is in colour: it could be black, and it could go nowhere better
        assert [(offer[1], offer[4], offer[6]) for offer in offers] == [("7", "3", None)]
    if coloured == (10, 41, 42, 151):
        # 41 and 42 are two sides of one leaf; 10 stands behind with one of them, so the other is alone on its side
        assert {offer[4] for offer in offers} == {"3"} and len(offers) == 3


def test_a_book_in_black_is_offered_nothing_of_colour() -> None:
    plan = planned(200, inked(200, ()))
    assert not any("colour" in text or "instead of" in text for text in (*plan.offers, *plan.rules))
    # one section in colour stands nowhere better than in its order: nothing to boast of
    assert not any("instead of" in text for text in planned(200, inked(200, (7,))).rules)
