# SPDX-License-Identifier: AGPL-3.0-or-later
"""One way to look at a built page in these tests: read, then both passes, in this process."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pikepdf

from foldproof.manuscript.model import EdgeInk, PageInk, PageObjects
from foldproof.manuscript.observe import Look, Lot, look_at, turn_of
from foldproof.manuscript.read import read
from foldproof.pdf.interpreter import Book
from tests import build


def looks(path: Path, bleed_mm: float = 3.0, trim_mm: tuple[float, float] | None = None) -> list[tuple[Any, Any]]:
    """Objects and inks of every page."""
    return looks_at(path, None, bleed_mm, trim_mm)


def looks_at(
    path: Path, indices: Sequence[int] | None, bleed_mm: float = 3.0, trim_mm: tuple[float, float] | None = None
) -> list[tuple[Any, Any]]:
    """Objects and inks of some pages (0-based), or of all."""
    manuscript = read(path, trim_mm=trim_mm)
    turns = tuple(turn_of(page) for page in manuscript.pages if indices is None or page.index in indices)
    found: list[Look] = []
    while len(found) < len(turns):  # on a busy machine a lot gives back what it has no time for
        found += look_at(Lot(Book(path, manuscript.sha256), turns[len(found) :], bleed_mm, True, True))
    assert [look.lost for look in found] == [None] * len(found)
    return [(look.objects, look.ink) for look in found]


def look(path: Path, *, after: Callable[[pikepdf.Pdf], None] | None = None, bleed: float = 3.0, **page: Any) -> Any:
    """Objects and ink of a page built from arguments of ``build.page``."""
    pdf = pikepdf.new()
    build.page(pdf, **page)
    if after:
        after(pdf)
    ((objects, ink),) = looks(build.save(pdf, path), bleed)
    assert isinstance(objects, PageObjects)
    assert isinstance(ink, PageInk)
    return objects, ink


def edge(ink: PageInk, name: str) -> EdgeInk:
    return next(e for e in ink.edges if e.edge == name)
