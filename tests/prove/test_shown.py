# SPDX-License-Identifier: AGPL-3.0-or-later
"""What is seen after every fold, on sheets laid down by hand from printed tables."""

from __future__ import annotations

from functools import cache

import pytest
from attrs import evolve

from foldproof.errors import AskedWrong
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.prove.model import Proof
from foldproof.prove.shown import PageSeen, SectionSeen, sections_seen
from tests.build import book
from tests.prove.by_hand import PANEL_MM, TRIM_MM, folds_of, lay, proved, told
from tests.prove.test_handbook_tables import TABLES


@pytest.fixture(scope="module")
def folded(tmp_path_factory: pytest.TempPathFactory):  # type: ignore[no-untyped-def]
    """A table's sheet, written, proved, and what is seen of it."""
    folder = tmp_path_factory.mktemp("shown")

    @cache
    def made(name: str) -> tuple[FoldingInstructions, Proof, SectionSeen]:
        table = TABLES[name]
        rows, columns = len(table["outer"]), len(table["outer"][0])
        instructions = told(columns, rows, folds_of(table["folds"], columns, rows), head=table.get("head"))
        manuscript = folder / f"{name}.pdf"
        book(2 * rows * columns, manuscript, trim_mm=TRIM_MM, bleed_mm=0)
        sheets = lay(
            folder / f"{name}-sheets.pdf",
            manuscript,
            [(table["outer"], table["outer_heads"]), (table["inner"], table["inner_heads"])],
        )
        proof = proved(sheets, instructions, manuscript, pictures=False)
        [seen] = sections_seen(instructions, proof)
        return instructions, proof, seen

    return made


def rows_of(pages: tuple[PageSeen, ...]) -> list[list[tuple[int | None, str]]]:
    """Page and ``^`` or ``v`` for its head, rows from the top."""
    rows: dict[float, list[tuple[float, int | None, str]]] = {}
    for one in pages:
        rows.setdefault(round(one.box_mm[3], 1), []).append(
            (one.box_mm[0], one.page, {0: "^", 180: "v", 90: "<", 270: ">"}[one.turn])
        )
    return [[(page, head) for _, page, head in sorted(rows[top])] for top in sorted(rows, reverse=True)]


@pytest.mark.parametrize("name", TABLES)
def test_the_flat_sheet_is_the_printed_table(name: str, folded) -> None:  # type: ignore[no-untyped-def]
    _, _, seen = folded(name)
    table = TABLES[name]
    for face, pages in (("outer", seen.piles[0].top), ("inner", seen.piles[0].under)):
        printed = [
            list(zip(row, heads, strict=True)) for row, heads in zip(table[face], table[f"{face}_heads"], strict=True)
        ]
        assert rows_of(pages) == printed


@pytest.mark.parametrize("name", TABLES)
def test_the_folded_section_shows_its_first_and_last_page_and_opens_in_its_middle(name: str, folded) -> None:  # type: ignore[no-untyped-def]
    _, _, seen = folded(name)
    count = 2 * len(TABLES[name]["outer"]) * len(TABLES[name]["outer"][0])
    # a section folds to a little book: page 1 in front, its last page behind, its middle where the sewer's needle goes
    last = seen.piles[-1]
    assert sorted(one.page for one in (*last.top, *last.under)) == [1, count]
    assert last.size_mm == pytest.approx(PANEL_MM)
    assert (seen.front.page, seen.back.page) == (1, count)
    assert [corner.page for corner in seen.middle] == [count // 2, count // 2 + 1]
    # read from left to right a right-hand page has its outer corner at the right
    assert [corner.corner for corner in (seen.front, seen.back, *seen.middle)] == [
        "lower right", "lower left", "lower left", "lower right",
    ]  # fmt: skip


def test_the_octavo_fold_by_fold(folded) -> None:  # type: ignore[no-untyped-def]
    """Worked with a sheet of paper marked as imp-16-octavo of the handbook, outer face up: the left half under, the top
    half under, the left half under; each pile looked at from above, then turned over side to side."""
    _, _, seen = folded("imp-16-octavo")
    up = [
        [[(9, "v"), (8, "v")], [(16, "^"), (1, "^")]],
        [[(16, "^"), (1, "^")]],
        [[(1, "^")]],
    ]
    down = [
        [[(5, "v"), (12, "v")], [(4, "^"), (13, "^")]],
        [[(8, "^"), (9, "^")]],
        [[(16, "^")]],
    ]
    assert [rows_of(pile.top) for pile in seen.piles[1:]] == up
    assert [rows_of(pile.under) for pile in seen.piles[1:]] == down
    wide, high = PANEL_MM
    assert [pile.size_mm for pile in seen.piles] == [
        pytest.approx(size) for size in ((4 * wide, 2 * high), (2 * wide, 2 * high), (2 * wide, high), (wide, high))
    ]
    # the edges that the folds closed: left, top, left; and where the next one comes: the middle across, the middle up
    assert [pile.closed_mm for pile in seen.piles[1:]] == [
        ((0.0, 0.0), (0.0, pytest.approx(2 * high))),
        ((0.0, pytest.approx(high)), (pytest.approx(2 * wide), pytest.approx(high))),
        ((0.0, 0.0), (0.0, pytest.approx(high))),
    ]
    assert seen.piles[1].next_mm == ((0.0, pytest.approx(high)), (pytest.approx(2 * wide), pytest.approx(high)))
    assert seen.piles[-1].next_mm is None


def test_a_proof_of_other_sheets_is_refused(folded) -> None:  # type: ignore[no-untyped-def]
    instructions, proof, _ = folded("imp-16-octavo")
    with pytest.raises(AskedWrong, match="tells of 15 pages of section 1A on sheet 1, which has 16"):
        sections_seen(instructions, evolve(proof, pages=proof.pages[:-1]))
