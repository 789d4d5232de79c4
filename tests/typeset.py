# SPDX-License-Identifier: AGPL-3.0-or-later
"""A small set book, typeset anew for every version: margins that change sides, running heads, folios that count on.

Versions of one book as they come from a layout program: a page put in makes every later page change its side and its
folio; text that grows runs over into the pages after it.  Set with typst, in the font that travels with it.
"""

from __future__ import annotations

import io
import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import typst
from PIL import Image

_TEXT = """
lamp wick oil row press sheet fold spine thread knife river wharf lantern paper ink forme type stone ladder quire
evening market bell tower bridge ferry winter harvest ledger candle window garden orchard mill weir
"""
_WORDS = _TEXT.split()


@dataclass(frozen=True)
class Leaf:
    """One page: its text comes from ``seed``; a grey picture of so many pixels across, so wide on paper."""

    seed: int
    words: int = 170
    picture_px: int = 0
    picture_mm: float = 60.0
    more: str = ""  #: put after the text, typst markup


def text_of(leaf: Leaf) -> str:
    chance = random.Random(leaf.seed)
    words = [chance.choice(_WORDS) for _ in range(leaf.words)]
    return " ".join(words).capitalize() + "."


def typeset(leaves: Sequence[Leaf], folder: Path, name: str = "book.pdf") -> Path:
    """The pages as a PDF of 140 x 216 mm; a leaf whose text does not fit runs over into a page more."""
    folder.mkdir(parents=True, exist_ok=True)
    pictures = {}
    for leaf in leaves:
        if leaf.picture_px:
            pictures[f"{leaf.seed}-{leaf.picture_px}.png"] = _noise(leaf.picture_px, leaf.seed)
    for file, content in pictures.items():
        (folder / file).write_bytes(content)
    parts = []
    for leaf in leaves:
        part = text_of(leaf)
        if leaf.picture_px:
            part += f'\n\n#image("{leaf.seed}-{leaf.picture_px}.png", width: {leaf.picture_mm}mm)\n'
        parts.append(part + leaf.more)
    source = folder / f"{name}.typ"
    source.write_text(_HEAD + "\n#pagebreak()\n".join(parts), encoding="utf-8")
    target = folder / name
    target.write_bytes(typst.compile(str(source)))
    return target


_HEAD = """
#set document(title: "The Wharf at Merrowby", date: none)
#set page(width: 140mm, height: 216mm, margin: (inside: 24mm, outside: 16mm, top: 22mm, bottom: 24mm),
  header: context if calc.odd(here().page()) [#h(1fr) _The Ferry_] else [_The Wharf at Merrowby_],
  footer: context align(if calc.odd(here().page()) { right } else { left }, counter(page).display()))
#set text(size: 10pt, fill: luma(0%), lang: "en")
#set par(justify: true)
"""


def _noise(pixels: int, seed: int) -> bytes:
    chance = random.Random(seed)
    high = pixels * 2 // 3
    picture = Image.frombytes("L", (pixels, high), bytes(chance.randrange(256) for _ in range(pixels * high)))
    held = io.BytesIO()
    picture.save(held, "PNG")
    return held.getvalue()
