# SPDX-License-Identifier: AGPL-3.0-or-later
"""The contact sheet: every page small, in spreads as the book opens, with the worst of its findings marked.

Short books show their pages; longer ones are drawn from what the passes saw (type area, pictures, ink), which takes a
hundredth of the bytes.  Lengths are whole millimetres in the trim frame with y down, as SVG wants them.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from attrs import field, frozen

from foldproof.geometry import Rect
from foldproof.manuscript.model import PageInk, PageObjects
from foldproof.preflight.model import Severity
from foldproof.report.causes import Cause
from foldproof.report.model import Results
from foldproof.report.words import clean
from foldproof.units import pt_to_mm

#: a book of more pages is drawn, not pictured
MOST_PICTURED = 320
#: a book of more pages is drawn as empty leaves with their marks
MOST_DRAWN = 6000
#: pictures drawn on a page, the largest of them
_MOST_PICTURES = 8
#: places marked on a page
_MOST_MARKS = 4
#: lines that stand for the type, mm from one to the next
_LEADING_MM = 8
#: a mark is not drawn smaller than this
_LEAST_MM = 9


@frozen
class Cell:
    """One page of the contact sheet."""

    page: int  #: 1-based
    also: str  #: ``"folio xii"``, ``"labelled T-1"`` or nothing
    called: str  #: the folio or label alone, for somebody who looks a page up; empty when it is the number
    severity: Severity | None  #: of its worst finding; findings about the whole book are on no page
    causes: tuple[int, ...]  #: numbers of the causes that touch it, from 1, as they stand in the report
    wide: int
    high: int
    type_path: str  #: SVG path data, strokes
    picture_path: str  #: filled
    ink_path: str  #: filled: where something is printed of which nothing more is known
    mark_path: str  #: the places of its worst findings, strokes
    data_uri: str = field(default="", repr=False)


def cells(results: Results, causes: Sequence[Cause], pictured: dict[int, str]) -> tuple[Cell, ...]:
    """Every page in order.  ``causes`` are those that the report shows; ``pictured``: data URIs by page."""
    touching: dict[int, list[int]] = {}
    places: dict[int, list[tuple[int, Rect]]] = {}
    for number, cause in enumerate(causes, 1):
        for touched in cause.pages:
            touching.setdefault(touched, []).append(number)
        for found in cause.findings:
            if found.page is not None and found.place_mm is not None:
                places.setdefault(found.page, []).append((found.severity.rank, found.place_mm))
    worst: dict[int, Severity] = {}
    for found in results.findings.items:
        if found.page is not None:
            known = worst.get(found.page)
            worst[found.page] = found.severity if known is None or found.severity.rank < known.rank else known
    drawn = len(results.manuscript.pages) <= MOST_DRAWN
    seen, ink = results.observations.objects, results.observations.ink
    made = []
    for page in results.manuscript.pages:
        number, index = page.number, page.index
        width, height = (pt_to_mm(side) for side in page.trim_size_pt)
        paper = Rect(0, 0, width, height)
        uri = pictured.get(number, "")
        shown = drawn and not uri
        objects = seen[index] if shown and index < len(seen) else None
        inked = ink[index] if shown and index < len(ink) else None
        type_path, picture_path = _type(objects, height), _pictures(objects, paper)
        made.append(
            Cell(
                page=number,
                also=clean(results.also(number)),
                called=clean(_called(results, number)),
                severity=worst.get(number),
                causes=tuple(touching.get(number, ())),
                wide=max(1, round(width)),
                high=max(1, round(height)),
                type_path=type_path,
                picture_path=picture_path,
                ink_path="" if type_path or picture_path else _ink(inked, paper),
                mark_path=_marks(places.get(number, []), paper),
                data_uri=uri,
            )
        )
    return tuple(made)


def spreads(count: int, right_to_left: bool = False) -> list[tuple[int | None, int | None]]:
    """Indices of facing pages, left and right, as the book opens: the first page stands alone."""
    pairs: list[tuple[int | None, int | None]] = [(None, 0)] if count else []
    pairs += [(n, n + 1 if n + 1 < count else None) for n in range(1, count, 2)]
    return [(b, a) for a, b in pairs] if right_to_left else pairs


def _called(results: Results, page: int) -> str:
    name = results.folio(page) or results.label(page) or ""
    return "" if name == str(page) else name


def _type(objects: PageObjects | None, height: float) -> str:
    """Lines where the type area is: strokes across it."""
    area = objects.type_area if objects is not None else None
    if area is None:
        return ""
    wide = round(area.right_mm - area.left_mm)
    deep = min(area.head_mm - area.foot_mm, height)
    lines = max(1, min(40, area.lines, round(deep / _LEADING_MM)))
    step = deep / lines
    if wide <= 0:
        return ""
    first = height - area.head_mm + step / 2
    tops = [round(first + n * step) for n in range(lines)]
    path = f"M{round(area.left_mm)} {tops[0]}h{wide}"
    return path + "".join(f"m-{wide} {b - a}h{wide}" for a, b in pairwise(tops))


def _pictures(objects: PageObjects | None, paper: Rect) -> str:
    if objects is None:
        return ""
    shown = [box for p in objects.pictures if (box := (p.shown_mm or p.place_mm).common(paper)) is not None]
    large = sorted((box for box in shown if box.width * box.height > 16), key=lambda b: -b.width * b.height)
    return _boxes(list(dict.fromkeys(large))[:_MOST_PICTURES], paper.height)


def _ink(ink: PageInk | None, paper: Rect) -> str:
    box = ink.ink_mm.common(paper) if ink is not None and ink.ink_mm is not None else None
    return _boxes([box], paper.height) if box is not None else ""


def _marks(found: list[tuple[int, Rect]], paper: Rect) -> str:
    """Places of the worst severity that has one on this page; never too small to be seen."""
    if not found:
        return ""
    worst = min(rank for rank, _ in found)
    boxes = []
    for box in dict.fromkeys(place for rank, place in found if rank == worst):
        (x, y), least = box.centre, _LEAST_MM / 2
        wide = Rect(min(box.x0, x - least), min(box.y0, y - least), max(box.x1, x + least), max(box.y1, y + least))
        inside = wide.common(paper)
        if inside is not None:
            boxes.append(inside)
    return _boxes(boxes[:_MOST_MARKS], paper.height)


def _boxes(boxes: Sequence[Rect], height: float) -> str:
    path = ""
    for box in boxes:
        wide, high = max(1, round(box.width)), max(1, round(box.height))
        path += f"M{round(box.x0)} {round(height - box.y1)}h{wide}v{high}h-{wide}z"
    return path
