# SPDX-License-Identifier: AGPL-3.0-or-later
"""Repairs: only those asked for, on a copy, told in the report; read back by pypdf."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

import pypdf
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, Stream

from foldproof.errors import AskedWrong
from foldproof.job.model import Job
from foldproof.manuscript.read import read
from foldproof.mend.run import REPAIRS, mend
from foldproof.preflight.registry import CHECKS
from tests.build import book


def comment(pdf: Pdf, subtype: str) -> Dictionary:
    drawn = Stream(pdf, b"1 0 0 rg 0 0 20 20 re f", BBox=Array([0, 0, 20, 20]), Subtype=Name.Form, Type=Name.XObject)
    return Dictionary(
        Type=Name.Annot, Subtype=Name("/" + subtype), Rect=Array([60, 60, 80, 80]), F=4, AP=Dictionary(N=drawn)
    )


@pytest.fixture
def annotated(tmp_path: Path) -> Path:
    """Page 2 carries a note and a link, page 3 a highlight and a form field."""

    def annotate(pdf: Pdf) -> None:
        for index, kinds in ((1, ("Text", "Link")), (2, ("Highlight", "Widget"))):
            pdf.pages[index].obj.Annots = Array([pdf.make_indirect(comment(pdf, kind)) for kind in kinds])

    return book(4, tmp_path / "annotated.pdf", after=annotate)


def subtypes(path: Path) -> list[list[str]]:
    return [[str(a.get_object()["/Subtype"]) for a in page.get("/Annots", [])] for page in pypdf.PdfReader(path).pages]


def test_comments_are_dropped_and_links_and_fields_stay(annotated: Path, tmp_path: Path) -> None:
    # ISO 32000-1, table 169: Text and Highlight are markup annotations, Link and Widget are not
    before = hashlib.sha256(annotated.read_bytes()).digest()
    (tmp_path / "bench").mkdir()
    mended = mend(read(annotated), Job(), ("drop-comments",), tmp_path / "bench")
    assert hashlib.sha256(annotated.read_bytes()).digest() == before
    assert subtypes(mended.path) == [[], ["/Link"], ["/Widget"], []]
    assert [(c.repair, c.page) for c in mended.changes] == [("drop-comments", 2), ("drop-comments", 3)]
    assert [p.name for p in (tmp_path / "bench").iterdir()] == ["mended.pdf"]


def test_the_trim_is_stated_where_it_is_missing_only(tmp_path: Path) -> None:
    path = book(3, tmp_path / "a.pdf", each=lambda index: {"boxes": {"TrimBox": None}} if index == 1 else {})
    (tmp_path / "bench").mkdir()
    mended = mend(read(path, trim_mm=(140.0, 216.0)), Job(), ("state-trim",), tmp_path / "bench")
    assert [c.page for c in mended.changes] == [2]
    pages = pypdf.PdfReader(mended.path).pages
    for corner, other in zip(pages[1]["/TrimBox"], pages[0]["/TrimBox"], strict=True):
        # the job's trim, centred: where the other pages have it
        assert float(corner) == pytest.approx(float(other), abs=0.01)


def test_nothing_is_mended_unless_asked_for_and_an_unknown_repair_is_told(annotated: Path, tmp_path: Path) -> None:
    (tmp_path / "bench").mkdir()
    manuscript = read(annotated)
    assert mend(manuscript, Job(), (), tmp_path / "bench").manuscript is manuscript
    with pytest.raises(AskedWrong, match="drop-comments"):
        mend(manuscript, Job(), ("drop-coments",), tmp_path / "bench")
    assert not list((tmp_path / "bench").iterdir())


def test_repairs_answer_checks_that_exist() -> None:
    known = {check.id for check in CHECKS}
    for repair in REPAIRS:
        assert set(repair.answers) <= known, repair.name


def test_make_prints_the_mended_copy_and_says_so(annotated: Path, tmp_path: Path, foldproof) -> None:
    job = tmp_path / "job.toml"
    job.write_text('[mend]\nrepairs = ["drop-comments"]\n')
    out = tmp_path / "out"
    done = foldproof("make", annotated, "--job", job, "-o", out, "-q", "--split-sheets")
    assert done.returncode in (0, 1), done.stderr
    proof = json.loads((out / "proof.json").read_text())
    assert proof["verdict"] == "proved"
    assert subtypes(out / "mended.pdf")[1] == ["/Link"]
    assert "drop-comments" in (out / "report.html").read_text()
    whole = pypdf.PdfReader(out / "sheets.pdf")
    parts = sorted((out / "sheets").iterdir())
    assert len(parts) == len(whole.pages) // 2
    for number, part in enumerate(parts):
        pages = pypdf.PdfReader(part).pages
        assert len(pages) == 2
        for page, original in zip(pages, whole.pages[2 * number : 2 * number + 2], strict=True):
            assert page.get_contents().get_data() == original.get_contents().get_data()
    # of the two annotations each on pages 2 and 3 one was a comment: one drawing each is left on the sheets
    names = {name for page in whole.pages for name in page["/Resources"]["/XObject"]}
    assert sorted(name[:3] for name in names if re.fullmatch(r"/P\d+A\d+", name)) == ["/P2", "/P3"]
