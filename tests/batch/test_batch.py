# SPDX-License-Identifier: AGPL-3.0-or-later
"""Many books: one line each, one bad book stops no other, the worst code is the batch's."""

from __future__ import annotations

import json
from pathlib import Path

from foldproof.batch.run import BookEnd, worst
from foldproof.errors import ExitCode
from tests.build import book


def test_one_bad_book_stops_no_other(tmp_path: Path, foldproof) -> None:
    folder = tmp_path / "interiors"
    folder.mkdir()
    book(8, folder / "-rf.pdf")
    book(4, folder / "b & c.pdf")
    (folder / "broken.pdf").write_bytes(b"%PDF-1.7\nnothing\n")
    (folder / "b & c.toml").write_text('[book]\nbinding = "stitched"\n')
    out = tmp_path / "out"
    done = foldproof("batch", folder, "-o", out, "--workers", "2")
    assert done.returncode == ExitCode.UNREADABLE, done.stdout + done.stderr
    told = json.loads((out / "summary.json").read_text())
    codes = {entry["name"]: entry["code"] for entry in told["books"]}
    assert set(codes) == {"-rf.pdf", "b & c.pdf", "broken.pdf"}
    assert codes["broken.pdf"] == ExitCode.UNREADABLE and codes["-rf.pdf"] in (0, 1)
    folders = {p.name for p in out.iterdir() if p.is_dir()}
    assert len(folders) == 2
    plan = json.loads(next(p for p in out.glob("b*/plan.json")).read_text())
    assert plan["binding"] == "stitched"
    index = (out / "index.html").read_text()
    assert "b &amp; c.pdf" in index and "b & c.pdf" not in index


def test_the_worst_code_is_that_of_the_batch() -> None:
    # a fault of ours is worse than a book that is not proved, that worse than one that cannot be read
    def ended(*codes: int) -> ExitCode:
        return worst([BookEnd(str(n), code, "") for n, code in enumerate(codes)])

    assert ended(0, 1, 0) is ExitCode.STOPPED
    assert ended(1, 4, 3) is ExitCode.UNREADABLE
    assert ended(3, 5, 1) is ExitCode.NOT_PROVED
    assert ended(0, 99) is ExitCode.OUR_FAULT
