# SPDX-License-Identifier: AGPL-3.0-or-later
"""A ``findings.json`` read again, so that a later run can be held against it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from foldproof.errors import AskedWrong
from foldproof.geometry import Rect
from foldproof.preflight.known import Earlier
from foldproof.preflight.model import Finding, Severity
from foldproof.report.as_json import FINDINGS_SCHEMA

_GIVE = "give a findings.json that was written by check or make"


def read_earlier(path: Path) -> Earlier:
    """What an earlier run found.  Findings that were waived then are left out: whoever takes a waiver back asks anew.

    Raises:
        AskedWrong: the file is missing, no JSON, of another schema, or not as that schema has it.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as refused:
        raise AskedWrong(
            f"The baseline {path} cannot be read: {(refused.strerror or str(refused)).lower()}; {_GIVE}."
        ) from refused
    except (json.JSONDecodeError, UnicodeDecodeError, RecursionError) as odd:
        raise AskedWrong(f"The baseline {path} is no JSON ({odd}); {_GIVE}.") from odd
    said = data.get("schema") if isinstance(data, dict) else None
    if said != FINDINGS_SCHEMA:
        is_said = f'its schema is "{said}"' if isinstance(said, str) else "it states no schema"
        raise AskedWrong(f'The baseline {path} is no "{FINDINGS_SCHEMA}" ({is_said}); {_GIVE}.')
    try:
        return Earlier(
            file=path.name,
            manuscript=str(data["manuscript"]["file"]),
            spec=str(data["spec"]),
            version=str(data["foldproof"]),
            pages=int(data["manuscript"]["pages"]),
            # files of before they were kept hold none
            digests=tuple(str(digest) for digest in data.get("page_digests", ())),
            findings=tuple(_finding(found) for found in data["findings"]),
        )
    except (KeyError, TypeError, ValueError, AttributeError, OverflowError) as odd:
        raise AskedWrong(
            f"The baseline {path} is not as its schema has it ({type(odd).__name__}: {odd}); {_GIVE}."
        ) from odd


def _finding(found: Any) -> Finding:
    place, measured, limit = found["place_mm"], found["measured"], found["limit"]
    for value in (measured, limit):
        if not (value is None or isinstance(value, str | int | float)):
            raise TypeError(f"{value!r} is no measure")
    page, count = found["page"], found["count"]
    if not isinstance(count, int) or not (page is None or (isinstance(page, int) and page > 0)):
        raise TypeError(f"page {page!r}, count {count!r}")
    return Finding(
        check=str(found["check"]),
        severity=Severity(found["severity"]),
        problem=str(found["problem"]),
        remedy=str(found["remedy"]),
        page=page,
        folio=None if found["folio"] is None else str(found["folio"]),
        place_mm=None if place is None else Rect(*(float(value) for value in place)),
        measured=measured,
        limit=limit,
        unit=str(found["unit"]),
        cause=str(found["cause"]),
        count=count,
    )
