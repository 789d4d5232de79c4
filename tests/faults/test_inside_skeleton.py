# SPDX-License-Identifier: AGPL-3.0-or-later
"""Files that are locked, or whose skeleton is wrong: rows of inside.toml."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from foldproof.manuscript.read import read
from tests.faults import locked, trees
from tests.faults.running import BY_COMMAND, Kept, hold, pool  # noqa: F401 - a fixture

FAULTS = {**locked.FAULTS, **trees.FAULTS}


@pytest.mark.parametrize("name", [name for name in FAULTS if name not in BY_COMMAND])
def test_it_ends_as_the_table_says(name: str, tmp_path: Path, pool: Kept, monkeypatch: pytest.MonkeyPatch) -> None:  # noqa: F811
    hold(name, FAULTS[name], tmp_path, pool, monkeypatch)


@pytest.mark.parametrize("make", [trees.one_page_often, trees.tiny_pages])
def test_a_hundred_thousand_pages_cost_a_hundred_thousand_times_one(
    make: Callable[[Path, int], Path], tmp_path: Path
) -> None:
    """Four times the pages take some four times the reading; were each held against each, it would be sixteen."""

    def cpu_s(pages: int) -> float:
        path = make(tmp_path / f"{pages}.pdf", pages)
        start = time.process_time()
        assert len(read(path).pages) == pages
        return time.process_time() - start

    cpu_s(100)
    assert cpu_s(16_000) < 8 * max(cpu_s(4_000), 0.05)
