# SPDX-License-Identifier: AGPL-3.0-or-later
"""report.pdf: the words of the report on paper, with drawings of the sheets instead of pictures."""

from __future__ import annotations

from typing import Any

from attrs import asdict

from foldproof.report.content import MOST_KINDS, content, kind_words, piece_words
from foldproof.report.model import Results
from foldproof.tickets.diagram import drawings
from foldproof.tickets.typeset import pdf
from foldproof.tickets.write import side_data

_SOURCES = (("foldproof.tickets", "sheet.typ"), ("foldproof.report", "page/report.typ"))


def report_pdf(results: Results) -> bytes:
    """The printed report.

    Raises:
        OurFault: the layout does not take the data.
    """
    return pdf(_SOURCES, _data(results))


def _data(results: Results) -> dict[str, Any]:
    said = content(results)
    told = said["story"]
    said["story"] = {**asdict(told), "counts": [[severity.value, number] for severity, number in told.counts]}
    said["title"] = told.title
    said["runs"] = [asdict(run) for run in said["runs"]]
    # pictures of faults stay in the page for screens
    said["faults"] = [{key: fault[key] for key in ("leg", "says", "at")} for fault in said["faults"]]
    said["kinds"] = (
        []
        if results.plan is None
        else [
            {
                "label": drawing.kind.label,
                "words": kind_words(drawing),
                "pieces": piece_words(drawing),
                "sides": [side_data(side, f"Sheet {drawing.number}, {side.side.value}") for side in drawing.sides],
            }
            for drawing in drawings(results.plan, MOST_KINDS)
        ]
    )
    return said
