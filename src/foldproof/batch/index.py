# SPDX-License-Identifier: AGPL-3.0-or-later
"""The index over all reports of a batch, one line a book."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import quote

from jinja2 import Environment

from foldproof.batch.run import BookEnd
from foldproof.errors import ExitCode

_MEANING = {
    ExitCode.WELL: "all well",
    ExitCode.STOPPED: "stopped by a finding",
    ExitCode.ASKED_WRONG: "asked wrong",
    ExitCode.UNREADABLE: "cannot be read",
    ExitCode.NO_PLAN: "no plan fits",
    ExitCode.NOT_PROVED: "not proved",
    ExitCode.NOT_WRITTEN: "not written",
    ExitCode.OUR_FAULT: "a fault of ours",
}

_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>Books of this batch</title>
<style>
body { font: 17px/1.45 Georgia, "Liberation Serif", serif; margin: 2rem auto; max-width: 60rem; padding: 0 1rem }
table { border-collapse: collapse; width: 100% } caption { text-align: left; padding-bottom: .6rem }
th, td { text-align: left; vertical-align: top; padding: .35rem .8rem .35rem 0; border-top: 1px solid #c9c2b6 }
td { overflow-wrap: anywhere }
</style></head><body><main><h1>Books of this batch</h1>
<table><caption>{{ books|length }} books</caption>
<thead><tr><th scope="col">Book</th><th scope="col">Ended</th><th scope="col">In a sentence</th></tr></thead><tbody>
{% for book in books %}<tr>
<td>{% if book.href %}<a href="{{ book.href }}">{{ book.name }}</a>{% else %}{{ book.name }}{% endif %}</td>
<td>{{ book.code }}, {{ book.meaning }}</td><td>{{ book.says }}</td></tr>
{% endfor %}</tbody></table></main></body></html>
"""

#: codes with which ``make`` leaves a report
_REPORTED = (ExitCode.WELL, ExitCode.STOPPED, ExitCode.NO_PLAN, ExitCode.NOT_PROVED)


def index_html(ends: Sequence[BookEnd]) -> str:
    """A page with a line a book and a link to its report; every text escaped."""
    rows = [
        {
            "name": end.name,
            # told from the folder up: a name may look like the start of an address
            "href": f"./{quote(end.folder, errors='surrogateescape')}/report.html" if end.code in _REPORTED else "",
            "code": end.code,
            "meaning": _MEANING.get(ExitCode(end.code), "") if end.code in list(ExitCode) else "",
            "says": end.says.splitlines()[0] if end.says else "",
        }
        for end in ends
    ]
    return Environment(autoescape=True).from_string(_PAGE).render(books=rows)
