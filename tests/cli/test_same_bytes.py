# SPDX-License-Identifier: AGPL-3.0-or-later
"""Same input, same settings: the same bytes, whatever the run, hash seed, folder, time zone and number of workers."""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

import pytest

from tests.build import book

CASES = [
    {"seed": "0", "zone": "UTC", "workers": "1", "folder": "a"},
    {"seed": "1", "zone": "Asia/Tokyo", "workers": "2", "folder": "a name with spaces"},
    {"seed": "4242", "zone": "America/St_Johns", "workers": "2", "folder": "deep/er/still"},
]


def hashes(folder: Path) -> dict[str, str]:
    return {p.name: hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(folder.iterdir()) if p.is_file()}


@pytest.mark.parametrize("source", ["built", "r-intro.pdf"])
def test_outputs_are_the_same_bytes(source: str, tmp_path: Path, request: pytest.FixtureRequest, foldproof) -> None:
    if source == "built":
        original = tmp_path / "built.pdf"
        book(21, original, trim_mm=(140, 216), bleed_mm=3)
    else:
        original = request.getfixturevalue("corpus") / "books" / source
    seen = []
    for case in CASES if source == "built" else CASES[1:]:
        folder = tmp_path / case["folder"]
        folder.mkdir(parents=True, exist_ok=True)
        copy = folder / "book.pdf"
        shutil.copyfile(original, copy)
        env = {"PYTHONHASHSEED": case["seed"], "TZ": case["zone"]}
        done = foldproof("make", copy, "-o", folder / "out", "--workers", case["workers"], "-q", env=env)
        assert done.returncode in (0, 1), done.stderr
        seen.append(hashes(folder / "out"))
    assert {"sheets.pdf", "plan.json", "findings.json", "proof.json"} <= set(seen[0])
    assert all(one == seen[0] for one in seen[1:])
