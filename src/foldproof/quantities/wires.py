# SPDX-License-Identifier: AGPL-3.0-or-later
"""Stitching: where the wires go.  Pure; millimetres."""

from __future__ import annotations

#: heights up to this take two wires, taller ones three (common practice, no source)
TWO_WIRES_MM = 320.0


def wire_places_mm(height_mm: float) -> tuple[float, ...]:
    """Middles of the wires from the head of the trimmed book: each holds an equal part of the fold.

    Two, at a quarter from head and foot; three in folds longer than :data:`TWO_WIRES_MM` (common practice, no source).
    """
    count = 2 if height_mm <= TWO_WIRES_MM else 3
    return tuple(height_mm * (2 * n + 1) / (2 * count) for n in range(count))
