# SPDX-License-Identifier: AGPL-3.0-or-later
"""What ``make`` leaves for the benches: drawings, die, tickets and job ticket, and what it says where it cannot."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

import pikepdf
import pytest

import foldproof
from foldproof.desk import (
    BENCH_TICKETS,
    CASE,
    COVER_DRAWING,
    DIE,
    INK_ZONES,
    JACKET_DRAWING,
    JOB_TICKET,
    TICKETS,
    Nobody,
)  # fmt: skip
from tests.build import book
from tests.case.test_die_emblem import endless

TRIM = (100.0, 150.0)
#: a job of a book that has all of it
WHOLE = """
[book]
title = "Lamps"
author = "Row"
[paper]
sheet = "350 x 500 mm"
[jacket]
flaps = "60 mm"
[stamping]
ink = "Lantern Gold"
"""


@pytest.fixture(scope="module")
def interior(tmp_path_factory: pytest.TempPathFactory) -> Path:
    # thick enough for lettering on its spine
    return book(64, tmp_path_factory.mktemp("interior") / "book.pdf", trim_mm=TRIM, bleed_mm=3)


def made(interior: Path, folder: Path, job: str, watch: Nobody | None = None) -> foldproof.Made:
    folder.mkdir(exist_ok=True)
    (folder / "job.toml").write_text(job, encoding="utf-8")
    return foldproof.make(interior, folder / "out", job=folder / "job.toml", workers=1, watch=watch)


def digests(out: Path) -> dict[str, str]:
    files = (path for path in sorted(out.rglob("*")) if path.is_file())
    return {path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def test_a_cased_book_has_all_of_it_and_the_same_twice(interior: Path, tmp_path: Path) -> None:
    one = made(interior, tmp_path / "one", WHOLE)
    assert one.code is foldproof.ExitCode.WELL
    out = tmp_path / "one" / "out"
    assert {CASE, DIE, JACKET_DRAWING, JOB_TICKET, INK_ZONES, TICKETS} <= {path.name for path in out.iterdir()}
    assert not (out / COVER_DRAWING).exists(), "a case is no paper cover"
    singles = sorted(path.name for path in (out / BENCH_TICKETS).iterdir())
    assert [name[:2] for name in singles] == [f"{n:02}" for n in range(1, len(singles) + 1)]
    assert {"sewing", "case", "casing-in"} <= {re.sub(r"^\d\d-|\.pdf$", "", name) for name in singles}
    with pikepdf.open(out / TICKETS) as whole:
        pages = len(whole.pages)
    counted = 0
    for name in singles:
        with pikepdf.open(out / BENCH_TICKETS / name) as single:
            counted += len(single.pages)
    assert counted == pages, "the single tickets are those of the whole, page for page"
    made(interior, tmp_path / "two", WHOLE)
    assert digests(out) == digests(tmp_path / "two" / "out")


def test_what_another_run_left_is_cleared_away(interior: Path, tmp_path: Path) -> None:
    made(interior, tmp_path, WHOLE)
    out = tmp_path / "out"
    made(interior, tmp_path, WHOLE.split("[jacket]")[0] + '[cover]\nkind = "paper"\n')
    left = {path.name for path in out.iterdir()}
    assert COVER_DRAWING in left and not left & {CASE, DIE, JACKET_DRAWING}
    assert not [path for path in (out / BENCH_TICKETS).iterdir() if "casing" in path.name]


def test_a_die_that_does_not_hold_stops_the_book(interior: Path, tmp_path: Path) -> None:
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(100, 100))
        # a rule of 0.05 mm; the shipped house's dies hold 0.2 mm
        pdf.pages[0].obj["/Contents"] = pdf.make_stream(b"0 g 10 10 40 40 re f 0.14 w 10 80 m 50 80 l S")
        pdf.save(tmp_path / "lamp.pdf")
    done = made(interior, tmp_path, WHOLE + 'emblem = "lamp.pdf"\n')
    assert done.code is foldproof.ExitCode.STOPPED
    (found,) = [one for one in done.findings if one.severity is foldproof.Severity.STOP]
    assert (found.check, found.page, found.limit) == ("die-line", None, 0.2)
    told = json.loads((tmp_path / "out" / "findings.json").read_text("utf-8"))["findings"]
    assert "die-line" in {one["check"] for one in told}
    assert "line too thin for foil" in (tmp_path / "out" / "report.html").read_text("utf-8").lower()
    assert str(tmp_path) not in "".join(map(str, told)), "no path of this machine"


@pytest.mark.parametrize("which", ["not there", "endless"])
def test_an_emblem_that_cannot_be_read_is_told_before_the_book_is(
    which: str, interior: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if which == "endless":
        endless(tmp_path / "lamp.pdf")
        monkeypatch.setattr("foldproof.case.emblem._SECONDS", 0.5)
    stages: list[str] = []
    watch = Nobody()
    monkeypatch.setattr(watch, "stage", lambda name, total: stages.append(name))
    with pytest.raises(foldproof.AskedWrong, match=r"lamp\.pdf") as told:
        made(interior, tmp_path, WHOLE + 'emblem = "lamp.pdf"\n', watch)
    assert told.value.exit_code is foldproof.ExitCode.ASKED_WRONG and stages == []
    assert not (tmp_path / "out").exists()


def test_stamping_without_a_case_is_told(interior: Path, tmp_path: Path) -> None:
    made(interior, tmp_path, WHOLE.split("[jacket]")[0] + '[cover]\nkind = "none"\n[stamping]\nink = "Gold"\n')
    assert not (tmp_path / "out" / DIE).exists()
    assert "no die was drawn" in (tmp_path / "out" / "report.html").read_text("utf-8")
