# SPDX-License-Identifier: AGPL-3.0-or-later
"""Fills, strokes, stencils and shadings of a page, those alike counted as one."""

from __future__ import annotations

import math
from typing import Any

from pymupdf import mupdf

from foldproof.manuscript.seen import PaintUse
from foldproof.pdf.native import READ, Four, Six, overprint
from foldproof.pdf.objects_frame import Frame, mm
from foldproof.pdf.objects_lump import lumped
from foldproof.pdf.objects_space import Spaces

_mu: Any = mupdf

#: a filled shape is a rule when it is longer than so many times its thickness, and than so many points: shorter ones
#: are dots, serifs, arrow heads
_RULE_TIMES, _RULE_LEAST_PT = 5.0, 3.0
#: bounds of an outline lie evenly round those of its shape, give or take rounding in the file
_EVEN_PT = 0.01

#: what, address of the space, values, parameters, alpha, group, meets the trim
_Key = tuple[str, int, tuple[float, ...], int, float, int, bool]


class Kind:
    """What is kept of all objects alike."""

    __slots__ = ("count", "first", "order", "thin_box", "thinnest")

    def __init__(self, order: int, first: Four) -> None:
        self.count, self.order, self.first = 0, order, first
        self.thinnest = math.inf
        self.thin_box: Four | None = None


class Paints:
    """Collects the paints of one page."""

    def __init__(self, frame: Frame, spaces: Spaces) -> None:
        self.frame, self.spaces = frame, spaces
        _, _, self.width, self.height = frame.trim
        self.kinds: dict[_Key, Kind] = {}
        #: how the object offered last looks, but for what it is
        self.look: tuple[Any, ...] = ()
        #: the shape or line painted last: number, what, look, kind, thickness as a line, bounds, place on the page
        self.held: tuple[int, str, tuple[Any, ...], Kind, float | None, Four, Four] | None = None

    def offer(
        self, order: int, what: str, box: Four, space: Any, colour: Any, alpha: float, params: Any
    ) -> Kind | None:
        """Count an object whose bounds are ``box``; ``None`` when its clip hides it or it only makes a mask.

        Args:
            order: number of the object on the page.
            colour: address of its values, ``None`` for a shading.
        """
        frame = self.frame
        if frame.masked:
            return None
        x0, y0, x1, y1 = box
        u0, v0, u1, v1 = frame.clip
        if x0 > u1 or x1 < u0 or y0 > v1 or y1 < v0:
            return None
        place, known = self.spaces.of(space)
        values = READ.values(colour, known.components) if colour is not None else ()
        tile = frame.tile
        if tile is not None:
            x0, y0, x1, y1 = box = tile
        in_trim = x1 > 0.0 and y1 > 0.0 and x0 < self.width and y0 < self.height
        key = (what, place, values, READ.params(params), alpha, frame.group, in_trim)
        self.look = key[1:]
        kind = self.kinds.get(key)
        if kind is None:
            kind = self.kinds[key] = Kind(order, box)
            if alpha < 1.0:
                frame.see_through(box)
        kind.count += 1
        return kind

    def drawn(self, order: int, what: str, kind: Kind, thin: float | None, box: Four) -> None:
        """Note how thick a stroke or a filled rule is; ``None`` for a fill that is no rule.

        Programs fill a shape and stroke its outline in the same colour, before or after, to round its corners: the
        stroke is no line then, and a rule so drawn is as thick as both together.  So each is held until the next comes.
        """
        held, place = self.held, self.frame.tile or box
        if held is not None and held[0] == order - 1 and held[1] != what and held[2] == self.look:
            inner, outer = (box, held[5]) if what == "fill" else (held[5], box)
            if _runs_round(outer, inner):
                self.held = None
                rule, pen = (thin, held[4]) if what == "fill" else (held[4], thin)
                if rule is not None and pen is not None:
                    _thinner(kind, rule + pen, place)
                return
        self._settle()
        self.held = (order, what, self.look, kind, thin, box, place)

    def _settle(self) -> None:
        if self.held is not None:
            _, _, _, kind, thin, _, place = self.held
            _thinner(kind, thin, place)
            self.held = None

    def uses(self) -> tuple[PaintUse, ...]:
        """All of it, in order of appearance."""
        self._settle()
        found: dict[tuple[Any, ...], Kind] = {}
        for (what, place, values, params, alpha, group, in_trim), kind in self.kinds.items():
            around, blend = self.frame.groups[group]
            key = (
                what,
                self.spaces[place].name,
                tuple(round(value, 3) for value in values),
                *overprint(params),
                round(alpha * around, 3),
                blend,
                in_trim,
            )
            _join(found, key, kind)
        return tuple(_use(key, kind) for key, kind in lumped(found, _join))


def _thinner(kind: Kind, thin: float | None, place: Four) -> None:
    if thin is not None and thin < kind.thinnest:
        kind.thinnest, kind.thin_box = thin, place


def _join(found: dict[tuple[Any, ...], Kind], key: tuple[Any, ...], kind: Kind) -> None:
    known = found.setdefault(key, kind)
    if known is kind:
        return
    known.count += kind.count
    if kind.thinnest < known.thinnest:
        known.thinnest, known.thin_box = kind.thinnest, kind.thin_box


def _use(key: tuple[Any, ...], kind: Kind) -> PaintUse:
    what, space, values, over, mode, alpha, blend, in_trim = key
    return PaintUse(
        what=what,
        space=space,
        values=values,
        overprint=over,
        overprint_mode=mode,
        alpha=alpha,
        blend=blend,
        count=kind.count,
        first_mm=mm(kind.first),
        thinnest_pt=None if kind.thin_box is None else round(kind.thinnest, 3),
        thinnest_mm=None if kind.thin_box is None else mm(kind.thin_box),
        in_trim=in_trim,
    )


def _runs_round(outer: Four, inner: Four) -> bool:
    """Whether one box is the other grown evenly, as the bounds of an outline are round those of its shape."""
    left, foot, right, head = inner[0] - outer[0], inner[1] - outer[1], outer[2] - inner[2], outer[3] - inner[3]
    least, most = min(left, foot, right, head), max(left, foot, right, head)
    return least >= 0 and most - least <= _EVEN_PT


def line_pt(width: float, m: Six) -> float:
    """Thickness of a stroke on paper: its width through the matrix, at the smaller scale where the two differ."""
    if width <= 0:
        return 0.0
    a, b, c, d, _, _ = m
    if b == 0.0 == c:
        return width * min(abs(a), abs(d))
    # the smaller singular value: half of the sum and difference of two hypotenuses
    return width * abs(math.hypot(a + d, b - c) - math.hypot(a - d, b + c)) / 2


def rule_pt(box: Four) -> float | None:
    """Thickness of a filled shape that is a rule, ``None`` for any other."""
    wide, high = box[2] - box[0], box[3] - box[1]
    thin, long = (wide, high) if wide < high else (high, wide)
    return thin if long > _RULE_LEAST_PT and long > _RULE_TIMES * thin else None
