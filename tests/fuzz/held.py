# SPDX-License-Identifier: AGPL-3.0-or-later
"""What must hold after every run, however the book was spoilt; each breach in a sentence."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

from foldproof.desk import BENCH_TICKETS, JOB_TICKET, MAY_BE_LEFT, SHEETS, TICKETS, UNPROVED_SHEETS
from foldproof.errors import ExitCode

#: codes that a book may end with; not: what was asked is wrong, which no book can bring about, a fault of ours, a stop
MAY_END = {
    ExitCode.WELL, ExitCode.STOPPED, ExitCode.UNREADABLE, ExitCode.NO_PLAN, ExitCode.NOT_PROVED, ExitCode.OVER_LIMIT,
}  # fmt: skip
REACHED = {ExitCode.WELL, ExitCode.STOPPED, ExitCode.NO_PLAN, ExitCode.NOT_PROVED}

_REPORTS = {"findings.json", "report.html", "report.pdf", "letter.txt", "junit.xml", "findings.sarif"}
_MADE = _REPORTS | {"plan.json", "proof.json"}
_PROVED = _MADE | {SHEETS, TICKETS, BENCH_TICKETS, "dummy.pdf", JOB_TICKET}

#: what the spoilt strings carry, unescaped: nothing in a page of ours may hold it
_ALIVE = re.compile(rb"<script>(alert|document)", re.IGNORECASE)


def names_in(folder: Path) -> dict[str, str]:
    """Digests of all files below a folder, ``""`` for folders, by their path from there."""
    found = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        found[name] = hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else ""
    return found


def digest_of(folder: Path) -> str:
    """One digest of all files below a folder, and of their names."""
    found = names_in(folder) if folder.is_dir() else {}
    return hashlib.sha256(json.dumps(sorted(found.items())).encode()).hexdigest()


def breaches(code: int, says: str, out: Path) -> Iterator[str]:
    """Of one run: its code, the sentence of the error that it ended with (``""``: an outcome), its output folder."""
    if code not in MAY_END:
        yield f"it ended with {code}, which no book may bring about: {says}"
        return
    left = {path.name for path in out.iterdir()} if out.is_dir() else set()
    if strange := left - MAY_BE_LEFT:
        yield f"the output folder holds {sorted(strange)}"
    if says:
        yield from _told(says)
        if left:
            yield f"it ended with an error and left {sorted(left)}"
        return
    wanted = {
        ExitCode.WELL: _PROVED, ExitCode.STOPPED: _PROVED, ExitCode.NO_PLAN: _REPORTS,
        ExitCode.NOT_PROVED: _MADE | {UNPROVED_SHEETS},
    }.get(ExitCode(code))  # fmt: skip
    if wanted is None:
        yield f"code {code} came without an error"
        return
    if missing := wanted - left:
        yield f"with code {code} {sorted(missing)} are missing"
    yield from _whole(out, left)


def _told(says: str) -> Iterator[str]:
    line = " ".join(says.splitlines())
    if not line.rstrip().endswith((".", "?", ".)")) or "Traceback" in line:
        yield f"no sentence: {line!r}"
    if odd := {sign for sign in line if not sign.isprintable()}:
        yield f"the sentence holds {odd}"


def _whole(out: Path, left: set[str]) -> Iterator[str]:
    for name in sorted(left & {"findings.json", "plan.json", "proof.json", "findings.sarif"}):
        try:
            json.loads((out / name).read_text("utf-8"))
        except ValueError as odd:
            yield f"{name} is no JSON: {odd}"
    if "junit.xml" in left:
        try:
            ElementTree.fromstring((out / "junit.xml").read_bytes())
        except ElementTree.ParseError as odd:
            yield f"junit.xml is no XML: {odd}"
    if "report.html" in left and _ALIVE.search((out / "report.html").read_bytes()):
        yield "report.html holds a script of the book"
    for name in sorted(left):
        if name.endswith(".pdf") and not _ends_as_pdf(out / name):
            yield f"{name} is no whole PDF"
    proved = False
    if "proof.json" in left:
        try:
            proved = json.loads((out / "proof.json").read_text("utf-8"))["verdict"] == "proved"
        except (ValueError, KeyError) as odd:
            yield f"proof.json tells no verdict: {odd}"
    if proved != (SHEETS in left):
        yield f"sheets.pdf is {'missing though' if proved else 'there though not'} proved"


def _ends_as_pdf(path: Path) -> bool:
    data = path.read_bytes()
    return data.startswith(b"%PDF-") and data.rstrip().endswith(b"%%EOF")
