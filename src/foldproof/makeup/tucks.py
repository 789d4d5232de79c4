# SPDX-License-Identifier: AGPL-3.0-or-later
"""Strips whose panels are not of one width: where each lies once folded.  Pure; millimetres.

A panel that is folded in between others is cut narrower, or it would stand against the crease that it lies in and be
crushed there.  Frame: *strip*: x from its left, along the side of the sheet that faces the reader.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from foldproof.makeup.folding import FoldError, Scheme, fold
from foldproof.units import format_mm

_SLACK_MM = 1e-6


@lru_cache(maxsize=1024)
def insets_mm(scheme: Scheme, widths_mm: tuple[float, ...]) -> tuple[float, ...]:
    """How far each panel of a single row begins from the spine once the strip is folded, from the scheme's left.

    Each fold is made along the boundary of what stays where it lies, and mirrors what moves; the spine is the last one.

    Args:
        widths_mm: of the panels, from the scheme's left.

    Raises:
        FoldError: a fold would crease a panel between its edges.
    """
    lies = _edges(widths_mm)
    at = 0.0
    for line in fold(scheme).lines:
        at = sum(widths_mm[: line.at])
        left = line.words.split()[0] == "left"
        for nth, (low, high) in enumerate(lies):
            if low < at - _SLACK_MM and high > at + _SLACK_MM:
                raise FoldError(
                    f"Scheme {scheme.name!r} folds in its panel {nth + 1} from the left past the crease of fold "
                    f"{line.words!r}: it is {format_mm(min(at - low, high - at))} too wide."
                )
            if (low + high) / 2 < at if left else (low + high) / 2 > at:
                lies[nth] = 2 * at - high, 2 * at - low
    return tuple(max(0.0, min(abs(low - at), abs(high - at))) for low, high in lies)


def _edges(widths_mm: Sequence[float]) -> list[tuple[float, float]]:
    at, out = 0.0, []
    for width in widths_mm:
        out.append((at, at + width))
        at += width
    return out
