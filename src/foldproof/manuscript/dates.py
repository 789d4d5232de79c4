# SPDX-License-Identifier: AGPL-3.0-or-later
"""Dates that can be printed on a sheet without asking the clock."""

from __future__ import annotations

import datetime as dt
import re

from foldproof.errors import AskedWrong

# ISO 32000-1, 7.9.4: D:YYYYMMDDHHmmSSOHH'mm, everything after the year may be missing
_PDF_DATE = re.compile(r"^(?:D:)?(\d{4})(\d{2})?(\d{2})?")


def day_of(pdf_date: str | None) -> str:
    """``YYYY-MM-DD`` of a PDF date, ``""`` where it has no whole, possible day."""
    found = _PDF_DATE.match(pdf_date or "")
    if not found or not found[2] or not found[3]:
        return ""
    try:
        return dt.date(int(found[1]), int(found[2]), int(found[3])).isoformat()
    except ValueError:
        return ""


def day_of_epoch(seconds: str) -> str:
    """``YYYY-MM-DD`` (UTC) of a SOURCE_DATE_EPOCH value, ``""`` when it is unset.

    Raises:
        AskedWrong: it is no number of seconds.
    """
    if not seconds:
        return ""
    try:
        return dt.datetime.fromtimestamp(int(seconds), dt.UTC).date().isoformat()
    except (ValueError, OverflowError, OSError):
        raise AskedWrong(
            f"SOURCE_DATE_EPOCH is {seconds!r}; it must be a whole number of seconds since 1970."
        ) from None
