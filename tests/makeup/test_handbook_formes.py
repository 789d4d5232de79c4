# SPDX-License-Identifier: AGPL-3.0-or-later
"""Formes, formats and fold names against published facts (tests/handbook, where the sources stand), and every scheme
of the shipped house, and the leaflets, against folding by brute force."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from foldproof.job.load import load_house
from foldproof.job.model import WAYS, Allowances, HouseScheme
from foldproof.makeup.binding import Panel, nests, panel_for, refusal
from foldproof.makeup.cost_run import plates_of
from foldproof.makeup.cost_sheets import sheets_needed
from foldproof.makeup.folding import LEFT_TO_RIGHT, RIGHT_TO_LEFT, Edge, FoldError, Scheme, fold, forme, read
from foldproof.makeup.instructions import Fold, FoldingInstructions, Section, Sheet
from foldproof.makeup.places import unit_leaf
from foldproof.makeup.sections import SHORT_SIZES, Unit, divide
from foldproof.makeup.shapes import laid
from foldproof.pdf.proof_affine import at
from foldproof.prove.reading import read as proof_read
from tests.handbook.facts import facts, given, told
from tests.makeup import brute_folding as brute
from tests.makeup.turned_formes import Grid, work_and_tumble, work_and_turn

HOUSE = load_house(None)
READINGS = (LEFT_TO_RIGHT, RIGHT_TO_LEFT)

FOLIO = Scheme("folio", 2, 1, ("left under",))
QUARTO = Scheme("quarto", 2, 2, ("top under", "left under"))
OCTAVO = Scheme("octavo", 4, 2, ("right under", "top over", "left over"))
#: long twelves: two rows of six leaves, the six in thirds and then halved
LONG_TWELVES = Scheme("long 12", 6, 2, ("top under", "left 2 under", "right 2 under", "left under"))
SIXTEENMO = Scheme("16mo", 4, 4, ("top under", "left under", "top under", "left under"))
#: thirds both ways and a half: eighteen leaves about one middle
EIGHTEENMO = Scheme(
    "18mo", 6, 3, ("top 1 under", "bottom 1 under", "left 2 under", "right 2 under", "left under"), "top"
)
TWENTYFOURMO = Scheme("24mo", 8, 3, ("left under", "top 1 under", "bottom 1 under", "left under", "left under"), "top")
THIRTYTWOMO = Scheme("32mo", 8, 4, ("left under", "top under", "left under", "top under", "left under"))
FORMATS = {
    "folio": FOLIO, "4to": QUARTO, "8vo": OCTAVO, "12mo": LONG_TWELVES, "16mo": SIXTEENMO, "18mo": EIGHTEENMO,
    "24mo": TWENTYFOURMO, "32mo": THIRTYTWOMO,
}  # fmt: skip
SIX = Scheme("6 letter fold", 3, 1, ("right 1 over", "left 1 over"))
#: page counts of sections, 128 pages a sheet being four of the last
SECTIONS = {
    "4": FOLIO,
    "8": QUARTO,
    "12": Scheme("12", 2, 3, ("top 1 under", "bottom 1 under", "left under"), "top"),
    "12 strip": Scheme("12 strip", 6, 1, ("left 2 under", "right 2 under", "left under")),
    "16": OCTAVO,
    "18": Scheme("18", 3, 3, ("top 1 under", "bottom 1 under", "left 1 under", "right 1 under"), "top"),
    "24": Scheme("24", 4, 3, ("left under", "top 1 under", "bottom 1 under", "left under"), "top"),
    "32": SIXTEENMO,
    "64": THIRTYTWOMO,
    # spine folds across the sheet: the heads stand sideways
    "16 level": Scheme("16 level", 2, 4, ("top under", "left under", "top under")),
}
LEAFLETS = {
    "concertina of 3": Scheme("6 concertina", 3, 1, ("left 1 under", "right 1 over")),
    "concertina of 4": Scheme("8 concertina", 4, 1, ("left 1 over", "left 1 under", "left 1 over")),
    "concertina of 8": Scheme("16 concertina", 8, 1, tuple(f"left 1 {w}" for w in ("over", "under") * 3 + ("over",))),
    "roll of 3": Scheme("6 roll", 3, 1, ("left 1 under", "right 1 under")),
    "roll of 4": Scheme("8 roll", 4, 1, ("left 1 over", "left 1 over", "left 1 over")),
    "roll of 6": Scheme("12 roll", 6, 1, ("right 1 under",) * 5),
    "gate, closed": Scheme("8 gate", 4, 1, ("left 1 over", "right 1 over", "left over")),
    "letter fold": SIX,
    "concertina, then across": Scheme("16 map", 4, 2, ("left 1 over", "left 1 under", "left 1 over", "top under")),
    "upright roll": Scheme("8 roll, level", 1, 4, ("top 1 over", "top 1 over", "top 1 over"), "left"),
}


def _house_schemes() -> dict[str, Scheme]:
    return {s.name: Scheme(s.name, s.columns, s.rows, s.folds, s.head) for s in HOUSE.schemes if not s.offcut_rows}


ALL = {**{f"house {k}": v for k, v in _house_schemes().items()}, **FORMATS, **SECTIONS, **LEAFLETS}


def _brute(scheme: Scheme, reading: str) -> brute.Folded:
    return brute.fold(scheme.columns, scheme.rows, scheme.folds, scheme.head, spine_left=reading == LEFT_TO_RIGHT)


def _pages(side: Grid) -> list[list[int]]:
    return [[page for page, _ in row] for row in side]


@pytest.mark.parametrize("reading", READINGS)
@pytest.mark.parametrize("name", ALL)
def test_both_formes_are_those_of_a_dummy(name: str, reading: str) -> None:
    """imp-dummy: fold a sheet, number its leaves, mark their heads, open it.  The dummy is folded by brute force."""
    assert facts()["imp-dummy"]["read"] == "seen"
    dummy = _brute(ALL[name], reading)
    assert forme(ALL[name], reading) == dummy.forme()
    assert forme(ALL[name], reading, back=True) == dummy.forme(back=True)


@pytest.mark.parametrize("reading", READINGS)
@pytest.mark.parametrize("name", ALL)
def test_what_is_sewn_and_what_nests_is_what_the_dummy_shows(name: str, reading: str) -> None:
    dummy = _brute(ALL[name], reading)
    panel = Panel(140, 216, 0, 4, 5, 5)
    for binding in ("sewn", "stitched"):
        assert (refusal(ALL[name], reading, binding, panel, 3.0) is None) == (dummy.sewn is None)
    assert refusal(ALL[name], reading, "glued", Panel(140, 216, 3, 4, 5, 5), 3.0) is None
    assert nests(ALL[name], reading) == dummy.one_round_another
    # a knife that takes nothing off one edge leaves leaves joined exactly where the dummy has bolts there
    for edge, bare in (
        ("head", Panel(140, 216, 3, 4, 0, 5)), ("foot", Panel(140, 216, 3, 4, 5, 0)),
        ("fore-edge", Panel(140, 216, 3, 0, 5, 5)),
    ):  # fmt: skip
        closed = any(edge in dummy.bolts(leaf) for leaf in range(len(dummy.leaves)))
        assert (refusal(ALL[name], reading, "glued", bare, 3.0) is not None) == closed


def test_which_of_them_thread_holds() -> None:
    """By hand with strips and sheets of paper: thirds alone, gates and concertinas have leaves that fall out.

    A roll of an even count is folios one in another; whatever is halved last lies about one middle.
    """
    loose = {name for name in ALL if not name.startswith("house") and _brute(ALL[name], LEFT_TO_RIGHT).sewn}
    concertinas = {f"concertina of {leaves}" for leaves in (3, 4, 8)}
    assert loose == {"18", "roll of 3", "gate, closed", "letter fold"} | concertinas


@pytest.mark.parametrize("name", FORMATS)
def test_leaves_and_pages_of_the_formats(name: str) -> None:
    """imp-formats."""
    leaves, pages = told("imp-formats")[name]
    assert len(read(FORMATS[name], LEFT_TO_RIGHT)) == leaves
    on_both = _pages(forme(FORMATS[name], LEFT_TO_RIGHT)) + _pages(forme(FORMATS[name], LEFT_TO_RIGHT, back=True))
    assert sorted(page for row in on_both for page in row) == list(range(1, pages + 1))


def test_the_folio_on_the_stone() -> None:
    """imp-folio-cowie: the stone is the mirror of the print; inner side up the sheet folds right over left."""
    scheme = Scheme("folio", 2, 1, ("right over",))
    fact = told("imp-folio-cowie")
    assert [row[::-1] for row in _pages(forme(scheme, LEFT_TO_RIGHT, back=True))] == fact["outer_stone"]
    assert [row[::-1] for row in _pages(forme(scheme, LEFT_TO_RIGHT))] == fact["inner_stone"]


@pytest.mark.parametrize("name", ["folio", "4to", "8vo", "16mo", "32mo"])
def test_page_one_lies_at_the_left_of_the_stone(name: str) -> None:
    """imp-first-page-left: its foot towards the compositor, who stands at the lower edge.

    Holds of the sheet folded from its right end, outer side down, as the worker of imp-16-octavo folds it.
    """
    fact = told("imp-first-page-left")
    inner_up = {
        "folio": ("right over",), "4to": ("top over", "right over"), "8vo": ("right over", "top over", "right over"),
        "16mo": ("top over", "right over", "top over", "right over"),
        "32mo": ("right over", "top over", "right over", "top over", "right over"),
    }[name]  # fmt: skip
    scheme = Scheme(name, FORMATS[name].columns, FORMATS[name].rows, inner_up)
    outer = forme(scheme, LEFT_TO_RIGHT, back=True)
    stone = [row[::-1] for row in outer]
    ((row, column, head),) = (
        (r, c, head) for r, line in enumerate(stone) for c, (page, head) in enumerate(line) if page == 1
    )
    assert column == fact["column"] and row == scheme.rows - 1
    assert (head == 0) == fact["head_up"]


def test_the_third_page_of_an_octavo_stands_at_the_lower_right_of_the_inner_forme() -> None:
    """imp-sheet-turn."""
    fact = told("imp-sheet-turn")
    inner = forme(Scheme("8vo", 4, 2, ("right over", "top over", "right over")), LEFT_TO_RIGHT)
    assert fact["corner"] == "bottom right" and inner[-1][-1][0] == fact["page"]


def test_four_pages_on_two_formes() -> None:
    """imp-4-sheetwise, jdf-half-fold, jdf-f4-1: one fold, and no bolt anywhere."""
    fact = told("imp-4-sheetwise")
    front, back = forme(FOLIO, LEFT_TO_RIGHT), forme(FOLIO, LEFT_TO_RIGHT, back=True)
    assert {frozenset(page for page, _ in front[0]), frozenset(page for page, _ in back[0])} == {
        frozenset(fact["one"]),
        frozenset(fact["other"]),
    }
    assert (FOLIO.pages, len(fold(FOLIO).lines)) == (given("jdf-f4-1")["pages"], given("jdf-f4-1")["folds"])
    assert not any(leaf.bolts for leaf in read(FOLIO, LEFT_TO_RIGHT))


def test_the_eight_folded_to_and_fro_and_the_eight_folded_across() -> None:
    """jdf-f8-1: zigzag in quarters; jdf-f8-7: half, then half square to it."""
    zigzag = LEAFLETS["concertina of 4"]
    assert (zigzag.pages, len(zigzag.folds)) == (given("jdf-f8-1")["pages"], given("jdf-f8-1")["folds"])
    # leaf after leaf lies along the strip
    along = [leaf.column for leaf in read(zigzag, LEFT_TO_RIGHT)]
    assert {abs(one - other) for one, other in pairwise(along)} == {1}
    lines = fold(QUARTO).lines
    assert (QUARTO.pages, len(lines)) == (given("jdf-f8-7")["pages"], given("jdf-f8-7")["folds"])
    assert [line.upright for line in lines] == [False, True]


def test_sixteen_pages_by_three_halvings_in_either_order() -> None:
    """jdf-f16-6, jdf-f16-7 (recalled): each fold halves the pile; another order, another forme, as many pages."""
    other = Scheme("16 other", 4, 2, ("top under", "left under", "left under"))
    for scheme, fact in ((OCTAVO, "jdf-f16-6"), (other, "jdf-f16-7")):
        assert (scheme.pages, len(scheme.folds)) == (given(fact)["pages"], given(fact)["folds"])
        assert _brute(scheme, LEFT_TO_RIGHT).sewn is None
    assert [line.upright for line in fold(OCTAVO).lines] == [True, False, True]
    assert forme(other, LEFT_TO_RIGHT) != forme(OCTAVO, LEFT_TO_RIGHT)


def test_a_sheet_can_be_folded_to_every_number_of_pages_of_the_families() -> None:
    """jdf-range: by a concertina at least; two pages are a sheet that is not folded, which is no section."""
    fact = told("jdf-range")
    for pages in sorted({*fact["seen"], *fact["recalled"]}):
        strip = Scheme(
            "strip", pages // 2, 1, tuple(f"left 1 {('over', 'under')[i % 2]}" for i in range(pages // 2 - 1))
        )
        if pages == 2:
            with pytest.raises(FoldError, match="no fold"):
                read(strip, LEFT_TO_RIGHT)
        else:
            assert 2 * len(read(strip, LEFT_TO_RIGHT)) == pages


def test_one_fold_parts_a_sheet_into_left_and_right() -> None:
    """jdf-no-rotation: also a sheet that is higher than it is wide."""
    ((upright, place, *_),) = ((line.upright, line.at) for line in fold(FOLIO).lines)
    assert upright
    for sheet, cell in (("sheet", "cell"), ("other_sheet", "other_cell")):
        wide, high = given("jdf-no-rotation")[sheet]
        assert [wide * place / FOLIO.columns, high / FOLIO.rows] == told("jdf-no-rotation")[cell]


def test_two_folded_together_have_the_pages_of_both() -> None:
    """jdf-example-common: F4-1 twice, one in the other."""
    fact = given("jdf-example-common")
    unit = Unit((fact["pages_one"],) * fact["common_folds"])
    (whole,) = divide(told("jdf-example-common")["pages"], unit, ()).units
    assert whole.pages == told("jdf-example-common")["pages"]
    held = [unit_leaf(order, 2, outside, 4) for outside in (0, 1) for order in (0, 1)]
    assert held == [0, 3, 1, 2]


def test_the_head_is_closed_from_eight_pages_on() -> None:
    """imp-8-quarto-def."""
    fact = told("imp-8-quarto-def")
    closed = {
        scheme.pages: all(Edge.HEAD in leaf.bolts for leaf in read(scheme, LEFT_TO_RIGHT)) for scheme in (FOLIO, QUARTO)
    }
    assert closed == {fact["without"]: False, fact["with"]: True}


@pytest.mark.parametrize("spine_upright", [True, False])
@pytest.mark.parametrize("reading", READINGS)
@pytest.mark.parametrize("name", SECTIONS)
def test_the_lowest_folio_stands_next_to_the_grippers(name: str, reading: str, spine_upright: bool) -> None:
    """imp-gripper-low: as the section lies on the sheet, gripper edge below."""
    assert facts()["imp-gripper-low"]["read"] == "seen"
    scheme = SECTIONS[name]
    shape = laid(scheme, reading, Panel(140, 216, 0, 4, 5, 5), spine_upright)
    on_sheet = np.rot90(np.array(_pages(forme(scheme, reading))), shape.turned)
    rows = len(on_sheet)
    lowest = int(np.argwhere(on_sheet == on_sheet.min())[0][0])
    # as near as turning allows: a folio in the upper half would come down when the section is turned half round
    assert lowest >= rows - 1 - lowest


# --- half sheets, ways of backing -------------------------------------------------------------------------------------


def test_formats_made_of_smaller_ones_as_half_sheets() -> None:
    """imp-doubling: sixteens are two octavos worked and turned, thirty-twos four; eighteens do not go."""
    fact = told("imp-doubling")
    for name in ("16mo", "24mo", "32mo"):
        part, count = fact[name]
        assert FORMATS[name].pages == count * FORMATS[part].pages
    front, back = forme(OCTAVO, LEFT_TO_RIGHT), forme(OCTAVO, LEFT_TO_RIGHT, back=True)
    for forme_ in (work_and_turn(front, back), work_and_tumble(front, back)):
        assert sum(len(row) for row in forme_) == SIXTEENMO.panels
    assert all(FORMATS[fact["exception"]].pages % FORMATS[part].pages for part in ("8vo", "12mo"))


def test_work_and_turn_prints_two_and_halves_the_sheets() -> None:
    """imp-wat-halves: every page stands once on each side of the turned sheet, so twice."""
    fact = given("imp-wat-halves")
    grid = work_and_turn(forme(OCTAVO, LEFT_TO_RIGHT), forme(OCTAVO, LEFT_TO_RIGHT, back=True))
    seen = [page for _ in ("first pass", "second pass") for row in grid for page, _ in row]
    copies = {seen.count(page) for page in range(1, 17)}
    assert copies == {fact["units_per_sheet"]}
    assert (
        sheets_needed(fact["copies"], *copies, "sewn", Allowances()).net == told("imp-wat-halves")["press_sheets_net"]
    )


def test_sets_of_plates_by_the_way_of_backing() -> None:
    """imp-styles-4: two sets sheetwise, one set worked and turned or tumbled."""
    ours = {"sheetwise": "two formes"}
    for way, sets in told("imp-styles-4").items():
        assert plates_of(ours.get(way, way), 4, 4) == 4 * sets  # type: ignore[arg-type]


def test_every_way_of_the_standard_has_one_of_ours() -> None:
    """jdf-workstyle."""
    assert sorted(told("jdf-workstyle").values()) == sorted(WAYS)


@pytest.mark.parametrize(
    ("fact", "way", "turn"),
    [
        ("imp-wat-edge", "work and turn", "side to side"),
        ("imp-wat-edge", "work and tumble", "head to tail"),
        ("imp-sheetwork-lay", None, "side to side"),
    ],
)
def test_which_edges_change_when_the_sheet_is_turned(fact: str, way: str | None, turn: str) -> None:
    """imp-wat-edge, imp-sheetwork-lay: by the proof's own turning, a folio in the corner of gripper and side lay."""
    expected = told(fact)[way] if way else told(fact)
    section = Section(
        id="1A", rect_mm=(0, 0, 208, 160), turned=0, columns=2, rows=1, column_mm=(104, 104), row_mm=(160,),
        folds=(Fold("left under", ((104, 0), (104, 160))),), head=None, head_trim_mm=5, foot_trim_mm=5, spine_trim_mm=0,
    )  # fmt: skip
    sheet = Sheet(1, 700, 500, turn, (), (section,))
    book = FoldingInstructions(
        reading=LEFT_TO_RIGHT, binding="sewn", trim_mm=(100, 150), bleed_mm=0, caliper_mm=0, creep_factor=1,
        sheets=(sheet,), gathering=(("1A",),), collation=None,
    )  # fmt: skip
    for leaf in proof_read(section, sheet, book).leaves:
        front, back = (leaf.recto, leaf.verso) if leaf.recto.side == "front" else (leaf.verso, leaf.recto)
        (fx, fy), (bx, by) = (
            at(face.to_side, (face.panel[0] + face.panel[2]) / 2, (face.panel[1] + face.panel[3]) / 2)
            for face in (front, back)
        )
        assert fx < 350 and fy < 250
        assert ("same" if by < 250 else "opposite") == expected["gripper"]
        assert ("same" if bx < 350 else "opposite") == expected["side_lay"]


# --- the duodecimo with its offcut ------------------------------------------------------------------------------------


def _offcut() -> tuple[Scheme, Scheme]:
    """The shipped duodecimo: what stays, and the strip that is cut off the top."""
    told_: HouseScheme = next(s for s in HOUSE.schemes if s.offcut_rows)
    rest = Scheme("rest", told_.columns, told_.rows - told_.offcut_rows, told_.folds, told_.head)
    return rest, Scheme("offcut", told_.columns, told_.offcut_rows, told_.offcut_folds, told_.head)


def test_the_duodecimo_is_cut_folded_and_inset_by_brute_force() -> None:
    """imp-12mo-cut, imp-12mo-cut-why: the printed table laid on paper, a strip cut off, both folded, one set in."""
    table = np.array(told("imp-12mo-cut")["outer_printed"])
    why = told("imp-12mo-cut-why")
    rest, offcut = _offcut()
    assert (offcut.panels, rest.panels) == (why["offcut"], why["rest"])
    assert table.size == why["leaves"]
    quire: list[int] = []
    for scheme, part in ((rest, table[offcut.rows :]), (offcut, table[: offcut.rows])):
        dummy = _brute(scheme, LEFT_TO_RIGHT)
        assert dummy.sewn is None
        # the pages of the outer forme as they are met in the folded part, a leaf whose outer side is its verso last
        met = [(int(part[leaf.panel[1], leaf.panel[0]]), leaf.recto_on_front) for leaf in dummy.leaves]
        assert all((page % 2 == 1) == recto for page, recto in met)
        leaves = [(page + 1) // 2 for page, _ in met]
        middle = len(quire) // 2
        quire[middle:middle] = leaves
    assert quire == list(range(1, 13))


def test_no_twelve_leaves_of_that_shape_fold_by_halves() -> None:
    """imp-12mo-cut-why: three rows cannot be halved."""
    with pytest.raises(FoldError, match="says half, but 3 panels"):
        fold(Scheme("12mo", 4, 3, ("right under", "top under", "left under")))


# --- sections of a job ------------------------------------------------------------------------------------------------


def test_the_house_folds_and_sews_the_usual_sections() -> None:
    """imp-gpo-sizes: 8, 12, 16, 24, 32.  Its two blanks at most are the rule of another house: ours allows three."""
    fact = told("imp-gpo-sizes")
    panel = panel_for((140, 216), 3, "sewn", HOUSE.allowances)
    sewn = {s.pages for s in _house_schemes().values() if refusal(s, LEFT_TO_RIGHT, "sewn", panel, 3.0) is None}
    assert set(fact["section_pages"]) <= sewn
    # a book of whole leaves that such a house would take is divided with no more blanks than it allows
    for pages in range(8, 400, 2):
        assert divide(pages, Unit((16,)), SHORT_SIZES).blanks <= fact["max_blanks"]
