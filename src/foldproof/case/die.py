# SPDX-License-Identifier: AGPL-3.0-or-later
"""The stamping die of a case: title, author and a given emblem as outlines in one spot colour, and whether it holds.

The frame is the open case seen from outside, printed side up: the drawing of the case shows it from inside.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from attrs import evolve, frozen

from foldproof.case.die_layout import Element, Placed, Wanted, front_board, heavier, on_front, on_spine, spine_strip
from foldproof.case.die_measure import Thin, narrowest_space, thinnest_line
from foldproof.case.lettering import plain_text
from foldproof.case.model import CaseSizes, fine
from foldproof.errors import AskedWrong
from foldproof.geometry import Matrix, Rect
from foldproof.job.finishing import StampingChoice
from foldproof.job.model import House, Job
from foldproof.pdf.die_emblem import Emblem
from foldproof.pdf.die_shapes import Shape, bounds, moved
from foldproof.pdf.die_writing import DieLayer, DiePage, ink_name, write_die_page
from foldproof.preflight.model import Finding, Severity
from foldproof.units import format_mm, format_size_mm, mm_to_pt, pt_to_mm

#: a space in an emblem of this part of the limit, or less, fills in for certain: the die cannot be used
_FILLS = 0.5
#: what is added to a line that is too thin, beyond what it lacks: as exact as it was measured
_EXACT = 0.05


@frozen
class DieElement:
    """One thing that is stamped, and what was measured on it; mm, open case, printed side up, not mirrored."""

    name: str
    place: str  #: ``"spine"`` or ``"front"``
    box_mm: Rect
    cap_mm: float  #: height of its capitals; 0 for an emblem
    line: Thin | None  #: its thinnest line where that is thinner than the house's limit
    space: Thin | None  #: its narrowest space where that is narrower than the house's limit


@frozen
class DieReport:
    """What was drawn, and what of it will not hold."""

    ink: str
    size_mm: tuple[float, float]  #: of the page: the open case
    mirrored: bool
    elements: tuple[DieElement, ...]
    findings: tuple[Finding, ...]
    says: tuple[str, ...]  #: how it was set and measured, a line each


def write_die(
    case: CaseSizes, job: Job, house: House, title: str, author: str, target: Path, emblem: Emblem | None = None
) -> DieReport:
    """Draw the die of a job that has ``[stamping]`` to ``target`` (a path that may be overwritten).

    Args:
        title, author: of the book; what the job says under ``[stamping]`` comes before them.
        emblem: the one that the job names (:func:`foldproof.case.emblem.emblem_of`).

    Raises:
        AskedWrong: the job asks for nothing, for an ink that is none, or for letters that the face lacks: one sentence.
        OSError: the disk did not take it.
    """
    asked = job.stamping
    if asked is None:
        raise AskedWrong("The job: stamping: is missing; a die is drawn of what its table asks for.")
    assert (emblem is None) == (asked.emblem is None), "an emblem is read before its die is drawn"
    ink = ink_name(asked.ink)
    wanted = _wanted(asked, house, title, author, emblem)
    placed, left_away = _laid_out(case, job, asked, wanted)
    measured = [_measured(one, house) for one in placed]
    elements = tuple(element for element, _ in measured)
    facts = tuple(fact for _, fact in measured)
    wide, high = case.open_mm
    report = DieReport(
        ink=ink,
        size_mm=case.open_mm,
        mirrored=asked.mirror,
        elements=facts,
        findings=tuple(_findings(elements, facts, left_away, wanted.emblem, house)),
        says=tuple(_says(elements, facts, asked, house)),
    )
    page_pt = mm_to_pt(wide), mm_to_pt(high)
    layers = [
        DieLayer(place, tuple(shape for element in elements if element.place == place for shape in element.shapes))
        for place in ("spine", "front")
    ]
    if asked.mirror:
        over = Matrix(-1, 0, 0, 1, page_pt[0], 0)
        layers = [evolve(layer, shapes=moved(layer.shapes, over)) for layer in layers]
    named = f"{plain_text(title)}: die".removeprefix(": ")
    write_die_page(DiePage(named, ink, page_pt, tuple(layer for layer in layers if layer.shapes)), target)
    return report


def _wanted(asked: StampingChoice, house: House, title: str, author: str, emblem: Emblem | None) -> Wanted:
    return Wanted(
        title=plain_text(title if asked.title is None else asked.title),
        author=plain_text(author if asked.author is None else asked.author),
        emblem=emblem,
        emblem_on=asked.emblem_on,
        spine_reads=asked.spine_reads,
        line_mm=house.finishing.die_line,
    )


def _laid_out(
    case: CaseSizes, job: Job, asked: StampingChoice, wanted: Wanted
) -> tuple[tuple[Placed, ...], tuple[str, ...]]:
    if not (wanted.title or wanted.author or wanted.emblem):
        raise AskedWrong("The job: stamping: there is no title, author or emblem to stamp; state stamping.title.")
    if not (asked.spine or asked.front):
        raise AskedWrong("The job: stamping: neither spine nor front is stamped; set one of them to true.")
    placed: tuple[Placed, ...] = ()
    left_away: tuple[str, ...] = ()
    if asked.spine:
        placed, left_away = on_spine(spine_strip(case), wanted)
    if asked.front:
        more, less = on_front(front_board(case, job.book.reading), wanted)
        placed, left_away = placed + more, left_away + less
    if not placed:
        raise AskedWrong(
            f"The job: stamping: nothing that it asks for has room on spine or front ({'; '.join(left_away)}); "
            "state a shorter stamping.title, or give the emblem smaller."
            if left_away
            else "The job: stamping: the emblem is for a place that is not stamped; change stamping.emblem_on."
        )
    return placed, left_away


def _measured(placed: Placed, house: House) -> tuple[Element, DieElement]:
    """The element as it is drawn, and what was measured; lettering whose hairlines do not hold is made heavier."""
    element = placed.element
    limit = house.finishing.die_line
    line = _line(element.shapes, limit)
    if line is not None:
        fresh = heavier(element, limit * (1 + _EXACT) - line.width_mm, placed.about)
        if fresh is not None:
            element = fresh
            line = _line(element.shapes, limit)
    space = narrowest_space(element.shapes, house.finishing.die_space)
    box = bounds(element.shapes)
    assert box is not None
    return element, DieElement(element.name, element.place, box.scaled(pt_to_mm(1)), element.cap_mm, line, space)


def _line(shapes: tuple[Shape, ...], limit: float) -> Thin | None:
    """The thinnest line; a stroke's width is known without measuring, and a stroke of none is as thin as can be."""
    seen = thinnest_line(shapes, limit)
    if all(shape.pen is None for shape in shapes):
        return seen
    pens = [(pt_to_mm(shape.line_pt), shape) for shape in _alone(shapes) if shape.line_pt is not None]
    thinner = [one for one in pens if one[0] < (seen.width_mm if seen else limit) - 1e-6]
    if not thinner:
        return seen
    width, shape = min(thinner, key=lambda one: one[0])
    if seen is not None and width > 0 and abs(seen.width_mm - width) < _EXACT * limit:
        return evolve(seen, width_mm=round(width, 3))
    box = bounds((shape,))
    if box is None or (seen is None and width > 0):
        return seen  # what is painted beside it makes it thick enough
    return Thin(round(width, 3), (pt_to_mm(box.centre[0]), pt_to_mm(box.centre[1])))


def _alone(shapes: tuple[Shape, ...]) -> Iterator[Shape]:
    """Strokes that are no outline of a shape that is filled as well."""
    filled = {shape.outline for shape in shapes if shape.pen is None}
    return (shape for shape in shapes if shape.pen is not None and shape.outline not in filled)


# --- in words -------------------------------------------------------------------------------------------------------


def _findings(
    elements: tuple[Element, ...],
    facts: tuple[DieElement, ...],
    left_away: tuple[str, ...],
    emblem: Emblem | None,
    house: House,
) -> Iterator[Finding]:
    limits = house.finishing
    for fact in facts:
        drawn = fact.name.startswith("emblem")
        if fact.line is not None:
            yield Finding(
                "die-line",
                Severity.STOP,
                f"The {fact.name} has a line {fine(fact.line.width_mm)} thick, {_where(fact.line)}; the die holds none "
                f"thinner than {fine(limits.die_line)}.",
                "Draw it thicker in the emblem."
                if drawn
                else "Let fewer words be set larger, or stamp the front alone.",
                place_mm=_about(fact.line),
                measured=fact.line.width_mm,
                limit=limits.die_line,
                unit="mm",
                cause=f"die-line/{fact.name}",
            )
        if fact.space is not None:
            # where two letters of a word run together nothing is lost; what runs together in a drawing may be all of it
            fills = drawn and fact.space.width_mm <= limits.die_space * _FILLS
            yield Finding(
                "die-space",
                Severity.STOP if fills else Severity.QUERY,
                f"The {fact.name} has a space {fine(fact.space.width_mm)} wide, {_where(fact.space)}; foil bridges "
                f"what is narrower than {fine(limits.die_space)}.",
                "Draw it wider in the emblem." if drawn else "Ask for a proof, or let fewer words be set larger.",
                place_mm=_about(fact.space),
                measured=fact.space.width_mm,
                limit=limits.die_space,
                unit="mm",
                cause=f"die-space/{fact.name}",
            )
    for what in left_away:
        yield Finding(
            "die-left-away",
            Severity.QUERY,
            f"The die leaves away {what}.",
            "State a shorter stamping.title or stamping.author, or leave that place unstamped.",
        )
    if emblem is not None and emblem.colours > 1:
        yield Finding(
            "die-ink",
            Severity.QUERY,
            f"{emblem.name} is painted in {emblem.colours} colours, and all of it becomes one foil.",
            "Look at the drawing of the die; leave out of the emblem what is not to be stamped.",
            measured=float(emblem.colours),
            limit=1.0,
        )
    for element in elements:
        if not element.cap_mm and element.scale < 1:
            yield Finding(
                "die-emblem-size",
                Severity.NOTE,
                f"The {element.name} is drawn at {element.scale:.0%} of its size, as it would have no room.",
                "Nothing, where that is meant; or give it smaller.",
                measured=round(element.scale, 4),
                limit=1.0,
            )


def _says(
    elements: tuple[Element, ...], facts: tuple[DieElement, ...], asked: StampingChoice, house: House
) -> Iterator[str]:
    limits = house.finishing
    for element, fact in zip(elements, facts, strict=True):
        where = format_size_mm(fact.box_mm.width, fact.box_mm.height)
        if element.cap_mm:
            more = f", every line {fine(element.heavier_mm)} heavier so that it holds" if element.heavier_mm else ""
            yield (
                f"{element.name.capitalize()}: {where}, capitals {format_mm(element.cap_mm)} high, Libertinus Serif "
                f"{element.weight}{more}."
            )
        else:
            yield f"{element.name.capitalize()}: {where}, {element.scale:.0%} of its size."
    if any(element.place == "spine" for element in elements):
        yield f"The spine reads from {asked.spine_reads.replace(' to ', ' to the ')}.".replace("from ", "from the ")
    yield (
        f"Measured on the outlines: no line thinner than {fine(limits.die_line)} and no space narrower than "
        f"{fine(limits.die_space)} but those told, each to a twentieth of its limit."
    )
    yield (
        "Mirrored, as a die is engraved."
        if asked.mirror
        else "The page is the open case at full size, seen from outside; the drawing of the case shows it from inside."
    )


def _where(thin: Thin) -> str:
    return f"{format_mm(thin.at_mm[0])} from the left and {format_mm(thin.at_mm[1])} from the foot of the open case"


def _about(thin: Thin) -> Rect:
    x, y = thin.at_mm
    return Rect(x, y, x, y).grown(0.5)
