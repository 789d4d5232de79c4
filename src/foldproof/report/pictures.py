# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which pictures the report shows, and how they come out of a worker process."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from itertools import zip_longest
from pathlib import Path

from attrs import field, frozen

from foldproof.geometry import Rect
from foldproof.makeup.plan import Side
from foldproof.manuscript.model import PageFact
from foldproof.pdf.thumbnails import View, ViewJob, views
from foldproof.preflight.model import Finding
from foldproof.report.causes import Cause
from foldproof.report.contact import MOST_PICTURED
from foldproof.report.model import Results
from foldproof.tickets.diagram import SheetDrawing
from foldproof.units import mm_to_pt, pt_to_mm
from foldproof.workers import Lost, Workers

#: pages drawn small, in all and for one cause; every cause that is shown has one of its worst place all the same
MOST_THUMBS = 48
THUMBS_A_CAUSE = 3

_THUMB_PX = 240
_CONTACT_PX = 92
_SHEET_PX = 1100
#: matter shown round the trim, mm: enough to see the bleed
_ROUND_MM = 4.0
#: a place smaller than this is marked at this size, or nobody would find it
_LEAST_MARK_MM = 5.0
_JOB_VIEWS = 6
_JOB_CONTACTS = 40
_THUMB_S = 20.0
_SHEET_S = 40.0


@frozen
class Thumb:
    """A page drawn small, with the place marked.  Trim frame in mm, y up."""

    page: int
    box_mm: Rect  #: what is shown
    trim_mm: tuple[float, float]
    mark_mm: Rect | None
    data_uri: str = field(repr=False)


@frozen
class Pictures:
    """Everything that was drawn."""

    #: by number of the cause
    thumbs: dict[int, tuple[Thumb, ...]]
    #: by sheet number and ``"front"`` or ``"back"``: data URI
    sheets: dict[tuple[int, str], str] = field(repr=False)
    lost: tuple[str, ...] = ()  #: what could not be drawn, and why
    #: the contact sheet of a short book: data URI by page (1-based)
    contact: dict[int, str] = field(factory=dict, repr=False)


def take(results: Results, causes: Sequence[Cause], drawn: Sequence[SheetDrawing], workers: Workers | None) -> Pictures:
    """Draw what the report shows.  Without ``workers`` a process of our own is started, and ended again."""
    wanted = _wanted(results, causes)
    if workers is not None:
        return _take(results, wanted, drawn, workers)
    with Workers(1) as own:
        return _take(results, wanted, drawn, own)


def _wanted(results: Results, causes: Sequence[Cause]) -> list[tuple[int, Finding]]:
    """A picture of the worst place of every cause, then of the second of each, until there are enough."""
    known = {p.number for p in results.manuscript.pages}
    columns = []
    for number, cause in enumerate(causes):
        chosen: dict[int, Finding] = {}
        for found in cause.findings:
            if found.page in known and found.page not in chosen:
                chosen[found.page] = found
            if len(chosen) == THUMBS_A_CAUSE:
                break
        columns.append([(number, found) for found in chosen.values()])
    rounds = [[pick for pick in row if pick is not None] for row in zip_longest(*columns)]
    first = rounds[0] if rounds else []
    more = [pick for row in rounds[1:] for pick in row]
    return first + more[: max(0, MOST_THUMBS - len(first))]


def _take(
    results: Results,
    wanted: list[tuple[int, Finding]],
    drawn: Sequence[SheetDrawing],
    workers: Workers,
) -> Pictures:
    read = results.manuscript
    shunned = results.observations.ended
    pages = sorted({found.page for _, found in wanted if found.page is not None and found.page - 1 not in shunned})
    page_views = [_page_view(read.pages[number - 1]) for number in pages]
    made, lost = _drawn(read.path, results.password, page_views, workers, _THUMB_S)
    of_page = dict(zip(pages, made, strict=True))
    thumbs: dict[int, tuple[Thumb, ...]] = {}
    for number, found in wanted:
        assert found.page is not None
        picture = of_page.get(found.page)
        if picture is not None:
            thumb = _thumb(read.pages[found.page - 1], found, picture)
            thumbs[number] = (*thumbs.get(number, ()), thumb)
    sheets: dict[tuple[int, str], str] = {}
    if results.sheets is not None:
        bad = _sides_with(results)
        keys = [(d.number, side) for d in drawn for side in d.sides if (d.number, side.side) not in bad]
        sheet_views = [_sheet_view(number, side.side.value, side.width_mm, side.height_mm) for number, side in keys]
        made, more = _drawn(results.sheets, None, sheet_views, workers, _SHEET_S)
        lost += more
        for (number, side), picture in zip(keys, made, strict=True):
            if picture is not None:
                sheets[number, side.side.value] = _uri(picture)
    return Pictures(thumbs, sheets, tuple(lost), _contact(results, workers))


def _sides_with(results: Results) -> set[tuple[int, Side]]:
    """Sides on which a page stands that nobody may draw."""
    shunned = results.observations.ended
    places = (*results.plan.places, *results.plan.again) if results.plan is not None and shunned else ()
    return {(place.sheet, place.side) for place in places if place.page in shunned}


def _contact(results: Results, workers: Workers) -> dict[int, str]:
    """Every page of a short book, very small; what cannot be drawn is left to be drawn from facts."""
    read = results.manuscript
    if len(read.pages) > MOST_PICTURED:
        return {}
    drawable = [page for page in read.pages if page.index not in results.observations.ended]
    small = [
        View(page.index, page.to_trim.as_tuple(), (0.0, 0.0, *page.trim_size_pt), _CONTACT_PX) for page in drawable
    ]
    made, _ = _drawn(read.path, results.password, small, workers, _SHEET_S, _JOB_CONTACTS)
    return {page.number: _uri(picture) for page, picture in zip(drawable, made, strict=True) if picture}


def _drawn(
    path: Path, password: str | None, wanted: list[View], workers: Workers, seconds: float, each: int = _JOB_VIEWS
) -> tuple[list[bytes | None], list[str]]:
    """Pictures in the order of ``wanted``; a job that took its worker along is tried again page by page."""
    made: list[bytes | None] = [None] * len(wanted)
    lost: list[str] = []
    chunks = [range(at, min(at + each, len(wanted))) for at in range(0, len(wanted), each)]
    while chunks:
        jobs = [ViewJob(path, tuple(wanted[n] for n in chunk), password) for chunk in chunks]
        again: list[range] = []
        for job, result in workers.map(views, jobs, seconds=seconds):
            chunk = chunks[job]
            if not isinstance(result, Lost):
                for number, picture in zip(chunk, result, strict=True):
                    made[number] = picture
                    if picture is None:
                        lost.append(_undrawn(path, wanted[number], "it cannot be interpreted"))
            elif len(chunk) > 1:
                again += [range(n, n + 1) for n in chunk]
            else:
                lost.append(_undrawn(path, wanted[chunk[0]], result.reason))
        chunks = sorted(again, key=lambda chunk: chunk.start)
    return made, sorted(lost)


def _undrawn(path: Path, view: View, why: str) -> str:
    return f"Page {view.index + 1} of {path.name} could not be drawn: {why}."


def _page_view(page: PageFact) -> View:
    return View(
        index=page.index,
        to_frame=page.to_trim.as_tuple(),
        box_pt=_corners(_shown(page).scaled(mm_to_pt(1))),
        width_px=_THUMB_PX,
    )


def _shown(page: PageFact) -> Rect:
    width, height = page.trim_size_pt
    return Rect(0, 0, pt_to_mm(width), pt_to_mm(height)).grown(_ROUND_MM)


def _sheet_view(number: int, side: str, width_mm: float, height_mm: float) -> View:
    index = 2 * (number - 1) + (side == "back")
    width = _SHEET_PX if width_mm >= height_mm else round(_SHEET_PX * width_mm / height_mm)
    return View(index, (1, 0, 0, 1, 0, 0), (0, 0, mm_to_pt(width_mm), mm_to_pt(height_mm)), width)


def _thumb(page: PageFact, found: Finding, picture: bytes) -> Thumb:
    shown = _shown(page)
    width, height = page.trim_size_pt
    return Thumb(
        page=page.number,
        box_mm=shown,
        trim_mm=(pt_to_mm(width), pt_to_mm(height)),
        mark_mm=None if found.place_mm is None else _marked(found.place_mm, shown),
        data_uri=_uri(picture),
    )


def _marked(place: Rect, shown: Rect) -> Rect:
    """The place, not smaller than can be seen and not outside the picture."""
    (x, y), least = place.centre, _LEAST_MARK_MM / 2
    wide = Rect(min(place.x0, x - least), min(place.y0, y - least), max(place.x1, x + least), max(place.y1, y + least))
    inner = shown.grown(-0.7)
    return wide.common(inner) or Rect(
        min(max(x, inner.x0), inner.x1 - least), min(max(y, inner.y0), inner.y1 - least),
        min(max(x + least, inner.x0 + least), inner.x1), min(max(y + least, inner.y0 + least), inner.y1),
    )  # fmt: skip


def _corners(box: Rect) -> tuple[float, float, float, float]:
    return box.x0, box.y0, box.x1, box.y1


def _uri(picture: bytes) -> str:
    return "data:image/jpeg;base64," + b64encode(picture).decode("ascii")
