# SPDX-License-Identifier: AGPL-3.0-or-later
"""How many alike rectangles lie on a floor in straight rows, some rows turned.  Exact for rows.  Pure; millimetres.

Frame: lower left corner of the floor at the origin, its first side along x.
"""

from __future__ import annotations

from attrs import frozen

from foldproof.geometry import Rect

_SLACK = 1e-6


@frozen
class Rows:
    """Rows of one kind: in a row all pieces lie alike."""

    rows: int
    in_row: int
    turned: bool  #: the piece's first side lies along the floor's second

    @property
    def pieces(self) -> int:
        return self.rows * self.in_row


@frozen
class Layout:
    """Pieces on a floor: rows of the one kind, then of the other."""

    floor_mm: tuple[float, float]
    piece_mm: tuple[float, float]
    along_first: bool  #: rows run along the floor's first side
    kinds: tuple[Rows, ...]  #: one or two, none without pieces; empty where nothing goes on the floor

    @property
    def pieces(self) -> int:
        return sum(kind.pieces for kind in self.kinds)

    @property
    def places(self) -> tuple[Rect, ...]:
        """Where each piece lies, row after row."""
        found, across = [], 0.0
        for kind in self.kinds:
            wide, high = self.piece_mm[::-1] if kind.turned else self.piece_mm
            long, deep = (wide, high) if self.along_first else (high, wide)
            for _ in range(kind.rows):
                for nth in range(kind.in_row):
                    x, y = (nth * long, across) if self.along_first else (across, nth * long)
                    found.append(Rect(x, y, x + wide, y + high))
                across += deep
        return tuple(found)

    @property
    def says(self) -> str:
        """``"2 rows of 3 and 1 row of 4 turned"``"""
        return " and ".join(
            f"{kind.rows} {'row' if kind.rows == 1 else 'rows'} of {kind.in_row}{' turned' if kind.turned else ''}"
            for kind in self.kinds
        )


def best_rows(floor_mm: tuple[float, float], piece_mm: tuple[float, float]) -> Layout:
    """The most pieces that go on a floor in rows.

    Rows run along either side of the floor, and all pieces of a row lie alike, so a layout is a number of rows of each
    kind; every number of rows of the first kind is tried, and the rest filled with rows of the second.  Of equals the
    one with most rows of the first kind, along the first side.
    """
    best = Layout(floor_mm, piece_mm, True, ())
    for along_first in (True, False):
        length, depth = floor_mm if along_first else floor_mm[::-1]
        # of a piece that is not turned and one that is: side along the row, side across it
        straight, turned = (piece_mm, piece_mm[::-1]) if along_first else (piece_mm[::-1], piece_mm)
        in_row = _go(straight[0], length), _go(turned[0], length)
        most = _go(straight[1], depth) if in_row[0] else 0
        for rows in range(most, -1, -1):
            others = _go(turned[1], depth - rows * straight[1]) if in_row[1] else 0
            kinds = (Rows(rows, in_row[0], False), Rows(others, in_row[1], True))
            found = Layout(floor_mm, piece_mm, along_first, tuple(kind for kind in kinds if kind.pieces))
            if found.pieces > best.pieces:
                best = found
    return best


def _go(piece_mm: float, room_mm: float) -> int:
    """How many lie one behind the other."""
    return max(0, int((room_mm + _SLACK) // piece_mm))
