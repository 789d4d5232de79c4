# SPDX-License-Identifier: AGPL-3.0-or-later
"""Checks of the structure on files that were read, and against what poppler says of them."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from foldproof.job.load import load_job
from foldproof.job.model import Job
from foldproof.manuscript.model import Observations
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.preflight.model import Facts, Finding, Findings, Severity
from foldproof.preflight.run import check
from foldproof.preflight.specs import load_spec
from tests.build import book
from tests.preflight.facts import the_house

#: missing fonts, mixed sizes, Type 3, forms, Japanese: one of each
BOOKS = ("ctwill-150x240", "debian-edu-manual", "debian-install.ja", "ngspice-manual", "r-intro")


def checked(path: Path, job: Job | None = None) -> Findings:
    """By the structure alone: what hangs on the content is not judged."""
    job = job or Job()
    manuscript = read(path, trim_mm=job.book.trim)
    unseen = Observations((None,) * len(manuscript.pages), (None,) * len(manuscript.pages))
    trim_mm = book_trim_mm(manuscript, job.book.trim)
    return check(Facts(manuscript, unseen, job, the_house(), trim_mm, 3.0), load_spec("colour-on-coated"))


def of(found: Findings, name: str) -> list[Finding]:
    return [finding for finding in found.items if finding.check == name]


def test_a_sound_book(tmp_path: Path) -> None:
    found = checked(book(16, tmp_path / "a.pdf"))
    assert found.items == ()
    assert {name for name, _ in found.not_judged} >= {"bleed", "grain", "live-margin", "picture-resolution"}


@pytest.mark.parametrize(
    ("third_page", "cause", "severity"),
    [
        ({"trim_mm": (150, 216)}, "trim-size/other", Severity.STOP),
        ({"trim_mm": (216, 140)}, "trim-size/turned", Severity.STOP),
        ({"trim_mm": (280, 216)}, "spreads/page", Severity.STOP),
        ({"rotate": 180}, "page-turn/mixed", Severity.QUERY),
        ({"user_unit": 2}, "user-unit/mixed", Severity.QUERY),
        ({"boxes": {"TrimBox": None}}, "trim-box/media-box", Severity.QUERY),
        ({"boxes": {"CropBox": [60, 60, 200, 300]}}, "box-order/CropBox", Severity.QUERY),
        ({"font_object": None, "embedded": False}, "fonts-embedded/Helvetica", Severity.STOP),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_one_page_of_16_is_wrong(tmp_path: Path, third_page: dict[str, Any], cause: str, severity: Severity) -> None:
    found = checked(book(16, tmp_path / "a.pdf", each=lambda n: third_page if n == 2 else {}))
    [finding] = [f for f in found.items if f.cause == cause]
    assert finding.severity is severity
    assert finding.page == 3 or "Page 3" in finding.problem
    assert {f.page for f in found.items} <= {3, None}


def test_a_page_turned_in_the_file_keeps_its_size(tmp_path: Path) -> None:
    found = checked(book(16, tmp_path / "a.pdf", each=lambda n: {"rotate": 90} if n == 2 else {}))
    assert [f.cause for f in found.items] == ["page-turn/mixed"]


def annotation(subtype: str, flags: int, *, appearance: pikepdf.Object | None = None) -> pikepdf.Object:
    # ISO 32000-1, table 165: Print is bit 3, Hidden bit 2
    made = Dictionary(Type=Name.Annot, Subtype=Name("/" + subtype), Rect=Array([100, 100, 140, 120]), F=flags)
    if appearance is not None:
        made.AP = Dictionary(N=appearance)
    return made


def test_annotations_by_their_flags(tmp_path: Path) -> None:
    def add(pdf: pikepdf.Pdf) -> None:
        look = pdf.make_stream(b"0 0 40 20 re f", Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 40, 20]))
        for index, one in (
            (1, annotation("Stamp", 4, appearance=look)),
            (2, annotation("FreeText", 0, appearance=look)),
            (3, annotation("Stamp", 4 | 2, appearance=look)),
            (4, annotation("Link", 4)),
        ):
            pdf.pages[index].obj.Annots = Array([pdf.make_indirect(one)])

    found = of(checked(book(8, tmp_path / "a.pdf", after=add)), "annotations")
    assert [(f.page, f.cause) for f in found] == [(2, "annotations/print"), (3, "annotations/vanish")]
    assert "1 rubber stamp will be printed" in found[0].problem


def test_protection_without_a_password_is_a_stop(tmp_path: Path) -> None:
    locked = pikepdf.Encryption(owner="owner", user="", R=6)
    path = book(4, tmp_path / "a.pdf", save_options={"encryption": locked, "static_id": False})
    [finding] = of(checked(path), "encryption")
    assert finding.severity is Severity.STOP


def test_what_was_mended_is_told(tmp_path: Path) -> None:
    path = book(4, tmp_path / "a.pdf")
    raw = path.read_bytes()
    at = raw.rindex(b"startxref\n") + 10
    path.write_bytes(raw[:at] + b"7\n%%EOF\n")
    [finding] = of(checked(path), "reader-mends")
    assert "not sound" in finding.problem


def test_a_job_that_asks_for_another_trim(tmp_path: Path) -> None:
    job = tmp_path / "JOB.toml"
    job.write_text('[book]\ntrim = "135 x 210 mm"\n', encoding="utf-8")
    found = checked(book(4, tmp_path / "a.pdf"), load_job(job))
    [finding] = of(found, "trim-size")
    assert finding.cause == "trim-size/job" and finding.page is None


def test_a_page_too_small_for_the_trim_of_the_job(tmp_path: Path) -> None:
    path = book(4, tmp_path / "a.pdf", trim_mm=(100, 150), bleed_mm=0, boxes={"TrimBox": None, "BleedBox": None})
    job = Job.model_validate({"book": {"trim": "140 x 216 mm"}})
    found = checked(path, job)
    assert [f.severity for f in of(found, "trim-size")][:1] == [Severity.STOP]


@pytest.mark.corpus
@pytest.mark.parametrize("name", BOOKS)
def test_missing_fonts_and_odd_pages_are_those_of_poppler(corpus: Path, tool: Callable[[str], str], name: str) -> None:
    path = corpus / "books" / f"{name}.pdf"
    found = checked(path)

    listed = subprocess.run([tool("pdffonts"), path], capture_output=True, text=True, check=True).stdout
    not_embedded = re.compile(r" no +(yes|no) +(yes|no) +\d+ +\d+$")
    missing = {line.split()[0] for line in listed.splitlines()[2:] if not_embedded.search(line)}
    assert {f.cause.partition("/")[2] for f in of(found, "fonts-embedded")} == missing

    told = [tool("pdfinfo"), "-f", "1", "-l", "99999", path]
    listed = subprocess.run(told, capture_output=True, text=True, check=True).stdout
    sizes = re.findall(r"^Page +(\d+) size: +([\d.]+) x ([\d.]+) pts", listed, re.M)
    rounded = [(round(float(width)), round(float(height))) for _, width, height in sizes]
    usual = max(set(rounded), key=rounded.count)
    odd = {int(number) for (number, _, _), size in zip(sizes, rounded, strict=True) if size != usual}
    assert {f.page for f in found.items if f.check in ("trim-size", "spreads", "cover-among-pages") and f.page} == odd
