# SPDX-License-Identifier: AGPL-3.0-or-later
"""What of a cover must be whole: type, and small things that are not part of a ground or of art that runs on.

A ground (a tint, a picture behind everything, art that bleeds) is cut and folded by its nature.  So is what hangs
together with it: a leaf of a drawn tree whose trunk runs off the page is no mark too near the trim.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from foldproof.covers.model import CoverFacts, Folds
from foldproof.geometry import Rect
from foldproof.pdf.cover_things import Line, Mark
from foldproof.preflight.inks import is_white

#: what covers so much of a panel is a ground (parts; common practice, no source)
_GROUND_PART, _GROUND_HEIGHT = 0.25, 0.9
#: a white thing from this size on is a bare panel for something else, and no letter of white type (25 x 25 mm; common
#: practice, no source)
_WHITE_MM2 = 625.0
#: what is nearer than this to a line reaches it, mm
TOUCH_MM = 0.1
#: more small things are a drawing, not type and emblems: it is not taken to pieces
_MOST_SMALL = 8000


@frozen
class Thing:
    """Type or a small thing that must be whole."""

    box_mm: Rect
    line: Line | None  #: ``None``: no type, or type as outlines

    @property
    def name(self) -> str:
        """``the line “The Lamps of …”`` or ``matter``."""
        if self.line is None:
            return "matter"
        text = self.line.text if len(self.line.text) <= 30 else self.line.text[:28].rstrip() + "…"
        return f"the line “{text}”"


def is_ground(mark: Mark, folds: Folds) -> bool:
    """Whether a thing is large enough to stand behind others; one that prints nothing need not be as large for it."""
    box = mark.box_mm
    area = box.width * box.height
    return (
        box.height >= _GROUND_HEIGHT * folds.height_mm
        or area >= _GROUND_PART * folds.front.width * folds.front.height
        or (area >= _WHITE_MM2 and is_white(mark.space, mark.values))
    )


def crosses(box: Rect, x: float) -> bool:
    """Whether something lies on both sides of an upright line."""
    return box.x0 < x - TOUCH_MM and box.x1 > x + TOUCH_MM


def spine_things(facts: CoverFacts) -> tuple[Thing, ...]:
    """Type and small things whose middle lies on the spine, and that are not much wider than it."""
    seen, folds = facts.looked, facts.folds
    left, right = folds.spine
    most = (right - left) + 6.0

    def on_spine(box: Rect) -> bool:
        return left <= box.centre[0] <= right and box.width <= most

    lines = [Thing(line.box_mm, line) for line in seen.lines if on_spine(line.box_mm)]
    art = [
        mark.box_mm
        for mark in seen.marks
        if not is_ground(mark, folds)
        and not on_spine(mark.box_mm)
        and (crosses(mark.box_mm, left) or crosses(mark.box_mm, right))
    ]
    small = [
        mark.box_mm
        for mark in seen.marks
        if on_spine(mark.box_mm) and not is_ground(mark, folds) and _within(mark.box_mm, folds)
    ]
    return (*lines, *(Thing(box, None) for box in _apart(small, art)))


def live_things(facts: CoverFacts) -> tuple[Thing, ...]:
    """Type and small things everywhere on the cover."""
    seen, folds = facts.looked, facts.folds
    lines = [Thing(line.box_mm, line) for line in seen.lines if _within(line.box_mm, folds)]
    lines_at = [folds.spine[0], folds.spine[1], *folds.flaps]
    small: list[Rect] = []
    art: list[Rect] = []
    for mark in seen.marks:
        box = mark.box_mm
        if is_ground(mark, folds) or not _within(box, folds):
            continue
        off = box.x0 < TOUCH_MM or box.y0 < TOUCH_MM
        off = off or box.x1 > folds.width_mm - TOUCH_MM or box.y1 > folds.height_mm - TOUCH_MM
        wide = any(crosses(box, x) for x in lines_at) and not folds.spine_panel.grown(3.0).holds(box)
        (art if off or wide else small).append(box)
    return (*lines, *(Thing(box, None) for box in _apart(small, art)))


def covered_by_picture(facts: CoverFacts) -> bool:
    """Whether a picture lies over most of the spine: what is drawn in it cannot be told from the file."""
    folds = facts.folds
    spine = folds.spine_panel
    for mark in facts.looked.marks:
        shared = mark.box_mm.common(spine) if mark.what in ("picture", "stencil") else None
        if shared is not None and shared.width * shared.height > 0.5 * spine.width * spine.height:
            return True
    return False


def _within(box: Rect, folds: Folds) -> bool:
    """Whether part of it is on the trimmed cover: marks beside it are none of its matter."""
    return box.x1 > 0 and box.y1 > 0 and box.x0 < folds.width_mm and box.y0 < folds.height_mm


def _apart(small: Sequence[Rect], art: Sequence[Rect]) -> list[Rect]:
    """The small things that do not lie on art that runs on; none where there are too many to be type."""
    if len(small) > _MOST_SMALL:
        return []
    if not art:
        return list(small)
    import numpy as np  # whoever asks what a check means is answered without it

    x0, y0, x1, y1 = np.array([(b.x0, b.y0, b.x1, b.y1) for b in art]).T
    return [b for b in small if not ((x0 < b.x1) & (b.x0 < x1) & (y0 < b.y1) & (b.y0 < y1)).any()]
