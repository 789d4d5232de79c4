# SPDX-License-Identifier: AGPL-3.0-or-later
"""The tables of faults, for tests and, as a program, for people: ``python tests/faults/table.py``."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent


def rows(name: str) -> dict[str, dict[str, Any]]:
    """The rows of ``outside`` or ``inside``, by id."""
    table = tomllib.loads((HERE / f"{name}.toml").read_text("utf-8"))["row"]
    by_id = {row["id"]: row for row in table}
    assert len(by_id) == len(table), "two rows of one id"
    return by_id


def main() -> None:
    """Both tables as Markdown."""
    for path in sorted(HERE.glob("*.toml")):
        print(f"\n## {path.stem}\n\n| fault | code | what the user sees | what is left on disk |\n|---|---|---|---|")
        for row in rows(path.stem).values():
            says = row["says"].replace("\\.", ".").replace("|", " / ") or "–"
            print(f"| {row['fault']} | {row['code']} | {says} | {row['left']} |")


if __name__ == "__main__":
    main()
