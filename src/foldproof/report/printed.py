# SPDX-License-Identifier: AGPL-3.0-or-later
"""report.pdf: the report on paper: its words, its thumbnails and charts, and drawings of the sheets."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from attrs import asdict

from foldproof.manuscript.folios import printed_folios
from foldproof.report.causes import Cause
from foldproof.report.charts import charts
from foldproof.report.contact import cells
from foldproof.report.content import MOST_CAUSES, MOST_KINDS, content, kind_words, piece_words, printing_told
from foldproof.report.leaves import contact_rows, marked_words, right_to_left, thumb_alone, thumb_words
from foldproof.report.model import Results
from foldproof.report.pictures import Pictures
from foldproof.tickets.diagram import drawings
from foldproof.tickets.side import side_data
from foldproof.tickets.typeset import pdf

_SOURCES = (("foldproof.tickets", "sheet.typ"), ("foldproof.report", "page/report.typ"))
#: thumbnails of a cause on paper
_THUMBS = 2


def report_pdf(results: Results, grouped: Sequence[Cause], pictures: Pictures) -> bytes:
    """The printed report.

    Raises:
        OurFault: the layout does not take the data.
    """
    return pdf(_SOURCES, _data(results, grouped, pictures))


def _data(results: Results, grouped: Sequence[Cause], pictures: Pictures) -> dict[str, Any]:
    said = content(results, grouped)
    told = said["story"]
    said["story"] = {**asdict(told), "counts": [[severity.value, number] for severity, number in told.counts]}
    said["title"] = told.title
    said["runs"] = [asdict(run) for run in said["runs"]]
    # pictures of faults stay in the page for screens
    said["faults"] = [{key: fault[key] for key in ("leg", "says", "at")} for fault in said["faults"]]
    del said["by_page"]
    for number, row in enumerate(said["causes"]):
        row["thumbs"] = [
            {"words": thumb_words(results, thumb), "svg": thumb_alone(thumb)}
            for thumb in pictures.thumbs.get(number, ())[:_THUMBS]
        ]
    said["charts"] = [
        {
            "title": c.title,
            "says": c.says,
            "how": c.how,
            "svg": c.alone,
            "head": c.head,
            "rows": c.rows,
            "caption": c.caption,
        }
        for c in charts(results)
    ]
    pages = cells(results, grouped[:MOST_CAUSES], pictures.contact)
    said["contact"] = list(contact_rows(pages, right_to_left=right_to_left(results)))
    said["contact_says"] = marked_words(Counter(cell.severity for cell in pages), len(pages))
    said["drawn"] = any(cell.type_path or cell.picture_path for cell in pages)
    said["kinds"] = (
        []
        if results.plan is None
        else [
            {
                "label": drawing.kind.label,
                "words": kind_words(drawing),
                "printing": printing_told(results.plan, drawing),
                "pieces": piece_words(drawing),
                "sides": [side_data(side, f"Sheet {drawing.number}, {side.side.value}") for side in drawing.sides],
            }
            for drawing in drawings(results.plan, MOST_KINDS, printed_folios(results.observations))
        ]
    )
    return said
