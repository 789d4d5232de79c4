# SPDX-License-Identifier: AGPL-3.0-or-later
"""The two passes over all pages, spread over workers: what the interpreter saw.

Pages go out in small lots.  A worker gives a lot back unfinished once it has taken its time, so that many slow pages
are never mistaken for one that does not end; a lot that is lost with its worker is read again page by page, and only
the page at fault is lost, by name.  The result does not depend on the number of workers.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from collections.abc import Set as AbstractSet

from attrs import evolve, frozen

from foldproof.errors import Unreadable
from foldproof.geometry import Rect
from foldproof.manuscript.folios import candidates, folios, odd_folios
from foldproof.manuscript.model import Manuscript, Observations, PageFact, PageInk, PageObjects
from foldproof.manuscript.seen import PrintedNumber
from foldproof.pdf.ink import page_ink
from foldproof.pdf.ink_ground import asked_of, with_grounds
from foldproof.pdf.interpreter import Book, Turn, opened_page, quiet, remarks
from foldproof.pdf.objects import page_objects
from foldproof.workers import Lost, Workers

#: pages a lot at most
_LOT = 32
#: a worker begins no further page of a lot after so many seconds
_ENOUGH_S = 2.0
#: a picture of more pixels is slow to decode
_LARGE_PX = 1_000_000
#: after so many pages that had to be given up the rest of the book is not looked at: one in which every page is a trap
#: is to end too
_MOST_ENDED = 6
#: a page gets this long at least before its worker is killed, and this long when it is read again alone
_LOT_S, _ALONE_S = 12.0, 16.0


@frozen
class Lot:
    """Pages for one job of a worker."""

    book: Book
    turns: tuple[Turn, ...]
    bleed_mm: float
    objects: bool
    ink: bool
    spots: bool = True  #: the book states spots


@frozen
class Look:
    """What a worker found on one page."""

    index: int
    objects: PageObjects | None
    candidates: tuple[PrintedNumber, ...]
    ink: PageInk | None
    lost: str | None
    ended: bool = False  #: the process that read it had to be ended, or went down


def observe(
    manuscript: Manuscript,
    workers: Workers,
    *,
    trim_mm: tuple[float, float],
    bleed_mm: float,
    needs: AbstractSet[str],
    advance: Callable[[int], None],
    password: str | None = None,
) -> Observations:
    """Run the passes that ``needs`` asks for (``"objects"``, ``"ink"``) over all pages.

    Args:
        trim_mm: trim of the book; every page is seen in the frame of its own trim all the same.
        bleed_mm: how much bleed is asked for: the ink pass looks a little farther than that.
        advance: told how many pages have been done since it was last told.

    Raises:
        Unreadable: the file as a whole cannot be interpreted any more.
    """
    count = len(manuscript.pages)
    nothing: tuple[None, ...] = (None,) * count
    objects, ink = "objects" in needs, "ink" in needs
    if not (objects or ink):
        advance(count)
        return Observations(nothing, nothing)
    book = Book(manuscript.path.resolve(), manuscript.sha256, password)

    def lot(turns: Sequence[Turn]) -> Lot:
        return Lot(book, tuple(turns), bleed_mm, objects, ink, bool(manuscript.spots))

    looks: dict[int, Look] = {}
    ended: list[int] = []
    waiting = [lot(part) for part in _parts([turn_of(page) for page in manuscript.pages], workers.count)]
    while waiting:
        again: list[Lot] = []
        if all(len(job.turns) == 1 for job in waiting):
            some = max(_MOST_ENDED, 2 * workers.count)
            waiting, again = waiting[:some], waiting[some:]
        seconds = _LOT_S if any(len(job.turns) > 1 for job in waiting) else _ALONE_S
        for index, result in workers.map(look_at, waiting, seconds=seconds):
            turns = waiting[index].turns
            if not isinstance(result, Lost):
                done = {look.index for look in result}
                looks.update((look.index, look) for look in result)
                left = [turn for turn in turns if turn.index not in done]
                again += [lot(left)] if left else []
                advance(len(done))
            elif len(turns) > 1 or seconds < _ALONE_S:
                again += [lot([turn]) for turn in turns]
            else:
                looks[turns[0].index] = Look(turns[0].index, None, (), None, result.reason, ended=True)
                ended.append(turns[0].index)
                advance(1)
        if len(ended) >= _MOST_ENDED and all(len(job.turns) == 1 for job in again):
            advance(len(again))
            break
        # lots that were given back unfinished go before pages that must be read alone
        waiting = [job for job in again if len(job.turns) > 1] + sorted(
            (job for job in again if len(job.turns) == 1), key=lambda job: job.turns[0].index
        )
    if len(ended) >= _MOST_ENDED:
        # where it ends hangs on the pages alone, not on which process came to which page
        why = f"it was not looked at, as {_MOST_ENDED} pages before it had to be given up"
        for index in range(sorted(ended)[_MOST_ENDED - 1] + 1, count):
            looks[index] = Look(index, None, (), None, why, ended=True)
    return _assembled([looks[index] for index in range(count)])


def look_at(job: Lot) -> tuple[Look, ...]:
    """The whole job of a worker: as many pages of the lot as fit its time, at least one."""
    quiet()
    found: list[Look] = []
    start = time.monotonic()
    for turn in job.turns:
        found.append(_look(job, turn))
        if time.monotonic() - start > _ENOUGH_S:
            break
    return tuple(found)


def _look(job: Lot, turn: Turn) -> Look:
    seen: PageObjects | None = None
    ink: PageInk | None = None
    numbers: tuple[PrintedNumber, ...] = ()
    try:
        if min(turn.trim_pt) <= 0:
            raise Unreadable("its trim has no area")
        with opened_page(job.book, turn) as page:
            if job.objects:
                passed = page_objects(page, turn)
                seen, numbers = passed.objects, candidates(passed.words)
                if broken := remarks():
                    seen = evolve(seen, remarks=broken)
            if job.ink:
                asked = asked_of(seen.texts) if seen is not None else {}
                large = seen is not None and any(p.width_px * p.height_px > _LARGE_PX for p in seen.pictures)
                inked = page_ink(page, turn, job.bleed_mm, tuple(asked.values()), large_pictures=large, spots=job.spots)
                ink = inked.ink
                if seen is not None:
                    seen = with_grounds(seen, asked, inked.grounds)
    except Unreadable as failure:
        return Look(turn.index, seen, numbers, ink, str(failure).rstrip("."))
    return Look(turn.index, seen, numbers, ink, None)


def turn_of(page: PageFact) -> Turn:
    """What the passes must know of a page."""
    matrix = page.to_trim
    media: Rect = matrix.rect(page.boxes.media)
    return Turn(page.index, matrix, page.trim_size_pt, (media.x0, media.y0, media.x1, media.y1))


def _parts(turns: Sequence[Turn], workers: int) -> list[Sequence[Turn]]:
    """Lots of even size, at least four a worker where there are pages enough."""
    size = max(1, min(_LOT, len(turns) // (4 * workers)))
    return [turns[start : start + size] for start in range(0, len(turns), size)]


def _assembled(looks: Sequence[Look]) -> Observations:
    numbers = [look.candidates for look in looks]
    printed = folios(numbers)
    return Observations(
        objects=tuple(
            evolve(look.objects, folio=folio, odd_folio=odd, numbers=look.candidates)
            if look.objects is not None and look.candidates
            else look.objects
            for look, folio, odd in zip(looks, printed, odd_folios(numbers, printed), strict=True)
        ),
        ink=tuple(look.ink for look in looks),
        lost={look.index: look.lost for look in looks if look.lost is not None},
        ended=frozenset(look.index for look in looks if look.ended),
    )
