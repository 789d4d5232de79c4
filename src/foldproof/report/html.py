# SPDX-License-Identifier: AGPL-3.0-or-later
"""report.html: one file that a typesetter can read on a screen or on paper.

It asks for nothing from anywhere: pictures are embedded, and its Content-Security-Policy names the one style sheet and
the one script by digest, so that nothing which a PDF smuggles into a title can run or load.  Everything is escaped.
The script filters and jumps; without it (in a mail program, on paper) the page holds all that it says all the same.
"""

from __future__ import annotations

import hashlib
from base64 import b64encode
from collections import Counter
from collections.abc import Sequence
from functools import cache
from importlib import resources
from typing import Any

import jinja2
from markupsafe import Markup

from foldproof.report.causes import Cause
from foldproof.report.charts import charts
from foldproof.report.contact import MOST_PICTURED, cells
from foldproof.report.content import MOST_CAUSES, content, kind_words, piece_words, printing_told
from foldproof.report.leaves import (
    SHAPES,
    contact_html,
    marked_words,
    right_to_left,
    thumb_body,
    thumb_view,
    thumb_words,
)
from foldproof.report.model import Results
from foldproof.report.pictures import Pictures, Thumb
from foldproof.report.sheet_svg import sheet_svg
from foldproof.report.words import clean
from foldproof.tickets.diagram import SheetDrawing, SideDrawing

_PARTS = ("report.html.j2", "parts.html.j2")
_FOLDER = resources.files("foldproof.report").joinpath("page")


def report_html(
    results: Results, grouped: Sequence[Cause], pictures: Pictures, drawn: tuple[SheetDrawing, ...]
) -> bytes:
    """The whole page, UTF-8.  ``grouped``: all causes, in order."""
    css, script = (_FOLDER.joinpath(name).read_text("utf-8") for name in ("report.css", "report.js"))
    # style sheet and script are ours and must stay byte for byte what the digests were taken of
    page = template().render(
        css=Markup(css),
        css_digest=_digest(css),
        script=Markup(script),
        script_digest=_digest(script),
        **_content(results, grouped, pictures, drawn),
    )
    return page.encode("utf-8")


@cache
def template() -> jinja2.Template:
    """The page without its content, compiled once a process: that takes longer than to fill it."""
    parts = {name: _FOLDER.joinpath(name).read_text("utf-8") for name in _PARTS}
    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, keep_trailing_newline=True, loader=jinja2.DictLoader(parts)
    )
    page, _ = (environment.get_template(name) for name in _PARTS)
    return page


def _digest(text: str) -> str:
    return b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")


def _content(
    results: Results, grouped: Sequence[Cause], pictures: Pictures, drawn: tuple[SheetDrawing, ...]
) -> dict[str, Any]:
    said = content(results, grouped)
    for number, row in enumerate(said["causes"]):
        row["thumbs"] = [_thumb(results, thumb) for thumb in pictures.thumbs.get(number, ())]
    said["lost"] += [clean(line) for line in pictures.lost]
    said["kinds"] = [_kind(results, drawing, pictures) for drawing in drawn]
    said["folios"] = any(p.folio for d in drawn for side in d.sides for p in side.pages)
    said["charts"] = [{"chart": chart, "body": Markup(chart.body)} for chart in charts(results)]
    pages = cells(results, grouped[:MOST_CAUSES], pictures.contact)
    said["contact"] = Markup(contact_html(pages, right_to_left=right_to_left(results)))
    said["dense"] = len(pages) > MOST_PICTURED
    said["drawn"] = any(cell.type_path or cell.picture_path for cell in pages)
    said["shapes"] = [(severity.value, Markup(drawing)) for severity, drawing in SHAPES.items()]
    marked = Counter(cell.severity for cell in pages)
    said["contact_says"] = marked_words(marked, len(pages))
    said["filter_checks"] = sorted({(row["check"], row["title"].partition(":")[0]) for row in said["causes"]})
    return said


def _thumb(results: Results, thumb: Thumb) -> dict[str, Any]:
    return {"words": thumb_words(results, thumb), "view": thumb_view(thumb), "body": Markup(thumb_body(thumb))}


def _kind(results: Results, drawing: SheetDrawing, pictures: Pictures) -> dict[str, Any]:
    kind = drawing.kind
    return {
        "label": clean(kind.label),
        "words": kind_words(drawing),
        "printing": printing_told(results.plan, drawing) if results.plan else {"says": [], "rows": [], "heads": []},
        "pieces": piece_words(drawing),
        # more pages a side than can be read at half the width of the page
        "crowded": len(drawing.front.pages) > 32,
        "sides": [_side(results, drawing, side, pictures) for side in drawing.sides],
    }


def _side(results: Results, drawing: SheetDrawing, side: SideDrawing, pictures: Pictures) -> dict[str, Any]:
    name = side.side.value
    page = 2 * drawing.number - (name == "front")
    sheets = results.sheets.name if results.sheets else "sheets.pdf"
    words = f"Sheet {drawing.number}, {name} (page {page:,} of {sheets})"
    return sheet_svg(side, words, pictures.sheets.get((drawing.number, name), ""))
