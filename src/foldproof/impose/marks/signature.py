# SPDX-License-Identifier: AGPL-3.0-or-later
"""The signature mark: which section it is, at the foot of its first page next to the spine, outside the trim.

Sewn work has no gap at the spine, so the mark stands in the foot trim, where the binder sees it until the knives take
it off.  A piece set inside another carries the signature of its section with a star, as is the custom.  Further leaves
carry it with their number where the job asks for that.
"""

from __future__ import annotations

from attrs import frozen

from foldproof.geometry import Matrix, Rect
from foldproof.impose.marks.room import GAP_PT, Room
from foldproof.makeup.plan import PagePlace, Plan
from foldproof.makeup.signatures import leaf_signature
from foldproof.pdf.sheets_drawing import Stroke, Words
from foldproof.pdf.sheets_font import CAP_HEIGHT, mark_font
from foldproof.units import mm_to_pt

_SIZES_PT = (7.0, 6.0, 5.0, 4.0, 3.2)
_FROM_SPINE_PT = mm_to_pt(2)
_STEP_PT = mm_to_pt(1)


@frozen
class Spot:
    """Room for a signature; side frame, points."""

    matrix: Matrix  #: centre of the page's trim, page upright → side frame
    left: float  #: of the baseline, in the page's own frame
    low: float
    long_pt: float
    spine_left: bool
    size_pt: float


def reserve(room: Room, place: PagePlace, widest: str, reading: str) -> Spot | None:
    """The spot at the foot of a page for a mark no longer than ``widest``, taken from ``room``; ``None`` without."""
    font = mark_font()
    words = font.spelled(widest)
    own = place.matrix.inverse()
    clip, trim = own.rect(place.clip_pt), own.rect(place.trim_pt)
    spine_left = (place.position % 2 == 0) == (reading == "left to right")
    for size_pt in _SIZES_PT:
        high, wide = CAP_HEIGHT * size_pt, font.width_pt(words, size_pt)
        low = clip.y0 - GAP_PT - 0.3 - high
        for count in range(int(trim.width / 2 / _STEP_PT)):
            away = _FROM_SPINE_PT + count * _STEP_PT
            left = trim.x0 + away if spine_left else trim.x1 - away - wide
            box = place.matrix.rect(Rect(left, low, left + wide, low + high))
            if room.free(box, 0.5):
                room.take(box)
                return Spot(place.matrix, left, low, wide, spine_left, size_pt)
    return None


def strokes(spot: Spot, text: str) -> tuple[Stroke, ...]:
    """The mark in its spot, on the side next to the spine."""
    font = mark_font()
    words = font.spelled(text)
    spare = spot.long_pt - font.width_pt(words, spot.size_pt)
    matrix = spot.matrix
    x, y = matrix.point(spot.left + (0 if spot.spine_left else spare), spot.low)
    turns = {(1, 0): 0, (0, 1): 1, (-1, 0): 2, (0, -1): 3}[round(matrix.a), round(matrix.b)]
    return (Words(x, y, words, spot.size_pt, turns),)


def texts(plan: Plan, leaves: tuple[int, ...]) -> dict[int, str]:
    """What marks are asked for, by the position in the book of the page that carries them.

    Args:
        leaves: of a gathered section, counted from 1.  The first leaf's mark stands on the first page of every piece,
            the others' on the recto of their leaf.
    """
    first: dict[str, int] = {}
    rectos: dict[tuple[str, int], int] = {}
    for place in plan.places:
        first[place.section] = min(place.position, first.get(place.section, place.position))
        if place.position % 2 == 0:
            rectos[place.section, place.leaf] = place.position
    out: dict[int, str] = {}
    for section in plan.sections:
        for inside, piece in enumerate(section.pieces):
            for leaf in sorted(leaves):
                position = rectos.get((piece, leaf - 1))
                if leaf > 1 and position is not None:
                    out[position] = leaf_signature(section.signature, leaf)
            if 1 in leaves and piece in first:
                out[first[piece]] = out.get(first[piece], section.signature) + "*" * inside
    return out
