# SPDX-License-Identifier: AGPL-3.0-or-later
"""Charts where looking beats reading: each a drawing, a sentence and a table that say the same.

The drawings are SVG with presentation attributes alone, so that the page for screens and the report
on paper share them.
"""

from __future__ import annotations

import math

from attrs import frozen
from markupsafe import escape

from foldproof.report.figures import Edge, Inks, Resolutions, Rule, edges, inks, resolutions
from foldproof.report.model import Results
from foldproof.report.words import clean, count, listed, ranges

_INK, _SOFT, _HAIR, _ACCENT = "#1d1b18", "#5f584f", "#b9b0a2", "#8a2b12"
_WIDE, _LEFT, _RIGHT = 900, 152, 886
_TABLE_ROWS = 40


@frozen
class Chart:
    """One chart."""

    id: str
    title: str
    says: str  #: what is to be seen, in words
    how: str  #: how to read it
    view: tuple[int, int]  #: width and height of the drawing
    body: str  #: SVG elements
    caption: str  #: of the table
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def alone(self) -> str:
        """The drawing as a file of its own."""
        wide, high = self.view
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" height="{high}" '
            f'font-family="Libertinus Serif">{self.body}</svg>'
        )


def charts(results: Results) -> tuple[Chart, ...]:
    """Those for which the passes saw enough."""
    kinds, ink, sides = resolutions(results), inks(results), edges(results)
    made = []
    if kinds:
        made.append(_resolution_chart(kinds))
    if ink is not None:
        made.append(_ink_chart(ink))
    if sides:
        made.append(_edge_chart(sides, len(results.manuscript.pages)))
    return tuple(made)


# --- resolution of pictures ------------------------------------------------------------------------------------------

_PPI = (36.0, 4800.0)
_BINS = 72
_TICKS = (50, 100, 200, 400, 800, 1600, 3200)


def _resolution_chart(kinds: tuple[Resolutions, ...]) -> Chart:
    body, rows, says = "", [], []
    top = 34
    for kind in kinds:
        bins = [0] * _BINS
        for ppi, _ in kind.values:
            bins[_bin(ppi)] += 1
        foot, most = top + 84, max(bins)
        body += _text(0, top + 36, kind.kind, 15, _INK) + _text(0, top + 56, f"{len(kind.values):,} placed", 13)
        width = (_RIGHT - _LEFT) / _BINS
        bars = "".join(
            f"M{_n(_LEFT + n * width + 0.6)} {foot}v-{_n(max(3, 76 * v / most))}h{_n(width - 1.2)}V{foot}z"
            for n, v in enumerate(bins)
            if v
        )
        body += f'<path d="{bars}" fill="{_SOFT}"/>' + _line(_LEFT, foot, _RIGHT, foot, _INK)
        body += _text(_LEFT - 8, top + 14, f"{most:,}", 12, anchor="end") + _line(
            _LEFT - 5, top + 8, _LEFT, top + 8, _HAIR
        )
        for n, rule in enumerate(kind.rules):
            body += _upright(
                _ppi_x(rule.value),
                # an upper limit is named a line lower, clear of the words of the lower ones
                top + (9 if rule.upper else -8),
                foot,
                rule,
                "end" if n == 0 and len(kind.rules) > 1 else "start",
            )
        for tick in _TICKS:
            x = _ppi_x(tick)
            body += _line(x, foot, x, foot + 4, _INK) + _text(x, foot + 18, f"{tick}", 12, anchor="middle")
        says.append(_resolution_words(kind))
        rows += _resolution_rows(kind)
        top = foot + 56
    body += _text(_RIGHT, top - 36 + 16, "pixels an inch at the placed size", 12, anchor="end")
    return Chart(
        id="chart-resolution",
        title="How fine the pictures are",
        says=" ".join(says),
        how="Each bar counts pictures of about that resolution; the scale doubles from mark to mark.",
        view=(_WIDE, top - 12),
        body=body,
        caption="Pictures by resolution",
        head=("kind", "pixels an inch", "pictures", "pages"),
        rows=tuple(rows),
    )


def _bin(ppi: float) -> int:
    low, high = map(math.log2, _PPI)
    return min(_BINS - 1, max(0, int((math.log2(ppi) - low) / (high - low) * _BINS)))


def _ppi_x(ppi: float) -> float:
    low, high = map(math.log2, _PPI)
    at = (math.log2(min(max(ppi, _PPI[0]), _PPI[1])) - low) / (high - low)
    return _LEFT + at * (_RIGHT - _LEFT)


def _resolution_words(kind: Resolutions) -> str:
    number = len(kind.values)
    lowest, page = min(kind.values)
    one = kind.kind.removesuffix("s")
    text = f"{count(number, one)}"
    if kind.rules:
        parts = [
            f"{sum((v > r.value) if r.upper else (v < r.value) for v, _ in kind.values):,} "
            f"{'over' if r.upper else 'under'} {r.value:g} ppi"
            for r in kind.rules
        ]
        text += f", {listed(parts)}"
    return f"{text}; the coarsest has {lowest:.0f} ppi, on page {page:,}."


def _resolution_rows(kind: Resolutions) -> list[tuple[str, ...]]:
    marks = sorted({36.0, 100.0, 200.0, 300.0, 450.0, 800.0, 1200.0} | {r.value for r in kind.rules})
    rows: list[tuple[str, ...]] = []
    for low, high in zip([0.0, *marks], [*marks, math.inf], strict=True):
        inside = [(v, p) for v, p in kind.values if low <= v < high]
        if inside:
            span = f"under {high:g}" if not low else f"{low:g} and more" if high == math.inf else f"{low:g} to {high:g}"
            rows.append((kind.kind, span, f"{len(inside):,}", ranges((p for _, p in inside), 12)))
    return rows


# --- ink by page -----------------------------------------------------------------------------------------------------


def _ink_chart(ink: Inks) -> Chart:
    peaks = [c.heaviest for c in ink.columns if c.heaviest is not None]
    limit = ink.rule.value if ink.rule else 0.0
    most = max([*peaks, *(c.mean for c in ink.columns), limit * 1.04, 20.0])
    step = next(s for s in (5, 10, 20, 25, 50, 100, 200) if most / s <= 5)
    top, foot = 22, 172
    high = foot - top
    width = (_RIGHT - _LEFT) / len(ink.columns)
    gap = 0.0 if width < 3 else min(2.0, width * 0.2)
    bars = means = ""
    for n, column in enumerate(ink.columns):
        x = _LEFT + n * width + gap / 2
        if column.heaviest:
            bars += f"M{_n(x)} {foot}v-{_n(high * column.heaviest / most)}h{_n(width - gap)}V{foot}z"
        means += f"M{_n(x)} {_n(foot - high * column.mean / most)}h{_n(max(1.0, width - gap))}"
    body = "".join(
        _line(_LEFT, y, _RIGHT, y, _HAIR) + _text(_LEFT - 8, y + 4, f"{value} %", 12, anchor="end")
        for value in range(0, int(most) + 1, step)
        for y in [foot - high * value / most]
    )
    body += f'<path d="{bars}" fill="{_HAIR}"/><path d="{means}" stroke="{_INK}" stroke-width="1.8" fill="none"/>'
    body += _line(_LEFT, foot, _RIGHT, foot, _INK)
    if ink.rule:
        y = foot - high * limit / most
        body += _line(_LEFT, y, _RIGHT, y, _ACCENT, 1.5, "7 4") + _text(
            _RIGHT, y - 5, ink.rule.words, 12, _ACCENT, anchor="end", halo=True
        )
    body += _page_scale(ink.columns[0].first, ink.columns[-1].last, foot)
    body += _text(0, top + 14, "heaviest square" if peaks else "mean", 13)
    if peaks:
        body += f'<rect x="0" y="{top + 22}" width="16" height="10" fill="{_HAIR}"/>' + _text(
            0, top + 62, "mean of the page", 13
        )
    body += _line(0, top + 74, 16, top + 74, _INK, 1.8)
    return Chart(
        id="chart-ink",
        title="Ink, page by page",
        says=_ink_words(ink),
        how="All plates added up. "
        + (f"Grey: the heaviest square of {ink.side_mm:g} mm on the page. " if peaks else "")
        + "Black line: the mean of the page"
        + (
            f"; a column stands for {ink.columns[0].last - ink.columns[0].first + 1} pages, at their heaviest."
            if _lumped(ink)
            else "."
        ),
        view=(_WIDE, foot + 34),
        body=body,
        caption="Ink of the heaviest pages" if len(ink.columns) > _TABLE_ROWS else "Ink by page",
        head=("pages", "mean", f"heaviest {ink.side_mm:g} mm square", "on page"),
        rows=_ink_rows(ink),
    )


def _lumped(ink: Inks) -> bool:
    return ink.columns[0].last > ink.columns[0].first


def _ink_words(ink: Inks) -> str:
    mean = max(ink.columns, key=lambda c: (c.mean, -c.first))
    peaks = [c for c in ink.columns if c.heaviest is not None]
    who = "page is" if mean.first == mean.last else "pages are"
    text = f"The fullest {who} {ranges(range(mean.first, mean.last + 1))}: {_percent(mean.mean)} of ink on the whole"
    if not peaks:
        return f"{text}."
    worst = max(peaks, key=lambda c: (c.heaviest or 0, -c.at))
    text += f"; the heaviest place is on page {worst.at:,}, {_percent(worst.heaviest or 0)}"
    if ink.rule:
        over = sum((c.heaviest or 0) > ink.rule.value for c in peaks)
        what = "column" if _lumped(ink) else "page"
        text += (
            f"; {count(over, what) if over else f'no {what}'} {'is' if over < 2 else 'are'} over {ink.rule.value:g} %"
        )
    return f"{text}."


def _ink_rows(ink: Inks) -> tuple[tuple[str, ...], ...]:
    heavy = sorted(ink.columns, key=lambda c: (-(c.heaviest or c.mean), c.first))[:_TABLE_ROWS]
    return tuple(
        (
            ranges(range(c.first, c.last + 1)),
            _percent(c.mean),
            "" if c.heaviest is None else _percent(c.heaviest),
            "" if c.heaviest is None else f"{c.at:,}",
        )
        for c in sorted(heavy, key=lambda c: c.first)
    )


def _percent(value: float) -> str:
    return f"{value:.1f} %" if value < 10 else f"{value:.0f} %"


# --- edges of the type area ------------------------------------------------------------------------------------------

#: how far from its usual place an edge is drawn true; farther ones stand at the rim
_REACH_MM = 6.0


#: so many strays of an edge have their page numbers beside them; of more the table names the pages
_MOST_NUMBERED = 40


def _edge_chart(sides: tuple[Edge, ...], pages: int) -> Chart:
    body, top = "", 14
    scale = (_RIGHT - _LEFT) / max(1, pages - 1)
    for edge in sides:
        middle, half = top + 30, 24.0
        body += _text(0, middle - 4, edge.name, 13.5, _INK)
        body += _text(0, middle + 13, f"usually at {edge.usual_mm:.1f} mm", 12)
        body += _line(_LEFT, middle, _RIGHT, middle, _HAIR)
        dots = "".join(f"M{_n(_LEFT + (p - 1) * scale)} {_n(_drift_y(by, middle, half))}h0" for p, by in edge.pages)
        size = 3.4 if pages <= 400 else 2.2
        body += f'<path d="{dots}" stroke="{_INK}" stroke-width="{size}" stroke-linecap="round" fill="none"/>'
        body += _strays(edge, scale, middle, half)
        top += 74
    foot = top - 4
    body += _page_scale(1, pages, foot)
    return Chart(
        id="chart-type-area",
        title="Where the type stands, page by page",
        says=_edge_words(sides),
        how=f"Each dot is a page; up is to the right, the height of a band is {2 * _REACH_MM:g} mm. "
        f"Diamonds: more than {sides[0].limit_mm:g} mm off the usual place.",
        view=(_WIDE, foot + 34),
        body=body,
        caption=f"Edges of the type area, from the left edge of the trim; pages more than {sides[0].limit_mm:g} mm off",
        head=("edge", "usually at", "pages off", "which", "farthest"),
        rows=tuple(_edge_row(edge) for edge in sides),
    )


def _strays(edge: Edge, scale: float, middle: float, half: float) -> str:
    """A diamond for every stray, the number over it where there is room."""
    diamonds = words = ""
    last = -99.0
    for page, by in edge.strays:
        x, y = _LEFT + (page - 1) * scale, _drift_y(by, middle, half)
        diamonds += f"M{_n(x)} {_n(y - 4.5)}l4.5 4.5-4.5 4.5-4.5-4.5z"
        if x - last >= 30 and len(edge.strays) <= _MOST_NUMBERED:
            words += _text(x, y - 8, f"{page}", 11.5, _ACCENT, "middle", halo=True)
            last = x
    return f'<path d="{diamonds}" fill="none" stroke="{_ACCENT}" stroke-width="1.4"/>{words}' if diamonds else ""


def _drift_y(by: float, middle: float, half: float) -> float:
    return middle - max(-1.0, min(1.0, by / _REACH_MM)) * half


def _edge_words(sides: tuple[Edge, ...]) -> str:
    spans: dict[str, list[str]] = {}
    for edge in sides:
        spans.setdefault(edge.name.partition(",")[0], []).append(f"{edge.usual_mm:.1f}")
    usual = [f"on {name} from {' to '.join(ends)} mm" for name, ends in spans.items()]
    text = f"The type usually stands {listed(usual)}, reckoned from the left edge of the trim."
    off = {page for edge in sides for page, _ in edge.strays}
    if not off:
        return f"{text} No page strays by more than {sides[0].limit_mm:g} mm."
    worst = max((abs(by), -page) for edge in sides for page, by in edge.strays)
    stray = f"{count(len(off), 'page')} {'strays' if len(off) == 1 else 'stray'} by more than {sides[0].limit_mm:g} mm"
    return f"{text} {stray}, page {-worst[1]:,} the farthest, by {worst[0]:.1f} mm."


def _edge_row(edge: Edge) -> tuple[str, ...]:
    far = max(edge.strays, key=lambda s: (abs(s[1]), -s[0]), default=None)
    return (
        edge.name,
        f"{edge.usual_mm:.1f} mm",
        f"{len(edge.strays):,}",
        ranges((page for page, _ in edge.strays), 12) if edge.strays else "none",
        f"page {far[0]:,}, {far[1]:+.1f} mm" if far else "",
    )


# --- strokes and words -----------------------------------------------------------------------------------------------


def _page_scale(first: int, last: int, foot: float) -> str:
    """Page numbers along the foot."""
    span = max(1, last - first)
    step = next(s for s in (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000) if span / s <= 12)
    made = ""
    for page in [first, *range(step * (first // step + 1), last + 1, step)]:
        x = _LEFT + (page - first) / span * (_RIGHT - _LEFT)
        if page != first and x - _LEFT < 30:
            continue
        made += _line(x, foot, x, foot + 4, _INK) + _text(x, foot + 18, f"{page}", 12, anchor="middle")
    return made + _text(0, foot + 18, "page of the PDF", 12)


def _upright(x: float, top: float, foot: float, rule: Rule, anchor: str) -> str:
    stop = rule.words.startswith("stop")
    colour, dash = (_ACCENT, "") if stop else (_INK, "5 4")
    side = -5 if anchor == "end" else 5
    return _line(x, top, x, foot, colour, 1.6, dash) + _text(
        x + side, top + 4, rule.words, 12, colour, anchor, halo=True
    )


def _line(x1: float, y1: float, x2: float, y2: float, colour: str, width: float = 1.0, dash: str = "") -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    path = f"M{_n(x1)} {_n(y1)}L{_n(x2)} {_n(y2)}"
    return f'<path d="{path}" stroke="{colour}" stroke-width="{width:g}"{dashes} fill="none"/>'


def _text(
    x: float, y: float, words: str, size: float, colour: str = _SOFT, anchor: str = "start", halo: bool = False
) -> str:
    said = escape(clean(words))
    at = f' text-anchor="{anchor}"' if anchor != "start" else ""
    place = f'x="{_n(x)}" y="{_n(y)}" font-size="{size:g}"{at}'
    # a light rim keeps a word legible where a line runs behind it
    rim = ' stroke="#fdfcf9" stroke-width="3.5" stroke-linejoin="round" paint-order="stroke"' if halo else ""
    return f'<text {place} fill="{colour}"{rim}>{said}</text>'


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
