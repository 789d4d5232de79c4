# SPDX-License-Identifier: AGPL-3.0-or-later
"""What stdout carries: the format that was asked for and nothing else, of a run that failed too."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree as ET

import jsonschema
import pytest
from junitparser import JUnitXml

from foldproof.covers.registry import EXPLAINED
from foldproof.preflight.specs import load_spec
from foldproof.report.as_json import schema
from tests.build import book

#: files of the corpus that the libraries have something to say about, or give up on
LOUD = ("qpdf__bad1.pdf", "qpdf__bad-content.pdf", "pdfium__bug_544880.pdf", "qpdf__fuzz-16214.pdf")
FORMATS = ("json", "junit", "sarif")


def read(form: str, text: str) -> object:
    """stdout as a whole, by a reader of others; raises when anything else is in it."""
    match form:
        case "json":
            data = json.loads(text)
            name = "error" if data["schema"] == "foldproof/error/1" else "findings"
            jsonschema.validate(data, schema(name), cls=jsonschema.Draft202012Validator)
            return data
        case "junit":
            return JUnitXml.fromstring(text.encode())
        case _:
            data = json.loads(text)
            assert data["version"] == "2.1.0"
            return data


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize("name", LOUD)
def test_a_broken_file_leaves_stdout_clean(corpus: Path, name: str, form: str, foldproof) -> None:
    done = foldproof("check", corpus / "hard" / name, "--format", form)
    assert done.returncode in (0, 1, 3), done.stderr
    answer = read(form, done.stdout)
    if done.returncode == 3:
        (said,) = [line for line in done.stderr.splitlines() if line.startswith("foldproof: ")]
        if form == "json":
            assert answer["code"] == 3 and answer["kind"] == "unreadable" and answer["file"] == name  # type: ignore[index]
            assert said == f"foldproof: {answer['says']}"  # type: ignore[index]
        elif form == "junit":
            assert (answer.tests, answer.errors, answer.failures) == (1, 1, 0)  # type: ignore[attr-defined]
        else:
            (run,) = answer["runs"]  # type: ignore[index]
            # SARIF 2.1.0: 3.20.14 executionSuccessful, 3.20.8 exitCode, 3.20.21 toolExecutionNotifications
            (invocation,) = run["invocations"]
            assert invocation["executionSuccessful"] is False and invocation["exitCode"] == 3
            assert invocation["toolExecutionNotifications"][0]["level"] == "error"
            # 3.27.10: a result of level error, so that a viewer that shows results alone shows it
            assert [result["level"] for result in run["results"]] == ["error"]


@pytest.mark.parametrize("form", FORMATS)
def test_make_prints_the_format_and_tells_its_files_elsewhere(tmp_path: Path, form: str, foldproof) -> None:
    interior, out = book(8, tmp_path / "book.pdf"), tmp_path / "out"
    done = foldproof("make", interior, "-o", out, "--format", form, "--workers", 1)
    assert done.returncode == 0
    read(form, done.stdout)
    assert f"{out}: " in done.stderr and "sheets.pdf" in done.stderr and "impose" in done.stderr
    on_disk = {"json": "findings.json", "junit": "junit.xml", "sarif": "findings.sarif"}[form]
    assert done.stdout == (out / on_disk).read_text("utf-8")


def test_people_get_a_sentence_and_no_answer(tmp_path: Path, foldproof) -> None:
    (tmp_path / "broken.pdf").write_text("no PDF")
    for form in ("text", "letter"):
        done = foldproof("check", tmp_path / "broken.pdf", "--format", form, "--quiet")
        assert done.returncode == 3 and done.stdout == "" and len(done.stderr.splitlines()) == 1


def test_a_file_that_was_named_gets_the_error(tmp_path: Path, foldproof) -> None:
    (tmp_path / "broken.pdf").write_text("no PDF")
    target = tmp_path / "findings.sarif"
    target.write_text("of an earlier run, which found nothing")
    done = foldproof("check", tmp_path / "broken.pdf", "--format", "sarif", "-o", target)
    assert done.returncode == 3 and done.stdout == ""
    assert json.loads(target.read_text("utf-8"))["runs"][0]["invocations"][0]["exitCode"] == 3


@pytest.mark.parametrize(
    ("words", "code", "kind"),
    [
        (["check", "BOOK", "--spec", "nonsense"], 2, "asked wrong"),
        (["make", "BOOK", "-o", "FILE/out"], 6, "not written"),
        (["plan", "--pages", "8", "--trim", "1200 x 1600 mm"], 4, "no plan"),
        (["prove", "BOOK", "--plan", "FILE"], 2, "asked wrong"),
    ],
)
def test_every_error_has_its_code_in_the_answer(
    tmp_path: Path, words: list[str], code: int, kind: str, foldproof
) -> None:
    there = {"BOOK": str(book(4, tmp_path / "book.pdf"))}
    (tmp_path / "file").write_text("in the way")
    words = [there.get(word, word.replace("FILE", str(tmp_path / "file"))) for word in words]
    done = foldproof(*words, "--format", "json")
    answer = json.loads(done.stdout)
    jsonschema.validate(answer, schema("error"), cls=jsonschema.Draft202012Validator)
    assert (done.returncode, answer["code"], answer["kind"]) == (code, code, kind)
    assert bool(answer["would_fit"]) is (code == 4)


def test_the_proof_as_junit(tmp_path: Path, foldproof) -> None:
    interior, out = book(8, tmp_path / "book.pdf"), tmp_path / "out"
    assert foldproof("make", interior, "-o", out, "--quiet", "--workers", 1).returncode == 0
    words = ("prove", out / "sheets.pdf", "--plan", out / "plan.json", "--format", "junit", "--workers", 1)
    proved = foldproof(*words, "--manuscript", interior)
    assert proved.returncode == 0 and JUnitXml.fromstring(proved.stdout.encode()).failures == 0
    other = book(8, tmp_path / "other.pdf", say=lambda index: f"Leaf {index}")
    failed = foldproof(*words, "--manuscript", other)
    assert failed.returncode == 5 and JUnitXml.fromstring(failed.stdout.encode()).failures > 0


_LOUD = """
import ctypes, os, subprocess, sys
from foldproof.cli.answering import answer, answering
libc = ctypes.CDLL(None)
with answering("json", "book.pdf"):
    print("of Python")
    libc.printf(b"of C\\n")
    os.write(1, b"of the system\\n")
    subprocess.run(["echo", "of a child"])
    if sys.argv[1:]:
        raise MemoryError
answer("{}")
"""


def test_what_libraries_print_goes_to_stderr() -> None:
    said = {"of Python", "of C", "of the system", "of a child"}
    done = subprocess.run([sys.executable, "-c", _LOUD], capture_output=True, text=True, check=True)
    assert done.stdout == "{}\n" and set(done.stderr.split("\n")) == {*said, ""}
    failed = subprocess.run([sys.executable, "-c", _LOUD, "fail"], capture_output=True, text=True, check=False)
    assert json.loads(failed.stdout)["kind"] == "over limit" and said <= set(failed.stderr.split("\n"))


def test_a_closed_stdout_or_stderr_is_borne(tmp_path: Path) -> None:
    interior = book(4, tmp_path / "book.pdf")
    command = f'"{sys.executable}" -m foldproof check "{interior}" --format json --workers 1'
    quiet = subprocess.run(["bash", "-c", command + " 2>&-"], capture_output=True, text=True, check=False)
    assert quiet.returncode == 0 and json.loads(quiet.stdout)["manuscript"]["pages"] == 4
    deaf = subprocess.run(["bash", "-c", command + " >&-"], capture_output=True, text=True, check=False)
    assert "Traceback" not in deaf.stderr


@pytest.mark.parametrize("spec", [None, "one-colour-text-on-uncoated", "colour-on-coated"])
def test_the_list_of_checks_for_machines(spec: str | None, foldproof) -> None:
    done = foldproof("explain", "--format", "json", *(("--spec", spec) if spec else ()))
    published = schema("checks")
    jsonschema.Draft202012Validator.check_schema(published)
    data = json.loads(done.stdout)
    jsonschema.validate(data, published, cls=jsonschema.Draft202012Validator)
    assert [one["id"] for one in data["checks"]] == [check.id for check in EXPLAINED]
    rules = load_spec(spec) if spec else None
    for one, check in zip(data["checks"], EXPLAINED, strict=True):
        assert one["off"] is (rules.is_off(check) if rules else False)
        # one by one from the spec's own answers, which tests/preflight/test_specs.py holds
        values = rules.limits_of(check).values if rules else check.limits
        assert {limit["name"]: limit["value"] for limit in one["limits"]} == values
    alone = json.loads(foldproof("explain", "bleed", "--format", "json").stdout)
    assert [one["id"] for one in alone["checks"]] == ["bleed"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**data, "more": 1}, published)


@pytest.mark.parametrize("name", ["error", "checks"])
def test_schemas_are_themselves_valid(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(schema(name))
    assert os.fspath(name) and schema(name)["$id"].startswith("urn:foldproof:schema:")


def test_an_error_as_junit_is_what_readers_take() -> None:
    from foldproof.errors import OverLimit
    from foldproof.report.failed import failed_in_format

    text = failed_in_format("junit", "a.pdf", OverLimit("It took longer than 5 s.\nGive it <more> & \x07."))
    # junit-10.xsd: testsuite with name, tests, failures, errors; testcase with classname and name; error with type
    top = ET.fromstring(text)
    suite = top.find("testsuite")
    assert suite is not None and {"name", "tests", "failures", "errors"} <= set(suite.keys())
    error = top.find("testsuite/testcase/error")
    assert error is not None and error.get("type") == "over limit"
    assert error.get("message") == "It took longer than 5 s. Give it <more> & \ufffd."
