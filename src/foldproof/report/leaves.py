# SPDX-License-Identifier: AGPL-3.0-or-later
"""Single pages as SVG: thumbnails with the place marked, and the leaves of the contact sheet."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from markupsafe import escape

from foldproof.geometry import Rect
from foldproof.preflight.model import Severity
from foldproof.report.contact import Cell, spreads
from foldproof.report.model import Results
from foldproof.report.pictures import Thumb
from foldproof.report.words import clean, count, listed

_INK, _SOFT, _HAIR, _ACCENT, _MARK = "#1d1b18", "#5f584f", "#b9b0a2", "#8a2b12", "#a3230a"

#: leaves in one drawing of the printed contact sheet
A_ROW = 14

#: the shapes that go with a severity, in a square of 12 by 12; the word stands beside them always
SHAPES: Mapping[Severity, str] = {
    Severity.STOP: f'<path d="M.5.5h11v11H.5z" fill="{_ACCENT}"/><path d="M3 6h6" stroke="#fff" stroke-width="2"/>',
    Severity.QUERY: f'<path d="M6 .6 11.4 6 6 11.4.6 6Z" fill="none" stroke="{_INK}" stroke-width="1.3"/>'
    f'<circle cx="6" cy="6" r="1.3" fill="{_INK}"/>',
    Severity.NOTE: f'<circle cx="6" cy="6" r="4.6" fill="none" stroke="{_SOFT}" stroke-width="1.2"/>',
}


def right_to_left(results: Results) -> bool:
    """Whether the book opens to the right."""
    return results.plan is not None and results.plan.reading == "right to left"


# --- thumbnails ------------------------------------------------------------------------------------------------------


def thumb_words(results: Results, thumb: Thumb) -> str:
    """``"Page 3 (folio iii), the place marked"``"""
    also = clean(results.also(thumb.page))
    return f"Page {thumb.page:,}" + (f" ({also})" if also else "") + (", the place marked" if thumb.mark_mm else "")


def thumb_view(thumb: Thumb) -> str:
    """The viewBox: millimetres of the trim frame with y down, the origin at the head."""
    box, height = thumb.box_mm, thumb.trim_mm[1]
    return f"{_n(box.x0)} {_n(height - box.y1)} {_n(box.width)} {_n(box.height)}"


def thumb_body(thumb: Thumb) -> str:
    """The page, its trim as a broken line, and a frame round the place."""
    box, (width, height) = thumb.box_mm, thumb.trim_mm
    unit = box.width / 140
    body = (
        f'<image href="{escape(thumb.data_uri)}" {_box(box, height)} preserveAspectRatio="none"/>'
        f'<rect x="0" y="0" width="{_n(width)}" height="{_n(height)}" fill="none" stroke="{_INK}" '
        f'stroke-width="{_n(0.5 * unit)}" stroke-dasharray="{_n(2 * unit)} {_n(2 * unit)}"/>'
    )
    if thumb.mark_mm is not None:
        for colour, wide in (("#fff", 3.4), (_MARK, 1.7)):
            frame = f'fill="none" stroke="{colour}" stroke-width="{_n(wide * unit)}"'
            body += f"<rect {_box(thumb.mark_mm, height)} {frame}/>"
    return body


def thumb_alone(thumb: Thumb) -> str:
    """The thumbnail as a file of its own."""
    box = thumb.box_mm
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{thumb_view(thumb)}" width="{_n(box.width)}" '
        f'height="{_n(box.height)}">{thumb_body(thumb)}</svg>'
    )


# --- the contact sheet -----------------------------------------------------------------------------------------------


def contact_html(pages: Sequence[Cell], *, right_to_left: bool = False) -> str:
    """List items, a spread each; a page with findings leads to its line in the list by page."""
    items = []
    for pair in spreads(len(pages), right_to_left):
        items.append(f"<li>{''.join(_cell(pages[n]) if n is not None else '<span></span>' for n in pair)}</li>")
    return "\n".join(items)


def _cell(cell: Cell) -> str:
    called = f' data-f="{escape(cell.called)}"' if cell.called else ""
    leaf = f'<svg viewBox="0 0 {cell.wide} {cell.high}" aria-hidden="true">{_leaf(cell)}</svg><b>{cell.page}</b>'
    if cell.severity is None:
        return f'<span class="pg" data-p="{cell.page}"{called}>{leaf}</span>'
    word = cell.severity.value
    mark = f'<svg class="mark" viewBox="0 0 12 12" aria-hidden="true"><use href="#m-{word}"/></svg>'
    return f'<a class="pg {word}" href="#p{cell.page}" data-p="{cell.page}"{called}>{leaf}<i>{mark}{word}</i></a>'


def _leaf(cell: Cell) -> str:
    body = ""
    if cell.data_uri:
        size = f'width="{cell.wide}" height="{cell.high}"'
        body += f'<image href="{escape(cell.data_uri)}" {size} preserveAspectRatio="none"/>'
    for name, path in (("k", cell.ink_path), ("i", cell.picture_path), ("t", cell.type_path), ("m", cell.mark_path)):
        body += f'<path class="{name}" d="{path}"/>' if path else ""
    return body


def marked_words(marked: Mapping[Severity | None, int], pages: int) -> str:
    """``"2 pages with a stop, 17 with a query; 131 without a finding."``"""
    parts = [f"{marked[s]:,} with a {s.value} at worst" for s in Severity if marked.get(s)]
    if not parts:
        return f"{count(pages, 'page')}, none with a finding of its own."
    free = marked.get(None, 0)
    return f"{count(pages, 'page')}: {listed(parts)}; {free:,} without a finding of their own."


_LEAF_PT, _GAP_PT, _SPREAD_PT, _FOOT_PT = 29.0, 1.2, 7.0, 21.0
#: what the style sheet says on screens, said in the drawing itself
_STROKES = {
    "k": 'fill="#e7e0d4"',
    "i": 'fill="#a49b8d"',
    "t": f'fill="none" stroke="{_HAIR}" stroke-width="3"',
    "m": f'fill="none" stroke="{_MARK}" stroke-width="5"',
}


def contact_rows(pages: Sequence[Cell], *, right_to_left: bool = False) -> Iterable[str]:
    """The contact sheet for paper: drawings of :data:`A_ROW` pages side by side."""
    each = A_ROW // 2
    pairs = spreads(len(pages), right_to_left)
    for start in range(0, len(pairs), each):
        row = pairs[start : start + each]
        shown = [pages[n] for pair in row for n in pair if n is not None]
        high = max(_LEAF_PT * cell.high / cell.wide for cell in shown)
        wide = each * (2 * _LEAF_PT + _GAP_PT + _SPREAD_PT) - _SPREAD_PT
        body = ""
        for place, pair in enumerate(row):
            left = place * (2 * _LEAF_PT + _GAP_PT + _SPREAD_PT)
            for side, n in enumerate(pair):
                if n is not None:
                    body += _printed_cell(pages[n], left + side * (_LEAF_PT + _GAP_PT), high)
        yield (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_n(wide)} {_n(high + _FOOT_PT)}" '
            f'width="{_n(wide)}" height="{_n(high + _FOOT_PT)}" font-family="Libertinus Serif">{body}</svg>'
        )


def _printed_cell(cell: Cell, left: float, high: float) -> str:
    scale = _LEAF_PT / cell.wide
    tall = cell.high * scale
    middle = left + _LEAF_PT / 2
    body = _leaf(cell)
    for name, style in _STROKES.items():
        body = body.replace(f'<path class="{name}"', f"<path {style}")
    size = f'width="{cell.wide}" height="{cell.high}"'
    frame = f'<rect {size} fill="#fff" stroke="{_HAIR}" stroke-width="{_n(0.6 / scale)}"/>'
    made = f'<g transform="translate({_n(left)} {_n(high - tall)}) scale({scale:.4f})">{frame}{body}</g>'
    made += (
        f'<text x="{_n(middle)}" y="{_n(high + 8)}" font-size="7" text-anchor="middle" fill="{_INK}">{cell.page}</text>'
    )
    if cell.severity is not None:
        at = f"translate({_n(middle - 11)} {_n(high + 10.6)}) scale(0.5)"
        made += f'<g transform="{at}">{SHAPES[cell.severity]}</g>'
        at = f'x="{_n(middle - 3.4)}" y="{_n(high + 16)}" font-size="6.5"'
        made += f'<text {at} fill="{_INK}">{cell.severity.value}</text>'
    return made


def _box(box: Rect, height: float) -> str:
    return f'x="{_n(box.x0)}" y="{_n(height - box.y1)}" width="{_n(box.width)}" height="{_n(box.height)}"'


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")
