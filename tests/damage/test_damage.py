# SPDX-License-Identifier: AGPL-3.0-or-later
"""Every damage is seen and its pages are named; undamaged sheets pass.

``make damage`` does hundreds; here is a sample.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from foldproof.prove.model import Verdict
from tests.damage.cases import BOOKS, KINDS, Sheeted, missed

#: one book of each binding, three schemes; every kind of damage meets each of them once
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


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", SAMPLE)
def test_damage_is_seen_and_its_pages_are_named(
    name: str, kind: str, sheeted: dict[str, Sheeted], folder: Path
) -> None:
    if kind == "misplace_step" and not sheeted[name].bars:
        pytest.skip("a stitched book has no collation marks: it is one pile")
    assert missed(sheeted[name], kind, 0, folder) is None
