# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a page is known by in a later version of its book, wherever it stands there and whatever folio it bears then.

A digest of what is on it, not of where: a page that moves from a right-hand side to a left-hand one has its type
elsewhere, and a page put in before it gives it another folio.  Glyphs are counted, not read: a subset of a font numbers
them anew as soon as one page of the book uses another letter.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter

from foldproof.manuscript.model import Observations, PageObjects

#: ISO 32000-1, 9.6.4: six upper-case letters and a plus sign before the name of a subset; chosen anew at every export
_SUBSET = re.compile(r"\b[A-Z]{6}\+")
#: beside a text of so many glyphs, kinds of type with fewer than these are a folio or a running head
_TEXT, _HEAD = 200, 60
#: bytes of a digest: among 100,000 pages two differing ones are alike by chance once in some 50,000 books
_BYTES = 6


def page_digests(observations: Observations) -> tuple[str, ...]:
    """One a page, in order; ``""`` for a page whose content was not interpreted."""
    return tuple("" if seen is None else page_digest(seen) for seen in observations.objects)


def page_digest(seen: PageObjects) -> str:
    """Of one page: kinds of type and how many glyphs of each, pictures and their samples, number of paths."""
    glyphs: Counter[tuple[str, float, str]] = Counter()
    for use in seen.texts:
        if use.in_trim:
            glyphs[without_subset(use.font), use.size_pt, use.how] += use.glyphs
    if max(glyphs.values(), default=0) >= _TEXT:
        glyphs = Counter({kind: number for kind, number in glyphs.items() if number >= _HEAD})
    pictures = sorted((p.kind.value, p.width_px, p.height_px, p.bits, p.space) for p in seen.pictures)
    told = repr((sorted(glyphs.items()), pictures, seen.path_count))
    return hashlib.blake2b(told.encode("utf-8", "replace"), digest_size=_BYTES).hexdigest()


def without_subset(name: str) -> str:
    """The name of a font, or a text that holds one, without what marks a subset."""
    return _SUBSET.sub("", name)
