# SPDX-License-Identifier: AGPL-3.0-or-later
"""Covers of the Lantern Row Press, built with pikepdf; the bars come from an independent writer of codes.

Places are mm in the trim frame of the open cover.  The number is no book's: 978-1-23456-789-7 is made of digits in
their order, and its check digit was reckoned by hand (``test_isbn.py``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from itertools import groupby
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import zxingcpp

from foldproof.case.model import CoverSizes
from tests.build import PT, Picture, page, save, width_pt

ISBN = "978-1-23456-789-7"
EAN = "9781234567897"
#: check digit by hand: 9+3x7+8+3x1+2+3x3+4+3x5+6+3x7+8+3x8 = 130, and 130 is a ten: 0
OTHER_EAN = "9781234567880"

#: small, so that little is to be drawn
PANEL = (100.0, 150.0)
SPINE = 18.6
#: ISO/IEC 15420: width of a module and height of the bars at 100 %; from memory
MODULE_MM, BARS_MM = 0.330, 22.85
#: where the first bar begins on the back, and the shorter bars end below
BARS_X, BARS_Y = 50.0, 22.0

GROUND = "0.60 0.35 0.10 0 k"
SPINE_TINT = "0.90 0.60 0.20 0.10 k"
WHITE, BLACK = "0 0 0 0 k", "0 0 0 1 k"


def sizes(**other: Any) -> CoverSizes:
    """A small glued book of some 330 pages."""
    made = {
        "kind": "paper cover", "stock": "Glaze Silk 135", "caliper_mm": 0.122, "panel_mm": PANEL, "spine_mm": SPINE,
        "flap_mm": 0.0, "hinge_mm": 6.0, "wrap_mm": 0.0, "bleed_mm": 3.0, "reading": "left to right", "says": (),
    }  # fmt: skip
    return CoverSizes(**{**made, **other})


@dataclass(frozen=True)
class Cover:
    """What stands on a cover; each fault of a test is one field that is otherwise."""

    asked: CoverSizes = field(default_factory=sizes)
    height: float = PANEL[1]
    spine: float = SPINE  #: as drawn
    bleed_left: float = 3.0  #: how far the ground runs on at the left
    spine_text: str = "The Lamps of Merrowby"
    spine_turn: int = 270  #: direction of the base line
    spine_shift: float = 0.0
    spine_size: float = 20.0
    ean: str | None = EAN
    modules: str | None = None  #: the bars themselves, where they are other than those of ``ean``
    digits: str | None = None  #: beside the bars, as those of the bars when unsaid
    scale: float = 1.0
    bars_paint: str = BLACK
    panel_paint: str = WHITE
    gain: float = 0.0  #: every bar is so much wider, mm
    quiet: float | None = None  #: where the dark begins before the bars, mm; 11 modules and more when unsaid
    back_line: tuple[str, float, float] = ("For all who light the way home.", 20.0, 120.0)
    front_line: tuple[str, float, float] = ("The Lamps of Merrowby", 25.0, 110.0)
    isbn_line: str = f"ISBN {ISBN}"
    boxes: dict[str, Any] | None = None
    more: str = ""
    pictures: tuple[Picture, ...] = ()
    embedded: bool = True
    kwargs: dict[str, Any] = field(default_factory=dict)

    def but(self, **other: Any) -> Cover:
        """The same cover, but for this."""
        return replace(self, **other)


def modules_of(ean: str) -> str:
    """The 95 modules of an EAN-13, ``1`` a bar, by zxing-cpp's writer."""
    code = zxingcpp.create_barcode(ean, zxingcpp.BarcodeFormat.EAN13)
    pixels = np.array(code.to_image(scale=1, add_hrt=False, add_quiet_zones=False))
    row = pixels[pixels.shape[0] // 2]
    bits = "".join("1" if value < 128 else "0" for value in row).strip("0")
    assert len(bits) == 95, bits
    return bits


def with_digits_exchanged(bits: str) -> str:
    """The patterns of the last two digits exchanged: every digit reads, and the check digit is wrong."""
    # right half: modules 50 to 92, seven a digit
    assert bits[78:85] != bits[85:92]
    return bits[:78] + bits[85:92] + bits[78:85] + bits[92:]


def fill(paint: str, x0: float, y0: float, x1: float, y1: float) -> str:
    return f"q {paint} {x0 * PT:.4f} {y0 * PT:.4f} {(x1 - x0) * PT:.4f} {(y1 - y0) * PT:.4f} re f Q\n"


def text(words: str, x: float, y: float, size: float, turn: int = 0, paint: str = BLACK) -> str:
    """A line that starts at a place and runs in a direction, degrees counter-clockwise."""
    cos, sin = round(math.cos(math.radians(turn))), round(math.sin(math.radians(turn)))
    shown = words.replace("(", r"\(").replace(")", r"\)")
    return f"q {paint} BT /F1 {size:g} Tf {cos} {sin} {-sin} {cos} {x * PT:.4f} {y * PT:.4f} Tm ({shown}) Tj ET Q\n"


def bars(cover: Cover, x: float, y: float) -> str:
    """The code with its first bar at ``x``, its shorter bars from ``y`` upwards."""
    assert cover.ean is not None
    module, high = MODULE_MM * cover.scale, BARS_MM * cover.scale
    bits = cover.modules or modules_of(cover.ean)
    made, place = "", 0
    for bit, run in groupby(bits):
        length = len(list(run))
        if bit == "1":
            # guards reach five modules lower
            guard = place < 3 or place >= 92 or 45 <= place < 50
            foot = y - (5 * module if guard else 0.0)
            left, right = x + place * module - cover.gain / 2, x + (place + length) * module + cover.gain / 2
            made += fill(cover.bars_paint, left, foot, right, y + high)
        place += length
    size = 9.0 * cover.scale
    said = cover.digits or cover.ean
    foot = y - 0.5 - size / PT * 0.72
    for part, start in ((said[0], -9.0), (said[1:7], 4.0), (said[7:], 51.0)):
        # six digits spread over 42 modules, as a program for bars sets them
        for place, digit in enumerate(part):
            made += text(digit, x + (start + 7 * place) * module, foot, size)
    return made


def content(cover: Cover) -> tuple[str, float]:
    """Operators in points of the trim frame, and the width of the cover."""
    asked = cover.asked
    side = asked.flap_mm + asked.wrap_mm + asked.panel_mm[0]
    width, high = 2 * side + cover.spine, cover.height
    left, right = side, side + cover.spine
    made = fill(GROUND, -cover.bleed_left, -3, width + 3, high + 3)
    if cover.spine > 0:
        made += fill(SPINE_TINT, left, -3, right, high + 3)
    middle, size = (left + right) / 2 + cover.spine_shift, cover.spine_size
    if cover.spine_text:
        # capitals are about 0.72 em high: their middle on the middle of the spine
        half = 0.36 * size / PT
        long = width_pt(cover.spine_text, size) / PT
        x, y = (middle - half, high / 2 + long / 2) if cover.spine_turn == 270 else (middle + half, high / 2 - long / 2)
        made += text(cover.spine_text, x, y, size, cover.spine_turn, WHITE)
    # lines are placed from the left edge of their own panel
    back, front = (asked.flap_mm, right) if asked.reading == "left to right" else (right, asked.flap_mm)
    words, x, y = cover.back_line
    made += text(words, back + x, y, 12, 0, WHITE)
    words, x, y = cover.front_line
    made += text(words, front + x, y, 16, 0, WHITE)
    if cover.ean is not None:
        module = MODULE_MM * cover.scale
        start, foot = back + (BARS_X if cover.scale < 1.5 else 16.0), BARS_Y
        before = 12 * module if cover.quiet is None else cover.quiet
        made += fill(cover.panel_paint, start - before, 15, start + 103.5 * module, 22 + BARS_MM * cover.scale + 8)
        made += bars(cover, start, foot)
        if cover.isbn_line:
            made += text(cover.isbn_line, start - 2, 22 + BARS_MM * cover.scale + 2.5, 8)
    return made + cover.more, width


def write(cover: Cover, target: Path, pages: int = 1) -> Path:
    """The cover as a PDF."""
    made, width = content(cover)
    pdf = pikepdf.new()
    pdf.docinfo["/Title"] = "The Lamps of Merrowby: cover"
    for _ in range(pages):
        page(
            pdf, trim_mm=(width, cover.height), bleed_mm=3, content=made, boxes=cover.boxes, embedded=cover.embedded,
            pictures=cover.pictures, **cover.kwargs,
        )  # fmt: skip
    return save(pdf, target)
