# SPDX-License-Identifier: AGPL-3.0-or-later
"""A second reckoning of folding, by brute force: paper as a block of small cells, turned over cell by cell.

It imports nothing of the project and knows no panel that is "mirrored" or "turned".  Every panel is three cells wide
and three high.  Every cell of the flat sheet has a number of its own, positive where its front lies up, negative where
its back does.  A pile is an array of such numbers: layers from the table upwards, rows from the top, columns from the
left, 0 where there is no paper.  A fold lifts one side of the array, turns it over cell by cell (layers reversed, the
row of cells reversed, signs changed) and lays it over or under the rest.  Everything else is looked at afterwards:
where a cell lies, which of its neighbours lies on it, which side is up.

*scheme* frame as the rest of the tests have it: columns from the left, rows from the top, seen from the front.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Cells = NDArray[np.int64]

#: cells along one edge of a panel: the middle one tells the edge, the others tell its ends
N = 3
MID = N // 2

_FOLD = re.compile(r"\s*(left|right|top|bottom)(\s+\d+)?\s+(over|under)\s*", re.IGNORECASE)
#: the middle cell of each edge of a panel, row and column in the panel
_EDGE_CELL = {"top": (0, MID), "left": (MID, 0), "bottom": (N - 1, MID), "right": (MID, N - 1)}
_TURNS = {cell: turns for turns, cell in enumerate(_EDGE_CELL.values())}


class NoFold(Exception):
    """The sheet cannot be folded so; ``reason`` is the class of the cause."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


@dataclass(frozen=True)
class Join:
    """Two panels of the flat sheet that are one piece of paper, creased between."""

    panels: frozenset[tuple[int, int]]  #: column, row
    fold: int  #: index of the fold that creased it


@dataclass(frozen=True)
class BruteLeaf:
    """One leaf of the folded pile, as it is met from the first page on."""

    panel: tuple[int, int]  #: column, row on the flat sheet, seen from the front
    recto_on_front: bool
    head_turns: int  #: quarter turns counter-clockwise from up, on the front
    spine_edge: str  #: which edge of the panel, seen from the front, lies at the spine
    #: edge of the book (``"head"``, ``"foot"``, ``"spine"``, ``"fore-edge"``) to the leaf joined there and its fold
    joined: dict[str, tuple[int, int]]


@dataclass(frozen=True)
class Folded:
    """A pile that lies ready to be read."""

    columns: int
    rows: int
    leaves: tuple[BruteLeaf, ...]
    spine_fold: int
    lines: tuple[tuple[bool, int, int, int], ...]  #: upright, place, and extent of each fold line, panels

    def mate(self, leaf: int) -> int | None:
        """The other half of a leaf: joined to it at the spine, and by the spine fold or round the middle."""
        other, fold_ = self.leaves[leaf].joined.get("spine", (None, None))
        if other is None:
            return None
        halves = {place < len(self.leaves) / 2 for place in (leaf, other)}
        return other if fold_ == self.spine_fold or len(halves) == 2 else None

    def spine_partner(self, leaf: int) -> int | None:
        """The leaf joined to this one at the spine by any fold: what is left of the sheet when the knife has been."""
        other = self.leaves[leaf].joined.get("spine")
        return other[0] if other else None

    def outside(self, leaf: int) -> int:
        """How many pairs of leaves joined at the spine lie round a leaf."""
        pairs = {tuple(sorted((i, p))) for i in range(len(self.leaves)) if (p := self.spine_partner(i)) is not None}
        return sum(low < leaf < high for low, high in pairs)

    def bolts(self, leaf: int) -> set[str]:
        """Edges of a leaf that only a knife opens."""
        return set(self.leaves[leaf].joined) - {"spine"}

    @property
    def hanging(self) -> list[int]:
        """Leaves that nothing holds at the spine once every other edge is cut."""
        return [i for i in range(len(self.leaves)) if self.spine_partner(i) is None]

    @property
    def middles(self) -> int:
        """Places where a thread would lie between two facing halves of one piece."""
        return sum(self.spine_partner(i) == i + 1 for i in range(len(self.leaves)))

    @property
    def one_round_another(self) -> bool:
        """Whether the pieces left by the knife lie one round another about one middle."""
        last = len(self.leaves) - 1
        return all(self.spine_partner(i) == last - i for i in range(len(self.leaves)))

    @property
    def sewn(self) -> str | None:
        """Why thread or wire would not hold it: ``"loose"``, ``"middles"``, or ``None``."""
        if self.hanging:
            return "loose"
        return None if self.one_round_another else "middles"

    def forme(self, *, back: bool = False) -> tuple[tuple[tuple[int, int], ...], ...]:
        """One side as printed, rows from the top: page from 1 and the turns of its head.  The back is drawn on paper
        and turned side to side: columns reversed, left and right heads exchanged."""
        front = np.zeros((self.rows, self.columns, 2), dtype=int)
        for order, leaf in enumerate(self.leaves):
            recto, verso = 2 * order + 1, 2 * order + 2
            column, row = leaf.panel
            front[row, column] = (verso if leaf.recto_on_front == back else recto, leaf.head_turns)
        if back:
            front = front[:, ::-1].copy()
            front[:, :, 1] = (4 - front[:, :, 1]) % 4
        return tuple(tuple((int(page), int(turns)) for page, turns in row) for row in front)


def flat_sheet(columns: int, rows: int) -> Cells:
    """A sheet on the table, front up: one layer of numbered cells."""
    return np.arange(1, rows * N * columns * N + 1, dtype=np.int64).reshape(1, rows * N, columns * N)


def _parsed(words: str) -> tuple[str, int | None, bool]:
    found = _FOLD.fullmatch(words)
    if not found:
        raise NoFold("no words")
    return found[1].lower(), int(found[2]) if found[2] else None, found[3].lower() == "over"


def _turned_over(part: Cells, axis: int) -> Cells:
    """What was up lies down: layers and cells along ``axis`` in the other order, the other face up."""
    return -np.flip(part, (0, axis))


def _beside(block: Cells, axis: int, before: int, after: int) -> Cells:
    around = [(0, 0), (0, 0), (0, 0)]
    around[axis] = (before, after)
    return np.pad(block, around)


def _fold_once(pile: Cells, side: str, count: int | None, over: bool) -> tuple[Cells, int]:
    """The pile after a fold, and how many cells its left or top edge came to lie before the old one."""
    axis = 2 if side in ("left", "right") else 1
    panels = pile.shape[axis] // N
    if count is None:
        if panels % 2:
            raise NoFold("half of an odd count")
        count = panels // 2
    if count < 1 or count >= panels:
        raise NoFold("moves too many")
    cut = (count if side in ("left", "top") else panels - count) * N
    low, high = np.split(pile, [cut], axis=axis)
    moves, stays = (low, high) if side in ("left", "top") else (high, low)
    moves = _turned_over(moves, axis)
    wide = max(low.shape[axis], high.shape[axis])
    # both parts end at the crease: a part that is shorter gets air at its far end
    if side in ("left", "top"):  # the pile now begins at the crease
        moves = _beside(moves, axis, 0, wide - moves.shape[axis])
        stays = _beside(stays, axis, 0, wide - stays.shape[axis])
        shifted = -cut
    else:  # the pile now ends at the crease
        shifted = wide - cut
        moves = _beside(moves, axis, wide - moves.shape[axis], 0)
        stays = _beside(stays, axis, wide - stays.shape[axis], 0)
    made = np.concatenate([stays, moves] if over else [moves, stays])
    return made[np.any(made != 0, axis=(1, 2))], shifted


def _places(pile: Cells, cells: int) -> Cells:
    """Row and column of every cell of the sheet in the pile; index 0 is unused."""
    places = np.zeros((cells + 1, 2), dtype=np.int64)
    _, rows, columns = np.nonzero(pile)
    places[np.abs(pile[pile != 0])] = np.stack([rows, columns], axis=1)
    return places


def _boundaries(columns: int, rows: int) -> list[tuple[int, int, tuple[int, int], tuple[int, int]]]:
    """The middle cells on both sides of every boundary between panels, and the panels."""
    sheet = flat_sheet(columns, rows)[0]
    found = []
    for row in range(rows):
        for left, right in pairwise(range(columns)):
            y, x = row * N + MID, right * N
            found.append((int(sheet[y, x - 1]), int(sheet[y, x]), (left, row), (right, row)))
    for column in range(columns):
        for upper, lower in pairwise(range(rows)):
            y, x = lower * N, column * N + MID
            found.append((int(sheet[y - 1, x]), int(sheet[y, x]), (column, upper), (column, lower)))
    return found


def _edge_at(place: Cells) -> str:
    return next(edge for edge, cell in _EDGE_CELL.items() if cell == (int(place[0]), int(place[1])))


def fold(columns: int, rows: int, folds: tuple[str, ...], head: str | None, *, spine_left: bool) -> Folded:
    """Fold the sheet, look where spine and head came to lie, turn the pile and leaf through it.

    Args:
        spine_left: the book is read with the spine at the left of its first page.

    Raises:
        NoFold: with its class: ``"no words"``, ``"half of an odd count"``, ``"moves too many"``, ``"not one pile"``,
            ``"no spine"``, ``"head cannot be"``.
    """
    steps = [_parsed(words) for words in folds]
    pile = flat_sheet(columns, rows)
    cells = pile.size
    bounds = _boundaries(columns, rows)
    creased: dict[int, int] = {}
    lines: list[tuple[bool, int, int, int]] = []
    origin = {1: 0, 2: 0}  # where the pile begins: rows from the sheet's top, columns from its left, in cells
    for index, (side, count, over) in enumerate(steps):
        axis = 2 if side in ("left", "right") else 1
        before = pile.shape
        start = dict(origin)
        pile, shifted = _fold_once(pile, side, count, over)
        origin[axis] -= shifted
        crease = origin[axis] if side in ("left", "top") else origin[axis] + pile.shape[axis]
        across = 3 - axis
        lines.append((axis == 2, crease // N, start[across] // N, (start[across] + before[across]) // N))
        now = _places(pile, cells)
        for nth, (one, other, _, _) in enumerate(bounds):
            # neighbours on the flat sheet that lie one over the other have a crease between them
            if nth not in creased and np.array_equal(now[one], now[other]):
                creased[nth] = index
    if pile.shape[1:] != (N, N):
        raise NoFold("not one pile")
    if head is not None and head not in _EDGE_CELL:
        raise NoFold("head cannot be")
    if not steps:
        raise NoFold("no spine")
    places = _places(pile, cells)
    edge_of = {fold_: _edge_at(places[bounds[nth][0]]) for nth, fold_ in creased.items()}
    spine_fold, head_edge = _spine_and_head(edge_of, len(steps), head)
    return _read(pile, columns, rows, bounds, creased, spine_fold, edge_of[spine_fold], head_edge, spine_left, lines)


def _spine_and_head(edge_of: dict[int, str], folds: int, head: str | None) -> tuple[int, str]:
    """Which fold made the spine, and at which edge of the pile the head lies.  The rule of the scheme, nothing else."""
    level, upright = ("top", "bottom"), ("left", "right")
    if head is None:
        spines = upright if edge_of[folds - 1] in upright else level
    else:
        spines = upright if head in level else level
    closing = [fold_ for fold_ in range(folds) if edge_of[fold_] in spines]
    if not closing:
        raise NoFold("no spine")
    if head is not None:
        return closing[-1], head
    heads = [fold_ for fold_ in range(folds) if edge_of[fold_] not in spines]
    if heads:
        return closing[-1], edge_of[heads[-1]]
    if spines == level:
        raise NoFold("head cannot be")  # nobody says whether left or right
    return closing[-1], "top"


def _read(
    pile: Cells,
    columns: int,
    rows: int,
    bounds: list[tuple[int, int, tuple[int, int], tuple[int, int]]],
    creased: dict[int, int],
    spine_fold: int,
    spine: str,
    head: str,
    spine_left: bool,
    lines: list[tuple[bool, int, int, int]],
) -> Folded:
    """Turn the pile as a reader holds it and take leaf after leaf from the top."""
    marked = np.zeros((N, N), dtype=np.int64)  # a slip of paper on the pile: 1 at the head, 2 at the spine
    marked[_EDGE_CELL[head]], marked[_EDGE_CELL[spine]] = 1, 2
    while marked[_EDGE_CELL["top"]] != 1:
        pile, marked = np.rot90(pile, axes=(1, 2)), np.rot90(marked)
    if marked[_EDGE_CELL["left" if spine_left else "right"]] != 2:
        pile, marked = _turned_over(pile, 2), marked[:, ::-1]
    assert marked[_EDGE_CELL["left" if spine_left else "right"]] == 2, "spine and head do not stand square"
    edges = {"top": "head", "bottom": "foot"} | (
        {"left": "spine", "right": "fore-edge"} if spine_left else {"right": "spine", "left": "fore-edge"}
    )
    at_spine = _EDGE_CELL["left" if spine_left else "right"]
    wide = columns * N
    layers = pile[::-1]  # from the top
    order: dict[tuple[int, int], int] = {}
    seen: list[tuple[tuple[int, int], bool, int, str]] = []
    for nth, layer in enumerate(layers):
        assert np.all(layer > 0) or np.all(layer < 0), "a leaf is torn"

        def home(cell: tuple[int, int], layer: Cells = layer) -> tuple[int, int]:
            return divmod(abs(int(layer[cell])) - 1, wide)  # row and column on the flat sheet, cells

        y, x = home((MID, MID))
        top, side = home(_EDGE_CELL["top"]), home(at_spine)
        panel = (x // N, y // N)
        order[panel] = nth
        spine_turns = _TURNS[side[0] % N, side[1] % N]
        seen.append((panel, bool(layer[MID, MID] > 0), _TURNS[top[0] % N, top[1] % N], list(_EDGE_CELL)[spine_turns]))
    where = _places(pile, columns * rows * N * N)
    joined: list[dict[str, tuple[int, int]]] = [{} for _ in layers]
    for nth, fold_ in creased.items():
        one, other, a, b = bounds[nth]
        assert np.array_equal(where[one], where[other]), "a crease came apart"
        edge = edges[_edge_at(where[one])]
        joined[order[a]][edge], joined[order[b]][edge] = (order[b], fold_), (order[a], fold_)
    leaves = tuple(BruteLeaf(*one, joined=joined[nth]) for nth, one in enumerate(seen))
    return Folded(columns, rows, leaves, spine_fold, tuple(lines))
