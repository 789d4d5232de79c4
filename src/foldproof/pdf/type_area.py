# SPDX-License-Identifier: AGPL-3.0-or-later
"""The text block of a page, from the glyphs that the object pass sees: copied as they come, looked at together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from foldproof.manuscript.seen import TypeArea
from foldproof.pdf.native import ITEM, READ, Six, Span
from foldproof.units import pt_to_mm

#: a page with more glyphs is a map or a table of figures, not a page of text
_MOST_GLYPHS = 40_000
#: baselines nearer than this part of the type size are one line
_ONE_LINE = 0.25
#: fewer glyphs are a folio, a figure's number, a superscript: no line of the block
_LINE_GLYPHS = 8
#: lines within this of one another begin or end alike, points: hanging punctuation and rounded widths
_ALIKE_PT = 1.2
#: so many lines, and this part of all of them, must keep to an edge
_LEAST_LINES, _LEAST_PART = 3, 0.2
#: the outermost line is no part of the block when it stands off by more than so many leadings: head, folio
_STANDS_OFF = 1.45
#: top of the block above its first baseline, and bottom below its last, in sizes of the body type: about the height of
#: x-height letters with ascenders and of descenders; from memory
_ASCENDER, _DESCENDER = 0.7, 0.2

Numbers = NDArray[np.float64]


class TypeLines:
    """Collects the glyphs of one page; ``ctm`` must lead to the trim frame in points, y up."""

    def __init__(self, width_pt: float, height_pt: float) -> None:
        self.width, self.height = width_pt, height_pt
        self.glyphs: list[bytes] = []
        #: number of glyphs; matrix of their places; x vector of a glyph's em on paper; size on paper
        self.spans: list[tuple[int, float, float, float, float, float, float, float, float]] = []
        self.count = 0

    def offer(self, matrix: Six, spans: Sequence[Span]) -> None:
        """Take a text object that is painted."""
        a, b, c, d, e, f = matrix
        for span in spans:
            along, aside = span.a * a + span.b * c, span.a * b + span.b * d
            # upright, read from left to right, in horizontal lines
            if span.downwards or along <= 0 or abs(aside) > 0.01 * along or self.count > _MOST_GLYPHS:
                continue
            size = math.hypot(span.c * a + span.d * c, span.c * b + span.d * d)
            self.glyphs.append(READ.items(span))
            self.spans.append((span.glyphs, a, b, c, d, e, f, along, size))
            self.count += span.glyphs

    def area(self) -> TypeArea | None:
        """The text block; ``None`` for a page without one: too few lines, or none that keep to an edge."""
        if not self.spans or self.count > _MOST_GLYPHS:
            return None
        glyphs = np.frombuffer(b"".join(self.glyphs), dtype=ITEM)
        spans = np.array(self.spans)
        self.glyphs, self.spans = [], []
        lengths = spans[:, 0].astype(np.int64)
        a, b, c, d, e, f = self._matrix(spans, lengths)
        x, y, ucs = glyphs["x"], glyphs["y"], glyphs["ucs"]
        left, base = x * a + y * c + e, x * b + y * d + f
        shown = (ucs != 0x20) & (ucs != 0xA0) & (glyphs["gid"] >= 0)
        shown &= (left >= 0) & (left <= self.width) & (base >= 0) & (base <= self.height)
        left, base = left[shown], base[shown]
        if left.size < _LEAST_LINES * _LINE_GLYPHS:
            return None
        right = left + (glyphs["adv"] * np.repeat(spans[:, 7], lengths))[shown]
        return _block(left, right, base, _body_size(spans[:, 8], lengths))

    @staticmethod
    def _matrix(spans: Numbers, lengths: NDArray[np.int64]) -> Sequence[Any]:
        """The six numbers that place the glyphs: one each where all spans share them, as they mostly do."""
        matrices = spans[:, 1:7]
        if (matrices == matrices[0]).all():
            return [float(number) for number in matrices[0]]
        return list(np.repeat(matrices, lengths, axis=0).T)


def _block(left: Numbers, right: Numbers, base: Numbers, size: float) -> TypeArea | None:
    # glyphs come line by line as a rule: what stands together on one baseline is gathered first, the rest is small
    runs = np.concatenate(([0], np.flatnonzero(base[1:] != base[:-1]) + 1))
    left, right = np.minimum.reduceat(left, runs), np.maximum.reduceat(right, runs)
    glyphs, base = np.diff(np.append(runs, base.size)), base[runs]
    order = np.argsort(-base, kind="stable")
    left, right, base, glyphs = left[order], right[order], base[order], glyphs[order]
    starts = np.concatenate(([0], np.flatnonzero(base[:-1] - base[1:] > _ONE_LINE * size) + 1))
    lefts, rights = np.minimum.reduceat(left, starts), np.maximum.reduceat(right, starts)
    counts = np.add.reduceat(glyphs, starts)
    inner = _without_head_and_folio(base[starts], size)
    whole = inner & (counts >= _LINE_GLYPHS)
    lines = int(whole.sum())
    if lines < _LEAST_LINES:
        return None
    asked = max(_LEAST_LINES, round(_LEAST_PART * lines))
    at_left, keep_left = _outermost(lefts[whole], asked)
    if at_left is None:
        return None
    mirrored, keep_right = _outermost(-rights[whole], asked)
    bases = base[starts][whole]
    return TypeArea(
        left_mm=_mm(at_left),
        right_mm=_mm(float(rights[whole].max()) if mirrored is None else -mirrored),
        head_mm=_mm(float(bases.max()) + _ASCENDER * size),
        foot_mm=_mm(float(bases.min()) - _DESCENDER * size),
        lines=keep_left if mirrored is None else min(keep_left, keep_right),
        ragged=mirrored is None,
        of=lines,
    )


def _without_head_and_folio(bases: Numbers, size: float) -> NDArray[np.bool_]:
    """Which lines, from the top down, are of the block: the first and the last are not when they stand off."""
    inner = np.ones(bases.size, dtype=np.bool_)
    gaps = -np.diff(bases)
    # superscripts and accents make lines of their own that are no leading
    usual = gaps[gaps > 0.7 * size]
    if usual.size < 3:
        return inner
    leading = _middle(np.sort(usual))
    inner[0] = gaps[0] <= _STANDS_OFF * leading
    inner[-1] = gaps[-1] <= _STANDS_OFF * leading
    return inner


def _outermost(edges: Numbers, asked: int) -> tuple[float | None, int]:
    """The least value that ``asked`` lines keep to, and how many do; the middle of their places."""
    edges = np.sort(edges)
    counts = np.searchsorted(edges, edges + _ALIKE_PT, side="right") - np.arange(edges.size)
    firm = np.flatnonzero(counts >= asked)
    if not firm.size:
        return None, 0
    # the first window may begin with a stray line: of the windows that overlap it the fullest is taken
    near = firm[edges[firm] <= edges[firm[0]] + _ALIKE_PT]
    first = int(near[np.argmax(counts[near])])
    return _middle(edges[first : first + counts[first]]), int(counts[first])


def _body_size(sizes: Numbers, glyphs: NDArray[np.int64]) -> float:
    """The size of the middle glyph, when they are ordered by size."""
    order = np.argsort(sizes, kind="stable")
    return float(sizes[order][np.searchsorted(np.cumsum(glyphs[order]), glyphs.sum() / 2)])


def _middle(ordered: Numbers) -> float:
    """The middle one of sorted numbers, the upper where there are two; numpy's own median takes four times as long."""
    return float(ordered[ordered.size // 2])


def _mm(value_pt: float) -> float:
    return round(pt_to_mm(value_pt), 3)
