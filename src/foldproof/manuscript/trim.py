# SPDX-License-Identifier: AGPL-3.0-or-later
"""The trim of the book, where the job does not state it."""

from __future__ import annotations

from collections import Counter

from foldproof.manuscript.model import Manuscript
from foldproof.units import pt_to_mm


def book_trim_mm(manuscript: Manuscript, job_trim_mm: tuple[float, float] | None) -> tuple[float, float]:
    """Width and height of the trimmed book: the job's, else the size most pages have (the first such page's, exactly).

    Pages are counted as alike to a tenth of a point, so that the float noise of a layout program does not divide them.
    """
    if job_trim_mm is not None:
        return job_trim_mm
    rounded = [tuple(round(side, 1) for side in page.trim_size_pt) for page in manuscript.pages]
    usual, _ = Counter(rounded).most_common(1)[0]
    width_pt, height_pt = manuscript.pages[rounded.index(usual)].trim_size_pt
    return round(pt_to_mm(width_pt), 3), round(pt_to_mm(height_pt), 3)
