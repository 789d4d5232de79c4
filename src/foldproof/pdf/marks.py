# SPDX-License-Identifier: AGPL-3.0-or-later
"""Trim marks that stand inside a page, told from other short hairlines by the pattern they make.

A trim mark is a pair: a level rule that ends short of the corner, in line with the cut at head or foot, and an upright
one, in line with the cut at the side (common practice, no source).  Marks count only where at least three corners
have such a pair and the corners lie on one rectangle; a table or a chart does not make that.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

Rule = tuple[float, float, float, float]

#: the rules keep clear of the corner by this at least and at most (mm 0.2 to 11)
_GAP_PT = (0.5, 31.2)
#: rules of one cut lie on one line within this
_LINE_PT = 1.5
#: a rectangle that is cut is at least this large against the page
_LEAST_PART = 0.4


@frozen
class _Corner:
    x: float
    y: float
    rules: tuple[Rule, Rule]


def mark_like(rules: Sequence[Rule], width_pt: float, height_pt: float) -> list[Rule]:
    """The rules that look like trim marks, in order of corner: lower left, lower right, upper left, upper right.

    Args:
        rules: short hairlines as x0, y0, x1, y1 in the trim frame, points.
    """
    if len(rules) < 6:
        return []
    level = sorted({r for r in rules if r[2] - r[0] > r[3] - r[1]})
    upright = sorted({r for r in rules if r[2] - r[0] <= r[3] - r[1]})
    quarters = [
        list(_corners(level, upright, right, top, width_pt, height_pt))
        for top in (False, True)
        for right in (False, True)
    ]
    if sum(map(bool, quarters)) < 3:
        return []
    best: list[_Corner] = []
    for seed in (corner for quarter in quarters for corner in quarter):
        for other in (corner for quarter in quarters for corner in quarter):
            x0, x1 = sorted((seed.x, other.x))
            y0, y1 = sorted((seed.y, other.y))
            if x1 - x0 < width_pt * _LEAST_PART or y1 - y0 < height_pt * _LEAST_PART:
                continue
            wanted = ((x0, y0), (x1, y0), (x0, y1), (x1, y1))
            found = [
                next((c for c in quarter if abs(c.x - x) <= _LINE_PT and abs(c.y - y) <= _LINE_PT), None)
                for quarter, (x, y) in zip(quarters, wanted, strict=True)
            ]
            kept = [corner for corner in found if corner is not None]
            if len(kept) >= 3 and len(kept) > len(best):
                best = kept
    return [rule for corner in best for rule in corner.rules]


def _corners(
    level: Iterable[Rule], upright: Sequence[Rule], right: bool, top: bool, width_pt: float, height_pt: float
) -> Iterable[_Corner]:
    """Pairs in one quarter of the page."""
    inside = [
        v for v in upright if _here((v[0] + v[2]) / 2, width_pt, right) and _here((v[1] + v[3]) / 2, height_pt, top)
    ]
    if len(inside) > 40:
        return
    for h in level:
        y = (h[1] + h[3]) / 2
        if not (_here((h[0] + h[2]) / 2, width_pt, right) and _here(y, height_pt, top)):
            continue
        for v in inside:
            x = (v[0] + v[2]) / 2
            across = h[0] - x if right else x - h[2]
            along = v[1] - y if top else y - v[3]
            if _GAP_PT[0] <= across <= _GAP_PT[1] and _GAP_PT[0] <= along <= _GAP_PT[1]:
                yield _Corner(x, y, (h, v))


def _here(at: float, length: float, far: bool) -> bool:
    """In the third of the page next to its corner."""
    return at > length * 2 / 3 if far else at < length / 3
