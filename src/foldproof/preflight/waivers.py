# SPDX-License-Identifier: AGPL-3.0-or-later
"""Waivers of a job: on what each of them holds, and whether it names something that there is.  Pure.

A job is given with the book and again with its cover: every waiver is held to be right both times, and each time only
those count that speak of what is looked at.  Unless it says otherwise (``on``), a waiver of a check of covers holds on
cover and jacket, and one of any other check on the pages of the book alone: whoever takes on thin lines of a page has
not looked at those of the cover.
"""

from __future__ import annotations

from collections.abc import Sequence

from foldproof.errors import AskedWrong
from foldproof.job.model import Job, WaivedOn, Waiver
from foldproof.job.toml_file import meant
from foldproof.preflight.model import Check
from foldproof.preflight.registry import CHECKS
from foldproof.preflight.words import counted


def waivers_on(on: WaivedOn, job: Job, pages: int, of_covers: Sequence[Check]) -> tuple[Waiver, ...]:
    """The waivers of a job that hold on its book, its cover or its jacket.

    Args:
        pages: of the file that is looked at.
        of_covers: every check that a cover is held against.

    Raises:
        AskedWrong: one of them, of whatever it speaks, names a check, a page or a place that there is not.
    """
    held = []
    for place, waiver in enumerate(job.check.waived, start=1):
        try:
            holds_on = _holds_on(waiver, of_covers)
            if on in holds_on:
                _page_is_there(waiver, on, pages)
                held.append(waiver)
        except _Slip as slip:
            raise AskedWrong(f"The job: check.waived {place}, {slip}") from None
    return tuple(held)


class _Slip(Exception):
    """The key, what is wrong with it and what to write."""


def _holds_on(waiver: Waiver, of_covers: Sequence[Check]) -> tuple[WaivedOn, ...]:
    of_book, of_cover = {entry.id for entry in CHECKS}, {entry.id for entry in of_covers}
    check = waiver.check
    if check not in of_book | of_cover:
        raise _Slip(f'check: there is no check "{check}"; {meant(check, sorted(of_book | of_cover))}')
    if waiver.on is None:
        holds_on: tuple[WaivedOn, ...] = ("book",) if check in of_book else ("cover", "jacket")
    elif waiver.on == "book" and check not in of_book:
        raise _Slip(f'on: "{check}" looks at covers alone; write "cover" or "jacket", or leave it out for both.')
    elif waiver.on != "book" and check not in of_cover:
        raise _Slip(f'on: "{check}" looks at the pages of a book alone; leave it out.')
    else:
        holds_on = (waiver.on,)
    if "book" not in holds_on and waiver.page not in (None, 1):
        raise _Slip(f"page: a cover is one page, and has no page {waiver.page}; leave it out.")
    return holds_on


def _page_is_there(waiver: Waiver, on: WaivedOn, pages: int) -> None:
    if on == "book" and waiver.page is not None and waiver.page > pages:
        raise _Slip(f"page: the book has {counted(pages, 'page')}, no page {waiver.page}.")
