# SPDX-License-Identifier: AGPL-3.0-or-later
"""Printed imposition tables, laid down by hand, folded by the proof."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from foldproof.prove.model import Leg, Verdict
from tests.build import book
from tests.prove.by_hand import TRIM_MM, folds_of, lay, proved, told

# Sources (../shared/handbook/handbook.toml holds them with addresses): imp-4-folio, Bookbinding handbook, chapter
# 'Folding'; imp-16-octavo, J. B. Nicholson, A Manual of the Art of Bookbinding (1856), 'Folding'; imp-8-grid,
# imp-12-grid and imp-32-grid, after P. Gaskell, A New Introduction to Bibliography (1972), pp. 87-107.
TABLES: dict[str, dict[str, Any]] = {
    "imp-4-folio": {
        "folds": ["V1 right part over left"],
        "outer": [[4, 1]], "outer_heads": ["^^"], "inner": [[2, 3]], "inner_heads": ["^^"],
    },
    "imp-8-grid": {
        "folds": ["H1 top part down over bottom", "V1 right part over left"],
        "outer": [[5, 4], [8, 1]], "outer_heads": ["vv", "^^"], "inner": [[3, 6], [2, 7]], "inner_heads": ["vv", "^^"],
    },
    "imp-16-octavo": {
        "folds": ["V2 right part over left", "H1 top part down over bottom", "V1 right part over left"],
        "outer": [[5, 12, 9, 8], [4, 13, 16, 1]], "outer_heads": ["vvvv", "^^^^"],
        "inner": [[7, 10, 11, 6], [2, 15, 14, 3]], "inner_heads": ["vvvv", "^^^^"],
    },
    "imp-32-grid": {
        "folds": [
            "H2 top part down over bottom", "V2 right part over left",
            "H3 top part down over bottom", "V1 right part over left",
        ],
        "outer": [[5, 28, 29, 4], [12, 21, 20, 13], [9, 24, 17, 16], [8, 25, 32, 1]],
        "outer_heads": ["vvvv", "^^^^", "vvvv", "^^^^"],
        "inner": [[3, 30, 27, 6], [14, 19, 22, 11], [15, 18, 23, 10], [2, 31, 26, 7]],
        "inner_heads": ["vvvv", "^^^^", "vvvv", "^^^^"],
    },
    "imp-12-grid": {
        "folds": ["H1 top part down over bottom", "H2 bottom part up over", "V1 right part over left"],
        # thirds close head and foot; the table has its heads at the fold at the top
        "head": "top",
        "outer": [[9, 4], [12, 1], [7, 6]], "outer_heads": ["vv", "^^", "vv"],
        "inner": [[3, 10], [2, 11], [5, 8]], "inner_heads": ["vv", "^^", "vv"],
    },
}  # fmt: skip


def _instructions(table: dict[str, Any], **more: Any) -> Any:
    rows, columns = len(table["outer"]), len(table["outer"][0])
    return told(columns, rows, folds_of(table["folds"], columns, rows), head=table.get("head"), **more)


@pytest.mark.parametrize("name", TABLES)
def test_table_here_is_the_handbooks(name: str, shared: Path) -> None:
    checks = tomllib.loads((shared / "handbook" / "handbook.toml").read_text())["check"]
    (entry,) = (check for check in checks if check["id"] == name)
    for key in ("outer", "inner", "outer_heads", "inner_heads"):
        assert TABLES[name][key] == entry["outputs"][key]
    assert TABLES[name]["folds"] == entry["inputs"]["folds_inner_face_up"]


@pytest.mark.parametrize("name", TABLES)
def test_sheet_laid_down_from_the_table_folds_into_the_book(name: str, tmp_path: Path) -> None:
    table = TABLES[name]
    pages = 2 * sum(len(row) for row in table["outer"])
    manuscript = book(pages, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    formes = [(table["outer"], table["outer_heads"]), (table["inner"], table["inner_heads"])]
    sheets = lay(tmp_path / "sheets.pdf", manuscript, formes)
    proof = proved(sheets, _instructions(table), manuscript)
    assert [fault.says for fault in proof.faults] == []
    assert proof.verdict is Verdict.PROVED
    assert [p.found for p in proof.pages] == list(range(1, pages + 1))
    assert all(p.claimed and p.look != "differs" for p in proof.pages)


@pytest.mark.parametrize("name", TABLES)
def test_two_exchanged_entries_of_the_table_are_named(name: str, tmp_path: Path) -> None:
    table = TABLES[name]
    pages = 2 * sum(len(row) for row in table["outer"])
    manuscript = book(pages, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    outer = [list(row) for row in table["outer"]]
    one, other = outer[-1][0], outer[-1][1]
    outer[-1][0], outer[-1][1] = other, one
    formes = [(outer, table["outer_heads"]), (table["inner"], table["inner_heads"])]
    sheets = lay(tmp_path / "sheets.pdf", manuscript, formes)
    proof = proved(sheets, _instructions(table), manuscript)
    assert proof.verdict is Verdict.FAILED
    assert {fault.page for fault in proof.faults if fault.leg is Leg.WHICH} == {one, other}


@pytest.mark.parametrize("name", TABLES)
def test_a_head_turned_in_the_table_is_named(name: str, tmp_path: Path) -> None:
    table = TABLES[name]
    pages = 2 * sum(len(row) for row in table["outer"])
    manuscript = book(pages, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    turned = [table["inner_heads"][0].translate(str.maketrans("^v", "v^")), *table["inner_heads"][1:]]
    formes = [(table["outer"], table["outer_heads"]), (table["inner"], turned)]
    sheets = lay(tmp_path / "sheets.pdf", manuscript, formes)
    proof = proved(sheets, _instructions(table), manuscript)
    assert proof.verdict is Verdict.FAILED
    named = {fault.page for fault in proof.faults if "on its head" in fault.says}
    assert named == set(table["inner"][0])


def test_ternion_set_one_in_another_reads_as_jacobi_says(tmp_path: Path) -> None:
    # imp-ternion: C. T. Jacobi, Gesta Typographica (1897), 'Signatures': sheet 1 holds pages 1, 2, 11, 12; sheet 2
    # holds 3, 4, 9, 10; sheet 3 holds 5, 6, 7, 8.  Push-out: caliper for every sheet outside (creep-arc, sharp folds).
    manuscript = book(12, tmp_path / "book.pdf", trim_mm=TRIM_MM, bleed_mm=0)
    formes = []
    for low, high in ((1, 12), (3, 10), (5, 8)):
        formes += [([[high, low]], ["^^"]), ([[low + 1, high - 1]], ["^^"])]
    push = {page: 0.12 * min((page - 1) // 2, (12 - page) // 2) for page in range(1, 13)}
    sheets = lay(tmp_path / "sheets.pdf", manuscript, formes, push_mm=push)
    once = folds_of(["V1 right part over left"], 2, 1)
    nested = told(2, 1, once, sheets=3, gathering=(("1A", "2A", "3A"),), caliper_mm=0.12, binding="stitched")
    proof = proved(sheets, nested, manuscript)
    assert [fault.says for fault in proof.faults] == []
    assert [p.found for p in proof.pages] == list(range(1, 13))
    thinner = told(2, 1, once, sheets=3, gathering=(("1A", "2A", "3A"),), caliper_mm=0.06, binding="stitched")
    off = proved(sheets, thinner, manuscript)
    # 0.06 mm too far in for every sheet outside: past the limit of 0.05 mm for the second and third sheet
    assert {fault.page for fault in off.faults if fault.leg is Leg.WHERE} == set(range(3, 11))
