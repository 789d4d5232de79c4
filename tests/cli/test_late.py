# SPDX-License-Identifier: AGPL-3.0-or-later
"""Late pages: a new version against an old plan, held against ghostscript's plates of both versions."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pymupdf
import pytest

from foldproof.makeup.late import PageLook, late
from tests.passes.plates import tiffsep

Cli = Callable[..., subprocess.CompletedProcess[str]]

#: four sheets or more, so that some carry nothing that changes
JOB = '[press]\nname = "Rushlight 520"\nway = "two formes"\n[sections]\npages = 8\n'


def written(path: Path, pages: int = 40, *, mended: bool = False) -> Path:
    """A book of the press; its second version has a word more on page 9 and a red block on page 20."""
    pdf = pymupdf.open()
    for number in range(1, pages + 1):
        page = pdf.new_page(width=396.85, height=612.28)
        words = f"Page {number}" + (" mended" if mended and number == 9 else "")
        page.insert_text((60, 100), words, fontsize=20)
        if mended and number == 20:
            page.draw_rect(pymupdf.Rect(60, 150, 200, 250), fill=(0, 1, 1, 0), color=None, width=0)
    pdf.set_metadata({"title": "The Lamps of Merrowby", "modDate": f"D:2026010{2 if mended else 1}000000Z"})
    pdf.save(path)
    return path


@pytest.fixture(scope="module")
def versions(tmp_path_factory: pytest.TempPathFactory, foldproof: Cli) -> Path:
    folder = tmp_path_factory.mktemp("late")
    (folder / "job.toml").write_text(JOB)
    written(folder / "one.pdf")
    written(folder / "two.pdf", mended=True)
    more = ("--job", "job.toml", "--split-sheets", "-q", "--only-warn")
    assert foldproof("make", "one.pdf", "-o", "A", *more, cwd=folder).returncode == 0
    done = foldproof("make", "two.pdf", "--late", "A/plan.json", "-o", "B", *more, cwd=folder)
    assert done.returncode == 0, done.stderr
    (folder / "said.txt").write_text(done.stdout)
    return folder


def told(folder: Path) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((folder / "B" / "late.json").read_text())
    return data


def test_the_sides_and_plates_that_change_are_named(versions: Path) -> None:
    found = told(versions)
    assert (found["changed_pages"], found["rewritten_pages"]) == ([9, 20], [])
    assert found["plates"] == 3
    assert sorted(side["inks"] for side in found["sides"]) == [["Black"], ["Magenta", "Yellow"]]
    plan = json.loads((versions / "B" / "plan.json").read_text())
    where = {place["page"]: (place["sheet"], place["side"]) for place in plan["places"]}
    assert {(side["sheet"], side["side"]): side["pages"] for side in found["sides"]} == {where[9]: [9], where[20]: [20]}
    said = (versions / "said.txt").read_text()
    assert "3 plates to be made anew:" in said and "plates anew: Magenta, Yellow (page 20)" in said


def test_ghostscript_finds_the_same_plates_changed_and_no_others(versions: Path, tool: Callable[[str], str]) -> None:
    gs = tool("gs")
    named = {(side["sheet"], side["side"]): set(side["inks"]) for side in told(versions)["sides"]}
    sheets = sorted((versions / "A" / "sheets").glob("*.pdf"))
    assert len(sheets) >= 4
    for number, sheet in enumerate(sheets, start=1):
        before = tiffsep(gs, sheet, (1, 2), finer=1)
        after = tiffsep(gs, versions / "B" / "sheets" / sheet.name, (1, 2), finer=1)
        for side, old, new in zip(("front", "back"), before, after, strict=True):
            changed = {
                ink
                for ink in {*old, *new}
                if ink not in old or ink not in new or not np.array_equal(old[ink], new[ink])
            }
            # marks in every plate, the strip's patches for an ink that comes anew and the job line's words change with
            # the inks of their side, never where no plate is named
            assert named.get((number, side), set()) <= changed, (number, side)
            if (number, side) not in named:
                assert not changed, (number, side)


def test_all_other_sheets_come_out_as_before_to_the_byte(versions: Path) -> None:
    touched = {side["sheet"] for side in told(versions)["sides"]}
    same = []
    for number, sheet in enumerate(sorted((versions / "A" / "sheets").glob("*.pdf")), start=1):
        alike = sheet.read_bytes() == (versions / "B" / "sheets" / sheet.name).read_bytes()
        assert alike == (number not in touched), sheet.name
        same.append(alike)
    assert sum(same) >= 2


def test_the_changed_sides_are_written_in_their_order(versions: Path) -> None:
    sides = told(versions)["sides"]
    with pymupdf.open(versions / "B" / "late.pdf") as late_ones, pymupdf.open(versions / "B" / "sheets.pdf") as sheets:
        assert len(late_ones) == len(sides)
        for page, side in zip(late_ones, sides, strict=True):
            of_all = sheets[2 * (side["sheet"] - 1) + (side["side"] == "back")]
            assert page.get_text() == of_all.get_text()
            assert page.get_pixmap(dpi=36).samples == of_all.get_pixmap(dpi=36).samples


def test_the_same_version_again_changes_nothing(versions: Path, foldproof: Cli) -> None:
    done = foldproof(
        "make", "one.pdf", "--late", "A/plan.json", "-o", "C", "--job", "job.toml", "-q", "--only-warn", cwd=versions
    )
    assert done.returncode == 0 and "No plate changes" in done.stdout
    assert not (versions / "C" / "late.pdf").exists()
    assert (versions / "C" / "sheets.pdf").read_bytes() == (versions / "A" / "sheets.pdf").read_bytes()


@pytest.mark.parametrize(
    ("book", "job", "plan", "says"),
    [
        ("short.pdf", "job.toml", "A/plan.json", "is the plan of 40 pages and the new version has 38"),
        ("two.pdf", "other.toml", "A/plan.json", "another make-up today"),
        ("two.pdf", "job.toml", "nothing.json", "cannot be read"),
        ("two.pdf", "job.toml", "empty.json", "keeps nothing of the pages"),
        ("two.pdf", "job.toml", "job.toml", "is no JSON"),
    ],
)
def test_what_cannot_be_kept_is_refused(
    versions: Path, foldproof: Cli, book: str, job: str, plan: str, says: str
) -> None:
    written(versions / "short.pdf", 38)
    (versions / "other.toml").write_text(JOB.replace("pages = 8", "pages = 4"))
    (versions / "empty.json").write_text("{}")
    done = foldproof("make", book, "--late", plan, "--job", job, "-o", "D", "-q", cwd=versions)
    assert done.returncode == 2 and says in done.stderr, done.stderr
    assert done.stderr.count("\n") == 1 and not (versions / "D").exists()


def test_a_page_that_is_only_written_otherwise_keeps_its_plates() -> None:
    from foldproof.job.load import load_house
    from foldproof.job.model import Job
    from foldproof.makeup.choose import plans

    (plan,) = plans(16, (140.0, 216.0), Job(), load_house(), title="A book", most=1)
    old = [PageLook(("Black",), (("Black", f"look {n}"),), f"content {n}") for n in range(16)]
    new = [PageLook(one.inks, one.plates, "fonts subset anew") for one in old]
    found = late(old, new, plan, ("Black",))
    assert (found.sides, found.changed, found.rewritten) == ((), (), tuple(range(1, 17)))
    assert "16 pages are written otherwise" in found.sentences[-1]


def test_an_ink_that_goes_is_a_plate_wanted_no_more() -> None:
    from foldproof.job.load import load_house
    from foldproof.job.model import Job
    from foldproof.makeup.choose import plans

    job = Job.model_validate({"press": {"way": "two formes"}})
    inks = [("Cyan", "Black") if n == 4 else ("Black",) for n in range(16)]
    (plan,) = plans(16, (140.0, 216.0), job, load_house(), title="A book", most=1, inks=inks)
    old = [PageLook(page, tuple((ink, f"{ink} {n}") for ink in page), f"content {n}") for n, page in enumerate(inks)]
    new = [*old[:4], PageLook(("Black",), (("Black", "Black 4"),), "mended"), *old[5:]]
    found = late(old, new, plan, ("Cyan", "Black"))
    assert [(side.pages, side.inks, side.dropped) for side in found.sides] == [((5,), (), ("Cyan",))]
    assert (found.plates, found.changed, found.rewritten) == (0, (5,), ())
