# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pixels an inch of pictures at the size at which they are placed."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.geometry import Rect
from foldproof.manuscript.model import PictureKind, PictureUse
from foldproof.preflight.measures import objects_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page
from foldproof.units import format_size_mm, inch_to_mm

#: limits by kind; a soft mask is the edge of another picture, which is judged itself
_GROUP = {
    PictureKind.CONTONE: "contone",
    PictureKind.LINE_WORK: "line",
    PictureKind.STENCIL: "line",
}
_WORDS = {"contone": "picture", "line": "1-bit picture"}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    query = {group: limits.number(f"{group}_query_ppi") for group in _WORDS}
    stop = {group: limits.number(f"{group}_stop_ppi") for group in _WORDS}
    least_mm = limits.number("least_side_mm")
    paper = Rect(0, 0, *facts.trim_mm).grown(facts.bleed_mm)
    for seen in objects_of(facts):
        if seen is None or not seen.pictures:
            continue
        low: dict[str, list[tuple[float, PictureUse]]] = {}
        for use in seen.pictures:
            group = _GROUP.get(use.kind)
            if group is None:
                continue
            ppi = min(use.ppi_x, use.ppi_y)
            if ppi < max(query[group], stop[group]) and use.place_mm.meets(paper) and not _too_small(use, least_mm):
                low.setdefault(group, []).append((ppi, use))
        for group, uses in low.items():
            # the first of the worst, so that the same file names the same picture
            ppi, worst = min(uses, key=lambda one: one[0])
            yield _finding(facts, seen.index, group, ppi, worst, len(uses), max(query[group], stop[group]), stop[group])


def _too_small(use: PictureUse, least_mm: float) -> bool:
    """Ornaments and rules, and the tints and gradients that programs write as a picture one pixel wide."""
    return min(use.width_px, use.height_px) <= 1 or max(use.place_mm.width, use.place_mm.height) < least_mm


def _finding(
    facts: Facts, index: int, group: str, ppi: float, worst: PictureUse, count: int, asked: float, stop: float
) -> Finding:
    kind = _WORDS[group]
    width_mm, height_mm = _placed_mm(worst)
    size = format_size_mm(width_mm, height_mm)
    share = ppi / asked
    article = "the worst of" if count > 1 else "a"
    which = f"{article} {count} {kind}s" if count > 1 else f"{article} {kind}"
    return on_page(
        facts,
        index,
        f"picture-resolution/{group}",
        Severity.STOP if ppi < stop else Severity.QUERY,
        f"{which} has {ppi:.0f} ppi at its placed size ({worst.width_px} x {worst.height_px} pixels on {size}); "
        f"{asked:g} ppi are asked for.",
        f"Place a picture with at least {_pixels(width_mm, asked)} x {_pixels(height_mm, asked)} pixels, or make it no "
        f"larger than {format_size_mm(width_mm * share, height_mm * share)}. More pixels reckoned from the same "
        "picture do not help.",
        place_mm=worst.place_mm,
        measured=ppi,
        limit=asked,
        unit="ppi",
        count=count,
    )


def _placed_mm(use: PictureUse) -> tuple[float, float]:
    """Width and height on paper along the picture's own sides (its place is the upright box round it)."""
    if use.ppi_x <= 0 or use.ppi_y <= 0:
        return use.place_mm.width, use.place_mm.height
    return inch_to_mm(use.width_px / use.ppi_x), inch_to_mm(use.height_px / use.ppi_y)


def _pixels(length_mm: float, ppi: float) -> int:
    return round(length_mm * ppi / inch_to_mm(1.0))


CHECK = Check(
    id="picture-resolution",
    title="Picture resolution",
    needs=frozenset({Needs.OBJECTS}),
    measures="Pixels an inch along both sides of every picture at its placed size, the lower of the two. Contone "
    "pictures, and 1-bit line work with stencils, have limits of their own; soft masks are not judged alone.",
    why="Too few pixels print as soft or stepped pictures, line work with jagged edges.",
    remedy="Place the picture smaller, or scan or ask for it larger.",
    source="Ghent Workgroup specifications for sheet-fed work, from memory: colour and grey 150 and 225 ppi, 1-bit "
    "550 and 800 ppi; rule of the screen: 1.41 to 2 times its lines an inch",
    run=_run,
    limits={
        "contone_query_ppi": 225,
        "contone_stop_ppi": 150,
        "line_query_ppi": 800,
        "line_stop_ppi": 550,
        "least_side_mm": 3.0,
    },
    limit_sources={
        "contone_query_ppi": "Ghent Workgroup, sheet-fed, warning; from memory",
        "contone_stop_ppi": "Ghent Workgroup, sheet-fed, error; from memory",
        "line_query_ppi": "Ghent Workgroup, 1-bit, warning; from memory; least of trade custom",
        "line_stop_ppi": "Ghent Workgroup, 1-bit, error; from memory",
        "least_side_mm": "smaller ones are ornaments and rules; common practice, no source",
    },
    severity=Severity.STOP,
)
