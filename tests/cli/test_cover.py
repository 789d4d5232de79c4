# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof cover`` from the command line: with a plan, with the interior, in every format, and on hostile files."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import jsonschema
import pikepdf
import pytest
from click.testing import Result
from typer.testing import CliRunner

from foldproof.cli.app import app
from foldproof.covers.registry import COVER_CHECKS
from foldproof.errors import ExitCode
from foldproof.job.load import load_house, load_job
from foldproof.makeup.choose import plans
from foldproof.report.as_json import plan_json, schema, written
from foldproof.workers import Workers
from tests.build import book
from tests.covers.building import ISBN, Cover, sizes, write

PAGES, TRIM = 320, (100.0, 150.0)
JOB = f"""
[book]
title = "The Lamps of Merrowby"
isbn = "{ISBN}"
trim = "100 x 150 mm"
binding = "glued"

[paper]
stock = "Hearth Book 90"
"""


@pytest.fixture(scope="module", autouse=True)
def one_process() -> Iterator[None]:
    """All runs of this module share one process for pages: starting it takes longer than looking at a cover."""
    with pytest.MonkeyPatch.context() as patch, Workers(1) as hands:
        patch.setattr("foldproof.workers.Workers", lambda count: contextlib.nullcontext(hands))
        yield


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job, the plan of its book, its interior, a sound cover and one whose spine is too wide."""
    folder = tmp_path_factory.mktemp("desk")
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    plan = plans(PAGES, TRIM, load_job(folder / "job.toml"), load_house(None), title="Merrowby", most=1)[0]
    (folder / "plan.json").write_bytes(written(plan_json(plan)))
    # spine-128 of the handbook: pages / 2 x caliper; 90 g/m2 x 1.3 cm3/g / 1000 = 0.117 mm a leaf; glued: nothing more
    spine = (PAGES + plan.blanks_back) / 2 * 0.117
    assert plan.blanks_back == 0
    asked = sizes(spine_mm=spine)
    write(Cover(asked=asked, spine=spine), folder / "cover.pdf")
    write(Cover(asked=asked, spine=spine + 4), folder / "wide.pdf")
    return folder


def _run(desk: Path, *words: object, cover: str = "cover.pdf", plan: bool = True) -> Result:
    given = ["--plan", desk / "plan.json", "--job", desk / "job.toml"] if plan else []
    return CliRunner().invoke(app, [str(w) for w in ("cover", desk / cover, *given, "--workers", 1, "-q", *words)])


@cache
def _wide(desk: Path, form: str) -> str:
    """What is answered of the cover whose spine is too wide."""
    return _run(desk, "--format", form, cover="wide.pdf").stdout


def test_a_sound_cover_in_words(desk: Path) -> None:
    done = _run(desk)
    assert done.exit_code == ExitCode.WELL, done.output
    first, *rest = done.stdout.splitlines()
    assert first == "cover.pdf: all well. Findings: nothing found."
    # 160 leaves of 0.117 mm: 18.72 mm; 2 x 100 + 18.72 = 218.72
    assert rest == [
        "  Held against a paper cover of 218.7 x 150 mm: back 100 mm, spine 18.7 mm, front 100 mm; bleed 3 mm.",
        "  The bars read 9781234567897: 31.4 mm x 22.9 mm, 100 % of full size.",
    ]


def test_a_cover_with_a_fault_stops_with_one(desk: Path) -> None:
    done = _run(desk, cover="wide.pdf")
    assert done.exit_code == ExitCode.STOPPED
    assert "stop: spine-width: The cover is 222.7 mm wide, which leaves 22.7 mm for the spine" in done.stdout


WAIVED = """
[[check.waived]]
check = "spine-width"
on = "cover"
reason = "the wrapper is a dummy"
by = "the publisher"
"""


def test_what_the_job_waives_is_told_with_who_and_why(desk: Path) -> None:
    job = desk / "waived.toml"
    job.write_text(JOB + WAIVED, encoding="utf-8")

    def asked(*words: object) -> Result:
        return _run(desk, "--plan", desk / "plan.json", "--job", job, *words, cover="wide.pdf", plan=False)

    done = asked()
    assert done.exit_code == ExitCode.WELL, done.output
    verdict, *lines = done.stdout.splitlines()
    assert verdict == "wide.pdf: all well. Findings: nothing found."
    (line,) = [line for line in lines if "spine-width" in line]
    assert line.startswith("  waived: spine-width: The cover is 222.7 mm wide")
    assert line.endswith("Waived by the publisher: the wrapper is a dummy.")
    data = json.loads(asked("--format", "json").stdout)
    jsonschema.validate(data, schema("findings"), cls=jsonschema.Draft202012Validator)
    (waived,) = data["waived"]
    assert (waived["check"], waived["reason"], waived["by"]) == (
        "spine-width", "the wrapper is a dummy", "the publisher",
    )  # fmt: skip
    assert data["findings"] == [] and data["worst"] is None
    sarif = json.loads(asked("--format", "sarif").stdout)
    (result,) = sarif["runs"][0]["results"]
    assert "Waived by the publisher." in result["suppressions"][0]["justification"]


def test_one_job_serves_the_book_and_its_cover(desk: Path) -> None:
    """A waiver of the one is no unknown word for the other, and a slip is told with both."""
    interior, job = book(8, desk / "small.pdf", trim_mm=TRIM, bleed_mm=3), desk / "both.toml"
    page = '[[check.waived]]\ncheck = "page-turn"\npage = 8\nreason = "meant so"\nby = "the publisher"\n'
    job.write_text(JOB + WAIVED + page, encoding="utf-8")

    def ends(*words: object) -> Result:
        given = [str(word) for word in (*words, "--job", job, "--workers", 1, "-q")]
        return CliRunner().invoke(app, given)

    assert ends("check", interior).exit_code == ExitCode.WELL
    assert ends("cover", desk / "wide.pdf", "--plan", desk / "plan.json").exit_code == ExitCode.WELL
    job.write_text(JOB + WAIVED.replace("spine-width", "spine-widht"), encoding="utf-8")
    for words in (("check", interior), ("cover", desk / "wide.pdf", "--plan", desk / "plan.json")):
        done = ends(*words)
        assert done.exit_code == ExitCode.ASKED_WRONG
        assert 'there is no check "spine-widht"; did you mean "spine-width"?' in done.stderr


def test_one_spec_serves_the_book_and_its_cover(desk: Path) -> None:
    ours = desk / "ours.toml"
    ours.write_text(
        'title = "Ours"\nextends = "colour-on-coated"\n'
        '[check.barcode-size.limits]\nleast_percent = { value = 120, source = "the shops of the harbour" }\n',
        encoding="utf-8",
    )
    done = _run(desk, "--spec", ours)
    assert done.exit_code == ExitCode.STOPPED
    assert "stop: barcode-size: The bars stand at 100 % of their full size" in done.stdout
    assert "120 to 200 % are allowed" in done.stdout
    explained = CliRunner().invoke(app, ["explain", "barcode-size", "--spec", str(ours)]).stdout
    assert "least_percent = 120 (the shops of the harbour)" in explained
    assert "most_percent = 200.0 (GS1: 200 %; from memory)" in explained
    listed = json.loads(CliRunner().invoke(app, ["explain", "--format", "json", "--spec", str(ours)]).stdout)
    (size,) = [check for check in listed["checks"] if check["id"] == "barcode-size"]
    least = size["limits"][0]
    assert (least["value"], least["default"], least["source"]) == (120, 80.0, "the shops of the harbour")
    # the pages of a book are held against the same file
    interior = book(8, desk / "small.pdf", trim_mm=TRIM, bleed_mm=3)
    given = ["check", interior, "--spec", ours, "--job", desk / "job.toml", "--workers", 1, "-q"]
    assert CliRunner().invoke(app, [str(word) for word in given]).exit_code == ExitCode.WELL


def test_every_format_holds_the_finding_and_nothing_else(desk: Path) -> None:
    data = json.loads(_wide(desk, "json"))
    jsonschema.validate(data, schema("findings"), cls=jsonschema.Draft202012Validator)
    assert [found["check"] for found in data["findings"]] == ["spine-width"]
    assert {check.id for check in COVER_CHECKS} <= set(data["checks"])
    junit = ET.fromstring(_wide(desk, "junit"))
    assert [case.get("name") for case in junit.iter("testcase") if case.find("failure") is not None] == ["spine-width"]
    sarif = json.loads(_wide(desk, "sarif"))
    results, rules = sarif["runs"][0]["results"], sarif["runs"][0]["tool"]["driver"]["rules"]
    assert [result["ruleId"] for result in results] == ["spine-width"]
    assert "spine_tolerance" in rules[results[0]["ruleIndex"]]["help"]["text"]


def test_the_interior_stands_for_its_plan(desk: Path) -> None:
    interior = book(40, desk / "book.pdf", trim_mm=TRIM, bleed_mm=3)
    # 20 leaves of 0.117 mm
    asked = sizes(spine_mm=2.34)
    write(Cover(asked=asked, spine=2.34, spine_text=""), desk / "thin.pdf")
    done = _run(desk, "--interior", interior, "--job", desk / "job.toml", cover="thin.pdf", plan=False)
    assert done.exit_code == ExitCode.WELL, done.output
    assert "spine 2.3 mm" in done.stdout and "nothing found" in done.stdout


def test_a_jacket_is_held_against_the_jacket_of_the_job(desk: Path) -> None:
    assert _run(desk, "--jacket").exit_code == ExitCode.ASKED_WRONG
    job = desk / "jacket.toml"
    job.write_text(JOB + '\n[jacket]\nstock = "Glaze Silk 135"\nflaps = "40 mm"\n', encoding="utf-8")
    done = _run(desk, "--plan", desk / "plan.json", "--job", job, "--jacket", plan=False)
    assert done.exit_code == ExitCode.STOPPED
    assert "It seems to lack its two flaps" in done.stdout or "cover-size" in done.stdout
    assert "Held against a jacket" in done.stdout


def test_the_same_cover_gives_the_same_bytes(desk: Path) -> None:
    again = _run(desk, "--format", "sarif", cover="wide.pdf").stdout
    assert _wide(desk, "sarif") == again and str(desk) not in again


def test_an_answer_goes_into_a_file(desk: Path) -> None:
    target = desk / "findings.json"
    done = _run(desk, "--format", "json", "-o", target)
    assert done.exit_code == ExitCode.WELL and done.stdout == ""
    assert json.loads(target.read_text(encoding="utf-8"))["findings"] == []
    assert _run(desk, "-o", desk / "cover.pdf").exit_code == ExitCode.ASKED_WRONG
    assert _run(desk, "-o", desk).exit_code == ExitCode.ASKED_WRONG


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "--plan"),
        (["--plan", "none.json"], "cannot be read"),
        (["--plan", "plan.json", "--interior", "book.pdf"], "not both"),
        (["--plan", "cover.pdf"], "no JSON"),
        (["--plan", "plan.json", "--spec", "colour-on-coatd"], 'did you mean "colour-on-coated"'),
    ],
)
def test_what_is_asked_wrong_is_told(words: list[str], says: str, desk: Path) -> None:
    done = _run(desk, *(desk / word if "." in word else word for word in words), plan=False)
    assert done.exit_code == ExitCode.ASKED_WRONG, done.stderr
    assert says in done.stderr and len(done.stderr.splitlines()) == 1


def test_a_job_that_asks_for_a_case_is_told_apart(desk: Path) -> None:
    job = desk / "case.toml"
    job.write_text(JOB + '\n[cover]\nkind = "case"\n', encoding="utf-8")
    done = _run(desk, "--plan", desk / "plan.json", "--job", job, plan=False)
    assert done.exit_code == ExitCode.ASKED_WRONG and "--jacket" in done.stderr


def _locked(source: Path, target: Path) -> None:
    with pikepdf.open(source) as pdf:
        pdf.save(target, encryption=pikepdf.Encryption(owner="o", user="lamp"))


def _empty(source: Path, target: Path) -> None:
    pikepdf.new().save(target)


HOSTILE: dict[str, Callable[[Path, Path], object]] = {
    "cut off": lambda source, target: target.write_bytes(source.read_bytes()[:400]),
    "no PDF": lambda source, target: target.write_bytes(b"\x00" * 4000),
    "nothing": lambda source, target: target.write_bytes(b""),
    "locked": _locked,
    "without pages": _empty,
    "not there": lambda source, target: None,
}


@pytest.mark.parametrize(
    ("name", "form"), [*((name, "text") for name in HOSTILE), ("cut off", "json"), ("locked", "json")]
)
def test_a_hostile_file_ends_in_a_sentence_and_a_code(name: str, form: str, desk: Path) -> None:
    target = desk / "hostile.pdf"
    target.unlink(missing_ok=True)
    HOSTILE[name](desk / "cover.pdf", target)
    done = _run(desk, "--format", form, cover="hostile.pdf")
    assert done.exit_code == ExitCode.UNREADABLE, done.output
    assert len(done.stderr.strip().splitlines()) == 1 and "Traceback" not in done.output
    if form == "json":
        assert json.loads(done.stdout)["code"] == ExitCode.UNREADABLE


def test_a_locked_cover_opens_with_its_password(desk: Path) -> None:
    _locked(desk / "cover.pdf", desk / "locked.pdf")
    (desk / "word").write_text("lamp\n")
    done = _run(desk, "--password-file", desk / "word", cover="locked.pdf")
    assert "encryption" in done.stdout and done.exit_code in (ExitCode.WELL, ExitCode.STOPPED)


@pytest.mark.parametrize("check", COVER_CHECKS, ids=lambda check: check.id)
def test_every_cover_check_can_be_explained(check) -> None:  # type: ignore[no-untyped-def]
    told = " ".join(CliRunner().invoke(app, ["explain", check.id]).stdout.split())
    assert told.startswith(f"{check.id}: {check.title}") and " ".join(check.why.split()) in told
