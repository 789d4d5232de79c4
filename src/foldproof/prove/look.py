# SPDX-License-Identifier: AGPL-3.0-or-later
"""The third leg: what the leaf shows against what the page shows, pixel by pixel.

The rule was measured on 5,852 pages of books.  At 72 dpi most pages come back identical; MuPDF snaps glyphs to a
quarter of a pixel, which makes differences up to 66 of 255, and the baselines of level text to whole pixels, so that
noise in the last digit can move a line by one.  So a page passes when the largest difference at 72 dpi is at most 66;
otherwise both are drawn at 144 dpi, turned by 1e-5 rad (which ends the snapping of baselines), and every pixel must lie
within the other's 3 x 3 minimum and maximum, give or take 90.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import numpy.typing as npt
from attrs import frozen
from PIL import Image

from foldproof.errors import Unreadable
from foldproof.pdf.proof_affine import Box, Map, back, box_round
from foldproof.pdf.proof_pages import forget
from foldproof.pdf.proof_render import Drawing, Pixels, Viewer, Window, shrink_store

#: largest difference of a channel at 72 dpi that snapping of glyphs makes
SNAP = 66
#: how far a pixel at 144 dpi may lie outside what the other drawing has around it
ROUND_ABOUT = 90
#: grids on which a page is drawn at 144 dpi before it is said to differ, as parts of a pixel: MuPDF snaps clips to
#: whole pixels, and one whose edge lies between two may cut a line on one drawing only; on another grid it does not
_GRIDS_PX = (0.29, 0.61, 0.87)
#: a difference that fills a square this many pixels wide at 72 dpi (1.4 mm), all lighter or all darker by more than
#: this: a tint laid over or lost.  Snapping moves edges; on 1,300 pages it never filled 3 pixels by more than 1 of 255.
TINT_PX, TINT = 4, 16
#: squares weighed at once: a page that is another altogether has half a million
_AT_ONCE = 20_000
#: on a leaf where nothing is placed: what is still paper
PAPER = 235
#: darkest channel of a pixel that counts as printed black
BLACK = 120
#: a picture of a leaf in the report is about this wide
_PICTURE_PX = 240

_EDGE_PX = 1.0  # at the edge of the window pixels are cut by clips; a third of a millimetre at 72 dpi


@frozen
class LeafLook:
    """What to look at: one place, and the page that belongs there."""

    position: int
    page: int | None  #: 1-based PDF page, ``None`` where the leaf must be empty
    on_sheet: Map  #: user space of the sheet's page → leaf frame, mm
    on_page: Map | None  #: user space of the manuscript's page → leaf frame, mm
    window: Box  #: leaf frame, mm: the trim, and the bleed that belongs to the page
    visible: Box | None  #: leaf frame, mm: what may print of the page
    medium: Box | None  #: user space of the manuscript's page: its MediaBox
    holes: tuple[Box, ...]  #: leaf frame, mm: declared marks, looked at by themselves
    annotated: bool  #: the page carries annotations that print


@frozen
class StripLook:
    """The collation mark of one gathered unit and the spine fold around it: leaf frame of the unit's first page."""

    unit: int
    on_sheet: Map
    window: Box  #: the strip in which marks step down, from foot to head
    bar: Box
    others: tuple[tuple[int, Box], ...]  #: where the marks of other steps stand
    #: page, its medium, whether annotations print on it, its map into this frame, and the half of the strip that it may
    #: reach
    pages: tuple[tuple[int, Box, bool, Map, Box], ...]


@frozen
class SideLook:
    """One side of a sheet and all that is to be looked at on it."""

    index: int  #: 0-based page of the sheets' file
    leaves: tuple[LeafLook, ...]
    strips: tuple[StripLook, ...]


@frozen
class LookJob:
    """One sheet."""

    sheets: Path
    manuscript: Path | None
    password: str | None
    pictures: bool
    sides: tuple[SideLook, ...]


@frozen
class LeafSeen:
    """What was seen at one place."""

    position: int
    look: str  #: as ``PageProof.look``
    says: str | None = None  #: why it could not be looked at
    #: leaf frame, mm: box round what differs
    where: Box | None = None
    picture: bytes | None = None  #: PNG: the leaf, the page, the difference


@frozen
class StripSeen:
    """What was seen of one collation mark."""

    unit: int
    there: bool
    can_tell: bool  #: false where page matter under the mark is as dark as the mark
    stands_at: int | None  #: the step at which a mark was found instead
    foreign: bool  #: something else is printed in the strip


@frozen
class SheetSeen:
    leaves: tuple[LeafSeen, ...]
    strips: tuple[StripSeen, ...]


def look_at(job: LookJob) -> SheetSeen:
    """Look at one sheet.  Runs in a worker; keeps files open for the next sheet."""
    forget()  # nothing is read with pypdf once looking has begun
    leaves: list[LeafSeen] = []
    strips: list[StripSeen] = []
    sheets = _viewer(job.sheets, None)
    pages = _viewer(job.manuscript, job.password) if job.manuscript else None
    for side in job.sides:
        try:
            drawn = sheets.side(side.index)
        except Unreadable as lost:
            leaves += [LeafSeen(leaf.position, "not compared", str(lost)) for leaf in side.leaves]
            continue
        leaves += [_leaf(leaf, drawn, pages, job.pictures) for leaf in side.leaves]
        strips += [_strip(strip, drawn, pages) for strip in side.strips]
    shrink_store()
    return SheetSeen(tuple(leaves), tuple(strips))


_OPEN: list[tuple[tuple[str, int, int, str | None], Viewer]] = []


def _viewer(path: Path, password: str | None) -> Viewer:
    """The file opened, and kept for the next job of this process: the last two."""
    stat = path.stat()
    key = (str(path), stat.st_mtime_ns, stat.st_size, password)
    for known, held in _OPEN:
        if known == key:
            return held
    while len(_OPEN) > 1:
        del _OPEN[0]
    held = Viewer(path, password)
    _OPEN.append((key, held))
    return held


# --- leaves ---


def _leaf(leaf: LeafLook, side: Drawing, pages: Viewer | None, pictures: bool) -> LeafSeen:
    window = Window(leaf.window, 72.0)
    try:
        on_sheet = side.pixels(leaf.on_sheet, window)
        if leaf.page is None:
            return _empty(leaf, on_sheet, window, pictures)
        if pages is None or leaf.on_page is None:
            return LeafSeen(leaf.position, "not compared")
        page = pages.page(leaf.page - 1, medium=leaf.medium, annotated=leaf.annotated)
        alone = page.pixels(leaf.on_page, window)
        judged = _prepare(alone, leaf, window)
        pixels, off = _unlike(on_sheet, alone, judged)
        worst = int(off.max(initial=0))
        if worst == 0:
            return LeafSeen(leaf.position, "same")
        tinted = _filled(on_sheet, alone, pixels[off > TINT])
        if tinted is not None:
            tinted |= _marked(pixels[off > SNAP], judged.shape)
            picture = _picture(on_sheet, alone, tinted) if pictures else None
            return LeafSeen(leaf.position, "differs", None, _box_of(tinted, window), picture)
        if worst <= SNAP:
            return LeafSeen(leaf.position, "same within the pixel rule")
        for aside in _GRIDS_PX:
            fine = Window(leaf.window, 144.0, aside)
            sheet_fine = side.pixels(leaf.on_sheet, fine, turned=True)
            alone_fine = page.pixels(leaf.on_page, fine, turned=True)
            outside = _outside(sheet_fine, alone_fine) & _prepare(alone_fine, leaf, fine)
            if not outside.any():
                return LeafSeen(leaf.position, "same within the pixel rule")
    except Unreadable as lost:
        return LeafSeen(leaf.position, "not compared", str(lost))
    picture = _picture(on_sheet, alone, _marked(pixels[off > SNAP], judged.shape)) if pictures else None
    return LeafSeen(leaf.position, "differs", None, _box_of(outside, fine), picture)


def _empty(leaf: LeafLook, on_sheet: Pixels, window: Window, pictures: bool) -> LeafSeen:
    """A leaf where nothing is placed shows bare paper."""
    judged = _judged(leaf, window)
    dark = (_smallest(on_sheet) < PAPER) & judged
    if not dark.any():
        return LeafSeen(leaf.position, "blank")
    picture = _picture(on_sheet, np.full_like(on_sheet, 255), dark) if pictures else None
    return LeafSeen(leaf.position, "differs", None, _box_of(dark, window), picture)


def _judged(leaf: LeafLook, window: Window) -> npt.NDArray[np.bool_]:
    """Which pixels count: not the outermost, which clips cut, and not those of declared marks."""
    width, height = window.size
    judged = np.zeros((height, width), dtype=bool)
    edge = round(_EDGE_PX * window.dpi / 72)
    judged[edge : height - edge, edge : width - edge] = True
    for hole in leaf.holes:
        judged[window.cells(hole, window.dpi / 72)] = False
    return judged


def _prepare(alone: Pixels, leaf: LeafLook, window: Window) -> npt.NDArray[np.bool_]:
    """Whiten what may not print of the page, in place; and tell which pixels count."""
    judged = _judged(leaf, window)
    if leaf.visible is None:
        return judged
    width, height = window.size
    each = window.dpi / 72
    rows, columns = window.cells(leaf.visible, each)
    if (rows.start, rows.stop, columns.start, columns.stop) == (0, height, 0, width):
        return judged
    inner_rows, inner_columns = window.cells(leaf.visible, -each)
    shown = np.zeros((height, width), dtype=bool)
    shown[inner_rows, inner_columns] = True
    rim = np.zeros((height, width), dtype=bool)
    rim[rows, columns] = True
    # Where the page's own edge lies inside the window, its edge pixels are not judged.
    judged &= shown | ~rim
    alone[~rim] = 255
    return judged


def _unlike(
    one: Pixels, other: Pixels, judged: npt.NDArray[np.bool_]
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.uint8]]:
    """The pixels that count and differ, as flat indexes in order, and by how much the most different channel does.

    Few differ on most pages, so nothing is reckoned over whole pages but where they do.
    """
    pixels = np.flatnonzero(one != other) // 3
    pixels = pixels[np.diff(pixels, prepend=-1) > 0]  # the channels of a pixel stand side by side
    pixels = pixels[judged.ravel()[pixels]]
    a, b = one.reshape(-1, 3)[pixels], other.reshape(-1, 3)[pixels]
    return pixels, (np.maximum(a, b) - np.minimum(a, b)).max(axis=1, initial=0)


def _marked(pixels: npt.NDArray[np.intp], shape: tuple[int, ...]) -> npt.NDArray[np.bool_]:
    out = np.zeros(shape, dtype=bool)
    out.ravel()[pixels] = True
    return out


def _filled(one: Pixels, other: Pixels, pixels: npt.NDArray[np.intp]) -> npt.NDArray[np.bool_] | None:
    """Squares throughout which one drawing is lighter, or throughout which it is darker; ``None`` without any.

    Args:
        one, other: the drawings.
        pixels: flat indexes, in order, of where they differ by more than :data:`TINT`.
    """
    high, wide = one.shape[:2]
    corners = _corners_of_squares(pixels, high, wide)
    square = (np.arange(TINT_PX)[:, None] * wide + np.arange(TINT_PX)).ravel()
    a, b = one.reshape(-1, 3), other.reshape(-1, 3)
    found = []
    for start in range(0, corners.size, _AT_ONCE):
        cells = corners[start : start + _AT_ONCE, None] + square
        off = a[cells].astype(np.int16) - b[cells]
        whole = (off > TINT).all(axis=1) | (off < -TINT).all(axis=1)
        found.append(cells[whole.any(axis=1)].ravel())
    filled = np.concatenate(found) if found else corners
    return _marked(filled, (high, wide)) if filled.size else None


def _corners_of_squares(pixels: npt.NDArray[np.intp], high: int, wide: int) -> npt.NDArray[np.intp]:
    """The upper left corners of all squares of ``TINT_PX`` that are marked throughout, as flat indexes."""
    last = TINT_PX - 1
    runs = pixels[:-last][pixels[last:] - pixels[:-last] == last]
    runs = runs[runs % wide <= wide - TINT_PX]
    begins = np.zeros((high + last) * wide, dtype=bool)
    begins[runs] = True
    for step in range(1, TINT_PX):
        runs = runs[begins[runs + step * wide]]
    return np.asarray(runs)


def _outside(one: Pixels, other: Pixels) -> npt.NDArray[np.bool_]:
    """Pixels that lie outside the other's 3 x 3 minimum and maximum by more than the rule allows."""
    return np.asarray(_beyond(one, other) | _beyond(other, one), dtype=bool)


def _beyond(one: Pixels, other: Pixels) -> npt.NDArray[np.bool_]:
    low, high = _around(other, np.minimum), _around(other, np.maximum)
    over = one > np.minimum(high, 255 - ROUND_ABOUT) + np.uint8(ROUND_ABOUT)
    under = one < np.maximum(low, ROUND_ABOUT) - np.uint8(ROUND_ABOUT)
    return _largest((over | under).view(np.uint8)) > 0


def _largest(pixels: Pixels) -> Pixels:
    """Over the three channels.  Ten times as fast as a reduction along so short an axis."""
    return np.maximum(np.maximum(pixels[:, :, 0], pixels[:, :, 1]), pixels[:, :, 2])


def _smallest(pixels: Pixels) -> Pixels:
    return np.minimum(np.minimum(pixels[:, :, 0], pixels[:, :, 1]), pixels[:, :, 2])


def _around(pixels: Pixels, choose: np.ufunc) -> Pixels:
    """Minimum or maximum over each pixel and its eight neighbours."""
    out = pixels.copy()
    out[1:] = choose(out[1:], pixels[:-1])
    out[:-1] = choose(out[:-1], pixels[1:])
    level = out.copy()
    level[:, 1:] = choose(level[:, 1:], out[:, :-1])
    level[:, :-1] = choose(level[:, :-1], out[:, 1:])
    return level


def _box_of(marked: npt.NDArray[np.bool_], window: Window) -> Box:
    """Leaf frame, mm: the box round the marked pixels."""
    rows, columns = np.flatnonzero(marked.any(axis=1)), np.flatnonzero(marked.any(axis=0))
    pixels = (float(columns[0]), float(rows[0]), float(columns[-1] + 1), float(rows[-1] + 1))
    return box_round(back(window.to_pixels()), pixels)


def _picture(leaf: Pixels, page: Pixels, off: npt.NDArray[np.bool_]) -> bytes:
    """The leaf beside the page beside the leaf in grey with the difference tinted red."""
    grey = (255 - (255 - leaf.mean(axis=2)) * 0.35).astype(np.uint8)
    tinted = np.stack([grey, grey, grey], axis=2)
    tinted[_grown(off)] = (200, 30, 30)
    gap = np.full((leaf.shape[0], 6, 3), 190, dtype=np.uint8)
    whole = Image.fromarray(np.concatenate([leaf, gap, page, gap, tinted], axis=1))
    scale = _PICTURE_PX / max(leaf.shape[1], 1)
    if scale < 1:
        whole = whole.resize((round(whole.width * scale), round(whole.height * scale)), Image.Resampling.BOX)
    out = io.BytesIO()
    whole.quantize(64, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
    return out.getvalue()


def _grown(marked: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Three pixels wider, so that a speck can be seen in a small picture."""
    out = marked
    for _ in range(3):
        out = _around(out.astype(np.uint8)[:, :, None], np.maximum)[:, :, 0] > 0
    return out


# --- collation marks ---


def _strip(strip: StripLook, side: Drawing, pages: Viewer | None) -> StripSeen:
    """Is the mark where it belongs, and nothing else printed in the strip that the pages do not print there?"""
    seen = [_strip_on(Window(strip.window, 288.0, _GRIDS_PX[0]), strip, side, pages)]
    while seen[-1].foreign and len(seen) < len(_GRIDS_PX):
        seen.append(_strip_on(Window(strip.window, 288.0, _GRIDS_PX[len(seen)]), strip, side, pages))
    return seen[-1]


def _strip_on(window: Window, strip: StripLook, side: Drawing, pages: Viewer | None) -> StripSeen:
    printed = side.pixels(strip.on_sheet, window, turned=True)
    there = _black(printed, window, strip.bar)
    around = _smallest(printed) >= PAPER
    around[window.cells(strip.bar, 3)] = True
    if there and bool(around.all()):
        return StripSeen(strip.unit, True, True, None, False)  # bare paper about the mark: no page reaches the fold
    own = np.full_like(printed, 255)
    if pages is not None:
        for page, medium, annotated, on_strip, half in strip.pages:
            rows, columns = window.cells(half, 0)
            drawn = pages.page(page - 1, medium=medium, annotated=annotated).pixels(on_strip, window, turned=True)
            own[rows, columns] = drawn[rows, columns]
    can_tell = pages is not None and not _black(own, window, strip.bar)
    stands_at = None
    if not there:
        stands_at = next(
            (n for n, box in strip.others if _black(printed, window, box) and not _black(own, window, box)), None
        )
    judged = np.ones(printed.shape[:2], dtype=bool)
    judged[window.cells(strip.bar, 3)] = False
    judged[:4], judged[-4:] = False, False
    middle = window.cells((0.0, strip.window[1], 0.0, strip.window[3]), 4)
    judged[middle] = False  # the pages' clips meet at the crease
    foreign = pages is not None and bool((_beyond(printed, own) & judged).any())
    return StripSeen(strip.unit, there, can_tell or pages is None, stands_at, foreign)


def _black(pixels: Pixels, window: Window, bar: Box) -> bool:
    """Whether the inside of a bar is printed black throughout."""
    rows, columns = window.cells(bar, -2)
    inside = pixels[rows, columns]
    return inside.size > 0 and bool((_largest(inside) <= BLACK).mean() > 0.9)
