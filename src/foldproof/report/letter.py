# SPDX-License-Identifier: AGPL-3.0-or-later
"""letter.txt: what the author is told and asked, in everyday words, ready to be sent.

Every finding of severity stop or query is in it, by cause and once more by page; notes are left out unless they concern
the author.  The words of a check come from ``page/plain_words.toml``; a check that has none speaks for itself.
"""

from __future__ import annotations

import textwrap
from collections import defaultdict
from collections.abc import Sequence

from foldproof.preflight.model import Finding, Severity
from foldproof.report.causes import Cause, without_page
from foldproof.report.model import Results
from foldproof.report.plain import Plain, plain_of
from foldproof.report.story import title_of
from foldproof.report.words import clean, count, figure, in_words, listed, pages, sentence

#: columns of a line of plain text; mail programs fold longer ones
WIDTH = 72
#: so many places of a cause are told one by one; of more the worst only
_MOST_TOLD = 8
_INDENT = "   "


def letter_text(results: Results, grouped: Sequence[Cause]) -> str:
    """The letter, lines of 72 columns at most.  ``grouped``: all causes, in order."""
    stops = [c for c in grouped if c.severity is Severity.STOP]
    asks = [c for c in grouped if c.severity is Severity.QUERY]
    notes = [c for c in grouped if c.severity is Severity.NOTE and plain_of(c.check).notes]
    lines = _opening(results, stops, asks)
    number = 1
    numbers: dict[int, list[int]] = defaultdict(list)
    for head, lot in (
        ("What must be changed", stops),
        ("What we ask you", asks),
        ("What you should know", notes),
    ):
        if not lot:
            continue
        lines += ["", "", head.upper(), "-" * len(head)]
        for cause in lot:
            lines += ["", *_cause(results, number, cause)]
            for page in cause.pages:
                numbers[page].append(number)
            number += 1
    if numbers:
        lines += ["", "", "PAGE BY PAGE", "------------", ""]
        lines += _by_page(results, numbers)
    lines += ["", "", *_closing(results, bool(stops or asks))]
    return "\n".join(clean(line).rstrip() for line in lines) + "\n"


def _opening(results: Results, stops: list[Cause], asks: list[Cause]) -> list[str]:
    title = results.settings.title or title_of(results)
    author = results.settings.author or results.manuscript.author
    name = results.manuscript.path.name
    told = []
    if stops:
        things = "thing" if len(stops) == 1 else "things"
        told.append(f"{in_words(len(stops))} {things} must be changed before it can be printed")
    if asks:
        told.append(f"{in_words(len(asks))} {'question needs' if len(asks) == 1 else 'questions need'} your answer")
    outcome = sentence(listed(told)) if told else "Nothing stands in its way: it can be printed as it is."
    return [
        *_wrapped(f'About: "{title}"' + (f", {author}" if author else ""), hang="       "),
        *_wrapped(f"File:  {name}, {count(len(results.manuscript.pages), 'page')}", hang="       "),
        "",
        "Good day,",
        "",
        *_wrapped(f"we have looked through your book page by page, as it would go to press. {outcome}"),
        *(
            ["", *_wrapped(_PAGES_SAY)]
            if stops or asks
            else []
        ),
    ]  # fmt: skip


_PAGES_SAY = (
    "Pages are counted here as they stand in the file: the first one is page 1, whatever is printed on it. Where "
    "another number is printed on the page, it follows in brackets."
)


def _cause(results: Results, number: int, cause: Cause) -> list[str]:
    plain = plain_of(cause.check)
    lead = f"{number}. "
    hang = " " * len(lead)
    lines = _wrapped(_where(results, cause), lead, hang)
    says = plain.says or ("" if len(cause.findings) <= _MOST_TOLD else without_page(cause.problem))
    if says:
        lines += _wrapped(sentence(says), hang, hang)
    lines += _places(results, cause, plain, hang)
    wish = f"Please {plain.ask[:1].lower()}{plain.ask[1:]}" if plain.ask else f"What to do: {sentence(cause.remedy)}"
    lines += _wrapped(sentence(wish), hang, hang)
    return lines


def _where(results: Results, cause: Cause) -> str:
    if not cause.pages:
        return "The whole book"
    if len(cause.pages) == 1:
        return _page(results, cause.pages[0])
    text = pages(cause.pages).replace("–", " to ")
    return sentence(text).rstrip(".")


def _places(results: Results, cause: Cause, plain: Plain, hang: str) -> list[str]:
    told = []
    shown = cause.findings if len(cause.findings) <= _MOST_TOLD else cause.findings[:1]
    for found in sorted(shown, key=lambda f: f.page or 0):
        own = plain.tell or not plain.says
        words = _how(found, plain) if plain.how else sentence(without_page(found.problem)) if own else ""
        if not words:
            continue
        alone = len(cause.findings) == 1 or found.page is None
        place = "" if alone else f"{_page(results, found.page or 0)}: "
        worst = "Worst on " if len(shown) < len(cause.findings) and not alone else ""
        place = worst + place[:1].lower() + place[1:] if worst else place
        told += _wrapped(f"{place}{words}", f"{hang}- " if not alone else hang, f"{hang}  " if not alone else hang)
    return told


def _how(found: Finding, plain: Plain) -> str:
    if not isinstance(found.measured, int | float) or not isinstance(found.limit, int | float):
        return ""
    measured, limit = (figure(value, found.unit).removesuffix(" ppi") for value in (found.measured, found.limit))
    return sentence(plain.how.format(measured=measured, limit=limit))


def _page(results: Results, page: int) -> str:
    folio = results.folio(page)
    return f"Page {page:,}" + (f" ({folio})" if folio and folio != str(page) else "")


def _by_page(results: Results, numbers: dict[int, list[int]]) -> list[str]:
    """Which points touch each page; pages that follow one another with the same points in one line."""
    rows: list[tuple[list[int], list[int]]] = []
    for page in sorted(numbers):
        if rows and rows[-1][1] == numbers[page] and rows[-1][0][-1] == page - 1:
            rows[-1][0].append(page)
        else:
            rows.append(([page], numbers[page]))
    lines = []
    for run, points in rows:
        who = _page(results, run[0]) if len(run) == 1 else f"Pages {run[0]:,} to {run[-1]:,}"
        what = listed([str(point) for point in points])
        lines += _wrapped(f"{who}: {'point' if len(points) == 1 else 'points'} {what}", "", _INDENT)
    return lines


def _closing(results: Results, wants: bool) -> list[str]:
    lines = []
    if wants:
        lines += _wrapped(
            "Please send us a new file of the whole book, or tell us, point by point, what you want us to do. Pages "
            "that are not named here may stay as they are."
        )
        lines.append("")
    lines.append("With kind regards")
    # the house that is assumed where none was named signs nothing
    lines.append(results.settings.house if results.settings.house_given else "Your printer")
    return lines


def _wrapped(text: str, lead: str = "", hang: str = "") -> list[str]:
    return textwrap.wrap(" ".join(text.split()), WIDTH, initial_indent=lead, subsequent_indent=hang) if text else []
