# SPDX-License-Identifier: AGPL-3.0-or-later
"""Things that the structure names, and the pages that use them, as checks tell of them."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.file_facts import Where
from foldproof.preflight.words import counted, listed, numbers


def by_page(things: Iterable[Where]) -> dict[int, list[Where]]:
    """The things that each page uses (0-based indices in order), in the order given."""
    found: dict[int, list[Where]] = {}
    for thing in things:
        for page in thing.pages:
            found.setdefault(page, []).append(thing)
    return dict(sorted(found.items()))


def pages_of(things: Iterable[Where]) -> tuple[int, ...]:
    """All pages of several things, in order."""
    return tuple(sorted({page for thing in things for page in thing.pages}))


def on_pages(indices: tuple[int, ...]) -> str:
    """``" on page 3"``, ``" on pages 3 to 7 and 12"``, ``" on 369 pages, the first of them page 11"``, ``""``."""
    if not indices:
        return ""
    if len(indices) > _MOST_NAMED:
        return f" on {counted(len(indices), 'page')}, the first of them page {indices[0] + 1}"
    return f" on {numbers(indices)}"


def quoted(names: Iterable[str], most: int = 3) -> str:
    """Names as a list in quotation marks; those without one are left out."""
    return listed([f'"{short(name)}"' for name in dict.fromkeys(names) if name], most)


def short(name: str) -> str:
    """A name that a file gives, no longer than a line can bear."""
    words = " ".join(name.split())
    return words if len(words) <= _LONGEST_NAME else words[: _LONGEST_NAME - 1] + "\N{HORIZONTAL ELLIPSIS}"


_MOST_NAMED = 12
_LONGEST_NAME = 60
