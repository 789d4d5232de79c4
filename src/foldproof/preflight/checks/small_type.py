# SPDX-License-Identifier: AGPL-3.0-or-later
"""Type too small for the way in which it is printed: in one ink, in several, or left white in a ground."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.seen import TextUse
from foldproof.preflight.inks import is_four_colour_grey, is_rich_black, is_white, printing, said
from foldproof.preflight.matter import face, painted_type
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, on_page

#: sizes are told to a tenth of a point: a size of 5 pt in TeX's points is 4.98
_SLACK_PT = 0.05
#: an ink that covers less of the ground than this does not close up letters; common practice, no source
_GROUND = 0.1

_REMEDY = {
    "one-ink": "Set it larger, or leave out what nobody can read; in a placed drawing, scale the drawing less.",
    "inks": "Set small type in one ink, best in black alone (100 % K), or larger.",
    "reversed": "Set it larger or in a heavier face, or put it on a ground of one ink.",
}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least = {
        cause: limits.number(f"{cause.replace('-', '_')}_pt") for cause in ("one-ink", "inks", "reversed", "ground")
    }
    for seen, texts in painted_type(facts):
        small: dict[str, list[tuple[TextUse, float]]] = {}
        for use in texts:
            # the em of a Type 3 font is what its maker liked, and bare spaces are no type
            if use.type3 or not 0 < use.size_pt < max(least.values()) or use.glyphs <= use.spaces:
                continue
            cause, limit = _judged(use, least)
            if use.size_pt < limit - _SLACK_PT:
                small.setdefault(cause, []).append((use, limit))
        for cause, uses in sorted(small.items()):
            worst, limit = min(uses, key=lambda one: one[0].size_pt)
            yield on_page(
                facts,
                seen.index,
                f"small-type/{cause}",
                Severity.QUERY,
                f"type of {worst.size_pt:g} pt ({face(worst.font)}) {_how(cause, worst)}; {limit:g} pt is the least"
                f"{_more(uses)}.",
                _REMEDY[cause],
                place_mm=worst.first_mm,
                measured=worst.size_pt,
                limit=limit,
                unit="pt",
            )


def _judged(use: TextUse, least: dict[str, float]) -> tuple[str, float]:
    """By which rule a piece of type is judged, and the least size that it gives."""
    if is_white(use.space, use.values):
        inks = [name for name, cover in use.ground if cover >= _GROUND]
        return "reversed", (least["ground"] if len(inks) > 1 else least["reversed"]) if inks else 0.0
    amounts = printing(use.space, use.values) or {}
    # black and grey of several inks have checks of their own
    if len(amounts) > 1 and not is_rich_black(amounts) and not is_four_colour_grey(amounts):
        return "inks", max(least["inks"], least["one-ink"])
    return "one-ink", least["one-ink"]


def _how(cause: str, use: TextUse) -> str:
    if cause == "inks":
        return f"is printed in {said(printing(use.space, use.values) or {})}"
    if cause == "reversed":
        return f"is left white in a ground of {said({n: c for n, c in use.ground if c >= _GROUND})}"
    return "is set"


def _more(uses: list[tuple[TextUse, float]]) -> str:
    signs = sum(use.glyphs - use.spaces for use, _ in uses)
    return f", and {counted(signs, 'sign')} on the page {'is' if signs == 1 else 'are'} smaller than that"


CHECK = Check(
    id="small-type",
    title="Small type",
    needs=frozenset({Needs.OBJECTS, Needs.INK}),
    measures="The size of type as it stands on paper, after all scaling: type in one ink, coloured type in two inks or "
    "more, white type in a printed ground. Type 3 fonts have no size that could be measured.",
    why="Fine strokes break up or fill in; where two inks have to meet in a stroke, a tenth of a millimetre out of "
    "register gives coloured edges, and white strokes close up.",
    remedy="Set small type larger and in one ink.",
    source="Ghent Workgroup (small text) and data sheets of printers; see the limits",
    run=_run,
    limits={"one_ink_pt": 5, "inks_pt": 9, "reversed_pt": 6, "ground_pt": 7},
    limit_sources={
        "one_ink_pt": "Ghent Workgroup, small text: 5 pt or less in one ink is told (here: less); from memory",
        "inks_pt": "Ghent Workgroup, small text: 9 pt or less in two or more inks is told (here: less); from memory",
        "reversed_pt": "a newspaper's technical data: reversed type, 6 pt at least",
        "ground_pt": "a newspaper's technical data: reversed in a ground of several inks, 7 pt at least",
    },
    severity=Severity.QUERY,
)
