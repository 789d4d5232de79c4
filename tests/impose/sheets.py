# SPDX-License-Identifier: AGPL-3.0-or-later
"""Reading written sheets with libraries that had no part in writing them (MuPDF, pypdf, ghostscript)."""

from __future__ import annotations

import subprocess
from pathlib import Path

import numpy as np
import pymupdf
from PIL import Image

from foldproof.impose.model import Sheets
from foldproof.impose.write import write_sheets
from foldproof.job.model import Job, Marks
from foldproof.makeup.plan import PagePlace, Plan, Side
from foldproof.manuscript.read import read

#: the switches of a job, by the names that a job file has for them
SWITCHES = tuple(field.alias or name for name, field in Marks.model_fields.items())
NO_MARKS = Job(marks=Marks.model_validate(dict.fromkeys(SWITCHES, False)))
DATE = "29 February 2024"


def impose(book: Path, plan: Plan, target: Path, job: Job | None = None, **more: object) -> Sheets:
    """Read and impose in one step."""
    return write_sheets(read(book), plan, job or NO_MARKS, target, date=DATE, **more)  # type: ignore[arg-type]


def side_index(place: PagePlace) -> int:
    """0-based page of sheets.pdf: sheet 1 front, sheet 1 back, sheet 2 front …"""
    return 2 * (place.sheet - 1) + (place.side is Side.BACK)


def mupdf(path: Path, space: pymupdf.Colorspace = pymupdf.csRGB, dpi: int = 72) -> list[np.ndarray]:
    """Every page as an array of samples, the whole CropBox."""
    with pymupdf.open(path) as document:
        out = []
        for page in document:
            pixmap = page.get_pixmap(dpi=dpi, colorspace=space)
            out.append(np.frombuffer(pixmap.samples, np.uint8).reshape(pixmap.h, pixmap.w, pixmap.n).astype(int))
        return out


def ghostscript(program: str, path: Path, folder: Path, device: str = "tiff24nc", dpi: int = 72) -> list[np.ndarray]:
    """Every page as ghostscript draws it."""
    folder.mkdir()
    subprocess.run(
        [program, "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", f"-r{dpi}", f"-sDEVICE={device}",
         f"-sOutputFile={folder}/%03d.tif", str(path)],
        check=True, stdout=subprocess.DEVNULL, timeout=120,
    )  # fmt: skip
    return [np.asarray(Image.open(found)).astype(int) for found in sorted(folder.glob("*.tif"))]


def difference(page: np.ndarray, sheet: np.ndarray, place: PagePlace, sheet_height_pt: float) -> int:
    """Largest difference between a page without bleed, drawn alone, and its place on a sheet; upright pages only.

    The page's corner falls between two pixels of the sheet: of the four possible pixels the best is taken, and a pixel
    differs only where a whole 3 x 3 neighbourhood does.
    """
    best = 255
    for dx in (0, 1):
        for dy in (0, 1):
            x, y = int(place.trim_pt.x0) + dx, int(sheet_height_pt - place.trim_pt.y1) + dy
            found = sheet[y : y + page.shape[0], x : x + page.shape[1]]
            high, wide = min(found.shape[0], page.shape[0]), min(found.shape[1], page.shape[1])
            off = np.abs(found[:high, :wide] - page[:high, :wide]).max(axis=2)
            least = np.minimum.reduce([off[i : high - 2 + i, j : wide - 2 + j] for i in range(3) for j in range(3)])
            best = min(best, int(least.max()))
    return best
