# SPDX-License-Identifier: AGPL-3.0-or-later
"""Published check values from the files beside this one, by their ids.  The source of each stands beside it there."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


@cache
def facts() -> dict[str, dict[str, Any]]:
    """Every ``[[check]]`` of every file; of one that stands in two files the first by name of the file."""
    found: dict[str, dict[str, Any]] = {}
    for file in sorted(HERE.glob("*.toml")):
        for entry in tomllib.loads(file.read_text("utf-8")).get("check", []):
            found.setdefault(entry["id"], entry)
    return found


def told(fact: str) -> Any:
    """The outputs of a fact."""
    return facts()[fact]["outputs"]


def given(fact: str) -> Any:
    """The inputs of a fact."""
    return facts()[fact]["inputs"]
