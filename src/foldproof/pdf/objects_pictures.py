# SPDX-License-Identifier: AGPL-3.0-or-later
"""One painting of a picture: its kind, its resolution on paper, how it lies and what the clip lets through."""

from __future__ import annotations

import math
from typing import Any

from foldproof.geometry import Rect
from foldproof.manuscript.model import PictureKind, PictureUse
from foldproof.pdf.native import Six
from foldproof.pdf.objects_frame import Frame, mm_rect, unit_square
from foldproof.units import PT_PER_INCH

#: cosine between the sides of a picture above which it is skewed: a quarter of a degree off the right angle
_SKEW = math.sin(math.radians(0.25))


def picture_use(
    image: Any,
    matrix: Six,
    kind: PictureKind,
    space: str,
    frame: Frame,
    *,
    overprint: bool = False,
    values: tuple[float, ...] = (),
) -> PictureUse:
    """``matrix`` leads from MuPDF's image space, whose origin is at the upper left, to the trim frame in points."""
    a, b, c, d, _, _ = matrix
    # lengths of the two vectors are those of PDF's own
    across_pt, down_pt = math.hypot(a, b), math.hypot(c, d)
    width, height = image.w, image.h
    box = unit_square(matrix)
    stencil = bool(image.imagemask)
    return PictureUse(
        kind=PictureKind.SOFT_MASK if frame.masked else kind,
        width_px=width,
        height_px=height,
        bits=1 if stencil else image.bpc,
        space=space,
        ppi_x=_ppi(width, across_pt),
        ppi_y=_ppi(height, down_pt),
        place_mm=mm_rect(box if frame.tile is None else frame.tile),
        # MuPDF stores pictures that are objects, so that two hold them; an inline one is held by its use alone
        inline=kind is not PictureKind.SOFT_MASK and not frame.masked and image.key_storable.storable.refs == 1,
        shown_mm=_shown(box, frame),
        # the axis of rows points down the picture, so that a determinant above 0 is a mirror
        mirrored=a * d - b * c > 0,
        turned=round(math.degrees(math.atan2(c, -d)), 1) % 360.0,
        skewed=abs(a * c + b * d) > _SKEW * across_pt * down_pt,
        overprint=overprint,
        values=tuple(round(value, 3) for value in values),
    )


def lies_somewhere(matrix: Six) -> bool:
    """Whether a picture has a place: scaled over and over, a unit square has sides that are no numbers."""
    return all(map(math.isfinite, matrix))


def _ppi(pixels: int, length_pt: float) -> float:
    """Pixels an inch of paper; a picture squeezed to a line has the resolution of the thinnest line there is."""
    return round(pixels * PT_PER_INCH / max(length_pt, 0.001), 3)


def _shown(box: tuple[float, float, float, float], frame: Frame) -> Rect | None:
    """What of a box the clip lets through; ``None`` for all of it, an empty rectangle for nothing."""
    if frame.tile is not None:
        return None
    clip = frame.clip
    part = max(box[0], clip[0]), max(box[1], clip[1]), min(box[2], clip[2]), min(box[3], clip[3])
    # a clip drawn along the picture's own edge is rounded
    if all(abs(one - other) < 0.01 for one, other in zip(part, box, strict=True)):
        return None
    if part[0] >= part[2] or part[1] >= part[3]:
        return mm_rect((box[0], box[1], box[0], box[1]))
    return mm_rect(part)
