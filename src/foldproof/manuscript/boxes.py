# SPDX-License-Identifier: AGPL-3.0-or-later
"""The five boxes of a page from what the file states (ISO 32000-1, 14.11.2), and how it is turned."""

from __future__ import annotations

from foldproof.geometry import Rect
from foldproof.manuscript.model import Boxes, TrimSource
from foldproof.pdf.structure_model import BOX_NAMES, WrittenPage
from foldproof.units import mm_to_pt

#: what general readers take for a page without a MediaBox, which table 30 demands: 8.5 x 11 in
LETTER = Rect(0.0, 0.0, 612.0, 792.0)
#: a box may stick out of the MediaBox by the noise of rounding without a word
_NOISE_PT = 0.01


def turned(rotate: float | None) -> tuple[int, str | None]:
    """/Rotate as 0, 90, 180 or 270, clockwise; and what is wrong with it as written (table 30: a multiple of 90)."""
    if rotate is None:
        return 0, None
    if rotate % 90:
        return 0, f"/Rotate is {rotate:g}, no multiple of 90; taken as 0"
    return int(rotate) % 360, None


def resolved(page: WrittenPage, rotate: int, trim_mm: tuple[float, float] | None) -> tuple[Boxes, list[str]]:
    """All five boxes, media frame, and what had to be put right, as ends of a sentence that begins with the page.

    Corners in order (7.9.5); CropBox is the MediaBox by default, Bleed-, Trim- and ArtBox the CropBox (table 30); a box
    that runs beyond the MediaBox is cut back to it (14.11.2.1); one that lies wholly outside counts as not stated.
    A page without TrimBox takes the trim ``trim_mm`` (width and height of paper, page upright), centred in its CropBox;
    without that the CropBox, else the MediaBox, is the trim.
    """
    remarks: list[str] = []
    media = Rect.from_corners(*page.boxes["MediaBox"]) if "MediaBox" in page.boxes else LETTER
    stated = set(page.boxes)
    if media.is_empty:
        remarks.append("MediaBox has no area; taken as 612 x 792 points (Letter), as readers do")
        media = LETTER
        stated.discard("MediaBox")
    elif "MediaBox" not in stated:
        remarks.append("MediaBox is not stated; taken as 612 x 792 points (Letter), as readers do")

    cut: dict[str, Rect] = {}
    beyond: set[str] = set()
    for box in BOX_NAMES[1:]:
        if box not in page.boxes:
            continue
        written = Rect.from_corners(*page.boxes[box])
        inside = None if written.is_empty else written.common(media)
        if inside is None:
            stated.discard(box)
            remarks.append(f"{box} {'has no area' if written.is_empty else 'lies outside the MediaBox'}; left out")
            continue
        cut[box] = inside
        if not media.holds(written, _NOISE_PT):
            beyond.add(box)
            remarks.append(f"{box} runs beyond the MediaBox; cut back to it")

    crop = cut.get("CropBox", media)
    trim, source = cut.get("TrimBox"), TrimSource.TRIM_BOX
    if trim is None and trim_mm is not None:
        trim, source = _centred(crop, rotate, page.user_unit or 1.0, trim_mm), TrimSource.JOB
    elif trim is None:
        trim, source = crop, TrimSource.CROP_BOX if "CropBox" in cut else TrimSource.MEDIA_BOX
    return (
        Boxes(
            media=media,
            crop=crop,
            bleed=cut.get("BleedBox", crop),
            trim=trim,
            art=cut.get("ArtBox", crop),
            stated=frozenset(stated),
            trim_source=source,
            beyond=frozenset(beyond),
        ),
        remarks,
    )


def _centred(around: Rect, rotate: int, unit_pt: float, trim_mm: tuple[float, float]) -> Rect:
    """A trim of the size of the job about the middle of a box, in PDF units; it may be the larger of the two."""
    width, height = (mm_to_pt(side) / unit_pt for side in trim_mm)
    if rotate in (90, 270):
        width, height = height, width
    x, y = around.centre
    return Rect(x - width / 2, y - height / 2, x + width / 2, y + height / 2)
