# SPDX-License-Identifier: AGPL-3.0-or-later
"""A scannable code: which job, sheet, side and sections this is, for the readers at press, folder and gatherer.

Data Matrix ECC 200 (ISO/IEC 16022), oblong where the text allows it, in the black plate.  The text is short and plain
ASCII, its fields parted by ``|``::

    FP1|The Lamps of Merrowb|3/12|F|5-8

the form of the text, the first letters of the title, sheet and number of sheets, side (F front, B back, W one set of
plates for both), signatures of the sections; a run of neighbours by its first and last.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import lru_cache

from attrs import frozen
from ppf.datamatrix import DataMatrix

from foldproof.geometry import Rect
from foldproof.impose.marks.margins import bands, margins
from foldproof.impose.marks.room import Room
from foldproof.pdf.sheets_drawing import Cells, Stroke
from foldproof.units import mm_to_pt

FORM = "FP1"
#: letters of the title, the fewer where the margins are narrow
TITLE_LETTERS = (20, 8)
#: side of a module, larger ones first; readers at arm's length want half a millimetre (common practice, no source)
_MODULES_PT = (mm_to_pt(0.7), mm_to_pt(0.6), mm_to_pt(0.5))
#: white modules round the symbol: ISO/IEC 16022 asks for one, twice that keeps it from a hurried reader's trouble
_QUIET = 2
#: plain ASCII alone: its codewords are the same in every reader
_CODECS = ["ascii"]

Modules = tuple[tuple[int, ...], ...]


@frozen
class Spot:
    """Room for a code, quiet zone and all; side frame, points."""

    box: Rect
    module_pt: float
    turned: bool  #: a quarter turn, for a margin that stands upright
    oblong: bool
    letters: int  #: of the title that have room


def text_of(title: str, sheet: int, sheets: int, side: str, sections: Sequence[tuple[int, str]], letters: int) -> str:
    """What the code of one side says.

    Args:
        side: ``"F"``, ``"B"`` or ``"W"``.
        sections: number and signature of every gathered section on the sheet, in order.
        letters: of the title.
    """
    return "|".join((FORM, plain_ascii(title)[:letters].rstrip(), f"{sheet}/{sheets}", side, ",".join(_runs(sections))))


def plain_ascii(title: str) -> str:
    """The title in printable ASCII: accents dropped, a run of other letters becomes one ``?``."""
    out: list[str] = []
    for letter in unicodedata.normalize("NFKD", title):
        if unicodedata.combining(letter):
            continue
        given = letter if " " < letter <= "~" and letter != "|" else " " if letter.isspace() or letter == "|" else "?"
        if given not in (" ", "?") or not out or out[-1] != given:
            out.append(given)
    return "".join(out).strip()


def _runs(sections: Sequence[tuple[int, str]]) -> list[str]:
    runs: list[list[tuple[int, str]]] = []
    for number, signature in sections:
        if runs and runs[-1][-1][0] == number - 1:
            runs[-1].append((number, signature))
        else:
            runs.append([(number, signature)])
    return [run[0][1] if len(run) == 1 else f"{run[0][1]}{',' if len(run) == 2 else '-'}{run[-1][1]}" for run in runs]


@lru_cache(maxsize=4096)
def symbol(text: str, oblong: bool) -> Modules:
    """The modules of a code, row by row from the top, 1 for ink."""
    return tuple(tuple(row) for row in DataMatrix(text, rect=oblong, codecs=_CODECS).matrix)


def codewords(text: str) -> int:
    """How much a text takes of a symbol (ISO/IEC 16022: two figures share a codeword)."""
    return len(text.encode("datamatrix.ascii"))


def reserve(room: Room, longest: dict[int, str]) -> Spot | None:
    """The spot for a code, taken from ``room``; ``None`` where no margin has one.

    Args:
        longest: for a number of letters of the title the longest text that any sheet of the plan will have.
    """
    found = sorted(margins(room), key=lambda margin: ("top", "bottom", "right", "left").index(margin.edge))
    for letters, text in longest.items():
        for module_pt in _MODULES_PT:
            for oblong in (True, False):
                rows = symbol(text, oblong)
                wide, high = ((count + 2 * _QUIET) * module_pt for count in (len(rows[0]), len(rows)))
                for margin in found:
                    for band in bands(margin, high):
                        for low, end in room.gaps(band, margin.upright):
                            if end - low < wide:
                                break  # the longest comes first
                            box = (
                                Rect(band.x0, end - wide, band.x1, end)
                                if margin.upright
                                else Rect(end - wide, band.y0, end, band.y1)
                            )
                            if room.free(box, 0.0):
                                room.take(box)
                                return Spot(box, module_pt, margin.upright, oblong, letters)
    return None


def strokes(spot: Spot, text: str) -> tuple[Stroke, ...]:
    """The code in its spot: next to the lower left corner, the quiet zone kept."""
    rows = symbol(text, spot.oblong)
    high = len(rows)
    cells = []
    for down, row in enumerate(rows):
        start = 0
        while start < len(row):
            end = start
            while end < len(row) and row[end] == row[start]:
                end += 1
            if row[start]:
                cells.append(_cell(spot, high, down, start, end))
            start = end
    return (Cells(tuple(cells)),)


def _cell(spot: Spot, high: int, down: int, start: int, end: int) -> Rect:
    """A run of modules in one row, columns ``start`` up to ``end``; turned, the code reads up the sheet."""
    size, x, y = spot.module_pt, spot.box.x0 + _QUIET * spot.module_pt, spot.box.y0 + _QUIET * spot.module_pt
    if spot.turned:
        return Rect(x + down * size, y + start * size, x + (down + 1) * size, y + end * size)
    return Rect(x + start * size, y + (high - down - 1) * size, x + end * size, y + (high - down) * size)
