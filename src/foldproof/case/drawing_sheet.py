# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a full-size drawing is drawn with: layers, outlines, dimension lines with their figures, words that fit.

Page frame, mm, y up.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from foldproof.geometry import Rect
from foldproof.pdf.case_drawing import BLACK, Drawing, Layer, Lettering, Path, Point
from foldproof.pdf.sheets_drawing import Process
from foldproof.pdf.sheets_font import CAP_HEIGHT, mark_font
from foldproof.units import mm_to_pt, pt_to_mm

CLOTH, BOARD, FOLD, CUT = "Cloth", "Board", "Fold and joint", "Cut"
SECTION, DIMENSIONS, TEXT = "Section", "Dimensions", "Text"
#: the undermost first
LAYERS = (CLOTH, BOARD, FOLD, CUT, SECTION, DIMENSIONS, TEXT)

_INKS = {
    CLOTH: Process(cyan=0.9, magenta=0.6, black=0.1),
    FOLD: Process(cyan=0.8, yellow=0.8, black=0.3),
    CUT: Process(magenta=1.0, yellow=0.9),
    DIMENSIONS: Process(black=0.7),
}
_TINT = Process(black=0.06)
#: size of the figures of dimension lines, and their distance from the line
_FIGURE_PT, _OFF_MM = 8.0, 0.8
_TICK_MM = 1.2
#: an extension line starts so far from what it measures and ends so far beyond the dimension line
_APART_MM, _BEYOND_MM = 1.5, 1.5


class Board:
    """A drawing on the way."""

    def __init__(self) -> None:
        self._items: dict[str, list[Path | Lettering]] = {name: [] for name in LAYERS}

    def drawing(self, title: str, page_mm: Point) -> Drawing:
        layers = tuple(Layer(name, tuple(items)) for name, items in self._items.items())
        return Drawing(mark_font().spelled(title), page_mm, layers)

    def add(self, layer: str, path: Path) -> None:
        self._items[layer].append(path)

    def line(
        self, layer: str, start: Point, end: Point, width_mm: float = 0.15, dash_mm: tuple[float, ...] = ()
    ) -> None:
        self.add(layer, Path(start, (end,), _INKS.get(layer, BLACK), width_mm=width_mm, dash_mm=dash_mm))

    def box(self, layer: str, rect: Rect, tinted: bool = False) -> None:
        corners = ((rect.x1, rect.y0), (rect.x1, rect.y1), (rect.x0, rect.y1))
        ink = _INKS.get(layer, BLACK)
        self.add(layer, Path((rect.x0, rect.y0), corners, ink, _TINT if tinted else None, True, 0.2))

    # --- words ------------------------------------------------------------------------------------------------------

    def width_mm(self, says: str, size_pt: float) -> float:
        return pt_to_mm(mark_font().width_pt(mark_font().spelled(says), size_pt))

    def words(self, at: Point, says: str, size_pt: float, turns: int = 0, layer: str = TEXT) -> None:
        spelled = mark_font().spelled(says)
        if spelled:
            self._items[layer].append(Lettering(at, spelled, size_pt, turns))

    def words_in(self, rect: Rect, says: str, size_pt: float, turns: int = 0, at: str = "middle") -> None:
        """Words in the middle of a box (``at="left"``: at its left side), cut short where they do not fit, left out
        where the box is too low for them."""
        along, across = (rect.width, rect.height) if turns == 0 else (rect.height, rect.width)
        if across < pt_to_mm(size_pt) * 1.05:
            return
        spelled = mark_font().shortened(mark_font().spelled(says), size_pt, mm_to_pt(along - 1))
        wide, cap = self.width_mm(spelled, size_pt), pt_to_mm(size_pt) * CAP_HEIGHT
        x, y = rect.centre
        if turns == 0:
            self.words((x - wide / 2, y - cap / 2), spelled, size_pt)
        else:
            baseline = rect.x0 + cap + 1 if at == "left" else x + cap / 2
            self.words((baseline, y - wide / 2), spelled, size_pt, 1)

    # --- dimensions -------------------------------------------------------------------------------------------------

    def measure(self, start: Point, end: Point) -> None:
        """The bare line of a dimension, as long as what it measures; no other line of its layer is so wide."""
        self.line(DIMENSIONS, start, end, 0.15)

    def leader(self, start: Point, end: Point) -> None:
        """From a dimension to its words."""
        self.line(DIMENSIONS, start, end, 0.1)

    def arrow(self, start: Point, end: Point) -> None:
        """An upright arrow with two heads: the grain."""
        tip = 2.2
        self.line(TEXT, start, end, 0.3)
        for (x, y), way in ((start, 1), (end, -1)):
            corners = ((x - tip / 3, y + way * tip), (x + tip / 3, y + way * tip))
            self.add(TEXT, Path((x, y), corners, None, BLACK, True))

    def chain_level(self, xs: Sequence[float], y: float, edge: float, names: Sequence[str] = ()) -> None:
        """Level dimension lines side by side, figures above and names below, and lines up or down to ``edge``."""
        figures: list[tuple[float, float, float]] = []
        named: list[float] = []
        for count, (x0, x1) in enumerate(pairwise(xs)):
            if x1 - x0 < 1e-6:
                continue
            self.measure((x0, y), (x1, y))
            self._figure((x0, x1), y, figure(x1 - x0), figures)
            if names:
                self._name((x0, x1), y, names[count], named)
        for x in xs:
            self._tick((x, y))
            way = 1 if edge > y else -1
            self.line(DIMENSIONS, (x, y - way * _BEYOND_MM), (x, edge - way * _APART_MM), 0.05)

    def chain_upright(self, ys: Sequence[float], x: float, edge: float) -> None:
        """Upright dimension lines, figures at their left, and lines right or left to ``edge``."""
        for y0, y1 in pairwise(ys):
            if y1 - y0 < 1e-6:
                continue
            self.measure((x, y0), (x, y1))
            says, middle = figure(y1 - y0), (y0 + y1) / 2
            wide = self.width_mm(says, _FIGURE_PT)
            if wide <= y1 - y0 - 1:
                self.words((x - _OFF_MM, middle - wide / 2), says, _FIGURE_PT, 1, DIMENSIONS)
            else:
                cap = pt_to_mm(_FIGURE_PT) * CAP_HEIGHT
                self.words((x - _OFF_MM - wide, middle - cap / 2), says, _FIGURE_PT, layer=DIMENSIONS)
        for y in ys:
            self._tick((x, y))
            way = 1 if edge > x else -1
            self.line(DIMENSIONS, (x - way * _BEYOND_MM, y), (edge - way * _APART_MM, y), 0.05)

    def _figure(self, span: Point, y: float, says: str, turned: list[tuple[float, float, float]]) -> None:
        """Above its line: level where it fits between the ends, else turned; ``turned``: middle, lower and upper end of
        those that were, above which the next goes where there is no room beside them."""
        middle, wide = sum(span) / 2, self.width_mm(says, _FIGURE_PT)
        cap = pt_to_mm(_FIGURE_PT) * CAP_HEIGHT
        if wide <= span[1] - span[0] - 1:
            self.words((middle - wide / 2, y + _OFF_MM), says, _FIGURE_PT, layer=DIMENSIONS)
            return
        start = y + _OFF_MM
        for x, low, high in sorted(turned, key=lambda one: one[1]):
            if abs(x - middle) < cap + 0.6 and start < high + 1.2 and low < start + wide + 1.2:
                start = high + 1.2
        turned.append((middle, start, start + wide))
        self.words((middle + cap / 2, start), says, _FIGURE_PT, 1, DIMENSIONS)

    def _name(self, span: Point, y: float, says: str, turned: list[float]) -> None:
        """Below its line, likewise; left out where a turned one has no room beside another."""
        middle, wide = sum(span) / 2, self.width_mm(says, _FIGURE_PT)
        cap = pt_to_mm(_FIGURE_PT) * CAP_HEIGHT
        if wide <= span[1] - span[0] - 1:
            self.words((middle - wide / 2, y - _OFF_MM - cap), says, _FIGURE_PT, layer=DIMENSIONS)
        elif all(abs(x - middle) >= cap + 0.6 for x in turned):
            turned.append(middle)
            self.words((middle + cap / 2, y - _OFF_MM - wide), says, _FIGURE_PT, 1, DIMENSIONS)

    def _tick(self, at: Point) -> None:
        x, y = at
        self.line(DIMENSIONS, (x - _TICK_MM / 2, y - _TICK_MM / 2), (x + _TICK_MM / 2, y + _TICK_MM / 2), 0.2)


def figure(length_mm: float) -> str:
    """As it stands at a dimension line: ``"146.5"``."""
    return f"{length_mm:.2f}".rstrip("0").rstrip(".")


def wrapped(says: str, size_pt: float, room_mm: float, most: int = 0) -> list[str]:
    """Words in lines that fit a room; a word longer than it is cut short, and so is the last of ``most`` lines."""
    font = mark_font()
    room = mm_to_pt(room_mm)
    lines: list[str] = []
    for word in font.spelled(says).split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and (font.width_pt(longer, size_pt) <= room or len(lines) == most):
            lines[-1] = longer
        else:
            lines.append(word)
    return [font.shortened(line, size_pt, room) for line in lines]
