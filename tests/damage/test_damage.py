# SPDX-License-Identifier: AGPL-3.0-or-later
"""Every damage is seen and its pages are named; undamaged sheets pass.

``make damage`` does hundreds; here is a sample.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from foldproof.prove.model import Verdict
from tests.damage.cases import BOOKS, KINDS, Sheeted, missed

#: one book of each binding, three schemes, three ways to print; every kind of damage meets each of them once
SAMPLE = ("sewn 16", "glued 6", "stitched 8")


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("damage")


@pytest.fixture(scope="session")
def sheeted(folder: Path) -> dict[str, Sheeted]:
    return {name: Sheeted.make(name, folder) for name in SAMPLE}


@pytest.mark.parametrize("name", [name for name in BOOKS if name not in SAMPLE])
def test_undamaged_sheets_of_other_schemes_pass(name: str, folder: Path) -> None:
    proof = Sheeted.make(name, folder).proof()
    assert [fault.says for fault in proof.faults] == []
    assert proof.verdict is Verdict.PROVED


@pytest.mark.parametrize("name", SAMPLE)
def test_undamaged_sheets_pass(name: str, sheeted: dict[str, Sheeted]) -> None:
    proof = sheeted[name].proof()
    assert [fault.says for fault in proof.faults] == []
    assert proof.verdict is Verdict.PROVED
    pages = BOOKS[name][2]
    assert [p.found for p in proof.pages if p.expected] == list(range(1, pages + 1))
    assert sum(p.claimed for p in proof.pages) == pages


def test_the_sample_has_copies_pieces_turned_over_and_sheets_turned_both_ways(sheeted: dict[str, Sheeted]) -> None:
    sheets = {name: made.plan.instructions.sheets for name, made in sheeted.items()}
    turns = {name: {sheet.turn for sheet in told} for name, told in sheets.items()}
    over = {
        name: any(s.copy_of and s.turned_over for sheet in told for s in sheet.sections)
        for name, told in sheets.items()
    }
    assert turns == {"sewn 16": {"side to side"}, "glued 6": {"head to tail"}, "stitched 8": {"head to tail"}}
    assert over == {"sewn 16": True, "glued 6": False, "stitched 8": True}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", SAMPLE)
def test_damage_is_seen_and_its_pages_are_named(
    name: str, kind: str, sheeted: dict[str, Sheeted], folder: Path
) -> None:
    if kind == "misplace_step" and not sheeted[name].bars:
        pytest.skip("a stitched book has no collation marks: it is one pile")
    if kind in ("spoil_copy", "exchange_copies", "turn_copy_over", "lose_copy") and not sheeted[name].copies:
        pytest.skip("no section stands on the sheets twice")
    assert missed(sheeted[name], kind, 0, folder) is None
