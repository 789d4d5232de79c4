# SPDX-License-Identifier: AGPL-3.0-or-later
"""How boards, spine strips and cloth for so many cases are cut from what the house has.  Pure; mm.

Boards and strips are of one height and their grain runs along it, so that none is turned.  Pieces of one height lie in
rows without loss: a line across the rows meets at most so many of them as go into the sheet, and pieces along a line
that never overlap more than so many times can be shared out over so many rows (colouring of intervals).  What is left
is how each row is shared between boards and strips, which :func:`fewest_sheets` settles exactly.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import ceil, floor, inf

from attrs import frozen

from foldproof.case.cutting import Layout, Tree, laid_out, parted, thousandths
from foldproof.case.model import CaseSizes
from foldproof.job.finishing import HouseBoard, HouseCloth
from foldproof.job.model import House
from foldproof.units import format_mm, format_size_mm

BOARD, STRIP, CLOTH = "board", "strip", "cloth"


@frozen
class Run:
    """So many sheets cut alike."""

    layout: Layout
    sheets: int


@frozen
class BoardCutting:
    """What is cut from the sheets of one board."""

    board: str  #: name in the house
    runs: tuple[Run, ...]
    boards: int  #: cut in all; no fewer than are wanted
    strips: int
    wanted: tuple[int, int]  #: boards, strips
    #: share of the sheets that becomes neither a board nor a strip that is wanted, 0 to 1
    waste: float
    price: float | None  #: of all sheets; ``None`` where the house states none

    @property
    def sheets(self) -> int:
        return sum(run.sheets for run in self.runs)


@frozen
class ClothCutting:
    """Cloth from a roll: lengths cut across it, each slit into pieces."""

    cloth: str  #: name in the house
    layout: Layout  #: one length: across is the width of the roll, up runs along it
    across: int  #: pieces side by side
    lengths: int
    metres: float
    wanted: int
    waste: float  #: share of what is taken off the roll that becomes no piece that is wanted
    #: metres that it would take with the pieces a quarter turned, the warp across the spine then; ``None``: they do not
    #: go on the roll so
    turned_metres: float | None
    price: float | None


@frozen
class CaseCutting:
    """Everything that is cut for so many cases."""

    cases: int
    boards: BoardCutting | None
    #: strips of another board than the case's, where a rounded spine wants one that bends
    strips: BoardCutting | None
    cloth: ClothCutting | None
    unknown: tuple[str, ...]  #: what could not be laid out and why, a sentence each


def case_cutting(case: CaseSizes, house: House, cases: int) -> CaseCutting:
    """How boards, strips and cloth for ``cases`` cases are cut, from the fewest sheets and the least of the roll."""
    board = next(one for one in house.boards if one.name == case.board)
    together = case.strip_board == case.board
    unknown: list[str] = []
    boards = _from_board(case, board, cases, (True, together), unknown)
    strips = None
    if not together:
        own = next((one for one in house.boards if one.name == case.strip_board), None)
        if own is None:
            unknown.append(
                f"Strips of {format_size_mm(*case.strip_mm)} are cut from card that bends, grain along the spine; the "
                "house states no such board, so no sheets are reckoned for them."
            )
        else:
            strips = _from_board(case, own, cases, (False, True), unknown)
    cloth = _from_roll(case, next(one for one in house.cloths if one.name == case.cloth), cases, unknown)
    return CaseCutting(cases, boards, strips, cloth, tuple(unknown))


# --- boards and strips ----------------------------------------------------------------------------------------------


def _from_board(
    case: CaseSizes, board: HouseBoard, cases: int, cut: tuple[bool, bool], unknown: list[str]
) -> BoardCutting | None:
    sheet = _grain_up(board)
    wide, high = thousandths(sheet[0]), thousandths(sheet[1])
    sizes = tuple(thousandths(size[0]) for size in (case.board_mm, case.strip_mm))
    tall = thousandths(case.board_mm[1])
    rows = high // tall
    for name, size, asked in ((BOARD, case.board_mm, cut[0]), (STRIP, case.strip_mm, cut[1])):
        if asked and (not rows or thousandths(size[0]) > wide):
            unknown.append(
                f"A {name} of {format_size_mm(*size)} with its grain along the spine does not come out of {board.name},"
                f" {format_size_mm(*sheet)} with the grain along the {format_mm(sheet[1])}; name another board."
            )
            return None
    wanted = 2 * cases * cut[0], cases * cut[1]
    kinds = fewest_sheets(wide, sizes[0], sizes[1], rows, wanted)
    runs = tuple(Run(_rows_layout(kind, (wide, high), sizes, tall, board.name), sheets) for kind, sheets in kinds)
    total = sum(run.sheets for run in runs)
    used = wanted[0] * case.board_mm[0] * case.board_mm[1] + wanted[1] * case.strip_mm[0] * case.strip_mm[1]
    return BoardCutting(
        board=board.name,
        runs=runs,
        boards=sum(run.sheets * run.layout.count(BOARD) for run in runs),
        strips=sum(run.sheets * run.layout.count(STRIP) for run in runs),
        wanted=wanted,
        waste=1 - used / (total * sheet[0] * sheet[1]) if total else 0.0,
        price=None if board.price_per_sheet is None else total * board.price_per_sheet,
    )


def _grain_up(board: HouseBoard) -> tuple[float, float]:
    """The sheet as it is drawn: its grain runs up, and so do boards and strips."""
    short, long = sorted(board.sheet)
    return (short, long) if board.grain == "long" else (long, short)


#: boards and strips of one row
Row = tuple[int, int]
#: the rows of one sheet, and so many sheets of it
Kind = tuple[tuple[Row, ...], int]


def _rows_layout(rows: tuple[Row, ...], sheet: tuple[int, int], sizes: tuple[int, ...], tall: int, name: str) -> Layout:
    def row(boards: int, strips: int) -> Tree:
        pieces = [Tree(sizes[0], tall, BOARD)] * boards + [Tree(sizes[1], tall, STRIP)] * strips
        return parted(sheet[0], tall, True, pieces)

    return laid_out(parted(*sheet, False, [row(*one) for one in rows if any(one)]), name, "up")


def fewest_sheets(wide: int, board: int, strip: int, rows: int, wanted: Row) -> tuple[Kind, ...]:
    """The fewest sheets that give so many boards and strips, and how their rows are shared; exact.

    Of the plans with so few sheets the plainest is taken: all rows alike, then all sheets alike, then two kinds of
    sheet, then what it takes.  Strips that nobody wants are left uncut.

    Args:
        wide: length of a row; ``board``, ``strip``: widths that lie in it, whole units.
        rows: of one sheet.
        wanted: boards, strips.
    """
    most = wide // board if wanted[0] else 0
    #: strips that go into a row beside so many boards
    beside = [(wide - boards * board) // strip if wanted[1] else 0 for boards in range(most + 1)]
    if not any(wanted):
        return ()
    shares = _Shares(beside)
    least, enough = 0, 1
    while not shares.enough(enough * rows, wanted):
        least, enough = enough, enough * 2
    while enough - least > 1:
        middle = (least + enough) // 2
        least, enough = (least, middle) if shares.enough(middle * rows, wanted) else (middle, enough)
    plain = next(_plain(beside, rows, enough, wanted), None)
    return _spared(plain or _sheets_of(shares.rows(enough * rows, wanted), beside, rows), wanted[1])


def _plain(beside: list[int], rows: int, sheets: int, wanted: Row) -> Iterator[tuple[Kind, ...]]:
    """Plans of so many sheets with few kinds of rows, the plainest first."""
    both = list(enumerate(beside))

    def goes(kinds: tuple[Kind, ...]) -> bool:
        made = [sum(many * sum(row[which] for row in kind) for kind, many in kinds) for which in (0, 1)]
        return made[0] >= wanted[0] and made[1] >= wanted[1]

    for row in reversed(both):
        if goes(alike := (((row,) * rows, sheets),)):
            yield alike
    for fewer, more in combinations(both, 2):
        for many in range(1, rows):
            if goes(alike := (((more,) * many + (fewer,) * (rows - many), sheets),)):
                yield alike
    for fewer, more in combinations(both, 2):
        # so many sheets of the one as the strips allow give the most boards
        room = (sheets * rows * fewer[1] - wanted[1]) // (rows * (fewer[1] - more[1])) if fewer[1] > more[1] else sheets
        many = min(sheets - 1, room)
        if many > 0 and goes(two := (((more,) * rows, many), ((fewer,) * rows, sheets - many))):
            yield two


def _sheets_of(counts: dict[int, int], beside: list[int], rows: int) -> tuple[Kind, ...]:
    """Rows laid on sheets, those alike together."""
    every = [(boards, beside[boards]) for boards in sorted(counts, reverse=True) for _ in range(counts[boards])]
    sheets = [tuple(every[at : at + rows]) for at in range(0, len(every), rows)]
    kinds: dict[tuple[Row, ...], int] = {}
    for sheet in sheets:
        kinds[sheet] = kinds.get(sheet, 0) + 1
    return tuple(kinds.items())


def _spared(kinds: tuple[Kind, ...], wanted: int) -> tuple[Kind, ...]:
    """The same sheets without strips that are too many, rows that are alike alike."""
    made = sum(many * sum(strips for _, strips in rows) for rows, many in kinds)
    spared: list[Kind] = []
    for rows, many in kinds:
        now = list(rows)
        for row in dict.fromkeys(rows):
            alike = now.count(row) * many
            less = min(row[1], (made - wanted) // alike)
            made -= less * alike
            now = [(one[0], one[1] - less) if one == row else one for one in now]
        spared.append((tuple(now), many))
    return tuple(spared)


class _Shares:
    """How rows are best shared between boards and strips.

    The most strips of ``n`` rows with ``b`` boards is found by halving the rows.  Rows can be put in such an order that
    the boards of the first so many never lie further from their even share than one row holds (each next row is chosen
    to bring the sum back: Steinitz in one dimension), so only splits that near to it are tried.
    """

    def __init__(self, beside: list[int]) -> None:
        self.beside = beside
        self._known: dict[Row, float] = {}

    def enough(self, rows: int, wanted: Row) -> bool:
        return self._strips(rows, wanted[0]) >= wanted[1]

    def _strips(self, rows: int, boards: int) -> float:
        """The most strips of so many rows with exactly so many boards; minus infinity where they hold not so many."""
        most = len(self.beside) - 1
        if boards > rows * most:
            return -inf
        if rows == 1:
            return self.beside[boards]
        known = self._known.get((rows, boards))
        if known is None:
            known = self._known[rows, boards] = max(
                self._strips(rows // 2, first) + self._strips(rows - rows // 2, boards - first)
                for first in self._splits(rows, boards)
            )
        return known

    def _splits(self, rows: int, boards: int) -> range:
        most = len(self.beside) - 1
        even = boards * (rows // 2) / rows
        return range(max(0, floor(even) - most), min(boards, ceil(even) + most) + 1)

    def rows(self, rows: int, wanted: Row) -> dict[int, int]:
        """So many rows of each number of boards, of a best sharing with so many boards."""
        counts: dict[int, int] = {}
        todo = [(rows, wanted[0])]
        while todo:
            many, boards = todo.pop()
            if many == 1:
                counts[boards] = counts.get(boards, 0) + 1
                continue
            best = self._strips(many, boards)
            half = many // 2
            first = next(
                one
                for one in self._splits(many, boards)
                if self._strips(half, one) + self._strips(many - half, boards - one) == best
            )
            todo += [(half, first), (many - half, boards - first)]
        return counts


# --- cloth ----------------------------------------------------------------------------------------------------------


def _from_roll(case: CaseSizes, cloth: HouseCloth, cases: int, unknown: list[str]) -> ClothCutting | None:
    """Pieces of one size that are not turned: no line across the roll meets more of them than go beside one another,
    so that lengths cut straight across waste nothing."""
    wide, high = case.cloth_mm
    across = thousandths(cloth.roll_width) // thousandths(wide)
    turned = thousandths(cloth.roll_width) // thousandths(high)
    turned_metres = ceil(cases / turned) * wide / 1000 if turned else None
    if not across:
        turned_words = (
            ""
            if turned_metres is None
            else f"; a quarter turned, the warp across the spine, it would take {turned_metres:,.1f} m"
        )
        unknown.append(
            f"A cloth of {format_size_mm(wide, high)} with its warp along the spine does not come out of {cloth.name}, "
            f"{format_mm(cloth.roll_width)} wide{turned_words}."
        )
        return None
    roll, tall = thousandths(cloth.roll_width), thousandths(high)
    length = parted(roll, tall, True, [Tree(thousandths(wide), tall, CLOTH)] * across)
    lengths = ceil(cases / across)
    metres = lengths * high / 1000
    return ClothCutting(
        cloth=cloth.name,
        layout=laid_out(length, cloth.name, "up"),
        across=across,
        lengths=lengths,
        metres=metres,
        wanted=cases,
        waste=1 - cases * wide * high / (metres * 1000 * cloth.roll_width) if cases else 0.0,
        turned_metres=turned_metres,
        price=None if cloth.price_per_metre is None else metres * cloth.price_per_metre,
    )
