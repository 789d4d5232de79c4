# SPDX-License-Identifier: AGPL-3.0-or-later
"""Ways to spoil press sheets, each on a file that is already written.

Imports nothing of the project.  The sheets are parsed here by themselves: a placed page is a block ``q x y w h re W n
a b c d e f cm /Name Do … Q`` of a side's content, and the pages of the test books say their number in their content
(``(Page 12)``), so that every function can tell which pages it touched.

    python tests/damage/damage.py shift_one sheets.pdf spoilt.pdf --seed 3
"""

from __future__ import annotations

import argparse
import copy
import math
import random
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pikepdf

PT = 72 / 25.4  # points in a millimetre (ISO 32000-1, 8.3.2.3: 1/72 in)
_SAYS = re.compile(rb"\((?:Page |Entry )(\d+)")


class NothingToSpoil(Exception):
    """The sheets hold nothing that this damage could be done to."""


@dataclass(eq=False)
class Block:
    """One placed page: its operators, from ``q`` to ``Q``."""

    side: int
    ops: list[Any]
    page: int

    def at(self, operator: str) -> int:
        return next(i for i, (_, op) in enumerate(self.ops) if str(op) == operator)

    @property
    def name(self) -> str:
        return str(self.ops[self.at("Do")][0][0])

    @property
    def clip(self) -> tuple[float, float, float, float]:
        x, y, w, h = (float(v) for v in self.ops[self.at("re")][0])
        return x, y, w, h

    @property
    def centre(self) -> tuple[float, float]:
        x, y, w, h = self.clip
        return x + w / 2, y + h / 2

    def move(self, six: tuple[float, ...]) -> None:
        """``six`` after the page's own matrix, in the frame of the side."""
        at = self.at("cm")
        a, b, c, d, e, f = (float(v) for v in self.ops[at][0])
        p, q, r, s, t, u = six
        made = [a * p + b * r, a * q + b * s, c * p + d * r, c * q + d * s, e * p + f * r + t, e * q + f * s + u]
        self.ops[at] = ([_number(v) for v in made], self.ops[at][1])

    def set_clip(self, x: float, y: float, w: float, h: float) -> None:
        at = self.at("re")
        self.ops[at] = ([_number(v) for v in (x, y, w, h)], self.ops[at][1])


@dataclass
class Sheets:
    """A file of sheets, opened to be spoilt."""

    pdf: pikepdf.Pdf
    sides: list[list[Any]] = field(default_factory=list)  #: blocks, and single operators between them
    #: what was spoilt: number of the side, from 0, and the page that belongs there
    hit: set[tuple[int, int]] = field(default_factory=set)
    #: middles of the only places that may be spoilt, with the number of their side; all when empty
    only: list[tuple[int, tuple[float, float]]] = field(default_factory=list)
    prefix: dict[int, str] = field(default_factory=dict)
    suffix: dict[int, str] = field(default_factory=dict)

    @classmethod
    def open(cls, path: Path) -> Sheets:
        pdf = pikepdf.open(path)
        made = cls(pdf)
        for index, page in enumerate(pdf.pages):
            # what pages share must not be spoilt on both
            page.obj.Resources = pdf.make_indirect(pikepdf.Dictionary(copy.copy(page.obj.Resources)))
            page.obj.Resources.XObject = pikepdf.Dictionary(dict(page.obj.Resources.XObject.items()))
            made.sides.append(made._parse(index, page))
        return made

    def _parse(self, index: int, page: pikepdf.Page) -> list[Any]:
        out: list[Any] = []
        group: list[Any] = []
        depth = 0
        for operands, operator in pikepdf.parse_content_stream(page):
            depth += str(operator) == "q"
            group.append((list(operands), operator))
            depth -= str(operator) == "Q"
            if depth:
                continue
            names = [str(ops[0]) for ops, op in group if str(op) == "Do"]
            said = self._says(page, names[0]) if names else None
            if said is not None and any(str(op) == "re" for _, op in group):
                out.append(Block(index, group, said))
            else:
                out.append(group)
            group = []
        return out

    @staticmethod
    def _says(page: pikepdf.Page, name: str) -> int | None:
        form = page.obj.Resources.XObject[name]
        if form.get("/Subtype") != "/Form":
            return None
        found = _SAYS.search(form.read_bytes())
        return int(found[1]) if found else None

    @property
    def blocks(self) -> list[Block]:
        return [item for side in self.sides for item in side if isinstance(item, Block)]

    def pick(self, rng: random.Random) -> Block:
        """One placed page to be spoilt."""
        block = rng.choice([block for block in self.blocks if not self.only or self._is_one_of(block)])
        self.hit.add((block.side, block.page))
        return block

    def _is_one_of(self, block: Block) -> bool:
        return any(side == block.side and math.dist(at, block.centre) < PT for side, at in self.only)

    def pick_backs(self, rng: random.Random, count: int) -> list[int]:
        """Numbers of backs to be spoilt as a whole."""
        backs = [i for i in range(1, len(self.sides), 2) if self.on(i)]
        if len(backs) < count:
            raise NothingToSpoil
        chosen = rng.sample(backs, count)
        self.hit |= {(i, block.page) for i in chosen for block in self.on(i)}
        return chosen

    def pages_hit(self, side: int) -> set[int]:
        return {page for at, page in self.hit if at == side}

    def on(self, side: int) -> list[Block]:
        return [item for item in self.sides[side] if isinstance(item, Block)]

    def form(self, block: Block) -> pikepdf.Object:
        return self.pdf.pages[block.side].obj.Resources.XObject[block.name]

    def size(self, side: int) -> tuple[float, float]:
        x0, y0, x1, y1 = (float(v) for v in self.pdf.pages[side].obj.MediaBox)
        return x1 - x0, y1 - y0

    def save(self, target: Path) -> None:
        for index, side in enumerate(self.sides):
            ops = [op for item in side for op in (item.ops if isinstance(item, Block) else item)]
            content = pikepdf.unparse_content_stream(ops)
            content = (
                self.prefix.get(index, "").encode() + b"\n" + content + b"\n" + self.suffix.get(index, "").encode()
            )
            self.pdf.pages[index].obj.Contents = self.pdf.make_stream(content)
        self.pdf.save(target, static_id=True)
        self.pdf.close()


def _number(value: float) -> Any:
    return pikepdf.Object.parse(f"{value:.6f}".encode())


# --- one page ---


def swap_two(sheets: Sheets, rng: random.Random) -> set[int]:
    """Two pages exchange their places, anywhere in the book."""
    one, other = _two(sheets, rng)
    first, second = sheets.form(one), sheets.form(other)
    sheets.pdf.pages[one.side].obj.Resources.XObject["/Spoilt1"] = second
    sheets.pdf.pages[other.side].obj.Resources.XObject["/Spoilt2"] = first
    _rename(one, "/Spoilt1")
    _rename(other, "/Spoilt2")
    return {one.page, other.page}


def turn_one(sheets: Sheets, rng: random.Random) -> set[int]:
    """A page stands on its head in its own place."""
    block = sheets.pick(rng)
    x, y = block.centre
    block.move((-1, 0, 0, -1, 2 * x, 2 * y))
    return {block.page}


def shift_one(sheets: Sheets, rng: random.Random) -> set[int]:
    """A page moves by 0.5 mm, along one axis, with its clip or without it."""
    block = sheets.pick(rng)
    dx, dy = rng.choice([(0.5, 0), (-0.5, 0), (0, 0.5), (0, -0.5)])
    block.move((1, 0, 0, 1, dx * PT, dy * PT))
    if rng.random() < 0.5:
        x, y, w, h = block.clip
        block.set_clip(x + dx * PT, y + dy * PT, w, h)
    return {block.page}


def drop_one(sheets: Sheets, rng: random.Random) -> set[int]:
    """A page is not printed."""
    block = sheets.pick(rng)
    sheets.sides[block.side].remove(block)
    return {block.page}


def double_one(sheets: Sheets, rng: random.Random) -> set[int]:
    """A page is printed twice: instead of another, over another, or over itself."""
    one, other = _two(sheets, rng)
    how = rng.choice(["instead", "over", "itself"])
    if how == "itself":
        side = sheets.sides[one.side]
        side.insert(side.index(one) + 1, Block(one.side, list(one.ops), one.page))
        sheets.hit.discard((other.side, other.page))
        return {one.page}
    sheets.pdf.pages[other.side].obj.Resources.XObject["/Spoilt"] = sheets.form(one)
    second = copy.copy(other)
    second.ops = list(other.ops)
    _rename(second, "/Spoilt")
    side = sheets.sides[other.side]
    at = side.index(other)
    side[at : at + 1] = [second] if how == "instead" else [other, second]
    sheets.hit.discard((one.side, one.page))
    return {one.page, other.page}


def scale_one(sheets: Sheets, rng: random.Random) -> set[int]:
    """A page is drawn at 100.5 or 99.5 % of its size, about the corner of the sheet or about its own centre."""
    block = sheets.pick(rng)
    by = rng.choice([1.005, 0.995])
    x, y = rng.choice([(0.0, 0.0), block.centre])
    block.move((by, 0, 0, by, x - by * x, y - by * y))
    return {block.page}


def fill_over(sheets: Sheets, rng: random.Random) -> set[int]:
    """A small black fill on a page, a pale tint, or a white fill over the words in its middle."""
    block = sheets.pick(rng)
    x, y, w, h = block.clip
    cx, cy = block.centre
    how = rng.choice(["black", "tint", "white"])
    if how == "white":
        px, py, paint, wide = cx - 12 * PT, cy - 12 * PT, "0 0 0 0 k", 24 * PT
    else:
        paint, wide = ("0 0 0 1 k", 1.5 * PT) if how == "black" else (f"0 0 0 {rng.uniform(0.1, 0.4):.2f} k", 4 * PT)
        px, py = x + w * rng.uniform(0.15, 0.8), y + h * rng.uniform(0.15, 0.8)
        # not on the words in the middle, which are black themselves
        if math.hypot(px - cx, py - cy) < 30 * PT:
            px, py = x + w * 0.3, y + h * 0.2
    sheets.suffix[block.side] = f"q {paint} {px:.3f} {py:.3f} {wide:.3f} {wide:.3f} re f Q"
    return {block.page}


def cut_bleed(sheets: Sheets, rng: random.Random) -> set[int]:
    """The clip of a page takes 1.5 mm at one edge."""
    block = sheets.pick(rng)
    x, y, w, h = block.clip
    cut = 1.5 * PT
    block.set_clip(
        *rng.choice([(x + cut, y, w - cut, h), (x, y + cut, w, h - cut), (x, y, w - cut, h), (x, y, w, h - cut)])
    )
    return {block.page}


def change_digit(sheets: Sheets, rng: random.Random) -> set[int]:
    """One digit of a page's own words becomes another: often its twin's."""
    block = sheets.pick(rng)
    form = sheets.form(block)
    data = form.read_bytes()
    found = _SAYS.search(data)
    if found is None:
        raise NothingToSpoil
    at = found.end(1) - 1
    digit = rng.choice([d for d in b"0123456789" if d != data[at]])
    form.write(data[:at] + bytes([digit]) + data[at + 1 :])
    return {block.page}


# --- a whole side ---


def exchange_backs(sheets: Sheets, rng: random.Random) -> set[int]:
    """The backs of two sheets are exchanged."""
    one, other = sheets.pick_backs(rng, 2)
    pages = {block.page for i in (one, other) for block in sheets.on(i)}
    first, second = sheets.pdf.pages[one].obj, sheets.pdf.pages[other].obj
    first.Resources, second.Resources = second.Resources, first.Resources
    sheets.sides[one], sheets.sides[other] = sheets.sides[other], sheets.sides[one]
    return pages


def turn_back(sheets: Sheets, rng: random.Random) -> set[int]:
    """A back is printed the wrong way round: turned in its content, or by /Rotate."""
    [side] = sheets.pick_backs(rng, 1)
    if rng.random() < 0.5:
        sheets.pdf.pages[side].obj.Rotate = 180
    else:
        wide, high = sheets.size(side)
        sheets.prefix[side] = f"q -1 0 0 -1 {wide:.4f} {high:.4f} cm"
        sheets.suffix[side] = "Q"
    return {block.page for block in sheets.on(side)}


def shift_back(sheets: Sheets, rng: random.Random) -> set[int]:
    """A whole back moves by 0.5 mm: in its content, or by its MediaBox."""
    [side] = sheets.pick_backs(rng, 1)
    dx, dy = rng.choice([(0.5 * PT, 0), (-0.5 * PT, 0), (0, 0.5 * PT), (0, -0.5 * PT)])
    if rng.random() < 0.5:
        sheets.prefix[side], sheets.suffix[side] = f"q 1 0 0 1 {dx:.4f} {dy:.4f} cm", "Q"
    else:
        x0, y0, x1, y1 = (float(v) for v in sheets.pdf.pages[side].obj.MediaBox)
        sheets.pdf.pages[side].obj.MediaBox = pikepdf.Array([_number(v) for v in (x0 - dx, y0 - dy, x1 - dx, y1 - dy)])
    return {block.page for block in sheets.on(side)}


def misplace_step(sheets: Sheets, rng: random.Random, bars: list[dict[str, Any]]) -> set[int]:
    """One collation mark is printed a step too far down the spine, or not at all.

    Args:
        bars: from the plan: ``index`` of the side, ``box_pt`` of the mark, ``step_pt`` from it to the next step in the
            frame of the side, ``page`` that its section begins with.
    """
    if not bars:
        raise NothingToSpoil
    bar = rng.choice(bars)
    x0, y0, x1, y1 = bar["box_pt"]
    dx, dy = bar["step_pt"]
    # laid over the right one: paper colour, and the mark again where the next one belongs
    again = "" if rng.random() < 0.3 else f"0 0 0 1 k {x0 + dx:.3f} {y0 + dy:.3f} {x1 - x0:.3f} {y1 - y0:.3f} re f"
    sheets.suffix[bar["index"]] = (
        f"q 0 0 0 0 k {x0 - 0.5:.3f} {y0 - 0.5:.3f} {x1 - x0 + 1:.3f} {y1 - y0 + 1:.3f} re f {again} Q"
    )
    return {bar["page"]}


def _two(sheets: Sheets, rng: random.Random) -> tuple[Block, Block]:
    """Two places with two pages: a sheet may carry a page twice."""
    one = sheets.pick(rng)
    other = rng.choice([block for block in sheets.blocks if block.page != one.page])
    sheets.hit.add((other.side, other.page))
    return one, other


def _rename(block: Block, name: str) -> None:
    at = block.at("Do")
    block.ops = [*block.ops]
    block.ops[at] = ([pikepdf.Name(name)], block.ops[at][1])


#: damages of sheets that need nothing but the sheets
OF_SHEETS: dict[str, Callable[[Sheets, random.Random], set[int]]] = {
    each.__name__: each
    for each in (
        swap_two, turn_one, shift_one, drop_one, double_one, scale_one, fill_over, cut_bleed, change_digit,
        exchange_backs, turn_back, shift_back,
    )
}  # fmt: skip


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("damage", choices=sorted(OF_SHEETS))
    asked.add_argument("sheets", type=Path)
    asked.add_argument("target", type=Path)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    sheets = Sheets.open(given.sheets)
    pages = OF_SHEETS[given.damage](sheets, random.Random(given.seed))
    sheets.save(given.target)
    print("spoilt: pages", ", ".join(map(str, sorted(pages))))


if __name__ == "__main__":
    main()
