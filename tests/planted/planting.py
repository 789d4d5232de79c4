# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a planted fault is, and the tools to plant one on a page of a book that nobody here wrote.

A fault is planted on its own page of a run of pages cut from the book; the page next to it stays as it was.
Coordinates are the page's own (PDF units); all pages that are used have their corner at the origin and no /Rotate.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

from tests.build import font

MM = 72 / 25.4


@dataclass(frozen=True)
class Page:
    """A page to be spoilt."""

    pdf: pikepdf.Pdf
    index: int

    @property
    def leaf(self) -> pikepdf.Object:
        return self.pdf.pages[self.index].obj

    @property
    def size(self) -> tuple[float, float]:
        x0, y0, x1, y1 = (float(v) for v in self.pdf.pages[self.index].mediabox)
        assert (x0, y0) == (0, 0), "a page whose corner lies at the origin"
        return x1, y1

    def paint(self, operators: str, *, first: bool = False, **resources: dict[str, Any]) -> None:
        """Paint more on the page, with resources of its own: ``paint("/Im1 Do", XObject={"Im1": image})``."""
        page = self.pdf.pages[self.index]
        held = page.obj.get("/Resources", None)
        if held is None:
            held = page.obj.Resources = Dictionary()
        else:  # resources may be shared by many pages
            held = page.obj.Resources = self.pdf.make_indirect(Dictionary(dict(held.items())))
        for kind, things in resources.items():
            known = held.get("/" + kind, None)
            mine = Dictionary(dict(known.items())) if known is not None else Dictionary()
            for name, thing in things.items():
                mine["/" + name] = thing
            held["/" + kind] = mine
        contents = page.obj.get("/Contents", None)
        old = list(contents) if isinstance(contents, Array) else [contents] if contents is not None else []
        before, after = (self.pdf.make_indirect(Stream(self.pdf, part)) for part in (b"q\n", b"\nQ\n"))
        mine_too = self.pdf.make_indirect(Stream(self.pdf, f"q {operators} Q\n".encode("latin-1")))
        page.obj.Contents = Array([mine_too, before, *old, after] if first else [before, *old, after, mine_too])

    def text(
        self, words: str, size: float, colour: str, *, at: tuple[float, float] = (150, 300), more: str = ""
    ) -> None:
        """A line of type in an embedded face."""
        x, y = at
        self.paint(f"{more} {colour} BT /PlF {size} Tf {x} {y} Td ({words}) Tj ET", Font={"PlF": font(self.pdf)})

    def stream(self, data: bytes, **entries: Any) -> pikepdf.Object:
        made = Stream(self.pdf, data)
        for key, value in entries.items():
            made["/" + key] = value
        return self.pdf.make_indirect(made)


@dataclass(frozen=True)
class Fault:
    """One fault: what is done to the page, and which check has to see it."""

    name: str
    check: str
    plant: Callable[[Page], None]
    spec: str = "colour-on-coated"
    #: the finding speaks of the whole book, or of some other page than the damaged one
    anywhere: bool = False
    #: planted in a copy of its own: it touches the whole file, or the order of pages
    alone: bool = False
    #: planted on the first page
    first: bool = False
    #: for faults that only the written file can have
    after: Callable[[Path], None] | None = None


def name(plain: str) -> Name:
    return Name("/" + plain)
