# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the charts of the report show, reckoned from what the passes saw: plain figures, no drawing."""

from __future__ import annotations

from statistics import median

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.manuscript.model import PictureKind
from foldproof.preflight.model import Check
from foldproof.report.model import Results
from foldproof.units import pt_to_mm

#: columns of a chart by page at the most; longer books are told several pages a column, the worst of them shown
MOST_COLUMNS = 400
#: an edge of the type area farther than this from its usual place is named, where the spec sets no other limit
STRAY_MM = 1.0
#: fewer pages than this with a type area make no chart
_FEW_PAGES = 8
_GROUPS = {
    PictureKind.CONTONE: "contone",
    PictureKind.LINE_WORK: "line",
    PictureKind.STENCIL: "line",
}


@frozen
class Rule:
    """A limit drawn into a chart."""

    value: float
    words: str  #: ``"stop under 150 ppi"``
    upper: bool = False  #: what lies above it is too much, not what lies below too little


@frozen
class Resolutions:
    """Pictures of one kind."""

    kind: str  #: ``"contone pictures"``
    values: tuple[tuple[float, int], ...]  #: ppi at the placed size, page (1-based); in order of page
    rules: tuple[Rule, ...]


@frozen
class InkColumn:
    """Pages of one column, first to last; in percent of one plate."""

    first: int
    last: int
    mean: float  #: over the trim, all plates together, mean of the pages
    heaviest: float | None  #: mean over the heaviest small square of these pages
    at: int  #: page of that square


@frozen
class Inks:
    """Ink page by page."""

    columns: tuple[InkColumn, ...]
    side_mm: float  #: of the square
    rule: Rule | None


@frozen
class Edge:
    """One edge of the type area on all odd or all even pages."""

    name: str  #: ``"odd pages, left"``
    usual_mm: float  #: from the left edge of the trim
    limit_mm: float  #: what is off by more is a stray
    strays: tuple[tuple[int, float], ...]  #: page, mm off the usual place, to the right positive; in order of page
    pages: tuple[tuple[int, float], ...]  #: the same of all pages


def resolutions(results: Results) -> tuple[Resolutions, ...]:
    """Pictures that fall on the page, by kind; the pictures one pixel wide that stand for tints are left out."""
    found: dict[str, list[tuple[float, int]]] = {}
    for seen in results.observations.objects:
        if seen is None:
            continue
        width, height = results.manuscript.pages[seen.index].trim_size_pt
        paper = Rect(0, 0, pt_to_mm(width), pt_to_mm(height)).grown(3.0)
        for use in seen.pictures:
            kind, ppi = _GROUPS.get(use.kind), min(use.ppi_x, use.ppi_y)
            if kind and ppi > 0 and min(use.width_px, use.height_px) > 1 and use.place_mm.meets(paper):
                found.setdefault(kind, []).append((ppi, seen.index + 1))
    names = {"contone": "pictures", "line": "1-bit pictures"}
    return tuple(Resolutions(names[k], tuple(found[k]), _ppi_rules(results, k)) for k in names if k in found)


def inks(results: Results) -> Inks | None:
    """``None`` where the ink pass saw nothing."""
    seen = [ink for ink in results.observations.ink if ink is not None]
    if not any(ink.coverage for ink in seen):
        return None
    each = -(-len(results.manuscript.pages) // MOST_COLUMNS)
    lots: dict[int, list[tuple[float, float | None, int]]] = {}
    side = 5.0
    for ink in seen:
        side = ink.peak.side_mm if ink.peak else side
        heavy = ink.peak.total * 100 if ink.peak else None
        lots.setdefault(ink.index // each, []).append((sum(ink.coverage.values()) * 100, heavy, ink.index + 1))
    columns = []
    for lot in sorted(lots):
        rows = lots[lot]
        heaviest = max(((h, -page) for _, h, page in rows if h is not None), default=None)
        columns.append(
            InkColumn(
                first=rows[0][2],
                last=rows[-1][2],
                mean=sum(mean for mean, _, _ in rows) / len(rows),
                heaviest=heaviest[0] if heaviest else None,
                at=-heaviest[1] if heaviest else rows[0][2],
            )
        )
    return Inks(tuple(columns), side, _ink_rule(results))


def edges(results: Results) -> tuple[Edge, ...]:
    """Left and right edges of the type area, odd and even pages apart; empty where too few pages have one."""
    areas = [(o.index + 1, o.type_area) for o in results.observations.objects if o is not None and o.type_area]
    if len(areas) < _FEW_PAGES:
        return ()
    limit_mm = _limits(results, "type-area-drift").get("least_mm", STRAY_MM)
    made = []
    for parity, side in ((1, "odd pages"), (0, "even pages")):
        here = [(page, area) for page, area in areas if page % 2 == parity]
        for name, values in (
            ("left", [(page, area.left_mm) for page, area in here]),
            ("right", [(page, area.right_mm) for page, area in here]),
        ):
            if not values:
                continue
            usual = median(value for _, value in values)
            off = tuple((page, round(value - usual, 2)) for page, value in values)
            strays = tuple((page, by) for page, by in off if abs(by) > limit_mm)
            made.append(Edge(f"{side}, {name} edge", usual, limit_mm, strays, off))
    return tuple(made)


def _limits(results: Results, check: str) -> dict[str, float]:
    known = next((c for c in results.checks if c.id == check), None)
    if known is None or check in results.findings.off:
        return {}
    values = results.spec.limits_of(known).values if results.spec else known.limits
    return {name: float(v) for name, v in values.items() if not isinstance(v, str | bool)}


def _ppi_rules(results: Results, kind: str) -> tuple[Rule, ...]:
    rules = []
    for name, value in _limits(results, "picture-resolution").items():
        group, _, rest = name.partition("_")
        severity, _, unit = rest.partition("_")
        if group == kind and unit == "ppi" and severity in ("stop", "query", "most"):
            words = f"more than is used over {value:g}" if severity == "most" else f"{severity} under {value:g} ppi"
            rules.append(Rule(value, words, upper=severity == "most"))
    return tuple(sorted(rules, key=lambda rule: rule.value))


def _ink_rule(results: Results) -> Rule | None:
    for check in results.checks:
        if _is_total_ink(check):
            for name, value in _limits(results, check.id).items():
                if name.endswith("_percent") and value >= 100:
                    return Rule(value, f"limit of the spec: {value:g} %")
    return None


def _is_total_ink(check: Check) -> bool:
    return check.id == "total-ink"
