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
from foldproof.pdf.proof_render import Drawing, Pixels, Viewer, Window, shrink_store
from foldproof.prove.pixels import GRIDS_PX, PAPER, TINT, filled, grown, marked, outside, smallest, unlike
from foldproof.prove.strips import StripLook, StripSeen, see_strip

#: largest difference of a channel at 72 dpi that snapping of glyphs makes
SNAP = 66
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
class SheetSeen:
    leaves: tuple[LeafSeen, ...]
    strips: tuple[StripSeen, ...]


def look_at(job: LookJob) -> SheetSeen:
    """Look at one sheet.  Runs in a worker; keeps files open for the next sheet."""
    from foldproof.pdf.proof_pages import forget

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
        strips += [see_strip(strip, drawn, pages) for strip in side.strips]
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
        pixels, off = unlike(on_sheet, alone, judged)
        worst = int(off.max(initial=0))
        if worst == 0:
            return LeafSeen(leaf.position, "same")
        tinted = filled(on_sheet, alone, pixels[off > TINT])
        if tinted is not None:
            tinted |= marked(pixels[off > SNAP], judged.shape)
            picture = _picture(on_sheet, alone, tinted) if pictures else None
            return LeafSeen(leaf.position, "differs", None, _box_of(tinted, window), picture)
        if worst <= SNAP:
            return LeafSeen(leaf.position, "same within the pixel rule")
        for aside in GRIDS_PX:
            fine = Window(leaf.window, 144.0, aside)
            sheet_fine = side.pixels(leaf.on_sheet, fine, turned=True)
            alone_fine = page.pixels(leaf.on_page, fine, turned=True)
            judged_fine = _prepare(alone_fine, leaf, fine)
            beside = (some[judged_fine.ravel()[some]] for some in outside(sheet_fine, alone_fine))
            first = next((some for some in beside if some.size), None)
            if first is None:
                return LeafSeen(leaf.position, "same within the pixel rule")
    except Unreadable as lost:
        return LeafSeen(leaf.position, "not compared", str(lost))
    picture = _picture(on_sheet, alone, marked(pixels[off > SNAP], judged.shape)) if pictures else None
    # on the last grid they are all looked at, for the box round them
    where = _box_of(marked(np.concatenate([first, *beside]), judged_fine.shape), fine)
    return LeafSeen(leaf.position, "differs", None, where, picture)


def _empty(leaf: LeafLook, on_sheet: Pixels, window: Window, pictures: bool) -> LeafSeen:
    """A leaf where nothing is placed shows bare paper."""
    judged = _judged(leaf, window)
    dark = (smallest(on_sheet) < PAPER) & judged
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


def _box_of(mask: npt.NDArray[np.bool_], window: Window) -> Box:
    """Leaf frame, mm: the box round the marked pixels."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    pixels = (float(columns[0]), float(rows[0]), float(columns[-1] + 1), float(rows[-1] + 1))
    return box_round(back(window.to_pixels()), pixels)


def _picture(leaf: Pixels, page: Pixels, off: npt.NDArray[np.bool_]) -> bytes:
    """The leaf beside the page beside the leaf in grey with the difference tinted red."""
    grey = (255 - (255 - leaf.mean(axis=2)) * 0.35).astype(np.uint8)
    tinted = np.stack([grey, grey, grey], axis=2)
    tinted[grown(off)] = (200, 30, 30)
    gap = np.full((leaf.shape[0], 6, 3), 190, dtype=np.uint8)
    whole = Image.fromarray(np.concatenate([leaf, gap, page, gap, tinted], axis=1))
    scale = _PICTURE_PX / max(leaf.shape[1], 1)
    if scale < 1:
        whole = whole.resize((round(whole.width * scale), round(whole.height * scale)), Image.Resampling.BOX)
    out = io.BytesIO()
    whole.quantize(64, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
    return out.getvalue()
