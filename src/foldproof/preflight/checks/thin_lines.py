# SPDX-License-Identifier: AGPL-3.0-or-later
"""Lines too thin for the way in which they are printed."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from foldproof.manuscript.seen import PaintUse
from foldproof.preflight.inks import is_white, printing, said
from foldproof.preflight.matter import painted_matter
from foldproof.preflight.measures import family
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page
from foldproof.units import pt_to_mm

#: a line of a tenth of a point in TeX's points has 0.0996: give or take half a hundredth
_SLACK = 0.995
#: thinner than this is a line as thin as the machine can draw (ISO 32000-1, 8.4.3.2: a width of 0)
_HAIR_PT = 0.01

_REMEDY = {
    "line": "Draw it thicker; in a placed drawing, scale the drawing less.",
    "tint": "Draw it in solid ink, or thicker.",
    "inks": "Draw fine lines in one ink, best in black alone (100 % K), or thicker.",
    "white": "If it is to be seen in a printed ground, draw it thicker.",
}


@frozen
class _Thin:
    cause: str
    use: PaintUse
    width_pt: float
    limit_pt: float
    severity: Severity


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    for seen, paints in painted_matter(facts):
        worst: dict[str, _Thin] = {}
        for paint in paints:
            found = _judged(paint, limits)
            if found is None:
                continue
            known = worst.get(found.cause)
            if known is None or (found.severity.rank, found.width_pt) < (known.severity.rank, known.width_pt):
                worst[found.cause] = found
        for cause, found in sorted(worst.items()):
            yield on_page(
                facts,
                seen.index,
                f"thin-lines/{cause}",
                found.severity,
                f"{_said(found)}; {found.limit_pt:g} pt is the least.",
                _REMEDY[cause],
                place_mm=found.use.thinnest_mm or found.use.first_mm,
                measured=found.width_pt,
                limit=found.limit_pt,
                unit="pt",
            )


def _judged(paint: PaintUse, limits: Limits) -> _Thin | None:
    """The rule that a line breaks, if it breaks one."""
    if paint.thinnest_pt is None:
        return None
    width = paint.thinnest_pt
    stop, line = limits.number("line_query_pt"), limits.number("line_note_pt")
    tint, inks, white = limits.number("tint_pt"), limits.number("inks_pt"), limits.number("white_pt")
    solid = limits.number("solid_percent") / 100
    if width >= max(stop, line, tint, inks, white) * _SLACK:
        return None
    amounts = printing(paint.space, paint.values) or {}
    if paint.what == "fill" and not (_dark(paint) or (len(amounts) == 1 and max(amounts.values()) >= solid)):
        # the patches of a shaded surface are narrow rectangles too, in a thousand colours; a rule is solid
        return None
    if is_white(paint.space, paint.values):
        return _Thin("white", paint, width, white, Severity.NOTE) if width < white * _SLACK else None
    if width < stop * _SLACK:
        return _Thin("line", paint, width, stop, Severity.QUERY)
    if len(amounts) > 1 and width < inks * _SLACK:
        return _Thin("inks", paint, width, inks, Severity.QUERY)
    if width < line * _SLACK:
        return _Thin("line", paint, width, line, Severity.NOTE)
    if len(amounts) == 1 and max(amounts.values()) < solid and width < tint * _SLACK:
        return _Thin("tint", paint, width, tint, Severity.NOTE)
    return None


def _said(found: _Thin) -> str:
    width = f"{found.width_pt:.3g} pt ({pt_to_mm(found.width_pt):.2f} mm)"
    amounts = printing(found.use.space, found.use.values)
    match found.cause:
        case "white":
            return f"a white line is {width} thick"
        case "inks":
            return f"a line of {width} is printed in {said(amounts or {})}"
        case "tint":
            return f"a line of {width} is drawn in a tint of {said(amounts or {})}"
    if found.width_pt < _HAIR_PT:
        return "a line has no thickness of its own: it comes out as thin as the plate-setter can draw"
    colour = " in screen colours" if family(found.use.space) in ("RGB", "Lab") and not _dark(found.use) else ""
    return f"a line{colour} is {width} thick"


def _dark(use: PaintUse) -> bool:
    return family(use.space) == "RGB" and not any(use.values)


CHECK = Check(
    id="thin-lines",
    title="Thin lines",
    needs=frozenset({Needs.OBJECTS}),
    measures="The thickness of lines as they stand on paper, after all scaling, and of filled rectangles that are "
    "rules in a solid ink: in one ink, in a tint, in several inks, white. Whether a white line lies in a printed "
    "ground is not known. The outline of a shape in the shape's own colour is no line.",
    why="A hairline is seen on an office printer and lost on the plate; in a tint it comes out as a row of dots, in "
    "several inks with coloured edges, and white in a ground it closes up.",
    remedy="Draw lines a quarter of a point thick at least.",
    source="Ghent Workgroup (effective line width) and a printer's data sheet; see the limits",
    run=_run,
    limits={
        "line_query_pt": 0.125,
        "line_note_pt": 0.25,
        "tint_pt": 0.5,
        "inks_pt": 0.5,
        "white_pt": 0.5,
        "solid_percent": 85,
    },
    limit_sources={
        "line_query_pt": "Ghent Workgroup, lines in one ink, 0.125 pt; from memory",
        "line_note_pt": "a printer's data sheet: positive lines not under 0.25 pt",
        "tint_pt": "as thick as lines in several inks; common practice, no source",
        "inks_pt": "Ghent Workgroup, lines in more than one ink, 0.5 pt; from memory",
        "white_pt": "a printer's data sheet: reversed lines at least 0.5 pt",
        "solid_percent": "a darker line looks solid; common practice, no source",
    },
    severity=Severity.QUERY,
)
