# SPDX-License-Identifier: AGPL-3.0-or-later
"""The ground that text is cut out of: what inks stand round white text, and round black text that does not overprint.

The ground is the median of each ink in a rim two pixels wide (0.7 mm) round the text: neighbouring lines cover less
than half of it, and of a picture it gives the usual tone.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from attrs import evolve, frozen
from numpy.typing import NDArray

from foldproof.geometry import Rect
from foldproof.manuscript.model import PageObjects
from foldproof.manuscript.seen import TextUse
from foldproof.pdf.ink_edges import Ink
from foldproof.pdf.ink_grid import Grid, Window
from foldproof.units import mm_to_pt

Ground = tuple[tuple[str, float], ...]

_RIM_PX = 2
#: a cover below this is no ink, as at the edges (:mod:`foldproof.pdf.ink_edges`)
_WET = 4
_BLACK = "Black"
#: spaces in which 0 is bare paper, and those in which it is black
_SUBTRACTIVE = ("DeviceCMYK", "ICCBased(4)", "Separation(", "DeviceN(")
_GREYS = ("DeviceGray", "CalGray", "ICCBased(1)")
_ADDITIVE = (*_GREYS, "DeviceRGB", "CalRGB", "ICCBased(3)")
#: blend modes in which black takes nothing away from what lies under it, and white paints nothing
_LEAVES_THE_GROUND = ("Multiply", "Darken", "ColorBurn")


@frozen
class Asked:
    """A place of text whose ground is wanted."""

    place_mm: Rect  #: trim frame
    #: black text: a ground in black alone is of no account
    black: bool


def asked_of(texts: Sequence[TextUse]) -> dict[int, Asked]:
    """Which texts (by their number) are cut out of what lies under them: white ones, and black that knocks out."""
    asked = {}
    for number, use in enumerate(texts):
        if use.first_mm is None or use.how not in ("fill", "stroke") or use.blend in _LEAVES_THE_GROUND:
            continue
        if _white(use) or (_black(use) and not _overprints(use)):
            asked[number] = Asked(use.first_mm, _black(use))
    return asked


def with_grounds(objects: PageObjects, asked: dict[int, Asked], grounds: Sequence[Ground]) -> PageObjects:
    """The facts of the object pass with the grounds found for ``asked``."""
    found = {number: ground for number, ground in zip(asked, grounds, strict=True) if ground}
    if not found:
        return objects
    texts = tuple(evolve(use, ground=found.get(number, ())) for number, use in enumerate(objects.texts))
    return evolve(objects, texts=texts)


def _white(use: TextUse) -> bool:
    if not use.values:
        return False
    if use.space.startswith(_SUBTRACTIVE):
        return not any(use.values)
    return use.space in _ADDITIVE and all(value >= 1 for value in use.values)


def _black(use: TextUse) -> bool:
    if use.space in ("DeviceCMYK", "ICCBased(4)"):
        return use.values == (0, 0, 0, 1)
    if use.space == f"Separation({_BLACK})":
        return use.values == (1,)
    return use.space in _GREYS and use.values == (0,)


def _overprints(use: TextUse) -> bool:
    """Whether black leaves the other inks (ISO 32000-1, 8.6.7 and 11.7.4.3).

    A separation always does when overprint is on; CMYK in mode 1 alone, grey never (its three other inks are painted).
    """
    if not use.overprint or use.alpha < 1:
        return False
    return use.space.startswith("Separation(") or (use.space == "DeviceCMYK" and use.overprint_mode == 1)


def grounds_at(
    asked: Sequence[Asked], samples: NDArray[np.uint8], window: Window, ink: Ink, grid: Grid, names: Sequence[str]
) -> tuple[Ground, ...]:
    """The ground at each place, empty for bare paper (and for black text on black)."""
    if not asked or ink.blank:
        return ((),) * len(asked)
    others = [number for number, name in enumerate(names) if name != _BLACK]
    coloured = bool(_any(ink.in_rows, samples.shape[2]))
    return tuple(
        () if one.black and not coloured else _ground(one, samples, window, ink, grid, names, others) for one in asked
    )


def _any(stains: NDArray[np.generic], plates: int) -> bool:
    """Whether stains hold another ink than black; of more than four plates it cannot be told from them."""
    if plates != 4:
        return True
    # black is the fourth sample of the word
    return bool(np.ascontiguousarray(stains).view(np.uint8).reshape(-1, 4)[:, :3].any())


def _ground(
    one: Asked,
    samples: NDArray[np.uint8],
    window: Window,
    ink: Ink,
    grid: Grid,
    names: Sequence[str],
    others: Sequence[int],
) -> Ground:
    place = one.place_mm
    x0, x1 = (int(mm_to_pt(x) * grid.sx) for x in (place.x0, place.x1))
    y0, y1 = (int(grid.height_px - mm_to_pt(y) * grid.sy) for y in (place.y1, place.y0))
    if one.black and not _any(ink.in_rows[max(0, y0 - _RIM_PX) : max(0, y1 + 1 + _RIM_PX)], samples.shape[2]):
        return ()
    top, bottom = max(0, y0 - _RIM_PX - window[1]), max(0, y1 + 1 + _RIM_PX - window[1])
    left, right = max(0, x0 - _RIM_PX - window[0]), max(0, x1 + 1 + _RIM_PX - window[0])
    box = samples[top:bottom, left:right]
    if not box.size:
        return ()
    sides = (box[:_RIM_PX], box[-_RIM_PX:], box[_RIM_PX:-_RIM_PX, :_RIM_PX], box[_RIM_PX:-_RIM_PX, -_RIM_PX:])
    rim = np.concatenate([side.reshape(-1, samples.shape[2]) for side in sides])
    middle = np.sort(rim, axis=0)[rim.shape[0] // 2].tolist()
    if one.black and not any(middle[number] >= _WET for number in others):
        return ()
    return tuple((name, round(v / 255, 3)) for name, v in zip(names, middle, strict=True) if v >= _WET)
