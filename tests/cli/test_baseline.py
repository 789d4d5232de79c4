# SPDX-License-Identifier: AGPL-3.0-or-later
"""``--baseline``: a gate that fails only on what is new, on versions of a book as they come from a layout program."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree as ET

import jsonschema
import pikepdf
import pytest

import foldproof
from foldproof.errors import ExitCode
from foldproof.report.as_json import schema
from tests.build import Picture, book
from tests.typeset import Leaf, typeset

#: 100 and 120 pixels on 60 mm are 42 and 51 ppi (25.4 mm an inch); any-book stops under 50, asks under 150
STOP, QUERY = 100, 120
LEAVES = [Leaf(number) for number in range(1, 15)]


def with_picture(seed: int, pixels: int) -> Leaf:
    return Leaf(seed, words=100, picture_px=pixels)


FIRST = [*LEAVES[:4], with_picture(5, STOP), *LEAVES[5:8], with_picture(9, QUERY), *LEAVES[9:]]


@pytest.fixture(scope="module")
def accepted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """findings.json of the first version: a stop on page 5, a query on page 9."""
    folder = tmp_path_factory.mktemp("first")
    checked = foldproof.check(typeset(FIRST, folder), out=folder / "out", workers=2)
    assert checked.code is ExitCode.STOPPED
    assert [(f.severity.value, f.page) for f in checked.findings if f.page] == [("stop", 5), ("query", 9)]
    return folder / "out" / "findings.json"


def against(accepted: Path, leaves: list[Leaf], folder: Path) -> foldproof.Checked:
    return foldproof.check(typeset(leaves, folder), baseline=accepted, workers=2)


def told(checked: foldproof.Checked) -> dict[str, list[int]]:
    """Pages of what was found on a page, new and known."""
    new = [f.page for f in checked.new if f.page]
    return {"new": new, "known": [f.page for f in checked.findings if f.page and f not in checked.new]}


def test_the_same_book_again_passes(accepted: Path, tmp_path: Path) -> None:
    checked = against(accepted, FIRST, tmp_path)
    assert checked.code is ExitCode.WELL and not checked.new and not checked.gone
    assert checked.worst() is foldproof.Severity.STOP, "what is known stays in the report"


@pytest.mark.parametrize("put_in", [1, 2])
def test_pages_put_in_before_it_change_sides_and_folios_and_nothing_is_new(
    accepted: Path, tmp_path: Path, put_in: int
) -> None:
    more = [Leaf(90 + number) for number in range(put_in)]
    checked = against(accepted, [*FIRST[:2], *more, *FIRST[2:]], tmp_path)
    assert told(checked) == {"new": [], "known": [5 + put_in, 9 + put_in]}
    assert "trim-box" not in {f.check for f in checked.new}, "no page stated a trim then, none does now"
    # what is said of the number of pages may come and go with it
    assert checked.code is ExitCode.WELL and not [f for f in checked.gone if f.page]


def test_text_that_grows_pushes_a_picture_and_it_is_still_the_same(accepted: Path, tmp_path: Path) -> None:
    grown = [*FIRST[:2], Leaf(3, words=700), *FIRST[3:]]
    checked = against(accepted, grown, tmp_path)
    # how many pages it takes now is for typst to say; the pictures stand as many later
    more = checked.pages - len(FIRST)
    assert more > 0
    assert told(checked) == {"new": [], "known": [5 + more, 9 + more]}


def test_a_new_fault_stops_the_book_and_the_known_ones_do_not(accepted: Path, tmp_path: Path) -> None:
    checked = against(accepted, [*FIRST[:11], with_picture(12, STOP), *FIRST[12:]], tmp_path)
    assert checked.code is ExitCode.STOPPED
    assert told(checked) == {"new": [12], "known": [5, 9]}


def test_what_got_worse_is_new_and_what_was_mended_is_gone(accepted: Path, tmp_path: Path) -> None:
    checked = against(accepted, [*FIRST[:4], Leaf(5), *FIRST[5:8], with_picture(9, STOP), *FIRST[9:]], tmp_path)
    assert checked.code is ExitCode.STOPPED
    assert told(checked) == {"new": [9], "known": []}
    assert [(f.severity.value, f.page) for f in checked.gone] == [("stop", 5)]
    assert "Gone since then: 1 stop (picture-resolution)." in checked.text()


def test_every_format_marks_what_is_known(accepted: Path, tmp_path: Path, foldproof) -> None:
    book = typeset([*FIRST[:11], with_picture(12, STOP), *FIRST[12:]], tmp_path)
    out = tmp_path / "out"
    done = foldproof("check", book, "--baseline", accepted, "-o", out, "--quiet")
    assert done.returncode == 1, done.stderr
    assert "stop, new: picture-resolution: Page 12" in done.stdout
    assert "stop, known: picture-resolution: Page 5" in done.stdout

    data = json.loads((out / "findings.json").read_text("utf-8"))
    jsonschema.validate(data, schema("findings"), cls=jsonschema.Draft202012Validator)
    assert {f["page"]: f["known"] for f in data["findings"] if f["page"]} == {5: True, 9: True, 12: False}
    assert data["baseline"]["new"] == {"stop": 1, "query": 0, "note": 0}
    assert data["counts"]["stop"] == 2, "counts are of all"
    (override,) = data["overrides"]
    assert "findings.json" in override and "--baseline" in override

    (run,) = json.loads((out / "findings.sarif").read_text("utf-8"))["runs"]
    states = {r["properties"].get("page"): r["baselineState"] for r in run["results"]}
    assert (states[5], states[9], states[12]) == ("unchanged", "unchanged", "new")
    # SARIF 2.1.0, 3.27.17: what a viewer follows a result by is the same in both runs
    first = json.loads((accepted.parent / "findings.sarif").read_text("utf-8"))["runs"][0]["results"]
    marks = [{r["properties"].get("page"): r["partialFingerprints"] for r in rs} for rs in (first, run["results"])]
    assert marks[0][5] == marks[1][5] and marks[0][9] == marks[1][9]
    assert all("baselineState" not in result for result in first), "3.27.24: only beside a baseline"

    suite = ET.parse(out / "junit.xml").getroot().find("testsuite[@name='foldproof.check']")
    assert suite is not None
    (failed,) = suite.findall("testcase[failure]")
    assert failed.get("name") == "picture-resolution"
    assert "page 12" in (failed.findtext("failure") or "") and "page 5" not in (failed.findtext("failure") or "")
    assert "stop (known): page 5" in (failed.findtext("system-out") or "")

    page = (out / "report.html").read_text("utf-8")
    assert '<b class="since">new</b>' in page and '<b class="since">known</b>' in page
    assert "One finding of severity stop is new since findings.json" in page
    letter = (out / "letter.txt").read_text("utf-8")
    assert "Page 5" in letter and "Page 12" in letter, "the author is told everything"


def test_only_known_stops_are_no_failure_in_junit(accepted: Path, tmp_path: Path) -> None:
    checked = against(accepted, FIRST, tmp_path)
    assert ET.fromstring(checked.text("junit")).get("failures") == "0"
    assert "Nothing of severity stop is new" not in checked.text(), "that is the report's way to say it"
    assert checked.text().startswith("book.pdf: nothing new stops it.")


def test_a_baseline_hides_no_missing_plan(tmp_path: Path) -> None:
    # larger than the largest sheet of the house
    huge = book(4, tmp_path / "huge.pdf", trim_mm=(1200, 1600))
    first = foldproof.make(huge, tmp_path / "first", workers=1)
    again = foldproof.make(huge, tmp_path / "again", workers=1, baseline=tmp_path / "first" / "findings.json")
    assert (first.code, again.code) == (ExitCode.NO_PLAN, ExitCode.NO_PLAN) and not again.new


def test_a_baseline_hides_no_failed_proof(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    interior = book(8, tmp_path / "book.pdf", trim_mm=(140, 216), bleed_mm=3)
    first = foldproof.make(interior, tmp_path / "first", workers=1)
    assert first.code is ExitCode.WELL
    from foldproof import pipeline

    write = pipeline.write_sheets

    def spoilt(*words: object, **more: object) -> object:
        """The sheets with one page turned about: what the proof is there to see."""
        sheets = write(*words, **more)  # type: ignore[arg-type]
        with pikepdf.open(sheets.path, allow_overwriting_input=True) as pdf:
            side = pdf.pages[0]
            lines = side.Contents.read_bytes().split(b"\n")
            last = max(number for number, line in enumerate(lines) if b" Do" in line)
            del lines[last]
            side.Contents = pdf.make_stream(b"\n".join(lines))
            pdf.save(sheets.path)
        return sheets

    monkeypatch.setattr(pipeline, "write_sheets", spoilt)
    again = foldproof.make(interior, tmp_path / "again", workers=1, baseline=tmp_path / "first" / "findings.json")
    assert again.code is ExitCode.NOT_PROVED and again.sheets is None


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (None, "cannot be read"),
        ("no JSON", "is no JSON"),
        (b"\xff\xfe", "is no JSON"),
        ("[" * 100_000, "is no JSON"),
        ("[]", "it states no schema"),
        ('{"schema": "foldproof/plan/2"}', 'its schema is "foldproof/plan/2"'),
        ('{"schema": "foldproof/findings/1"}', "not as its schema has it"),
        ('{"schema": "foldproof/findings/1", "findings": [{"page": "x"}], "spec": "", "foldproof": "",'
         ' "manuscript": {"file": "a", "pages": 1}}', "not as its schema has it"),
    ],
)  # fmt: skip
def test_what_is_no_baseline_is_told_in_one_sentence(
    content: str | bytes | None, says: str, tmp_path: Path, foldproof
) -> None:
    interior = book(4, tmp_path / "book.pdf")
    file = tmp_path / "findings.json"
    if content is not None:
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
    done = foldproof("check", interior, "--baseline", file)
    assert done.returncode == 2 and done.stdout == ""
    (line,) = done.stderr.splitlines()
    assert says in line and "findings.json" in line and "Traceback" not in line


def test_a_baseline_of_before_it_held_digests_still_holds(tmp_path: Path) -> None:
    interior = book(
        8, tmp_path / "book.pdf",
        each=lambda i: {"pictures": [Picture((30, 40, 90, 80), pixels=(STOP, 66))]} if i == 4 else {},
    )  # fmt: skip
    first = foldproof.check(interior, out=tmp_path / "out", workers=1)
    assert first.code is ExitCode.STOPPED
    data = json.loads((tmp_path / "out" / "findings.json").read_text("utf-8"))
    del data["page_digests"], data["baseline"]
    for finding in data["findings"]:
        del finding["fingerprint"], finding["known"], finding["worse"]
    (tmp_path / "old.json").write_text(json.dumps(data))
    assert foldproof.check(interior, baseline=tmp_path / "old.json", workers=1).code is ExitCode.WELL
