# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the proof's readers of structure are asked for and what they tell: plain values, without the reader.

Apart from it, so that the process which only hands them out need not load the library that reads.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from attrs import frozen

from foldproof.pdf.proof_affine import Box, Map


@frozen
class PageRead:
    """What one page of the manuscript is, for the proof."""

    number: int  #: 1-based
    digest: bytes
    empty: bool  #: has no content at all, nor annotations
    upright: Map
    trim: Box  #: points, centre of the trim at the origin, upright
    medium: Box  #: user space of the page: all there is of it
    annotated: bool  #: carries annotations that print: flagged so, not hidden, with an appearance


def identity_of(page: PageRead) -> str:
    """A digest of a page's content, of what that uses, and of how it lies in its boxes."""
    lies = repr([round(value, 4) for box in (page.upright, page.trim, page.medium) for value in box])
    return hashlib.blake2b(page.digest + lies.encode("ascii"), digest_size=16).hexdigest()


@frozen
class PagesJob:
    """Pages ``start`` to ``stop`` (0-based, half open) of a file."""

    path: Path
    start: int
    stop: int
    password: str | None = None


@frozen
class Placed:
    """One form drawn on a side."""

    order: int  #: among the forms of the side, in the order in which they are drawn
    digest: bytes
    form: Map  #: form frame → side frame, points
    clip: Box  #: what may show of it, side frame, points: clips and the form's own box
    box: Box  #: its /BBox, form frame
    inside: tuple[Placed, ...] = ()  #: forms that it draws itself, where it is no page
    settings: tuple[str, ...] = ()  #: operators of the side that set how it prints


@frozen
class SideRead:
    """One page of the sheets' file."""

    index: int  #: 0-based in the file
    width_pt: float
    height_pt: float
    to_side: Map  #: default user space → side frame, points
    placed: tuple[Placed, ...]
    painted: tuple[Box, ...] = ()  #: what it paints besides pages and their annotations, side frame, points
    annotated: bool = False  #: carries annotations that print
    cropped: bool = False  #: its CropBox shows less than its MediaBox
    blends_no_cmyk: bool = False  #: its transparency group names a space that has not the four process colours


@frozen
class SidesJob:
    """Pages ``start`` to ``stop`` (0-based, half open) of the sheets' file; ``known`` are digests of whole pages."""

    path: Path
    start: int
    stop: int
    known: frozenset[bytes] = frozenset()
