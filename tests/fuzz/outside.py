# SPDX-License-Identifier: AGPL-3.0-or-later
"""A sample once more as a user runs it, and what was made held against readers of others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.fuzz.sources import Source
from tests.fuzz.watch import Run


def held_against_others(runs: Sequence[Run], books: Sequence[Source], room: Path) -> Iterator[str]:
    return iter(())
