# SPDX-License-Identifier: AGPL-3.0-or-later
"""Where title, author and emblem of a die stand, and how large: on the spine strip and on the front board.  Pure.

The frame is the open case, printed side up: lower left of the boards, y up; points inside, lengths of the case in mm.
Sizes are common practice (no source): capitals of at most 12 mm, margins that keep foil off the edges of the boards.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise
from math import ceil

from attrs import evolve, frozen

from foldproof.case.lettering import CAP_HEIGHT, Weight, lettered
from foldproof.case.model import CaseSizes
from foldproof.geometry import Matrix, Rect
from foldproof.pdf.die_emblem import Emblem
from foldproof.pdf.die_shapes import Pen, Shape, moved
from foldproof.units import mm_to_pt, pt_to_mm

#: largest capitals; capitals lower than the least are left away, as nobody reads them
CAP_MOST_MM, CAP_LEAST_MM = 12.0, 1.4
#: author by title; em from baseline to baseline; a second line must make the title so much larger
_AUTHOR, _LEADING, _WORTH = 0.6, 1.25, 1.12
_SPINE_AUTHOR = 0.8
_SMALL_WORD = 3  # letters
#: of the front board: what lettering may take of its width and height, what the emblem may
_FRONT_WIDE, _FRONT_HIGH, _FRONT_CAP, _EMBLEM_WIDE, _EMBLEM_HIGH = 0.74, 0.78, 0.055, 0.5, 0.35
#: of the spine strip: its margin on either side, at least and by its width; at head and foot, by its height
_MARGIN_MM, _MARGIN_PART, _END_MM, _END_PART = 0.8, 0.1, 6.0, 0.05
_MOST_LINES = {"front": 8, "spine": 3}
#: hairlines of the face over its size: measured on the outlines of the alphabet (regular, semibold)
_HAIRLINE: dict[Weight, float] = {"regular": 0.031, "semibold": 0.0355}
#: no letter is made heavier all round by more than this
_HEAVIER_MOST_MM = 0.15


@frozen
class Element:
    """One thing that is stamped."""

    name: str  #: ``"title on the spine"``
    place: str  #: ``"spine"`` or ``"front"``
    shapes: tuple[Shape, ...]
    cap_mm: float = 0.0  #: height of its capitals; 0 for an emblem
    weight: Weight | None = None
    heavier_mm: float = 0.0  #: what its outline adds to every line
    lines: tuple[str, ...] = ()
    scale: float = 1.0  #: of an emblem, by its file

    @property
    def size_pt(self) -> float:
        """The em of its letters."""
        return mm_to_pt(self.cap_mm) / CAP_HEIGHT


@frozen
class Wanted:
    """What the job asks for, read and spelt."""

    title: str
    author: str
    emblem: Emblem | None
    emblem_on: str
    spine_reads: str
    line_mm: float  #: the thinnest line that the die holds


def front_board(case: CaseSizes, reading: str) -> Rect:
    """The front board, mm: at the right of the open case, at the left of a book read right to left."""
    wide, high = case.board_mm
    left = 0.0 if reading == "right to left" else case.open_mm[0] - wide
    return Rect(left, 0, left + wide, high)


def spine_strip(case: CaseSizes) -> Rect:
    """The spine strip, mm."""
    left = case.board_mm[0] + case.joint_mm
    return Rect(left, 0, left + case.strip_mm[0], case.board_mm[1])


# --- lines ----------------------------------------------------------------------------------------------------------


_Cost = tuple[float, int, float]


def broken(text: str, widths: dict[str, float], space: float, most: int) -> tuple[tuple[str, ...], ...]:
    """``text`` in one line, in two, in as many as ``most``: the longest as short as can be, the others even.

    A line ends in a small word only where that spares more than a twentieth of the longest word.

    Args:
        widths: of every word, and ``space`` of the gap between two, in any unit.
    """
    words = text.split()
    ends_at = [0.0, *accumulate(widths[word] + space for word in words)]
    unit = max(widths[word] for word in words) / 20
    # best[j]: what the best lines out of words[:j] cost: longest line, small words left hanging, unevenness
    best: list[_Cost | None] = [(0.0, 0, 0.0)] + [None] * len(words)
    cuts: list[list[int]] = []
    found = []
    for count in range(1, min(most, len(words)) + 1):
        fresh: list[_Cost | None] = [None] * (len(words) + 1)
        begins = [0] * (len(words) + 1)
        for j in range(count, len(words) + 1):
            hangs = int(j < len(words) and len(words[j - 1]) <= _SMALL_WORD)
            for i in range(count - 1, j):
                before = best[i]
                if before is None:
                    continue
                wide = ends_at[j] - ends_at[i] - space
                cost = (max(before[0], ceil(wide / unit)), before[1] + hangs, before[2] + wide * wide)
                known = fresh[j]
                if known is None or cost < known:
                    fresh[j], begins[j] = cost, i
        best = fresh
        cuts.append(begins)
        ends = [len(words)]
        for back in reversed(cuts):
            ends.append(back[ends[-1]])
        found.append(tuple(" ".join(words[i:j]) for i, j in pairwise(reversed(ends))))
    return tuple(found)


@frozen
class Setting:
    """A text in lines, at em 1: how wide, and how far it stands from the middle of its capitals."""

    lines: tuple[str, ...]
    wide: float
    #: from the middle between the top capitals and the last baseline: half of that, and to the farthest ink
    half: float
    reach: float


def settings(text: str, most: int) -> tuple[Setting, ...]:
    """A text in one line, in two, and so on."""
    words = tuple(dict.fromkeys(text.split()))
    pair = lettered((*words, "n n", "nn"), "semibold")
    widths = {word: one.ink.x1 for word, one in zip(words, pair, strict=False)}
    space = pair[-2].ink.x1 - pair[-1].ink.x1
    return tuple(_setting(lines) for lines in broken(text, widths, space, most))


def _setting(lines: tuple[str, ...]) -> Setting:
    made = lettered(lines, "semibold")
    half = ((len(lines) - 1) * _LEADING + CAP_HEIGHT) / 2
    up = max(half - n * _LEADING - CAP_HEIGHT + one.ink.y1 for n, one in enumerate(made))
    down = max(n * _LEADING + CAP_HEIGHT - half - one.ink.y0 for n, one in enumerate(made))
    return Setting(lines, max(one.ink.width for one in made), half, max(up, down))


def fitted(choices: Sequence[Setting], wide: float, band: float | None, most: float) -> tuple[Setting, float]:
    """The choice that can be set largest, and its em: within ``wide``, within ``band`` across where one is given.

    More lines are taken only where they make it larger by an eighth.
    """
    best: tuple[Setting, float] | None = None
    for one in choices:
        size = min(most, wide / one.wide, *(() if band is None else (band / (2 * one.reach),)))
        if best is None or size > best[1] * _WORTH:
            best = (one, size)
    assert best is not None
    return best


def _weight(size_pt: float, line_mm: float) -> tuple[Weight, float]:
    """The lightest weight whose hairlines hold at this size, and what the outline must add where none does, mm."""
    size = pt_to_mm(size_pt)
    for weight, hair in _HAIRLINE.items():
        if hair * size >= line_mm:
            return weight, 0.0
    return "semibold", min(_HEAVIER_MOST_MM, line_mm - _HAIRLINE["semibold"] * size)


def _text(name: str, place: str, setting: Setting, size: float, line_mm: float) -> Element:
    weight, heavier = _weight(size, line_mm)
    return _lettered(
        Element(
            name, place, (), cap_mm=pt_to_mm(size * CAP_HEIGHT), weight=weight, heavier_mm=heavier, lines=setting.lines
        )
    )


def _lettered(element: Element) -> Element:
    """Its lines as shapes, each centred on x = 0 by its ink, the middle of the capitals at y = 0."""
    assert element.weight is not None
    made = lettered(element.lines, element.weight)
    half = ((len(made) - 1) * _LEADING + CAP_HEIGHT) / 2
    shapes: list[Shape] = []
    for nth, one in enumerate(made):
        at = Matrix.translation(-one.ink.centre[0], half - CAP_HEIGHT - nth * _LEADING)
        shapes += moved(one.shapes, at.then(Matrix.scaling(element.size_pt, element.size_pt)))
    if element.heavier_mm > 0:
        pen = Pen(0.0, join=1)
        shapes += [evolve(shape, pen=_pen(pen, shape, element.heavier_mm)) for shape in shapes]
    return evolve(element, shapes=tuple(shapes))


def _pen(pen: Pen, shape: Shape, width_mm: float) -> Pen:
    """A pen that draws so thick a line in the die's frame."""
    return evolve(pen, width=mm_to_pt(width_mm) / shape.outline.matrix.lengths()[0])


def heavier(element: Element, by_mm: float, about: Matrix) -> Element | None:
    """The same lettering with a heavier outline, put where ``about`` takes it; ``None``: it would be too heavy."""
    wanted = element.heavier_mm + by_mm
    if element.weight is None or wanted > _HEAVIER_MOST_MM:
        return None
    fresh = _lettered(evolve(element, weight="semibold", heavier_mm=wanted))
    return evolve(fresh, shapes=moved(fresh.shapes, about))


# --- places ---------------------------------------------------------------------------------------------------------


@frozen
class Placed:
    """An element, and the matrix that took it from its own middle to its place."""

    element: Element
    about: Matrix


def _placed(element: Element, about: Matrix) -> Placed:
    return Placed(evolve(element, shapes=moved(element.shapes, about)), about)


def _emblem(emblem: Emblem, place: str, wide: float, high: float) -> tuple[Element, float, float]:
    """The emblem about its middle, no larger than it was drawn, with its width and height."""
    # a single level or upright rule has no height or no width
    scale = min(1.0, wide / max(emblem.width_pt, 1e-6), high / max(emblem.height_pt, 1e-6))
    middle = Matrix.translation(-emblem.width_pt / 2, -emblem.height_pt / 2).then(Matrix.scaling(scale, scale))
    element = Element(f"emblem on the {place}", place, moved(emblem.shapes, middle), scale=scale)
    return element, emblem.width_pt * scale, emblem.height_pt * scale


def on_front(board_mm: Rect, wanted: Wanted) -> tuple[tuple[Placed, ...], tuple[str, ...]]:
    """What stands on the front board, from its head: title, emblem, author; all of it centred on the board.

    Returns:
        the elements, and what had to be left away, a phrase each.
    """
    board = board_mm.scaled(mm_to_pt(1))
    room, high = board.width * _FRONT_WIDE, board.height * _FRONT_HIGH
    most = mm_to_pt(min(CAP_MOST_MM, board_mm.height * _FRONT_CAP)) / CAP_HEIGHT
    parts: list[tuple[Element, float, float]] = []  # each with its height over and under its middle
    left_away: list[str] = []
    emblem = wanted.emblem if wanted.emblem_on in ("front", "both") else None
    emblem_high = 0.0
    if emblem is not None:
        element, _, emblem_high = _emblem(emblem, "front", board.width * _EMBLEM_WIDE, board.height * _EMBLEM_HIGH)
        parts.append((element, emblem_high / 2, emblem_high / 2))
    title = settings(wanted.title, _MOST_LINES["front"]) if wanted.title else ()
    author = settings(wanted.author, 3) if wanted.author else ()
    gap = 1.6
    scale = most
    for _ in range(24):  # smaller until all of it fits the height
        heights = emblem_high
        chosen = []
        for choices, factor in ((title, 1.0), (author, _AUTHOR)):
            if choices:
                setting, size = fitted(choices, room, None, scale * factor)
                chosen.append((setting, size))
                heights += 2 * setting.half * size
        gaps = (len(chosen) + (emblem is not None) - 1) * gap * max([size for _, size in chosen], default=0.0)
        if heights + gaps <= high or not chosen:
            break
        scale *= 0.88
    names = [name for name, choices in (("title", title), ("author", author)) if choices]
    texts = []
    for name, (setting, size) in zip(names, chosen, strict=True):
        if pt_to_mm(size * CAP_HEIGHT) < CAP_LEAST_MM:
            left_away.append(_too_low(name, "front", size))
        else:
            element = _text(f"{name} on the front", "front", setting, size, wanted.line_mm)
            texts.append((name, (element, setting.half * size, setting.half * size)))
    parts = [p for n, p in texts if n == "title"] + parts + [p for n, p in texts if n == "author"]
    between = gap * max([part.size_pt for part, _, _ in parts if part.cap_mm], default=0.0)
    total = sum(up + down for _, up, down in parts) + between * max(0, len(parts) - 1)
    x, y = board.centre[0], board.centre[1] + total / 2
    placed = []
    for element, up, down in parts:
        placed.append(_placed(element, Matrix.translation(x, y - up)))
        y -= up + down + between
    return tuple(placed), tuple(left_away)


def on_spine(strip_mm: Rect, wanted: Wanted) -> tuple[tuple[Placed, ...], tuple[str, ...]]:
    """What stands on the spine: author at the head, title in the middle, emblem upright at the foot.

    Lettering is centred across the strip by the middle of its capitals; the title is centred along it as far as author
    and emblem leave it room.

    Returns:
        the elements, and what had to be left away, a phrase each.
    """
    strip = strip_mm.scaled(mm_to_pt(1))
    margin = mm_to_pt(max(_MARGIN_MM, strip_mm.width * _MARGIN_PART))
    end = mm_to_pt(max(_END_MM, strip_mm.height * _END_PART))
    band = strip.width - 2 * margin
    if band <= 0:
        return (), (f"all lettering, as the spine strip is only {strip_mm.width:.1f} mm wide",)
    foot, head = strip.y0 + end, strip.y1 - end
    placed: list[Placed] = []
    left_away: list[str] = []
    x = strip.centre[0]
    if wanted.emblem is not None and wanted.emblem_on in ("spine", "both"):
        element, _, high = _emblem(wanted.emblem, "spine", band, (head - foot) * 0.25)
        placed.append(_placed(element, Matrix.translation(x, foot + high / 2)))
        foot += high + min(band, mm_to_pt(6.0))
    most = mm_to_pt(CAP_MOST_MM) / CAP_HEIGHT
    title = settings(wanted.title, _MOST_LINES["spine"]) if wanted.title else ()
    author = settings(wanted.author, 1) if wanted.author else ()
    quarter = -1 if wanted.spine_reads == "head to foot" else 1
    turn = Matrix.quarter_turns(quarter)
    room = head - foot
    ends = 1.0 if title and author else 0.0  # of the title's em, between the two
    best: tuple[Setting | None, float] = (None, 0.0)
    for one in title or (None,):
        wide = (one.wide if one else 0.0) + (author[0].wide * _SPINE_AUTHOR if author else 0.0) + ends
        if not wide:
            continue
        reach = max(one.reach if one else 0.0, author[0].reach * _SPINE_AUTHOR if author else 0.0)
        size = min(most, room / wide, band / (2 * reach))
        if size > best[1] * _WORTH:
            best = (one, size)
    setting, size = best
    names = [name for name, there in (("title", title), ("author", author)) if there]
    if names and pt_to_mm(size * CAP_HEIGHT) < CAP_LEAST_MM:
        left_away += [_too_low(name, "spine", size) for name in names]
        return tuple(placed), tuple(left_away)
    if author:
        small = size * _SPINE_AUTHOR
        long = author[0].wide * small
        element = _text("author on the spine", "spine", author[0], small, wanted.line_mm)
        placed.append(_placed(element, turn.then(Matrix.translation(x, head - long / 2))))
        head -= long + ends * size
    if setting is not None:
        half = setting.wide * size / 2
        y = min(max(strip.centre[1], foot + half), head - half)
        element = _text("title on the spine", "spine", setting, size, wanted.line_mm)
        placed.append(_placed(element, turn.then(Matrix.translation(x, y))))
    return tuple(placed), tuple(left_away)


def _too_low(name: str, place: str, size_pt: float) -> str:
    cap = pt_to_mm(size_pt * CAP_HEIGHT)
    return f"the {name} on the {place}, whose capitals would be only {cap:.1f} mm high"
