# SPDX-License-Identifier: AGPL-3.0-or-later
"""How findings are worded, the same in every check: plain sentences that begin with the page."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TypedDict, Unpack

from foldproof.geometry import Rect
from foldproof.preflight.model import Facts, Finding, Limit, Severity


def counted(number: int, one: str, many: str | None = None) -> str:
    """``"1 picture"``, ``"3 pictures"``."""
    return f"{number} {one if number == 1 else many or one + 's'}"


def rounded(value: float, digits: int = 2) -> str:
    """A figure to so many that count, written out: ``"3.7"``, ``"100"``, ``"2200"`` and not ``"2.2e+03"``."""
    return format(Decimal(f"{value:.{digits}g}"), "f")


def listed(items: Sequence[str], most: int = 4) -> str:
    """``"a, b and c"``; past ``most`` the rest is counted."""
    if len(items) > most:
        return f"{', '.join(items[:most])} and {len(items) - most} more"
    return " and ".join([", ".join(items[:-1]), items[-1]]) if len(items) > 1 else "".join(items)


def numbers(indices: Sequence[int], most: int = 6) -> str:
    """Pages for people, from sorted 0-based indices: ``"page 3"``, ``"pages 3 to 7, 9 and 12"``."""
    runs: list[tuple[int, int]] = []
    for index in indices:
        if runs and index == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], index)
        else:
            runs.append((index, index))
    said: list[str] = []
    held: list[int] = []
    for first, last in runs:
        parts = [f"{first + 1} to {last + 1}"] if last > first + 1 else [str(n + 1) for n in range(first, last + 1)]
        said += parts
        held += [(last - first + 1) // len(parts)] * len(parts)
    if len(said) > most:  # what is left is counted in pages, not in runs
        return f"pages {', '.join(said[:most])} and {sum(held[most:])} more"
    return f"{'page' if len(indices) == 1 else 'pages'} {listed(said, most)}"


class Figures(TypedDict, total=False):
    """What a finding may carry beside its words; what is left out is not known, and a count is 1."""

    place_mm: Rect | None
    measured: Limit | None
    limit: Limit | None
    unit: str
    #: how many things on the page it stands for, where it tells of the worst of several
    count: int


def finding(
    cause: str,
    severity: Severity,
    problem: str,
    remedy: str,
    *,
    page: int | None = None,
    folio: str | None = None,
    **figures: Unpack[Figures],
) -> Finding:
    """A finding.  ``cause`` is ``"check/cause"``; what was measured is told to two places."""
    measured = figures.get("measured")
    if isinstance(measured, float):
        figures["measured"] = round(measured, 2)
    check = cause.partition("/")[0]
    return Finding(check, severity, problem, remedy, page=page, folio=folio, cause=cause, **figures)


def on_page(
    facts: Facts, index: int, cause: str, severity: Severity, says: str, remedy: str, **figures: Unpack[Figures]
) -> Finding:
    """A finding on one page (0-based ``index``); ``says`` goes on after the page.  The rest: :func:`finding`."""
    folio = facts.folio(index)
    number = str(index + 1)
    label = facts.label(index)
    page = f"Page {number}"
    if folio is not None:
        page += f" (folio {folio})" if folio != number else ""
    elif label is not None and label != number:
        page += f" (labelled {label})"
    return finding(cause, severity, f"{page}: {says}", remedy, page=index + 1, folio=folio, **figures)


def in_book(cause: str, severity: Severity, problem: str, remedy: str, **figures: Unpack[Figures]) -> Finding:
    """A finding on the whole book."""
    return finding(cause, severity, problem, remedy, **figures)
