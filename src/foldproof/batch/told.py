# SPDX-License-Identifier: AGPL-3.0-or-later
"""A whole batch for machines (summary.json, junit.xml, times.json) and for whoever waits for it.

summary.json and junit.xml say the same however the batch ran; times.json alone knows what it took.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

from foldproof.batch.model import BookEnd, BookTimes, worst
from foldproof.batch.outcomes import became, by_outcome, code_of, headline, in_a_sentence, named, one_line
from foldproof.errors import ExitCode
from foldproof.report.words import clean, count, listed

SUMMARY_SCHEMA = "foldproof/batch/2"
TIMES_SCHEMA = "foldproof/times/1"

#: codes of a book that was looked at and found wanting; with any other bad one it could not be looked at
_FAILURES = {ExitCode.STOPPED, ExitCode.NO_PLAN, ExitCode.NOT_PROVED}
_SLOWEST = 5
#: what a terminal or an XML parser takes amiss, and halves of characters: in JSON each has a way to be written
_ESCAPED = re.compile("[\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]")


def summary_json(ends: Sequence[BookEnd]) -> bytes:
    """Every book with all that is known of its end; ``report/schemas/batch.schema.json`` says how."""
    times = Counter(str(end.code) for end in ends)
    return _json(
        {
            "schema": SUMMARY_SCHEMA,
            "foldproof": version("foldproof"),
            "code": int(worst(list(ends))),
            "counts": {**{str(int(code)): 0 for code in ExitCode}, **times},
            "books": [
                {
                    "name": end.name,
                    "folder": end.folder,
                    "code": end.code,
                    "says": list(end.says),
                    "pages": end.pages,
                    "stops": end.stops,
                    "queries": end.queries,
                    "notes": end.notes,
                    "sheets": end.sheets,
                    "verdict": end.verdict,
                    "files": dict(end.files),
                }
                for end in ends
            ],
        }
    )


def times_json(ends: Sequence[BookEnd], times: Sequence[BookTimes], seconds: float) -> bytes:
    """What the batch took, and each of its books; ``report/schemas/times.schema.json`` says how.

    Books kept from an earlier run count with what they took then, but not into what this run did a second.

    Args:
        ends: the books, in the order of ``times``.
        seconds: from the start of the batch to its end, by the clock.
    """
    ran = [took for took in times if not took.kept]
    cpu_seconds = sum(took.cpu_seconds for took in ran)
    pages = _pages_done(ends, times)
    return _json(
        {
            "schema": TIMES_SCHEMA,
            "foldproof": version("foldproof"),
            "seconds": round(seconds, 3),
            "cpu_seconds": round(cpu_seconds, 3),
            "cpu_per_second": round(cpu_seconds / seconds, 3) if seconds > 0 else None,
            "pages": pages,
            "pages_per_second": round(pages / seconds, 3) if seconds > 0 else None,
            "peak_mb": max((took.peak_mb for took in times), default=0.0),
            "kept": len(times) - len(ran),
            "slowest": [{"name": took.name, "seconds": took.seconds} for took in _slowest(times)],
            "books": [
                {
                    "name": took.name,
                    "pages": end.pages,
                    "seconds": took.seconds,
                    "cpu_seconds": took.cpu_seconds,
                    "peak_mb": took.peak_mb,
                    "tries": took.tries,
                    "kept": took.kept,
                }
                for end, took in zip(ends, times, strict=True)
            ],
        }
    )


def junit_xml(ends: Sequence[BookEnd]) -> bytes:
    """The batch as a gate reads it: one suite, a test case a book, the checks of each in its own junit.xml.

    A book that was looked at and found wanting (1, 4, 5) is a failure; one that could not be looked at is an error.
    """
    cases = [_case(end) for end in ends]
    numbers = {
        "tests": str(len(cases)),
        "failures": str(sum(case.find("failure") is not None for case in cases)),
        "errors": str(sum(case.find("error") is not None for case in cases)),
    }
    top = ET.Element("testsuites", {"name": "foldproof", **numbers})
    suite = ET.SubElement(top, "testsuite", {"name": "foldproof.batch", **numbers, "skipped": "0"})
    suite.extend(cases)
    ET.indent(top)
    text: str = ET.tostring(top, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def closing_lines(ends: Sequence[BookEnd], times: Sequence[BookTimes], seconds: float, out: Path) -> list[str]:
    """What is printed at the end of a batch."""
    ran = [took for took in times if not took.kept]
    lines = [headline(ends)]
    for words, number, first in by_outcome(ends):
        where = "" if first.code == ExitCode.WELL else f": {'the first ' if number > 1 else ''}{named(first)}"
        lines.append(f"  {number:>5,}  {words}{where}")
    kept = len(times) - len(ran)
    pages = _pages_done(ends, times)
    rate = f", {pages / seconds:.1f} pages a second" if seconds > 0 and pages else ""
    cpu_seconds = sum(took.cpu_seconds for took in ran)
    busy = f"; processors at work for {_duration(cpu_seconds)}" if cpu_seconds else ""
    left = f", {count(kept, 'book')} kept from an earlier run" if kept else ""
    lines.append(f"Took {_duration(seconds)}{rate}{busy}{left}.")
    if slowest := _slowest(times):
        lines.append(f"Slowest: {listed([f'{one_line(t.name)} ({_duration(t.seconds)})' for t in slowest])}.")
        peak = max(times, key=lambda took: took.peak_mb)
        lines.append(f"Peak memory of a book: {peak.peak_mb:,.0f} MB ({one_line(peak.name)}).")
    lines.append(f"Index: {one_line(str(out / 'index.html'))}")
    return lines


def _case(end: BookEnd) -> ET.Element:
    case = ET.Element("testcase", {"classname": "foldproof.batch", "name": _exact(end.name)})
    said = clean("\n".join(end.says))
    if end.code == ExitCode.WELL:
        if said:
            ET.SubElement(case, "system-out").text = said
        return case
    kind = "failure" if code_of(end) in _FAILURES else "error"
    message = f"{became(end)} ({end.code}): {in_a_sentence(end)}"
    ET.SubElement(case, kind, {"message": clean(message), "type": became(end)}).text = said
    return case


def _exact(name: str) -> str:
    """A name on one line as XML can hold it, different names staying different."""
    held = name.encode("utf-8", "backslashreplace").decode("utf-8")
    return clean("".join(sign if sign.isprintable() else f"\\x{ord(sign):02x}" for sign in held))


def _pages_done(ends: Sequence[BookEnd], times: Sequence[BookTimes]) -> int:
    return sum(end.pages or 0 for end, took in zip(ends, times, strict=True) if not took.kept)


def _slowest(times: Sequence[BookTimes]) -> list[BookTimes]:
    return sorted(times, key=lambda took: (-took.seconds, took.name))[:_SLOWEST]


def _duration(seconds: float) -> str:
    if seconds < 60:
        return f"{seconds:.1f} s"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:,} h {minutes} min" if hours else f"{minutes} min {rest} s"


def _json(data: dict[str, Any]) -> bytes:
    text = json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False)
    return (_ESCAPED.sub(lambda sign: f"\\u{ord(sign[0]):04x}", text) + "\n").encode("utf-8")
