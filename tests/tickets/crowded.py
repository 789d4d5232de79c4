# SPDX-License-Identifier: AGPL-3.0-or-later
"""Words of a set page that lie on one another or off it, as MuPDF finds them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pymupdf


def crowded(path: Path) -> list[str]:
    """Every pair of words that meet, and every word that leaves its page, as a line that names page and words.

    The boxes of the words are a little shrunk: ascenders and descenders may meet.
    """
    found = []
    with pymupdf.open(path) as document:
        for page in document:
            words = page.get_text("words")
            assert words, f"page {page.number + 1} says nothing"
            boxes = np.array([word[:4] for word in words])
            inset = 0.28 * np.minimum(boxes[:, 3] - boxes[:, 1], boxes[:, 2] - boxes[:, 0])
            boxes[:, 0] += 0.3
            boxes[:, 2] -= 0.3
            boxes[:, 1] += inset
            boxes[:, 3] -= inset
            off = (boxes[:, :2] < page.rect[:2]).any(axis=1) | (boxes[:, 2:] > page.rect[2:]).any(axis=1)
            found += [f"page {page.number + 1}: {words[n][4]} is off it" for n in np.flatnonzero(off)]
            low = np.maximum(boxes[:, None, :2], boxes[None, :, :2])
            high = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:])
            meet = np.triu((low < high).all(axis=2), 1)
            found += [f"page {page.number + 1}: {words[a][4]} / {words[b][4]}" for a, b in np.argwhere(meet)]
    return found
