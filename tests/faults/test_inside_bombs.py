# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small files that unpack to enormous ones: rows of inside.toml."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.faults.bombs import FAULTS
from tests.faults.running import BY_COMMAND, Kept, hold, pool  # noqa: F401 - a fixture


@pytest.mark.parametrize("name", [name for name in FAULTS if name not in BY_COMMAND])
def test_it_ends_as_the_table_says(name: str, tmp_path: Path, pool: Kept, monkeypatch: pytest.MonkeyPatch) -> None:  # noqa: F811
    hold(name, FAULTS[name], tmp_path, pool, monkeypatch)
