# SPDX-License-Identifier: AGPL-3.0-or-later
"""Schemes with the size of their panels, turned as they lie on a sheet; and the blocks made of them.  Pure; mm.

Frames: *scheme*: a piece before it is turned, lower left at the origin, y up; *block*: lower left of the block, y up,
seen from the side that lies up when the piece is folded.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import accumulate, pairwise

from attrs import field, frozen

from foldproof.geometry import Matrix, Rect
from foldproof.makeup.binding import Panel
from foldproof.makeup.folding import FoldError, Leaf, Scheme, fold, read
from foldproof.makeup.tucks import insets_mm

HIGH_FOLIO, LOW_FOLIO = "high folio", "low folio"
_SLACK_MM = 1e-6


@frozen
class Lip:
    """What one half of a section stands out by at the fore-edge, for the feeder to open it there."""

    half: str  #: ``"high folio"``: the half with the higher pages; ``"low folio"``
    size_mm: float


@frozen
class Shape:
    """A scheme with its panel, turned as it lies on the sheet."""

    scheme: Scheme
    reading: str
    panel: Panel
    turned: int  #: quarter turns counter-clockwise
    lip: Lip | None = None
    column_mm: tuple[float, ...] = field(init=False, eq=False)  #: scheme frame, from the left
    row_mm: tuple[float, ...] = field(init=False, eq=False)  #: scheme frame, from the top
    size_mm: tuple[float, float] = field(init=False, eq=False)  #: width and height as it lies on the sheet

    @column_mm.default
    def _columns(self) -> tuple[float, ...]:
        if self.panel.cut_before and self.scheme.narrower_mm:
            widths = tuple(self.panel.width_mm - less for less in self.scheme.narrower_mm)
            insets_mm(self.scheme, widths)  # a strip that folds: no panel is creased between its edges
            return widths
        if fold(self.scheme).spine_upright:
            return _widths(self.scheme, self.reading, self.panel.width_mm, self.scheme.columns, self.lip, "column")
        return (self.panel.height_mm,) * self.scheme.columns

    @row_mm.default
    def _rows(self) -> tuple[float, ...]:
        if fold(self.scheme).spine_upright:
            return (self.panel.height_mm,) * self.scheme.rows
        return _widths(self.scheme, self.reading, self.panel.width_mm, self.scheme.rows, self.lip, "row")

    @size_mm.default
    def _size(self) -> tuple[float, float]:
        width, height = sum(self.column_mm), sum(self.row_mm)
        return (height, width) if self.turned % 2 else (width, height)

    def to_block(self, x_mm: float, y_mm: float) -> Matrix:
        """Scheme frame to the frame of what it lies on, its lower left corner at ``x_mm``, ``y_mm``."""
        turn = Matrix.quarter_turns(self.turned)
        box = turn.rect(Rect(0.0, 0.0, sum(self.column_mm), sum(self.row_mm)))
        return turn.then(Matrix.translation(x_mm - box.x0, y_mm - box.y0))

    def panel_rect(self, leaf: Leaf) -> Rect:
        """Scheme frame."""
        columns, rows = self.column_mm, self.row_mm
        left, top = sum(columns[: leaf.column]), sum(rows) - sum(rows[: leaf.row])
        return Rect(left, top - rows[leaf.row], left + columns[leaf.column], top)

    def inset_mm(self, leaf: Leaf) -> float:
        """How far its paper begins from the spine: a narrower panel of a leaflet hangs by its other edge."""
        if not (self.panel.cut_before and self.scheme.narrower_mm):
            return 0.0
        return insets_mm(self.scheme, self.column_mm)[leaf.column]

    def leaf_width_mm(self, leaf: Leaf) -> float:
        """From spine edge to fore-edge, a lip counted."""
        return self.column_mm[leaf.column] if fold(self.scheme).spine_upright else self.row_mm[leaf.row]


def _widths(scheme: Scheme, reading: str, width_mm: float, count: int, lip: Lip | None, way: str) -> tuple[float, ...]:
    """Panel sizes square to the spine: the half of the leaves that has the lip is wider by it.

    Raises:
        FoldError: a strip of panels carries leaves of both halves, so that no width of it makes a lip; or the wider
            panels do not lie flush where they are folded again.
    """
    if lip is None:
        return (width_mm,) * count
    leaves = read(scheme, reading)
    wide: dict[int, set[bool]] = {}
    for leaf in leaves:
        low = leaf.order < len(leaves) / 2
        wide.setdefault(getattr(leaf, way), set()).add(low == (lip.half == LOW_FOLIO))
    if any(len(both) > 1 for both in wide.values()):
        raise FoldError(f"Scheme {scheme.name!r} folds both halves of its leaves out of one strip, so it makes no lip.")
    widths = tuple(width_mm + (lip.size_mm if wide[n] == {True} else 0.0) for n in range(count))
    if not _flush(scheme, widths, way == "column"):
        raise FoldError(
            f"Scheme {scheme.name!r} would crease a panel between its edges, since those with a lip are wider than "
            "those that they are folded into, so it makes no lip."
        )
    return widths


def _flush(scheme: Scheme, widths_mm: tuple[float, ...], upright: bool) -> bool:
    """Whether every fold across a strip of panels falls on edges of all that lie there, and between none."""
    ends = (0.0, *accumulate(widths_mm))
    lies = list(pairwise(ends))
    for line in fold(scheme).lines:
        if line.upright != upright:
            continue
        at = ends[line.at] if 0 <= line.at < len(ends) else line.at * widths_mm[0]
        if any(low < at - _SLACK_MM and high > at + _SLACK_MM for low, high in lies):
            return False
        before = line.words.startswith(("left", "top"))
        lies = [
            (2 * at - high, 2 * at - low) if ((low + high) / 2 < at) == before else (low, high) for low, high in lies
        ]
    return True


@lru_cache(maxsize=1024)
def laid(scheme: Scheme, reading: str, panel: Panel, spine_upright: bool, lip: Lip | None = None) -> Shape:
    """The scheme turned so that its spine runs up the sheet, or across it.

    Of the two ways left, the lowest folio of the front stands next to the gripper edge (handbook imp-gripper-low).
    """
    first = 0 if fold(scheme).spine_upright == spine_upright else 1
    lowest = min(read(scheme, reading), key=lambda leaf: leaf.front_page)
    across = lowest.column + 0.5 - scheme.columns / 2
    up = scheme.rows / 2 - lowest.row - 0.5
    turned = min((first, first + 2), key=lambda turns: (Matrix.quarter_turns(turns).point(across, up)[1], turns))
    return Shape(scheme, reading, panel, turned, lip)


@frozen
class Way:
    """One way to fold so many pages: a scheme, and the scheme of the offcut that is set into its middle, if any."""

    name: str
    main: Scheme
    offcut: Scheme | None = None

    @property
    def pieces(self) -> tuple[Scheme, ...]:
        """The outermost first."""
        return (self.main,) if self.offcut is None else (self.main, self.offcut)

    @property
    def pages(self) -> int:
        return sum(scheme.pages for scheme in self.pieces)

    @property
    def panels(self) -> int:
        return self.pages // 2


@frozen
class Block:
    """What one section, or one of the sections set one in another, takes of a sheet."""

    way: Way
    shapes: tuple[Shape, ...]  #: as ``way.pieces``
    at_mm: tuple[tuple[float, float], ...]  #: lower left of each, block frame
    size_mm: tuple[float, float]

    @property
    def panels(self) -> int:
        return self.way.panels

    def rect(self, nth: int) -> Rect:
        """Block frame."""
        (x, y), (w, h) = self.at_mm[nth], self.shapes[nth].size_mm
        return Rect(x, y, x + w, y + h)


@lru_cache(maxsize=1024)
def block_of(
    way: Way, reading: str, panel: Panel, spine_upright: bool, lip: Lip | None = None, border_mm: float = 0.0
) -> Block:
    """A way to fold as it lies on a sheet.

    An offcut lies beyond the top of the scheme and turns with it.  ``border_mm`` is left free all round: for the bleed
    of what is cut before folding and never after.
    """
    main = laid(way.main, reading, panel, spine_upright, lip)
    if way.offcut is None:
        w, h = main.size_mm
        return Block(way, (main,), ((border_mm, border_mm),), (w + 2 * border_mm, h + 2 * border_mm))
    offcut = Shape(way.offcut, reading, panel, main.turned, lip)
    if fold(way.main).spine_upright != fold(way.offcut).spine_upright:
        raise FoldError(f"Scheme {way.name!r}: the spine of the offcut lies square to the spine of the rest.")
    if abs(sum(offcut.column_mm) - sum(main.column_mm)) > 1e-6:
        raise FoldError(f"Scheme {way.name!r}: the offcut is not as wide as the rest.")
    width, high, top = sum(main.column_mm), sum(main.row_mm), sum(offcut.row_mm)
    turn = Matrix.quarter_turns(main.turned)
    whole = turn.rect(Rect(0.0, 0.0, width, high + top))
    parts = [
        turn.rect(part).moved(-whole.x0 + border_mm, -whole.y0 + border_mm)
        for part in (Rect(0.0, 0.0, width, high), Rect(0.0, high, width, high + top))
    ]
    size = (whole.width + 2 * border_mm, whole.height + 2 * border_mm)
    return Block(way, (main, offcut), tuple((part.x0, part.y0) for part in parts), size)
