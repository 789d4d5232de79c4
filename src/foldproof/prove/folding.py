# SPDX-License-Identifier: AGPL-3.0-or-later
"""Paper folded on a table: cut along each line, what moves reflected, laid over or under, its order reversed.

The section lies on the table as its scheme reads: front up (back up, where it is turned over first), the scheme's own
right at the right.  *table* frame: mm, origin at the scheme's lower left corner, seen from above.  *paper* frame: the
sheet frame of the front, mm, which never moves: a piece of paper knows where on the sheet it was printed, and a map
tells where it lies on the table now.
"""

from __future__ import annotations

import re

from attrs import evolve, frozen

from foldproof.makeup.instructions import Fold, Section
from foldproof.pdf.proof_affine import (
    IDENTITY,
    Box,
    Map,
    at,
    back,
    box_round,
    chain,
    determinant,
    mirror_x,
    mirror_y,
    quarter,
    shift,
    then,
)

#: how far a stated line or width may be from where words and widths put it: a tenth of what the proof allows a page
AGREE_MM = 0.005

_WORDS = re.compile(r"(left|right|top|bottom)(?: (\d+))? (over|under)")


class CannotFold(Exception):
    """The instructions contradict themselves or make no pile; the message is a clause for people."""


@frozen
class Piece:
    """Paper that is still in one, a rectangle of whole panels."""

    paper: Box  #: paper frame, mm
    table: Map  #: paper frame → table frame; mirrors where the back of the sheet lies up

    @property
    def front_up(self) -> bool:
        return determinant(self.table) > 0

    @property
    def place(self) -> Box:
        """Where it lies, table frame."""
        return box_round(self.table, self.paper)


@frozen
class Crease:
    """A fold as it was made: the edge of the pile that it closed, and where."""

    edge: str  #: ``"left"``, ``"right"``, ``"top"``, ``"bottom"`` of the pile on the table
    at_mm: float  #: table frame, along x for left and right, along y for top and bottom


@frozen
class Pile:
    """A section folded to the end."""

    section: Section
    pieces: tuple[Piece, ...]  #: from the table upwards, one panel each
    creases: tuple[Crease, ...]
    #: the pieces as they lay before the first fold and after every one, from the table upwards
    states: tuple[tuple[Piece, ...], ...] = ()


def laid(section: Section) -> Map:
    """Paper frame → table frame before the first fold: turned over where it is told, its turning taken back.

    Turned over, side to side, its left edge comes to lie at the right and its foot stays the foot: a reflection, by
    which the back lies up.  How far it is turned is told as it is seen then.
    """
    x0, y0, x1, y1 = section.rect_mm
    width, height = x1 - x0, y1 - y0
    corner = {
        0: (0.0, 0.0),
        90: (0.0, width),
        180: (width, height),
        270: (height, 0.0),
    }[section.turned]
    over = mirror_x(width / 2) if section.turned_over else IDENTITY
    return chain(shift(-x0, -y0), over, quarter(-section.turned // 90), shift(*corner))


def grid_lines(section: Section) -> tuple[list[float], list[float]]:
    """Edges of the panels in the table frame of the flat section: upright ones from the left, level ones from below.

    Raises:
        CannotFold: columns, rows, widths and the section's rectangle do not agree.
    """
    if section.turned not in (0, 90, 180, 270):
        raise CannotFold(f"it is said to be turned by {section.turned} degrees, which is no quarter turn")
    if len(section.column_mm) != section.columns or len(section.row_mm) != section.rows:
        raise CannotFold(
            f"it is said to have {section.columns} columns and {section.rows} rows, "
            f"but {len(section.column_mm)} widths and {len(section.row_mm)} heights are given"
        )
    if min((*section.column_mm, *section.row_mm), default=0.0) <= 0:
        raise CannotFold("a column or a row of it has no width")
    upright = [sum(section.column_mm[:i]) for i in range(section.columns + 1)]
    level = [sum(section.row_mm[section.rows - i :]) for i in range(section.rows + 1)]
    _, _, width, height = box_round(laid(section), section.rect_mm)
    if abs(upright[-1] - width) > AGREE_MM or abs(level[-1] - height) > AGREE_MM:
        raise CannotFold(
            f"its panels add up to {upright[-1]:.2f} x {level[-1]:.2f} mm, "
            f"its rectangle measures {width:.2f} x {height:.2f} mm"
        )
    return upright, level


def fold(section: Section) -> tuple[Pile, tuple[str, ...]]:
    """Fold a section to the end.

    Where a line disagrees with the words, the words are followed (that is what the bindery reads) and the disagreement
    is told.

    Returns:
        The pile, and a clause for every line that is not where the words put it.

    Raises:
        CannotFold: the words cannot be followed, or leave more than one pile.
    """
    lines = grid_lines(section)
    flat = laid(section)
    pieces: tuple[Piece, ...] = (Piece(section.rect_mm, flat),)
    creases: list[Crease] = []
    states = [pieces]
    said: list[str] = []
    try:
        for number, each in enumerate(section.folds, 1):
            name = f'fold {number} ("{each.words}")'
            found = _WORDS.fullmatch(each.words.strip())
            if not found:
                raise CannotFold(
                    f'{name} is not understood; a fold reads like "right under", "top over" or "left 1 over"'
                )
            side, count, way = found[1], int(found[2]) if found[2] else None, found[3]
            axis = 0 if side in ("left", "right") else 1
            line = _line(pieces, side, count, lines[axis], flat, name)
            odd = _disagrees(each, axis, line, pieces, flat)
            if odd:
                said.append(f"{name} {odd}")
            pieces = _folded(pieces, side, way, line, name)
            creases.append(Crease(side, line))
            states.append(pieces)
            _uncut(pieces, lines, flat, name)
        if len(pieces) != section.columns * section.rows:
            raise CannotFold(
                f"after the last fold it is {len(pieces)} pieces of {section.columns * section.rows} panels: "
                "it is not folded down to single leaves"
            )
    except CannotFold as stuck:
        raise CannotFold("; ".join([*said, str(stuck)])) from None
    return Pile(section, pieces, tuple(creases), tuple(states)), tuple(said)


def _line(pieces: tuple[Piece, ...], side: str, count: int | None, lines: list[float], flat: Map, name: str) -> float:
    """Where the words put the crease: table frame, along the fold's axis."""
    axis = 0 if side in ("left", "right") else 1
    # Whatever was folded before lies flush with the last crease, so the longest piece reaches as far as the pile.
    longest = max(pieces, key=lambda piece: piece.place[axis + 2] - piece.place[axis])
    steps = sorted(_steps(longest, axis, lines, flat))
    panels = len(steps) - 1
    moving = panels // 2 if count is None else count
    if panels < 2:
        raise CannotFold(f"{name} finds no second panel to fold against")
    if count is None and panels % 2:
        raise CannotFold(f"{name} would halve {panels} panels")
    if not 0 < moving < panels:
        raise CannotFold(f"{name} would move {moving} of {panels} panels")
    return steps[panels - moving] if side in ("right", "top") else steps[moving]


def _steps(piece: Piece, axis: int, lines: list[float], flat: Map) -> list[float]:
    """Panel edges that a piece holds, along an axis of the table, as the piece lies now."""
    was = box_round(flat, piece.paper)
    move = then(back(flat), piece.table)
    held = [line for line in lines if was[axis] - AGREE_MM <= line <= was[axis + 2] + AGREE_MM]
    return [at(move, line, line)[axis] for line in held]


def _disagrees(each: Fold, axis: int, line: float, pieces: tuple[Piece, ...], flat: Map) -> str | None:
    """In what the stated line is not the crease, as a clause."""
    ends = [at(flat, *point) for point in each.line_mm]
    off = max((abs(end[axis] - line) for end in ends), default=0.0)
    if off > AGREE_MM:
        return f"is drawn {off:.2f} mm from where its words and the widths of the panels put it"
    low = min(piece.place[1 - axis] for piece in pieces)
    high = max(piece.place[3 - axis] for piece in pieces)
    along = sorted(end[1 - axis] for end in ends)
    if along[0] > low + AGREE_MM or along[1] < high - AGREE_MM:
        return "is drawn as a line that does not cross the whole pile"
    return None


def _folded(pieces: tuple[Piece, ...], side: str, way: str, line: float, name: str) -> tuple[Piece, ...]:
    axis = 0 if side in ("left", "right") else 1
    far = side in ("right", "top")  # the part beyond the line moves
    turn = mirror_x(line) if axis == 0 else mirror_y(line)
    stays: list[Piece] = []
    moves: list[Piece] = []
    for piece in pieces:
        for part in _cut(piece, axis, line):
            place = part.place
            beyond = (place[axis] + place[axis + 2]) / 2 > line
            if beyond == far:
                moves.append(evolve(part, table=then(part.table, turn)))
            else:
                stays.append(part)
    if not stays or not moves:
        raise CannotFold(f"{name} moves nothing")
    moves.reverse()
    return tuple(stays + moves if way == "over" else moves + stays)


def _cut(piece: Piece, axis: int, line: float) -> tuple[Piece, ...]:
    place = piece.place
    if line <= place[axis] + AGREE_MM or line >= place[axis + 2] - AGREE_MM:
        return (piece,)
    low, high = list(place), list(place)
    low[axis + 2] = line
    high[axis] = line
    home = back(piece.table)
    return tuple(evolve(piece, paper=box_round(home, (b[0], b[1], b[2], b[3]))) for b in (low, high))


def _uncut(pieces: tuple[Piece, ...], lines: tuple[list[float], list[float]], flat: Map, name: str) -> None:
    """Every edge of every piece is an edge of a panel: no fold goes through the middle of a leaf."""
    for piece in pieces:
        was = box_round(flat, piece.paper)
        for index, edge in enumerate(was):
            if min(abs(edge - line) for line in lines[index % 2]) > AGREE_MM:
                raise CannotFold(
                    f"{name} creases a leaf between its edges, because the panels under it do not lie flush"
                )
