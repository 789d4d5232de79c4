# SPDX-License-Identifier: AGPL-3.0-or-later
"""Nothing fits, at the command line: exit code 4, one line of why on stderr, and a line for every way out."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from importlib import resources
from pathlib import Path

import pytest

from foldproof.errors import ExitCode
from tests.build import book

Run = Callable[..., subprocess.CompletedProcess[str]]
HOUSE = resources.files("foldproof.job") / "houses" / "lantern-row.toml"

#: pages, trim, job, what of the shipped house is put in place of what, words of the sentence, ways out
CASES = [
    # worked by hand in tests/makeup/test_no_plan.py, as all of these
    (150, "210 x 297 mm", '[press]\nname = "Taper 740"\n[sections]\npages = 16', None,
     "166 mm too wide and 129 mm too high", "press Beacon 1620 or Lamplighter 1020"),
    (150, "140 x 216 mm", '[paper]\nsheet = "2000 x 1500 mm"', None, "380 mm too large", "a sheet between"),
    (150, "140 x 216 mm", "[sections]\npages = 32\n[paper]\nstock = \"Glaze Silk 135\"", None,
     "up to 90 g/m2", "sections of 16, 12, 8, 4 pages"),
    (150, "340 x 450 mm", "", None, "10 mm over the width", "a trim of at most 330 x 440 mm"),
    (150, "140 x 216 mm", "[sections]\nblanks = 0", None, "the job allows none", "152 pages"),
    (60, "140 x 216 mm", '[sections]\nfold = "6 roll"', None, "cannot be sewn", 'binding = "glued"'),
    (304, "140 x 216 mm", '[book]\nbinding = "stitched"', None, "no stitch holds", 'binding = "sewn"'),
    (150, "140 x 216 mm", '[book]\nbinding = "glued"', ('bindings = ["glued"]', 'bindings = ["stitched"]'),
     "No line of Lantern Row Press makes glued books", 'binding = "sewn"'),
    (64, "140 x 216 mm", '[book]\nbinding = "stitched"', ('lip_size = "9 mm"', 'lip_size = "20 mm"'),
     "folds a lip of 5 mm to 15 mm", 'lip = "none"'),
]  # fmt: skip


@pytest.mark.parametrize(("pages", "trim", "job", "instead", "says", "would"), CASES)
def test_a_plan_that_fits_nowhere(
    pages: int, trim: str, job: str, instead: tuple[str, str] | None, says: str, would: str, foldproof: Run,
    tmp_path: Path,
) -> None:  # fmt: skip
    (tmp_path / "job.toml").write_text(job, encoding="utf-8")
    house = HOUSE.read_text(encoding="utf-8")
    if instead:
        assert house.count(instead[0]) == 1
        house = house.replace(*instead)
    (tmp_path / "house.toml").write_text(house, encoding="utf-8")
    words = ["--pages", pages, "--trim", trim, "--job", tmp_path / "job.toml", "--house", tmp_path / "house.toml"]
    done = foldproof("plan", *words)
    assert done.returncode == ExitCode.NO_PLAN == 4, done.stderr
    assert not done.stdout
    why, *ways = done.stderr.splitlines()
    assert why.startswith("foldproof: ") and says in why and why.endswith(".")
    assert ways and all(way.startswith("  would fit: ") for way in ways)
    assert any(way.startswith(f"  would fit: {would}") for way in ways)


def test_a_book_that_fits_nowhere_still_has_its_report(foldproof: Run, tmp_path: Path) -> None:
    source, out = tmp_path / "book.pdf", tmp_path / "out"
    book(10, source, trim_mm=(140, 216), bleed_mm=3)
    (tmp_path / "job.toml").write_text("[sections]\nblanks = 1", encoding="utf-8")
    done = foldproof("make", source, "--job", tmp_path / "job.toml", "-o", out, "-q")
    assert done.returncode == ExitCode.NO_PLAN, done.stderr
    # 10 = 8 + 2: a 4 holds the rest with 2 to spare
    assert "2 pages are left blank" in (out / "report.html").read_text(encoding="utf-8")
    assert not list(out.glob("sheets*"))
