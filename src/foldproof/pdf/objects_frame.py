# SPDX-License-Identifier: AGPL-3.0-or-later
"""Where on a page the object pass is: boxes in the trim frame, clips, groups, masks and tiles that stand open."""

from __future__ import annotations

from typing import Any

from pymupdf import mupdf

from foldproof.geometry import Rect
from foldproof.manuscript.seen import Transparency
from foldproof.pdf.native import READ, Four, Six
from foldproof.pdf.objects_space import Spaces
from foldproof.units import pt_to_mm

_mu: Any = mupdf

EVERYWHERE: Four = (-1e9, -1e9, 1e9, 1e9)


class Frame:
    """What is in force for the object that comes next.  Boxes are upright, trim frame, points."""

    def __init__(self, trim_pt: tuple[float, float], media_pt: Four) -> None:
        self.trim: Four = (0.0, 0.0, *trim_pt)
        self.clips: list[Four] = []
        #: what the clips let through; a page ends at its MediaBox (ISO 32000-1, 14.11.2)
        self.clip = self.media = media_pt
        #: what of the trim the clips let through: an object with a point in it needs no box of its own
        self.core: Four | None = None
        #: soft masks being made: what is painted meanwhile is no paint on paper
        self.masked = 0
        #: alphas and blend modes that groups lend to what is in them; which is in force; those that stand open
        self.groups: list[tuple[float, str]] = [(1.0, "Normal")]
        self._numbers = {self.groups[0]: 0}
        self.group = 0
        self._open: list[int] = []
        #: patterns being made: what stands outside them, and the box that the pattern fills
        self._tiles: list[Four] = []
        self.tile: Four | None = None
        self.alpha = self.soft_masks = False
        self.first: Four | None = None  #: where the page is transparent first
        self.blends: list[str] = []
        self.group_spaces: list[str] = []

    def push(self, scissor: Any) -> None:
        """Something clips, down to a scissor as MuPDF reckons it."""
        self.clips.append(self.clip)
        if self.tile is None:
            x0, y0, x1, y1 = box = READ.four(scissor)
            u0, v0, u1, v1 = self.media
            inside = x0 >= u0 and y0 >= v0 and x1 <= u1 and y1 <= v1
            self.clip, self.core = box if inside else common(box, self.media), None

    def pop(self) -> None:
        if self.clips:
            self.clip, self.core = self.clips.pop(), None

    def find_core(self) -> Four:
        self.core = (0.0, 0.0, -1.0, -1.0) if self.tile else common(self.clip, self.trim)
        return self.core

    def begin_tile(self) -> None:
        """What comes is a cell of a pattern: it stands anywhere, and counts as standing where the pattern fills."""
        self._tiles.append(self.clip)
        if self.tile is None:
            self.tile = self.clip
        self.clip, self.core = EVERYWHERE, None

    def end_tile(self) -> None:
        if self._tiles:
            outside = self._tiles.pop()
            if not self._tiles:
                self.tile = None
            self.clip, self.core = outside, None

    def begin_group(self, area: Four, space: Any, blend: int, alpha: float, spaces: Spaces) -> None:
        """``space``: of a group that is isolated; others blend in that of what they stand in (ISO 32000-1, 11.6.6)."""
        self._open.append(self.group)
        around, mode = self.groups[self.group]
        if blend:
            mode = str(_mu.ll_fz_blendmode_name(blend))
        lent = (around * alpha, mode)
        self.group = self._numbers.setdefault(lent, len(self.groups))
        if self.group == len(self.groups):
            self.groups.append(lent)
        if self.masked or self.hides(area):
            return
        if alpha < 1.0:
            self.see_through(area)
        if blend:
            self._note(area)
            if mode not in self.blends:
                self.blends.append(mode)
        if space is not None:
            name = spaces.of(space)[1].name
            if name not in self.group_spaces:
                self.group_spaces.append(name)

    def end_group(self) -> None:
        if self._open:
            self.group = self._open.pop()

    def begin_mask(self, area: Four, scissor: Any) -> None:
        self.mask(area)
        self.masked += 1
        self.push(scissor)

    def mask(self, area: Four) -> None:
        """A soft mask is laid on what is painted."""
        if not self.masked and not self.hides(area):
            self.soft_masks = True
            self._note(area)

    def see_through(self, box: Four) -> None:
        """Paint has an alpha below 1."""
        if not self.masked:
            self.alpha = True
            self._note(box)

    def _note(self, box: Four) -> None:
        if self.first is None:
            self.first = self.tile or common(box, self.clip)

    def end_mask(self) -> None:
        """The mask is made; it clips until the clip is taken off."""
        self.masked -= 1

    def transparency(self) -> Transparency:
        return Transparency(
            alpha=self.alpha,
            soft_masks=self.soft_masks,
            blends=tuple(self.blends),
            group_spaces=tuple(self.group_spaces),
            first_mm=None if self.first is None else mm(self.first),
        )

    def hides(self, box: Four) -> bool:
        """Whether nothing of a box gets through the clip; nothing does of one whose sides are no numbers."""
        clip = self.clip
        return not (box[0] <= clip[2] and box[2] >= clip[0] and box[1] <= clip[3] and box[3] >= clip[1])

    def in_trim(self, box: Four) -> bool:
        """Whether a box, or the pattern that it is part of, meets the trim."""
        x0, y0, x1, y1 = self.tile or box
        return x1 > 0.0 and y1 > 0.0 and x0 < self.trim[2] and y0 < self.trim[3]


def common(one: Four, other: Four) -> Four:
    return max(one[0], other[0]), max(one[1], other[1]), min(one[2], other[2]), min(one[3], other[3])


def unit_square(m: Six) -> Four:
    """The upright rectangle round the unit square's image."""
    a, b, c, d, e, f = m
    xs, ys = (e, e + a, e + c, e + a + c), (f, f + b, f + d, f + b + d)
    return min(xs), min(ys), max(xs), max(ys)


def mm_rect(box: Four) -> Rect:
    return Rect(*(round(pt_to_mm(v), 3) + 0.0 for v in box))  # no -0.0


def mm(box: Four) -> Rect | None:
    """``None`` for MuPDF's empty or endless boxes, and for those whose sides are no numbers."""
    if not (box[0] <= box[2] and box[1] <= box[3] and all(abs(side) <= 1e6 for side in box)):
        return None
    return mm_rect(box)
