# SPDX-License-Identifier: AGPL-3.0-or-later
"""The plates of a page, by this project's ink pass and by ghostscript's ``tiffsep``, pixel on pixel at 72 dpi."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from foldproof.manuscript.observe import turn_of
from foldproof.manuscript.read import read
from foldproof.pdf import ink_raster
from foldproof.pdf.ink_grid import Grid
from foldproof.pdf.interpreter import Book, opened_page, quiet, to_trim

#: name of a plate that carries anything: its amounts over the trim, 0 to 1, row 0 at the head
Plates = dict[str, NDArray[np.float64]]

#: ghostscript paints every pixel that a shape touches: drawn so many times finer and averaged, its edges come near
_FINER = 8


_PLAIN_RGB = ("-dUseFastColor=true", "-c", "{} setblackgeneration {} setundercolorremoval", "-f")


def ours(path: Path, index: int = 0) -> Plates:
    quiet()
    manuscript = read(path)
    turn = turn_of(manuscript.pages[index])
    with opened_page(Book(path, manuscript.sha256), turn) as page, ink_raster.native():
        grid, plates = Grid.on(turn.trim_pt, 0), ink_raster.Plates(page)
        window = (0, 0, grid.width_px, grid.height_px)
        raster = ink_raster.drawn(page, plates, to_trim(page, turn).then(grid.matrix), window)
        samples = raster.samples / 255
    return {name: samples[:, :, number] for number, name in enumerate(plates.names) if samples[:, :, number].any()}


def tiffsep(
    gs: str, path: Path, pages: tuple[int, int] = (1, 1), *, finer: int = _FINER, rgb: bool = False
) -> list[Plates]:
    """The plates of pages (1-based, first and last) by ghostscript; one run for all of them.

    Args:
        rgb: for pages of RGB matter.  Ghostscript would take it through profiles of its own; so without them
            (``UseFastColor``), by the formula of ISO 32000-1, 10.3.4, with the whole of the grey in black (both
            functions of that formula handed what they are given).  It then knows no overprint in mode 1 any more.
    """
    first, last = pages
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(
            [gs, "-q", "-dBATCH", "-dNOPAUSE", "-dSAFER", "-sDEVICE=tiffsep", f"-r{72 * finer}", "-dUseTrimBox",
             f"-dFirstPage={first}", f"-dLastPage={last}", "-sOutputFile=sep%04d.tif",
             *(_PLAIN_RGB if rgb else ()), str(path.resolve())],
            cwd=folder, capture_output=True, check=True, timeout=180,
        )  # fmt: skip
        return [_read(sorted(Path(folder).glob(f"sep{n + 1:04d}(*).tif")), finer) for n in range(last - first + 1)]


def _read(plates: list[Path], finer: int) -> Plates:
    found: Plates = {}
    for plate in plates:
        with Image.open(plate) as picture:
            # 0 is full ink in its pictures
            full = 1 - np.asarray(picture, dtype=np.float64) / 255
        high, wide = full.shape[0] // finer, full.shape[1] // finer
        amounts = full[: high * finer, : wide * finer].reshape(high, finer, wide, finer).mean(axis=(1, 3))
        if amounts.any():
            found[plate.stem.partition("(")[2].rstrip(")")] = amounts
    return found


def total(plates: Plates) -> NDArray[np.float64]:
    return np.asarray(sum(plates.values()))


def areas(amounts: NDArray[np.float64], side: int) -> NDArray[np.float64]:
    """Means over squares of so many pixels a side, side by side."""
    high, wide = amounts.shape[0] // side, amounts.shape[1] // side
    return np.asarray(amounts[: high * side, : wide * side].reshape(high, side, wide, side).mean(axis=(1, 3)))


def heaviest(amounts: NDArray[np.float64], side: int) -> float:
    """The greatest mean over any square of so many pixels a side."""
    return float(np.lib.stride_tricks.sliding_window_view(amounts, (side, side)).mean(axis=(2, 3)).max())
