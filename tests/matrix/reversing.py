# SPDX-License-Identifier: AGPL-3.0-or-later
"""Folds told the wrong way round, and which of them make another book.

Two slips of the tongue: over for under, and one side for the other (left for right, top for bottom), the lines of the
folds drawn where a folder who believed the words would draw them.  Not every slip spoils the book.  A pile that is
halved once more lies the same whichever half is taken up: in the last fold left for right is the same book seen from
the other side of the table.  :mod:`tests.makeup.brute_folding` tells what comes of a slip: the same book, another, or
paper that cannot be folded so.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate

from attrs import evolve, frozen

from foldproof.makeup.instructions import Fold, FoldingInstructions, Section
from tests.makeup import brute_folding

_OPPOSITE = {"left": "right", "right": "left", "top": "bottom", "bottom": "top", "over": "under", "under": "over"}
SAME, OTHER, NONE = "the same book", "another book", "no fold"


@frozen
class Slip:
    """Folding instructions with one fold of one piece told the wrong way round."""

    told: FoldingInstructions
    says: str
    makes: str  #: one of :data:`SAME`, :data:`OTHER`, :data:`NONE`


def slips(told: FoldingInstructions, *, sides: bool = True) -> Iterator[Slip]:
    """Every fold of every piece that is laid or folded unlike those before it, reversed; one slip at a time.

    Args:
        sides: exchange sides too, besides over and under.
    """
    seen = set()
    for sheet_nth, sheet in enumerate(told.sheets):
        for nth, section in enumerate(sheet.sections):
            words = tuple(one.words for one in section.folds)
            kind = (words, section.turned, section.turned_over, section.copy_of is None, sheet.turn)
            if kind in seen:
                continue
            seen.add(kind)
            for fold_nth, said in enumerate(words):
                for other in _otherwise(said, sides=sides):
                    wrong, makes = _wrong(section, fold_nth, other, told.reading == "left to right")
                    sections = (*sheet.sections[:nth], wrong, *sheet.sections[nth + 1 :])
                    sheets = (
                        *told.sheets[:sheet_nth],
                        evolve(sheet, sections=sections),
                        *told.sheets[sheet_nth + 1 :],
                    )
                    says = f"piece {section.id}, fold {fold_nth + 1}: {other!r} for {said!r}"
                    yield Slip(evolve(told, sheets=sheets), says, makes)


def _otherwise(words: str, *, sides: bool) -> list[str]:
    side, *count, way = words.split()
    over = " ".join((side, *count, _OPPOSITE[way]))
    return [over, " ".join((_OPPOSITE[side], *count, way))] if sides else [over]


def _wrong(section: Section, nth: int, said: str, spine_left: bool) -> tuple[Section, str]:
    words = [one.words for one in section.folds]
    right = _fold(section, words, spine_left)
    words[nth] = said
    wrong = _fold(section, words, spine_left)
    if right is None or wrong is None:
        folds = tuple(evolve(one, words=word) for one, word in zip(section.folds, words, strict=True))
        return evolve(section, folds=folds), NONE
    lines = tuple(Fold(word, _line(section, *line)) for word, line in zip(words, wrong.lines, strict=True))
    return evolve(section, folds=lines), SAME if _leaves(right) == _leaves(wrong) else OTHER


def _fold(section: Section, words: list[str], spine_left: bool) -> brute_folding.Folded | None:
    try:
        return brute_folding.fold(section.columns, section.rows, tuple(words), section.head, spine_left=spine_left)
    except brute_folding.NoFold:
        return None


def _leaves(folded: brute_folding.Folded) -> list[tuple[object, ...]]:
    return [(leaf.panel, leaf.recto_on_front, leaf.head_turns) for leaf in folded.leaves]


def _line(section: Section, upright: bool, at: int, start: int, end: int) -> tuple[tuple[float, float], ...]:
    """The line of a fold, sheet frame of the front, from its place in panels of the scheme."""
    columns, rows = [0.0, *accumulate(section.column_mm)], [0.0, *accumulate(section.row_mm)]
    if upright:
        points = [(_at(columns, at), _at(rows, start)), (_at(columns, at), _at(rows, end))]
    else:
        points = [(_at(columns, start), _at(rows, at)), (_at(columns, end), _at(rows, at))]
    return tuple(_on_sheet(section, x, rows[-1] - down) for x, down in points)


def _at(edges: list[float], panels: int) -> float:
    """A pile that came to lie past the edge of the sheet goes on in steps of one panel."""
    if panels < 0:
        return edges[1] * panels
    return edges[panels] if panels < len(edges) else edges[-1] + (panels - len(edges) + 1) * (edges[-1] - edges[-2])


def _on_sheet(section: Section, x: float, y: float) -> tuple[float, float]:
    """Scheme, mm, y up → sheet frame of the front."""
    wide, high = sum(section.column_mm), sum(section.row_mm)
    across, up = ((x, y), (high - y, x), (wide - x, high - y), (y, wide - x))[section.turned // 90]
    x0, y0, x1, _ = section.rect_mm
    return (x1 - across if section.turned_over else x0 + across), y0 + up
