# SPDX-License-Identifier: AGPL-3.0-or-later
"""summary.json, times.json, junit.xml and the last lines: a whole batch for machines and for whoever waits."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree as ET

import jsonschema
import pytest
from attrs import evolve

from foldproof.batch.model import BookEnd, BookTimes
from foldproof.batch.outcomes import headline, in_a_sentence, worst_first
from foldproof.batch.told import closing_lines, junit_xml, summary_json, times_json
from foldproof.errors import ExitCode
from foldproof.report.as_json import schema
from foldproof.report.model import Refusal
from foldproof.report.summary import summary
from tests.batch.ends import ENDS, ODD, SHA, checked, end, times
from tests.report import samples
from tests.report.test_outside_schemas import JUNIT, TABLE

#: an end of every kind, and names of every kind
ALL = (*ENDS, *(end(name, 3, f"{name} is damaged.") for name in ODD))


@pytest.mark.parametrize("ends", [(), ENDS[:1], ALL], ids=["none", "one", "all"])
def test_each_file_is_valid_against_its_published_schema(ends: tuple[BookEnd, ...]) -> None:
    for name, content in (("batch", summary_json(ends)), ("times", times_json(ends, times(ends), 61.5))):
        published = schema(name)
        jsonschema.Draft202012Validator.check_schema(published)
        told = json.loads(content.decode("utf-8"))
        jsonschema.validate(told, published, cls=jsonschema.Draft202012Validator)
        for key in told:
            with pytest.raises(jsonschema.ValidationError):
                jsonschema.validate({k: v for k, v in told.items() if k != key}, published)
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({**told, "more": 1}, published)
        for kind in ("books",) if ends else ():
            with pytest.raises(jsonschema.ValidationError):
                jsonschema.validate({**told, kind: [{**told[kind][0], "name": 1}]}, published)


def test_the_summary_tells_every_book_whole() -> None:
    told = json.loads(summary_json(ALL))
    assert told["code"] == ExitCode.OUR_FAULT == 70
    # three well (one with questions, one only warned about), one of every other code, three that cannot be read besides
    assert told["counts"] == {
        "0": 3, "1": 1, "2": 1, "3": 1 + len(ODD), "4": 1, "5": 1, "6": 1, "7": 1, "70": 1, "130": 0
    }  # fmt: skip
    assert [book["name"] for book in told["books"]] == [e.name for e in ALL], "byte for byte, in their order"
    ballads = told["books"][1]
    assert (ballads["pages"], ballads["stops"], ballads["queries"], ballads["sheets"]) == (120, 2, 1, 4)
    assert ballads["verdict"] == "proved" and ballads["files"]["sheets.pdf"] == SHA
    assert ballads["says"][2].strip().startswith("stop: bleed")
    assert told["books"][2]["pages"] is None and told["books"][2]["files"] == {}


def test_a_terminal_may_print_the_summary() -> None:
    text = summary_json(ALL).decode("utf-8")
    assert not {sign for sign in text if ord(sign) < 32} - {"\n"}
    assert not {sign for sign in text if "\x7f" <= sign <= "\x9f" or "\u202a" <= sign <= "\u202e"}


def test_nothing_but_times_tells_the_time() -> None:
    one = times()
    other = tuple(evolve(took, seconds=9.9, cpu_seconds=9.9, peak_mb=9.9, tries=2, kept=True) for took in one)
    assert times_json(ENDS, one, 60.0) != times_json(ENDS, other, 60.0)
    assert summary_json(ENDS) == summary_json(tuple(evolve(e) for e in ENDS))
    assert b"seconds" not in summary_json(ENDS) and b"time=" not in junit_xml(ENDS)


def test_times_are_added_up() -> None:
    # by hand: two books of 120 pages in this run, 10 s and 20 s of work in 12 s by the clock; the third is from before
    ends = tuple(checked(f"{n}.pdf", 0, 0, 0) for n in range(3))
    took = (
        BookTimes("0.pdf", 6.0, 10.0, 300.0),
        BookTimes("1.pdf", 11.0, 20.0, 250.0, tries=2),
        BookTimes("2.pdf", 40.0, 38.0, 900.0, kept=True),
    )
    told = json.loads(times_json(ends, took, 12.0))
    assert (told["seconds"], told["cpu_seconds"], told["cpu_per_second"]) == (12.0, 30.0, 2.5)
    assert (told["pages"], told["pages_per_second"], told["kept"], told["peak_mb"]) == (240, 20.0, 1, 900.0)
    assert [slow["name"] for slow in told["slowest"]] == ["2.pdf", "1.pdf", "0.pdf"]
    assert told["books"][1] == {
        "name": "1.pdf", "pages": 120, "seconds": 11.0, "cpu_seconds": 20.0, "peak_mb": 250.0, "tries": 2, "kept": False
    }  # fmt: skip
    lines = closing_lines(ends, took, 12.0, Path("OUT"))
    assert lines[0] == "All 3 books can go to press as they are."
    assert "Took 12.0 s, 20.0 pages a second; processors at work for 30.0 s, 1 book kept from an earlier run." in lines
    assert "Slowest: 2.pdf (40.0 s), 1.pdf (11.0 s) and 0.pdf (6.0 s)." in lines
    assert "Peak memory of a book: 900 MB (2.pdf)." in lines
    assert lines[-1] == "Index: OUT/index.html"
    assert json.loads(times_json((), (), 0.0))["pages_per_second"] is None


def test_the_last_lines_name_the_slowest_five_and_every_outcome() -> None:
    lines = closing_lines(ENDS, times(), 4000.0, Path("OUT"))
    slowest = next(line for line in lines if line.startswith("Slowest: "))
    assert [name for name in (e.name for e in ENDS) if name in slowest] == [e.name for e in ENDS[-5:]]
    counted = {
        line.strip().partition("  ")[2].partition(":")[0]: int(line.split()[0]) for line in lines if line[0] == " "
    }
    assert sum(counted.values()) == len(ENDS)
    assert counted["stopped by a finding"] == counted["over a limit"] == counted["well, with questions"] == 1
    assert any("1 h 6 min" in line for line in lines), "4,000 s are an hour, six minutes and forty seconds"
    for line in closing_lines(ALL, times(ALL), 1.0, Path("OUT")):
        assert line.isprintable(), "no line end, no command, no half of a character"


def junit(ends: tuple[BookEnd, ...]) -> ET.Element:
    return ET.fromstring(junit_xml(ends))


def test_junit_fails_for_what_was_found_and_errs_for_what_could_not_be_looked_at() -> None:
    suite = junit(ENDS)[0]
    kinds = {case.get("name"): [child.tag for child in case if child.tag != "system-out"] for case in suite}
    assert [name for name, tags in kinds.items() if not tags] == ["almanack.pdf", "jobbing.pdf", "lamps.pdf"]
    assert [name for name, tags in kinds.items() if tags == ["failure"]] == [
        "ballads.pdf",
        "embers.pdf",
        "flues/gas.pdf",
    ]
    assert [name for name, tags in kinds.items() if tags == ["error"]] == [
        "cellars.pdf", "dials.pdf", "hearths.pdf", "inks.pdf", "kilns.pdf"
    ]  # fmt: skip
    assert (suite.get("tests"), suite.get("failures"), suite.get("errors")) == ("11", "3", "5")
    failure = suite.find("testcase[@name='ballads.pdf']/failure")
    assert failure is not None and "Ink stops at the head of page 7" in failure.attrib["message"]
    assert "Binding: sewn." in (failure.text or ""), "all that make said"


def test_junit_keeps_to_what_common_readers_know() -> None:
    for element in junit(ALL).iter():
        required, more, children = TABLE[element.tag]
        assert required <= set(element.keys()) <= required | more, ET.tostring(element)[:200]
        assert {child.tag for child in element} <= children
    names = [case.attrib["name"] for case in junit(ALL).iter("testcase")]
    assert len(set(names)) == len(ALL) and all(name.isprintable() for name in names)


@pytest.mark.skipif(not JUNIT.is_file(), reason=f"no {JUNIT.name}; .ci/run fetches it")
@pytest.mark.skipif(shutil.which("xmllint") is None, reason="no xmllint on this machine")
def test_junit_validates_against_the_common_schema(tmp_path: Path) -> None:
    for number, ends in enumerate(((), ENDS, ALL)):
        target = tmp_path / f"{number}.xml"
        target.write_bytes(junit_xml(ends))
        done = subprocess.run(
            ["xmllint", "--noout", "--schema", str(JUNIT), str(target)], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr


def test_junit_is_read_by_a_general_reader(tmp_path: Path) -> None:
    junitparser = pytest.importorskip("junitparser", reason="the general reader of JUnit files is not installed")
    (tmp_path / "junit.xml").write_bytes(junit_xml(ALL))
    read = junitparser.JUnitXml.fromfile(str(tmp_path / "junit.xml"))
    assert (read.tests, read.failures, read.errors) == (len(ALL), 3, 5 + len(ODD))


def test_the_headline_counts_every_book_once() -> None:
    well, ask, bad = ENDS[0], ENDS[8], ENDS[1]
    assert headline(()) == "There was no book."
    assert headline((well,)) == "The book can go to press as it is."
    assert headline((ask,)) == "The book can go to press once its questions are answered."
    assert headline((bad,)) == "The book cannot go to press yet."
    assert headline((well,) * 12) == "All 12 books can go to press as they are."
    assert headline((bad,) * 3) == "None of 3 books can go to press yet."
    assert headline((well, well, ask, bad)) == (
        "Of 4 books 2 can go to press as they are, 1 once its questions are answered, 1 cannot yet."
    )
    assert headline((ask, ask, bad)) == "Of 3 books 2 can go to press once their questions are answered, 1 cannot yet."
    # a stop that was only warned about is a question still
    assert headline((ENDS[10],)) == headline((ask,))


def test_the_worst_comes_first() -> None:
    # a fault of ours, not written, not proved, over a limit, asked wrong, unreadable, no plan, stopped; then the well:
    # the order in which a batch takes the worst code (foldproof.errors), then by what was found
    assert [e.code for e in worst_first(ENDS)] == [70, 6, 5, 7, 2, 3, 4, 1, 0, 0, 0]
    assert [e.name for e in worst_first(ENDS)][-3:] == ["lamps.pdf", "jobbing.pdf", "almanack.pdf"]
    assert worst_first(ENDS) == worst_first(tuple(reversed(ENDS)))


def test_what_matters_most_is_said_in_a_sentence(tmp_path: Path) -> None:
    """From the very lines that ``make`` prints."""
    book = tmp_path / "almanack.pdf"
    plan = samples.plan()
    stopped = samples.results(book)
    swapped = samples.results(book, proof=samples.proof(plan, swapped=(6, 7)))
    refused = samples.results(
        book, plan=None, proof=None, refusal=Refusal("No press takes the sheet", ("A smaller page",))
    )
    asked = evolve(stopped, findings=evolve(stopped.findings, items=stopped.findings.items[3:]))
    fine = evolve(stopped, findings=evolve(stopped.findings, items=stopped.findings.items[:1]))
    for results, code, sentence in (
        (stopped, ExitCode.STOPPED, "bleed: Ink reaches the head of page 7 and stops there."),
        (swapped, ExitCode.NOT_PROVED, "which page: Page 6 belongs here, but page 7 came."),
        (refused, ExitCode.NO_PLAN, "No press takes the sheet."),
        (asked, ExitCode.WELL, "picture-resolution: The picture on page 5 has 65 ppi"),
        (fine, ExitCode.WELL, "all well. Findings: 1 note."),
    ):
        lines = tuple(summary(results, code).splitlines())
        told = in_a_sentence(BookEnd("list/almanack.pdf", "list/almanack", int(code), lines, queries=0))
        assert told.startswith(sentence), told
    assert in_a_sentence(ENDS[7]) == "It took longer than the 30 minutes allowed; allow more."
    assert in_a_sentence(end("a.pdf", 70)) == ""
