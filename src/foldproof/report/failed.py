# SPDX-License-Identifier: AGPL-3.0-or-later
"""A run that came to no findings, for programs: why, in the format that they asked for.

A gate that reads findings must not take an empty file, or none, for a book without faults.
"""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path
from typing import Any
from urllib.parse import quote
from xml.etree import ElementTree as ET

from foldproof.errors import FoldproofError, NoPlan, OverLimit, Unreadable
from foldproof.files import write_bytes
from foldproof.report.as_json import written
from foldproof.report.sarif import SARIF_SCHEMA
from foldproof.report.words import clean, sentence

ERROR_SCHEMA = "foldproof/error/1"


def failed_in_format(form: str, name: str, error: FoldproofError) -> str:
    """The error as ``"json"``, ``"junit"`` or ``"sarif"``, without a line end at the end; ``""`` for other formats.

    Args:
        name: of the file that the run was about, without a folder; ``""``: it was about none.
    """
    match form:
        case "json":
            return written(_as_json(name, error)).decode().rstrip("\n")
        case "junit":
            return _as_junit(error).decode().rstrip("\n")
        case "sarif":
            return written(_as_sarif(name, error)).decode().rstrip("\n")
    return ""


def write_failed(folder: Path, name: str, error: FoldproofError) -> None:
    """``junit.xml`` and ``findings.sarif`` of a book that could not be looked into.

    Raises:
        NotWritten: the folder does not take a file.
    """
    write_bytes(folder / "junit.xml", _as_junit(error))
    write_bytes(folder / "findings.sarif", written(_as_sarif(name, error)))


def _says(error: FoldproofError) -> str:
    return clean(sentence(" ".join(str(error).splitlines())))


def _as_json(name: str, error: FoldproofError) -> dict[str, Any]:
    return {
        "schema": ERROR_SCHEMA,
        "foldproof": version("foldproof"),
        "file": name or None,
        "code": int(error.exit_code),
        "kind": error.exit_code.name.lower().replace("_", " "),
        "says": _says(error),
        "would_fit": list(error.would) if isinstance(error, NoPlan) else [],
    }


def _as_junit(error: FoldproofError) -> bytes:
    counts = {"tests": "1", "failures": "0", "errors": "1"}
    top = ET.Element("testsuites", {"name": "foldproof", **counts})
    suite = ET.SubElement(top, "testsuite", {"name": "foldproof.run", **counts, "skipped": "0"})
    case = ET.SubElement(suite, "testcase", {"classname": "foldproof.run", "name": "run"})
    kind = error.exit_code.name.lower().replace("_", " ")
    told = ET.SubElement(case, "error", {"message": _says(error), "type": kind})
    told.text = f"exit code {int(error.exit_code)}"
    ET.indent(top)
    text: str = ET.tostring(top, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _as_sarif(name: str, error: FoldproofError) -> dict[str, Any]:
    """Clauses are those of SARIF 2.1.0."""
    said = {"text": _says(error)}
    place = [{"physicalLocation": {"artifactLocation": {"uri": quote(clean(name), safe="")}}}] if name else []
    # What is wrong with the book is a result, so that a viewer shows it; what is wrong with the run is a notification
    # of how it went (3.20.21) and nothing else.
    of_the_book = isinstance(error, Unreadable | OverLimit) and bool(name)
    rule = error.exit_code.name.lower().replace("_", "-")
    driver: dict[str, Any] = {"name": "Foldproof", "version": version("foldproof")}
    results = []
    if of_the_book:
        driver["rules"] = [{"id": rule, "shortDescription": {"text": "The book could not be looked into."}}]
        results = [{"ruleId": rule, "ruleIndex": 0, "level": "error", "message": said, "locations": place}]
    return {
        "$schema": SARIF_SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {"driver": driver},
                "invocations": [
                    {
                        "executionSuccessful": False,
                        "exitCode": int(error.exit_code),
                        "toolExecutionNotifications": [
                            {"level": "error", "message": said, **({"locations": place} if place else {})}
                        ],
                    }
                ],
                "columnKind": "unicodeCodePoints",
                "results": results,
            }
        ],
    }
