# SPDX-License-Identifier: AGPL-3.0-or-later
"""The noun of the impose stage: the written press sheets."""

from __future__ import annotations

from pathlib import Path

from attrs import frozen


@frozen
class Sheets:
    """sheets.pdf as it was written: side after side, sheet 1 front, sheet 1 back, sheet 2 front …"""

    path: Path
    sha256: str
    size_bytes: int
    sheets: int
    sides: int
    sheet_mm: tuple[float, float]
    pages: int  #: placed pages of the manuscript, blanks not counted
    blanks: int
    annotations: int  #: drawn into the sheets because they print
    marks: tuple[str, ...]  #: kinds of marks that were drawn, in the order of the job file
    notes: tuple[str, ...]  #: what the printer should know, a sentence each
