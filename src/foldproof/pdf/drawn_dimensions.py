# SPDX-License-Identifier: AGPL-3.0-or-later
"""Dimension lines and lines of text of a full-size drawing, as strokes.

Every coordinate is in points in the frame of the drawing's page: lower left, y up.  A dimension line ends exactly on
what it measures; oblique ticks mark its ends (ISO 129-1 knows them; from memory).
"""

from __future__ import annotations

from foldproof.pdf.sheets_drawing import Line, Paint, Process, Stroke, Words
from foldproof.pdf.sheets_font import CAP_HEIGHT, MarkFont, mark_font

#: what dimensions are drawn in: a dark grey of the black plate
DIMENSION_INK = Process(black=0.8)
#: line, size of the figures, half of a tick, what an extension line stands out beyond the line
_LINE_PT, FIGURE_PT, _TICK_PT, _BEYOND_PT = 0.35, 8.0, 2.8, 4.0
#: between line and figure
_OFF_PT = 2.2


def level(
    x0: float, x1: float, y: float, text: str, *, from_y: float | None = None, spill: str = "right",
    ink: Paint = DIMENSION_INK,
) -> tuple[Stroke, ...]:  # fmt: skip
    """A dimension from ``x0`` to ``x1`` at height ``y``, its figure above the line.

    Args:
        from_y: where the extension lines begin (the edge that is measured); none are drawn without it.
        spill: on which side a figure stands that is too long for its span: ``"left"`` or ``"right"``.
    """
    font, text = mark_font(), mark_font().spelled(text)
    wide = font.width_pt(text, FIGURE_PT)
    strokes = _ends(x0, x1, y, from_y, ink, turned=False)
    if wide + 2 <= x1 - x0:
        place = ((x0 + x1 - wide) / 2, y + _OFF_PT)
    elif spill == "right":
        place = (x1 + _TICK_PT + 2, y - FIGURE_PT * CAP_HEIGHT / 2)
    else:
        place = (x0 - _TICK_PT - 2 - wide, y - FIGURE_PT * CAP_HEIGHT / 2)
    return *strokes, Words(*place, text, FIGURE_PT, ink=ink)


def upright(
    y0: float, y1: float, x: float, text: str, *, from_x: float | None = None, spill: str = "up",
    ink: Paint = DIMENSION_INK,
) -> tuple[Stroke, ...]:  # fmt: skip
    """As :func:`level`, from ``y0`` to ``y1`` at ``x``, its figure to the left of the line and read from below."""
    font, text = mark_font(), mark_font().spelled(text)
    wide = font.width_pt(text, FIGURE_PT)
    strokes = _ends(y0, y1, x, from_x, ink, turned=True)
    if wide + 2 <= y1 - y0:
        place = (x - _OFF_PT, (y0 + y1 - wide) / 2)
    elif spill == "up":
        place = (x + FIGURE_PT * CAP_HEIGHT / 2, y1 + _TICK_PT + 2)
    else:
        place = (x + FIGURE_PT * CAP_HEIGHT / 2, y0 - _TICK_PT - 2 - wide)
    return *strokes, Words(*place, text, FIGURE_PT, turns=1, ink=ink)


def _ends(a: float, b: float, at: float, begin: float | None, ink: Paint, *, turned: bool) -> tuple[Stroke, ...]:
    """The line, its ticks, its extension lines."""

    def line(p0: float, q0: float, p1: float, q1: float, width: float = _LINE_PT) -> Line:
        ends = (q0, p0, q1, p1) if turned else (p0, q0, p1, q1)
        return Line(*ends, width_pt=width, ink=ink)

    strokes: list[Stroke] = [line(a, at, b, at)]
    strokes += [line(p - _TICK_PT, at - _TICK_PT, p + _TICK_PT, at + _TICK_PT, 2 * _LINE_PT) for p in (a, b)]
    if begin is not None:
        beyond = _BEYOND_PT if at > begin else -_BEYOND_PT
        near = begin + beyond / 2
        strokes += [line(p, near, p, at + beyond, _LINE_PT / 2) for p in (a, b)]
    return tuple(strokes)


def wrapped(text: str, size_pt: float, room_pt: float) -> tuple[str, ...]:
    """Lines of ``text``, broken between words, no longer than ``room_pt``; a longer word is cut with an ellipsis."""
    font: MarkFont = mark_font()
    lines: list[str] = []
    for word in font.spelled(text).split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and font.width_pt(joined, size_pt) <= room_pt:
            lines[-1] = joined
        else:
            lines.append(font.shortened(word, size_pt, room_pt))
    return tuple(line for line in lines if line)


def centred(
    text: str, x: float, y: float, size_pt: float, room_pt: float, *, turns: int = 0, ink: Paint = DIMENSION_INK
) -> tuple[Stroke, ...]:
    """A word or two about ``x, y`` (middle of its capitals), cut where it is longer than ``room_pt``; or nothing."""
    font = mark_font()
    shown = font.shortened(font.spelled(text), size_pt, room_pt)
    if not shown:
        return ()
    along, across = font.width_pt(shown, size_pt) / 2, size_pt * CAP_HEIGHT / 2
    cos, sin = ((1, 0), (0, 1), (-1, 0), (0, -1))[turns % 4]
    place = (x - cos * along + sin * across, y - sin * along - cos * across)
    return (Words(*place, shown, size_pt, turns=turns, ink=ink),)
