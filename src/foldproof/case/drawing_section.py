# SPDX-License-Identifier: AGPL-3.0-or-later
"""A section through the closed book at its head: boards, strip and cloth round the block, spine at the left.

*Own* frame, mm: the back of the block at ``x`` 0, its lower side at ``y`` 0; :meth:`Section.draw` sets it on the page.
"""

from __future__ import annotations

from math import cos, isclose, radians, sin, tan

from foldproof.case.drawing_sheet import CLOTH, SECTION, Board
from foldproof.case.model import CaseSizes
from foldproof.pdf.case_drawing import BLACK, Path, Point, Way
from foldproof.pdf.sheets_drawing import Process
from foldproof.units import format_mm

#: paper of the page left of the section, and right of it for the upright figures; below it for the level ones
_LEFT_MM, _RIGHT_MM, _BELOW_MM, _ABOVE_MM = 6.0, 14.0, 20.0, 10.0
#: as thick a strip of card is drawn where the house states none
_CARD_MM = 0.6
_BOARD_TINT = Process(black=0.25)
_BLUE = Process(cyan=0.9, magenta=0.6, black=0.1)


class Section:
    """The section of one case."""

    def __init__(self, case: CaseSizes) -> None:
        self.case = case
        self.thick = case.block_mm[2]
        self.board = case.board_thickness_mm
        self.cloth = case.cloth_thickness_mm
        self.strip = case.strip_thickness_mm or _CARD_MM
        self.arc = None if case.rounding == "flat" else Arc(case.chord_mm, case.arc_mm, self.thick / 2)
        behind = self.strip + (0.0 if self.arc is None else self.arc.rise)
        #: how far it reaches left of the back of the block, right of it, and to either side of the block
        self.reach = behind + self.cloth, case.block_mm[0] + case.square_mm + self.cloth
        self.beyond = max(self.board, (case.strip_mm[0] - self.thick) / 2 if self.arc is None else 0.0) + self.cloth

    @property
    def size_mm(self) -> Point:
        """What it takes on the page, figures and words included."""
        wide = _LEFT_MM + sum(self.reach) + _RIGHT_MM
        return wide, _BELOW_MM + 2 * self.beyond + self.thick + _ABOVE_MM

    def draw(self, board: Board, left: float, foot: float) -> None:
        """Onto the page: the lower left corner of :attr:`size_mm` at a place."""
        case = self.case
        self.dx, self.dy = left + _LEFT_MM + self.reach[0], foot + _BELOW_MM + self.beyond
        self._path(board, self._block(), fill=None)
        for y in (-self.board, self.thick):
            x0, x1 = case.forward_mm, case.forward_mm + case.board_mm[0]
            corners = ((x1, y), (x1, y + self.board), (x0, y + self.board))
            self._path(board, ((x0, y), corners), fill=_BOARD_TINT)
        self._path(board, self._strip(), fill=_BOARD_TINT)
        start, ways = self._cloth()
        board.add(
            CLOTH, Path(self._at(start), tuple(self._way(way) for way in ways), _BLUE, width_mm=max(self.cloth, 0.1))
        )
        self._figures(board)

    def _figures(self, board: Board) -> None:
        case = self.case
        outside = self.dy - self.board - self.cloth
        xs = [self.dx, self.dx + case.forward_mm]
        board.chain_level(xs, outside - 6, outside, ("forward",))
        xs = [self.dx + case.block_mm[0], self.dx + case.block_mm[0] + case.square_mm]
        board.chain_level(xs, outside - 6, outside, ("square",))
        right = self.dx + self.reach[1]
        board.chain_upright([self.dy, self.dy + self.thick], right + 8, right)
        spine = "" if self.arc is None else f"; arc {format_mm(case.arc_mm, 2)}, chord {format_mm(case.chord_mm, 2)}"
        says = f"Section at the head, closed, at full size{spine}"
        board.words((self.dx - self.reach[0], self.dy + self.thick + self.beyond + 4), says, 9)

    # --- shapes, own frame ------------------------------------------------------------------------------------------

    def _block(self) -> tuple[Point, tuple[Way, ...]]:
        wide, thick = self.case.block_mm[0], self.thick
        if self.arc is None:
            return (0.0, 0.0), ((wide, 0.0), (wide, thick), (0.0, thick))
        shoulder = self.arc.shoulder(thick)
        corner = min(shoulder, self.case.forward_mm)
        # the fore-edge hollows as far as the back stands out: leaves of one width lie on each other
        hollow = Arc(thick, thick * self.case.arc_mm / self.case.chord_mm, thick / 2)
        return (corner, 0.0), (
            (wide, 0.0), *hollow.ways(wide), (corner, thick), (0.0, thick + shoulder), *self.arc.ways(0.0, down=True),
        )  # fmt: skip

    def _strip(self) -> tuple[Point, tuple[Way, ...]]:
        half = self.thick / 2
        if self.arc is None:
            low, high = half - self.case.strip_mm[0] / 2, half + self.case.strip_mm[0] / 2
            return (0.0, low), ((0.0, high), (-self.strip, high), (-self.strip, low))
        outer = self.arc.grown(self.strip)
        return self.arc.end(0.0, -1), (*self.arc.ways(0.0), outer.end(0.0, 1), *outer.ways(0.0, down=True))

    def _cloth(self) -> tuple[Point, tuple[Way, ...]]:
        """Its middle, from the end of the upper turn-in round upper board, spine and lower board to the lower one's."""
        case, half = self.case, self.cloth / 2
        x0, x1 = case.forward_mm, case.forward_mm + case.board_mm[0] + half
        inside = max(x0, x1 - (case.turn_in_mm - self.board))
        upper: list[Way] = [
            (x1, self.thick - half), (x1, self.thick + self.board + half), (x0, self.thick + self.board + half)
        ]  # fmt: skip
        lower: list[Way] = [(x1, -self.board - half), (x1, half), (inside, half)]
        if self.arc is None:
            edge, strip = -self.strip - half, case.strip_mm[0] / 2 + half
            spine: list[Way] = [(edge, self.thick / 2 - strip)]
            start, end = (edge, self.thick / 2 + strip), (edge, self.thick / 2 - strip)
        else:
            outer = self.arc.grown(self.strip + half)
            spine = list(outer.ways(0.0, down=True))
            start, end = outer.end(0.0, 1), outer.end(0.0, -1)
        board_up, board_down = (x0, self.thick + self.board + half), (x0, -self.board - half)
        return (inside, self.thick - half), (
            *upper, self._groove(board_up, start, self.thick + half), *spine,
            self._groove(end, board_down, -half), *lower,
        )  # fmt: skip

    def _groove(self, start: Point, end: Point, bottom: float) -> Way:
        """Down to the block and up again, from one edge to the other."""
        third = (end[0] - start[0]) / 3
        return (start[0] + third, bottom), (end[0] - third, bottom), end

    # --- onto the page ----------------------------------------------------------------------------------------------

    def _path(self, board: Board, shape: tuple[Point, tuple[Way, ...]], fill: Process | None) -> None:
        start, ways = shape
        path = Path(self._at(start), tuple(self._way(way) for way in ways), BLACK, fill, True, 0.15)
        board.add(SECTION, path)

    def _at(self, point: Point) -> Point:
        return point[0] + self.dx, point[1] + self.dy

    def _way(self, way: Way) -> Way:
        match way:
            case ((_, _) as first, (_, _) as second, (_, _) as end):
                return self._at(first), self._at(second), self._at(end)
            case (float() | int() as x, float() | int() as y):
                return self._at((x, y))
        raise AssertionError(way)


class Arc:
    """An arc that bulges to the left over an upright chord, ``middle`` its height at mid-chord; own frame."""

    def __init__(self, chord_mm: float, arc_mm: float, middle: float) -> None:
        self.middle = middle
        self.half = half_angle(arc_mm / chord_mm)
        self.radius = chord_mm / 2 / sin(self.half)
        self.gap = 0.0  #: how far it lies outside the arc over the chord

    def grown(self, by: float) -> Arc:
        """The arc about the same centre that lies ``by`` farther out."""
        other = Arc.__new__(Arc)
        other.middle, other.half, other.radius, other.gap = self.middle, self.half, self.radius + by, self.gap + by
        return other

    @property
    def rise(self) -> float:
        """How far it stands out to the left of its chord."""
        return self.radius * (1 - cos(self.half))

    def shoulder(self, thick: float) -> float:
        """How far its ends stand out beyond a block of a thickness."""
        return max(0.0, self.radius * sin(self.half) - thick / 2)

    def _centre(self, x: float) -> float:
        """Across, of the centre, when the innermost arc's chord stands at ``x``."""
        return x + (self.radius - self.gap) * cos(self.half)

    def end(self, x: float, way: int) -> Point:
        """The upper (1) or lower (-1) end."""
        return self._centre(x) - self.radius * cos(self.half), self.middle + way * self.radius * sin(self.half)

    def ways(self, x: float, down: bool = False) -> tuple[Way, ...]:
        """Curves from the lower end to the upper, or ``down``; arcs of 30 degrees at most, each a cubic whose handles
        are ``4/3 tan(angle / 4)`` radii long (they leave the circle by less than a millionth of its radius)."""
        count = max(1, round(2 * self.half / radians(30) + 0.5))
        step = 2 * self.half / count * (-1 if down else 1)
        handle = 4 / 3 * tan(step / 4) * self.radius
        centre, found = self._centre(x), []
        angle = self.half if down else -self.half
        for _ in range(count):
            # a point at an angle above the level: to the left of the centre, and its tangent
            after = angle + step
            p0 = centre - self.radius * cos(angle), self.middle + self.radius * sin(angle)
            p3 = centre - self.radius * cos(after), self.middle + self.radius * sin(after)
            found.append(
                (
                    (p0[0] + handle * sin(angle), p0[1] + handle * cos(angle)),
                    (p3[0] - handle * sin(after), p3[1] - handle * cos(after)),
                    p3,
                )
            )
            angle = after
        return tuple(found)


def half_angle(ratio: float) -> float:
    """Half the angle, radians, of an arc so many times as long as its chord: ``half / sin(half) = ratio``."""
    if ratio <= 1 or isclose(ratio, 1):
        return 1e-3
    low, high = 0.0, radians(179)
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if middle / sin(middle) < ratio else (low, middle)
    return (low + high) / 2
