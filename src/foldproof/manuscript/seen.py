# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the object pass and the ink pass keep of a page's paint, type, lines and transparency.

Uses that are alike are counted as one, so that a page of ten thousand strokes is a handful of facts.  Colour values are
native: as the file gives them, in the space that it names, 0 to 1 (Lab as it is), never through a profile.
Lengths are millimetres or points *of paper*; places are in the trim frame.
"""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from foldproof.geometry import Rect

#: names of the process plates, in the order in which they are told
PROCESS = ("Cyan", "Magenta", "Yellow", "Black")


def in_plate_order(names: Iterable[str]) -> tuple[str, ...]:
    """Each name once: the process inks in their order, then the spots by name."""
    return tuple(sorted(set(names), key=lambda name: (PROCESS.index(name) if name in PROCESS else len(PROCESS), name)))


@frozen
class PaintUse:
    """Matter of one kind in one colour: fills, strokes, stencils and shadings (text has its own)."""

    what: str  #: ``"fill"``, ``"stroke"``, ``"stencil"``, ``"shading"``
    space: str  #: as ``PictureUse.space``
    values: tuple[float, ...]  #: rounded to 0.001; empty for shadings
    overprint: bool  #: /OP or /op is in force for it
    overprint_mode: int  #: /OPM, 0 or 1
    alpha: float  #: 1.0 opaque
    blend: str  #: blend mode of the group it stands in, ``"Normal"``
    count: int
    first_mm: Rect | None
    #: thinnest painted line among them, points: line width through the CTM, or the thin side of a filled upright
    #: rectangle that is a rule (longer than 5 times its thickness); ``None`` where none is a line
    thinnest_pt: float | None = None
    thinnest_mm: Rect | None = None  #: where that is
    #: its bounds meet the trim; what lies wholly outside (marks, slug, matter in the bleed alone) is told apart
    in_trim: bool = True


@frozen
class TextUse:
    """Text of one font, size and colour."""

    #: name as MuPDF has it: BaseFont, of a composite font its descendant's, subset prefix kept; its first 31 letters
    font: str
    size_pt: float  #: height of the em on paper, rounded to 0.1
    how: str  #: ``"fill"``, ``"stroke"``, ``"clip"``, ``"invisible"`` (text render mode 3)
    space: str  #: ``"none"``: no colour of text (glyphs that bring their own, clip, invisible)
    values: tuple[float, ...]
    overprint: bool
    overprint_mode: int
    alpha: float
    blend: str
    glyphs: int  #: glyphs shown, spaces too
    undefined: int  #: of these, how many are glyph 0 (.notdef)
    count: int  #: text objects
    first_mm: Rect | None
    undefined_mm: Rect | None = None  #: the first text object with a .notdef
    #: of the undefined, how many show nothing and stand at a code below 32, where only a font's own encoding puts a
    #: letter: in a simple font, spaces of its maker's
    undefined_blank: int = 0
    spaces: int = 0  #: of the glyphs, how many are spaces; counted in type under 9 pt alone
    type3: bool = False
    in_trim: bool = True  #: as ``PaintUse.in_trim``
    #: from the ink pass: cover 0 to 1 by colorant of the ground round the first such text object, for text that is
    #: white, or black without overprint: what it is cut out of.  Empty: not asked for, or bare paper
    ground: tuple[tuple[str, float], ...] = ()


@frozen
class Transparency:
    """What makes a page transparent (ISO 32000-1, clause 11)."""

    alpha: bool = False  #: paint with an alpha below 1
    soft_masks: bool = False
    blends: tuple[str, ...] = ()  #: blend modes other than Normal, in order of appearance
    #: blending spaces of the groups that are really painted, in order: ``"DeviceRGB"``; the page's own among them
    group_spaces: tuple[str, ...] = ()
    first_mm: Rect | None = None  #: where the page is transparent first, trim frame

    @property
    def any(self) -> bool:
        return self.alpha or self.soft_masks or bool(self.blends)


@frozen
class PrintedNumber:
    """A number at head or foot of a page that stands alone in its line or at an end of it: it may be the folio."""

    style: str  #: ``"arabic"``, ``"roman"`` or ``"ROMAN"``
    value: int
    text: str
    place_mm: Rect | None = None  #: trim frame


@frozen
class TypeArea:
    """The text block of a page: from lines of text, running head and folio left out (trim frame, mm)."""

    #: left and right edges that most lines of the page keep to
    left_mm: float
    right_mm: float
    head_mm: float  #: top of the highest line of the block, were it set in the body size
    foot_mm: float  #: bottom of the lowest
    lines: int  #: how many lines bear it out, at the edge that fewer keep to
    ragged: bool = False  #: no edge at the right that lines keep to; ``right_mm`` is the end of the longest
    of: int = 0  #: lines of the block in all


@frozen
class InkPeak:
    """The heaviest ink of a page: mean over a square of ``side_mm``."""

    total: float  #: sum over all plates, 1.0 is 100 %
    by_ink: tuple[tuple[str, float], ...]
    place_mm: Rect
    side_mm: float = 5.0
    #: part of the trim (0 to 1) covered by squares over each tenth from 2.0 up: ((2.0, 0.01), (2.4, 0.003)...)
    over: tuple[tuple[float, float], ...] = ()
