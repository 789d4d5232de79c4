# SPDX-License-Identifier: AGPL-3.0-or-later
"""Folding against the published schemes of tests/handbook/schemes.toml, where the source of each value stands."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from foldproof.makeup.binding import creep_mm
from foldproof.makeup.folding import LEFT_TO_RIGHT, RIGHT_TO_LEFT, Scheme, fold, forme, read
from foldproof.makeup.places import unit_leaf
from foldproof.makeup.sections import Unit, divide

FACTS: dict[str, dict[str, Any]] = {
    fact["id"]: fact
    for fact in tomllib.loads((Path(__file__).parents[1] / "handbook" / "schemes.toml").read_text("utf-8"))["check"]
}

#: "V2 right part over left": V is an upright line, the number how many panels of the pile the fold leaves
INNER_UP = {
    "imp-4-folio": (("right over",), None),
    "imp-8-grid": (("top over", "right over"), None),
    "imp-12-grid": (("top 1 over", "bottom 1 over", "right over"), "top"),
    "imp-16-octavo": (("right over", "top over", "right over"), None),
    "imp-32-grid": (("top over", "right over", "top over", "right over"), None),
}
#: the same folds seen from the outer side: what moved right moves left, what went over goes under
OUTER_UP = {
    "imp-4-folio": (("left under",), None),
    "imp-8-grid": (("top under", "left under"), None),
    "imp-12-grid": (("top 1 under", "bottom 1 under", "left under"), "top"),
    "imp-16-octavo": (("left under", "top under", "left under"), None),
    "imp-32-grid": (("top under", "left under", "top under", "left under"), None),
}


def _pages(side: tuple[tuple[tuple[int, int], ...], ...]) -> list[list[int]]:
    return [[page for page, _ in row] for row in side]


def _heads(side: tuple[tuple[tuple[int, int], ...], ...]) -> list[str]:
    return ["".join("^<v>"[head] for _, head in row) for row in side]


@pytest.mark.parametrize("name", INNER_UP)
@pytest.mark.parametrize("inner_up", [True, False])
def test_a_published_scheme_follows_from_its_folds(name: str, inner_up: bool) -> None:
    fact = FACTS[name]
    words, head = (INNER_UP if inner_up else OUTER_UP)[name]
    scheme = Scheme(name, fact["inputs"]["cols"], fact["inputs"]["rows"], words, head)
    up, down = forme(scheme, LEFT_TO_RIGHT), forme(scheme, LEFT_TO_RIGHT, back=True)
    inner, outer = (up, down) if inner_up else (down, up)
    expected = fact["outputs"]
    assert _pages(outer) == expected["outer"]
    assert _pages(inner) == expected["inner"]
    assert _heads(outer) == expected["outer_heads"]
    assert _heads(inner) == expected["inner_heads"]


def test_the_houses_own_way_to_the_octavo_gives_the_same_sheet() -> None:
    """Worked example of the design notes: right under, top over, left over, front up."""
    scheme = Scheme("16", 4, 2, ("right under", "top over", "left over"))
    expected = FACTS["imp-16-octavo"]["outputs"]
    assert _pages(forme(scheme, LEFT_TO_RIGHT)) == expected["outer"]
    assert _pages(forme(scheme, LEFT_TO_RIGHT, back=True)) == expected["inner"]
    assert _heads(forme(scheme, LEFT_TO_RIGHT)) == expected["outer_heads"]


def test_what_lies_on_what_at_each_fold_of_the_octavo() -> None:
    """imp-16-octavo and imp-cockerell-fold: 3 on 2, 6 on 7; then 5 and 12 on 4 and 13; then 8 on 9."""
    inner = FACTS["imp-16-octavo"]["outputs"]["inner"]
    one = Scheme("1", 4, 2, ("right over", "top over", "right over"))
    leaves = {(leaf.column, leaf.row): leaf for leaf in read(one, LEFT_TO_RIGHT)}
    assert [[leaves[c, r].front_page + 1 for c in range(4)] for r in range(2)] == inner
    # faces that touch inside the first crease: columns mirrored about the middle
    assert {frozenset((inner[1][c], inner[1][3 - c])) for c in (0, 1)} == {frozenset((2, 3)), frozenset((14, 15))}
    assert {frozenset((inner[0][c], inner[0][3 - c])) for c in (0, 1)} == {frozenset((6, 7)), frozenset((10, 11))}
    # what shows after the first fold is the back of the right half, and the second lays its upper row on its lower
    shows = [[leaves[3 - c, r].back_page + 1 for c in (0, 1)] for r in (0, 1)]
    assert shows == [[5, 12], [4, 13]]
    assert [panel.front_up for panel in fold(one).panels].count(True) == 4
    middle = [leaf for leaf in leaves.values() if {leaf.front_page, leaf.back_page} & {7, 8}]
    assert middle[0].mate == middle[1].order


def _nested(pages: int, pieces: list[Scheme]) -> list[list[int]]:
    """1-based pages of each piece of a quired section, front then back, rows from the top."""
    leaves = pages // 2
    held = []
    for nth, scheme in enumerate(pieces):
        outside = sum(piece.panels for piece in pieces[:nth]) // 2
        pages_of: list[int] = []
        for back in (False, True):
            for row in forme(scheme, LEFT_TO_RIGHT, back=back):
                for page, _ in row:
                    leaf = unit_leaf((page - 1) // 2, scheme.panels, outside, leaves)
                    pages_of.append(2 * leaf + (page - 1) % 2 + 1)
        held.append(pages_of)
    return held


FOLIO = Scheme("4", 2, 1, ("left under",))


def test_two_folio_sheets_quired() -> None:
    """imp-quire-8; the source prints the stone, the mirror of each printed row."""
    outer, inner = _nested(8, [FOLIO, FOLIO])
    told = FACTS["imp-quire-8"]["outputs"]
    assert [outer[:2][::-1], outer[2:][::-1]] == [told["sheet1_outer"], told["sheet1_inner"]]
    assert [inner[:2][::-1], inner[2:][::-1]] == [told["sheet2_outer"], told["sheet2_inner"]]


def test_three_sheets_quired() -> None:
    told = FACTS["imp-ternion"]["outputs"]["sheets"]
    assert [sorted(sheet) for sheet in _nested(12, [FOLIO] * 3)] == told


def test_pages_that_stand_together_add_to_one_more_than_all() -> None:
    told = FACTS["imp-sum-rule"]
    pages = told["inputs"]["pages"]
    pairs = {
        frozenset(pair)
        for sheet in _nested(pages, [FOLIO] * told["inputs"]["sheets"])
        for pair in (sheet[:2], sheet[2:])
    }
    assert {sum(pair) for pair in pairs} == {told["outputs"]["pair_sum"]}
    assert {frozenset(pair) for pair in told["outputs"]["pairs"]} <= pairs


@st.composite
def halved(draw: st.DrawFn) -> Scheme:
    """A scheme folded by halves only, in any order of directions and sides."""
    across, down = draw(st.integers(1, 4)), draw(st.integers(0, 2))
    ways = draw(st.permutations(["x"] * across + ["y"] * down))
    words = tuple(
        f"{draw(st.sampled_from(('left', 'right') if way == 'x' else ('top', 'bottom')))} "
        f"{draw(st.sampled_from(('over', 'under')))}"
        for way in ways
    )
    return Scheme("halves", 2**across, 2**down, words)


@given(halved(), st.sampled_from([LEFT_TO_RIGHT, RIGHT_TO_LEFT]))
def test_the_law_of_formes_for_every_section_folded_by_halves(scheme: Scheme, reading: str) -> None:
    """imp-forme-law: outer forme 0 or 1 mod 4, inner 2 or 3; pages across the spine add to N + 1; leaf k: 2k-1, 2k."""
    leaves = read(scheme, reading)
    front = {leaf.front_page + 1 for leaf in leaves}
    back = {leaf.back_page + 1 for leaf in leaves}
    outer, inner = (front, back) if 1 in front else (back, front)
    assert {page % 4 for page in outer} <= {0, 1}
    assert {page % 4 for page in inner} <= {2, 3}
    for leaf in leaves:
        assert {leaf.front_page + 1, leaf.back_page + 1} == {2 * leaf.order + 1, 2 * leaf.order + 2}
        assert leaf.mate is not None
        assert leaf.front_page + leaves[leaf.mate].front_page + 2 == scheme.pages + 1


def test_the_law_does_not_hold_for_thirds() -> None:
    """imp-forme-law says so itself; the grid of imp-12-grid shows it."""
    words, head = OUTER_UP["imp-12-grid"]
    outer = _pages(forme(Scheme("12", 2, 3, words, head), LEFT_TO_RIGHT))
    assert {page % 4 for row in outer for page in row} != {0, 1}


# --- sections and creep -----------------------------------------------------------------------------------------------


def test_three_sixteens_one_in_another_hold_first_and_last_eight_pages_outside() -> None:
    fact = FACTS["jdf-example-f16-6"]
    book = divide(48, Unit((16,)), [8, 4], one_unit=True)
    assert [unit.pieces for unit in book.units] == [(16, 16, 16)]
    sixteen = Scheme("16", 4, 2, ("right under", "top over", "left over"))
    assert sorted(_nested(48, [sixteen] * 3)[0]) == [*range(1, 9), *range(41, 49)]
    assert fact["outputs"]["outermost_holds"] == "first 8 and last 8 pages"


def test_push_out_lies_between_sharp_and_round_folds() -> None:
    """creep-arc: 12 sheets of 0.10 mm, 1.10 mm with sharp folds to 1.728 mm with round ones at the centre."""
    fact = FACTS["creep-arc"]
    innermost, caliper = fact["inputs"]["sheets"] - 1, fact["inputs"]["caliper_mm"]
    assert creep_mm(innermost, caliper, 1.0) == pytest.approx(fact["outputs"]["min_mm"], abs=1e-9)
    assert creep_mm(innermost, caliper, 3.141592653589793 / 2) == pytest.approx(fact["outputs"]["max_mm"], abs=5e-4)


@given(st.integers(0, 60), st.floats(0.03, 0.4), st.floats(1.0, 1.5708))
def test_push_out_grows_with_depth_and_doubles_with_caliper(depth: int, caliper: float, factor: float) -> None:
    """creep-monotone."""
    assert creep_mm(0, caliper, factor) == 0
    assert creep_mm(depth + 1, caliper, factor) > creep_mm(depth, caliper, factor)
    assert creep_mm(depth, 2 * caliper, factor) == pytest.approx(2 * creep_mm(depth, caliper, factor))
