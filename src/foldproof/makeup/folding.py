# SPDX-License-Identifier: AGPL-3.0-or-later
"""The fold model: from columns, rows and folds read aloud to the place of every page.  Pure; nothing is tabulated.

A sheet is a grid of panels; a panel is one leaf, two pages.  The front lies up, seen as printed.  Folding moves one
side of the pile over or under what stays; the moved stack is reversed and mirrored.  After the last fold one pile is
left.  Its last crease along the reading side is the spine; its head is the edge that the scheme names, else the edge
closed by the last fold across the spine, else the sheet's own top.  Turn the pile so that the head is up and the spine
at the reading side: the leaves, read off from the top, give the pages.

Frame: *scheme*: the section before it is turned on the sheet, columns counted from its left, rows from its top, seen
from the front.  What stays keeps its place while the rest moves, so the lines of later folds are lines of the scheme.
"""

from __future__ import annotations

import re
from enum import StrEnum
from functools import lru_cache

from attrs import frozen

from foldproof.errors import AskedWrong

LEFT_TO_RIGHT = "left to right"
RIGHT_TO_LEFT = "right to left"

_WORDS = re.compile(r"(left|right|top|bottom)(?:\s+(\d+))?\s+(over|under)", re.IGNORECASE)
#: quarter turns counter-clockwise from up: the direction in which an edge of a rectangle lies
_TURNS = {"top": 0, "left": 1, "bottom": 2, "right": 3}
_EDGES = ("top", "left", "bottom", "right")


class FoldError(AskedWrong):
    """The words of a scheme do not fold the sheet into a section that can be read."""


class Edge(StrEnum):
    """The four edges of a leaf in the book."""

    SPINE = "spine"
    HEAD = "head"
    FOOT = "foot"
    FORE_EDGE = "fore-edge"


@frozen
class Scheme:
    """A way to fold: a grid of panels and the folds in words, in order."""

    name: str
    columns: int
    rows: int
    folds: tuple[str, ...]
    head: str | None = None  #: edge of the folded pile that is the head, where the scheme names it
    #: what each column is narrower by than the page, from the left, when it is a leaflet; none when empty
    narrower_mm: tuple[float, ...] = ()

    @property
    def panels(self) -> int:
        return self.columns * self.rows

    @property
    def pages(self) -> int:
        return 2 * self.panels


@frozen
class Line:
    """The line of one fold on the part that stays where it lies, counted in panels of the scheme."""

    words: str
    upright: bool  #: the line runs up the sheet, at ``at`` columns from the left; else across, ``at`` rows from the top
    at: int
    start: int  #: extent of the pile along the line before the fold: from the top or the left
    end: int


@frozen
class PilePanel:
    """One panel in the folded pile."""

    column: int
    row: int
    mirrored_x: bool  #: its own left lies at the right of the pile
    mirrored_y: bool  #: its own top lies at the bottom of the pile

    @property
    def front_up(self) -> bool:
        return self.mirrored_x == self.mirrored_y

    def own_edge(self, pile_edge: str) -> str:
        """Which edge of the panel on the sheet (seen from the front) came to lie at an edge of the pile."""
        flips = self.mirrored_x if pile_edge in ("left", "right") else self.mirrored_y
        return _EDGES[(_TURNS[pile_edge] + 2) % 4] if flips else pile_edge

    def neighbour(self, own_edge: str) -> tuple[int, int]:
        """Column and row of the panel across one of the panel's own edges; it may lie off the sheet."""
        dx, dy = {"left": (-1, 0), "right": (1, 0), "top": (0, -1), "bottom": (0, 1)}[own_edge]
        return self.column + dx, self.row + dy


@frozen
class Pile:
    """A folded sheet before anybody has decided from which side to read it."""

    scheme: Scheme
    lines: tuple[Line, ...]
    panels: tuple[PilePanel, ...]  #: from the top
    spine: str  #: edge of the pile
    head: str  #: edge of the pile
    spine_fold: int  #: index of the fold that made the spine
    creases: dict[frozenset[tuple[int, int]], int]  #: two neighbouring panels: the fold that creased between them

    @property
    def spine_upright(self) -> bool:
        """Whether the spine runs up the scheme (else across it)."""
        return self.spine in ("left", "right")


@frozen
class Leaf:
    """One leaf of the folded section and where it stands on the sheet (scheme frame, seen from the front)."""

    order: int  #: 0-based from the first leaf
    column: int
    row: int
    recto_on_front: bool  #: the leaf's first page is printed on the front
    head_turns: int  #: the head of its page on the front: quarter turns counter-clockwise from up
    spine_edge: str  #: edge of the panel that lies at the spine
    #: order of its other half across the spine, ``None`` where there is none: joined to it by the spine fold, or by an
    #: earlier one whose crease came to lie in the spine with its two leaves on either side of the middle (a roll)
    mate: int | None
    bolts: tuple[Edge, ...]  #: its edges closed by a fold: head, foot, fore-edge; what closes the spine is no bolt
    depth: int  #: leaves outside it at the spine fold

    @property
    def front_page(self) -> int:
        """0-based page of the section that it carries on the front of the sheet."""
        return 2 * self.order + (not self.recto_on_front)

    @property
    def back_page(self) -> int:
        return 2 * self.order + self.recto_on_front

    @property
    def back_head_turns(self) -> int:
        """The head of its page on the back, seen as printed (the sheet turned side to side)."""
        return -self.head_turns % 4


def parse_fold(words: str) -> tuple[str, int | None, str]:
    """Side that moves, panels (``None``: half) and over or under, from ``"left 1 over"``.

    Raises:
        FoldError: the words are no fold.
    """
    found = _WORDS.fullmatch(words.strip())
    if not found:
        raise FoldError(
            f'{words!r} is no fold; say which side moves, how many panels (half when unsaid), and "over" or "under", '
            'for example "right under", "top over" or "left 1 over".'
        )
    return found[1].lower(), int(found[2]) if found[2] else None, found[3].lower()


@lru_cache(maxsize=512)
def fold(scheme: Scheme) -> Pile:
    """Fold a sheet by its scheme.

    Raises:
        FoldError: nonsense words, half of an odd count, more panels than there are, more than one pile left, no crease
            along the reading side, or a head that cannot be.
    """
    if scheme.columns < 1 or scheme.rows < 1:
        raise FoldError(f"Scheme {scheme.name!r} has no panels: columns and rows are at least 1.")
    steps = [parse_fold(words) for words in scheme.folds]
    stacks: dict[tuple[int, int], list[PilePanel]] = {
        (c, r): [PilePanel(c, r, False, False)] for r in range(scheme.rows) for c in range(scheme.columns)
    }
    lines: list[Line] = []
    creases: dict[frozenset[tuple[int, int]], int] = {}
    for index, (side, count, way) in enumerate(steps):
        line = _line(scheme, stacks, scheme.folds[index], side, count)
        _note_creases(scheme, stacks, line, index, creases)
        stacks = _moved(stacks, line, side, way)
        lines.append(line)
    if len(stacks) != 1:
        raise FoldError(
            f"Scheme {scheme.name!r} leaves {len(stacks)} piles side by side instead of one: it wants more folds, "
            "or its folds want other counts."
        )
    ((place, panels),) = stacks.items()
    spine_fold, spine, head = _spine_and_head(scheme, lines, place)
    return Pile(scheme, tuple(lines), tuple(panels), spine, head, spine_fold, creases)


def _line(
    scheme: Scheme, stacks: dict[tuple[int, int], list[PilePanel]], words: str, side: str, count: int | None
) -> Line:
    upright = side in ("left", "right")
    xs, ys = [x for x, _ in stacks], [y for _, y in stacks]
    along, across = (ys, xs) if upright else (xs, ys)
    low, high = min(across), max(across) + 1
    there = high - low
    if count is None:
        if there % 2:
            raise FoldError(
                f"Scheme {scheme.name!r}: {words!r} says half, but {there} panels lie there; say how many move, "
                f'for example "{side} 1 {words.split()[-1]}".'
            )
        count = there // 2
    if not 0 < count < there:
        raise FoldError(
            f"Scheme {scheme.name!r}: {words!r} moves {count} of {there} panels; at least one must move and one stay."
        )
    # as the folding instructions have it: small letters, single spaces
    words = " ".join(words.lower().split())
    return Line(words, upright, low + count if side in ("left", "top") else high - count, min(along), max(along) + 1)


def _side_of(line: Line, place: tuple[int, int]) -> bool:
    """Whether a place lies right of, or below, the line."""
    return place[0 if line.upright else 1] >= line.at


def _note_creases(
    scheme: Scheme,
    stacks: dict[tuple[int, int], list[PilePanel]],
    line: Line,
    index: int,
    creases: dict[frozenset[tuple[int, int]], int],
) -> None:
    beyond = {(p.column, p.row): _side_of(line, place) for place, stack in stacks.items() for p in stack}
    dx, dy = (1, 0) if line.upright else (0, 1)
    for (c, r), here in beyond.items():
        there = beyond.get((c + dx, r + dy))
        if there is not None and there != here:
            creases[frozenset(((c, r), (c + dx, r + dy)))] = index


def _moved(
    stacks: dict[tuple[int, int], list[PilePanel]], line: Line, side: str, way: str
) -> dict[tuple[int, int], list[PilePanel]]:
    moves = side in ("right", "bottom")
    after = {place: list(stack) for place, stack in stacks.items() if _side_of(line, place) != moves}
    for (x, y), stack in stacks.items():
        if _side_of(line, (x, y)) != moves:
            continue
        target = (2 * line.at - 1 - x, y) if line.upright else (x, 2 * line.at - 1 - y)
        turned = [
            PilePanel(p.column, p.row, p.mirrored_x != line.upright, p.mirrored_y == line.upright)
            for p in reversed(stack)
        ]
        stays = after.get(target, [])
        after[target] = turned + stays if way == "over" else stays + turned
    return after


def _spine_and_head(scheme: Scheme, lines: list[Line], place: tuple[int, int]) -> tuple[int, str, str]:
    if scheme.head is not None and scheme.head not in _TURNS:
        raise FoldError(f"Scheme {scheme.name!r}: the head is top, bottom, left or right, not {scheme.head!r}.")
    if not lines:
        raise FoldError(f"Scheme {scheme.name!r} has no fold, so it has no spine.")
    upright = lines[-1].upright if scheme.head is None else scheme.head in ("top", "bottom")
    along = [i for i, line in enumerate(lines) if line.upright == upright]
    across = [i for i, line in enumerate(lines) if line.upright != upright]
    if not along:
        raise FoldError(
            f"Scheme {scheme.name!r} has its head at the {scheme.head} and no crease beside it for a spine."
        )

    def closed(index: int) -> str:
        line = lines[index]
        after = _side_of(line, place)
        return ("left" if after else "right") if line.upright else ("top" if after else "bottom")

    if scheme.head is not None:
        head = scheme.head
    elif across:
        head = closed(across[-1])
    elif upright:
        head = "top"
    else:
        raise FoldError(f'Scheme {scheme.name!r} folds one way only, along its head; name the head: "left" or "right".')
    return along[-1], closed(along[-1]), head


@lru_cache(maxsize=512)
def read(scheme: Scheme, reading: str) -> tuple[Leaf, ...]:
    """The leaves of a folded section in order, for ``"left to right"`` or ``"right to left"`` reading.

    Raises:
        FoldError: see :func:`fold`.
    """
    pile = fold(scheme)
    # With the head up the spine lies left (1) or right (3); at the wrong side the pile is turned over, head staying up.
    at_left = (_TURNS[pile.spine] - _TURNS[pile.head]) % 4 == 1
    over = at_left != (reading == LEFT_TO_RIGHT)
    ordered = pile.panels[::-1] if over else pile.panels
    order = {(p.column, p.row): i for i, p in enumerate(ordered)}
    opposite = {edge: _EDGES[(_TURNS[edge] + 2) % 4] for edge in _EDGES}
    edges = {
        Edge.SPINE: pile.spine,
        Edge.HEAD: pile.head,
        Edge.FOOT: opposite[pile.head],
        Edge.FORE_EDGE: opposite[pile.spine],
    }
    mates: list[int | None] = []
    bolts: list[tuple[Edge, ...]] = []
    pairs: list[tuple[int, int]] = []
    middle = len(ordered) / 2
    for nth, panel in enumerate(ordered):
        mate, closed = None, []
        for edge, pile_edge in edges.items():
            beyond = panel.neighbour(panel.own_edge(pile_edge))
            if beyond not in order:
                continue
            other = order[beyond]
            if edge is not Edge.SPINE:
                closed.append(edge)
                continue
            if other > nth:
                # any crease at the spine lies round what is between its two leaves, also one of an earlier fold
                pairs.append((nth, other))
            crease = pile.creases[frozenset(((panel.column, panel.row), beyond))]
            if crease == pile.spine_fold or (nth < middle) != (other < middle):
                mate = other
        mates.append(mate)
        bolts.append(tuple(closed))
    return tuple(
        Leaf(
            order=i,
            column=panel.column,
            row=panel.row,
            recto_on_front=panel.front_up != over,
            head_turns=_TURNS[panel.own_edge(pile.head)],
            spine_edge=panel.own_edge(pile.spine),
            mate=mates[i],
            bolts=bolts[i],
            depth=sum(first < i < last for first, last in pairs),
        )
        for i, panel in enumerate(ordered)
    )


def forme(scheme: Scheme, reading: str, *, back: bool = False) -> tuple[tuple[tuple[int, int], ...], ...]:
    """One side as printed, rows from the top: ``(page, quarter turns of its head)``, pages 1-based.

    The back is seen with the sheet turned side to side.
    """
    grid = [[(0, 0)] * scheme.columns for _ in range(scheme.rows)]
    for leaf in read(scheme, reading):
        if back:
            grid[leaf.row][scheme.columns - 1 - leaf.column] = (leaf.back_page + 1, leaf.back_head_turns)
        else:
            grid[leaf.row][leaf.column] = (leaf.front_page + 1, leaf.head_turns)
    return tuple(tuple(row) for row in grid)
