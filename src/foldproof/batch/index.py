# SPDX-License-Identifier: AGPL-3.0-or-later
"""index.html: all books of a batch on one page, a line each, the worst first.

As the report it asks for nothing from anywhere: its Content-Security-Policy names the one style sheet and the one
script by digest and lets nothing else load or run; everything is escaped.  The script sorts and filters; without it
the page says the same.
"""

from __future__ import annotations

import hashlib
from base64 import b64encode
from collections.abc import Sequence
from importlib import resources
from typing import Any
from urllib.parse import quote_from_bytes

import jinja2
from markupsafe import Markup

from foldproof.batch.model import BookEnd
from foldproof.batch.outcomes import (
    Standing,
    became,
    by_outcome,
    headline,
    in_a_sentence,
    named,
    standing,
    worst_first,
)
from foldproof.report.words import clean, count

#: outputs that are worth a link of their own, and what they are called
_LINKED = (("report.html", "report"), ("letter.txt", "letter"), ("sheets.pdf", "sheets"), ("tickets.pdf", "tickets"))


def index_html(ends: Sequence[BookEnd]) -> bytes:
    """The whole page, UTF-8."""
    here = resources.files("foldproof.batch").joinpath("page")
    css = resources.files("foldproof.report").joinpath("page", "report.css").read_text("utf-8")
    css += here.joinpath("index.css").read_text("utf-8")
    script = here.joinpath("index.js").read_text("utf-8")
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, keep_trailing_newline=True)
    ordered = worst_first(ends)
    rows = [_row(number, end) for number, end in enumerate(ordered, 1)]
    numbers = {id(end): number for number, end in enumerate(ordered, 1)}
    page = environment.from_string(here.joinpath("index.html.j2").read_text("utf-8")).render(
        # style sheet and script are ours and must stay byte for byte what the digests were taken of
        css=Markup(css),
        css_digest=_digest(css),
        script=Markup(script),
        script_digest=_digest(script),
        counted=count(len(ordered), "book"),
        verdict=headline(ordered),
        worst=rows[0] if ordered and standing(ordered[0]) is Standing.HELD else None,
        outcomes=[
            {"words": words, "times": times, "first": numbers[id(first)], "standing": standing(first).value}
            for words, times, first in by_outcome(ordered)
        ],
        made=_made(ordered),
        wanting=sum(standing(end) is not Standing.READY for end in ordered),
        books=rows,
    )
    return page.encode("utf-8")


def href(folder: str, file: str) -> str:
    """The way from the index to a file of a book, as a relative reference (RFC 3986); ``""`` where it leads outside.

    It begins with ``./``, since the name of a folder may look like the start of an address.
    """
    if {"", ".", ".."} & set(folder.split("/")):
        return ""
    try:
        raw = folder.encode("utf-8", "surrogateescape")  # the bytes that the system has
    except UnicodeEncodeError:
        return ""
    return f"./{quote_from_bytes(raw)}/{quote_from_bytes(file.encode())}"


def _row(number: int, end: BookEnd) -> dict[str, Any]:
    has = {name for name, _ in end.files}
    links = [(href(end.folder, file), called) for file, called in _LINKED if file in has]
    links = [(target, called) for target, called in links if target]
    report = next((target for target, called in links if called == "report"), "")
    return {
        "number": number,
        "name": named(end),
        "report": report,
        "links": [link for link in links if link[0] != report],
        "code": end.code,
        "became": became(end),
        "standing": standing(end).value,
        "figures": [_figure(value) for value in (end.pages, end.sheets, end.stops, end.queries, end.notes)],
        "proof": "" if end.verdict is None else clean(end.verdict),
        "says": in_a_sentence(end),
    }


def _figure(value: int | None) -> str:
    return "" if value is None else f"{value:,}"


def _made(ends: Sequence[BookEnd]) -> str:
    """What was read and laid out, all together."""
    pages, sheets = sum(end.pages or 0 for end in ends), sum(end.sheets or 0 for end in ends)
    return f"{count(pages, 'page')} read, {count(sheets, 'press sheet')} made." if pages else "No page was read."


def _digest(text: str) -> str:
    return b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
