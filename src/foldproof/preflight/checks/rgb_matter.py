# SPDX-License-Identifier: AGPL-3.0-or-later
"""Type, rules, tints and gradients in RGB or Lab, which no press prints as it is."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.geometry import Rect
from foldproof.manuscript.model import PageObjects
from foldproof.preflight.inks import is_white
from foldproof.preflight.measures import family, objects_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page

_SCREEN = frozenset({"RGB", "Lab"})
_WORDS = {"fill": "tints", "stroke": "rules", "text": "text", "shading": "gradients"}
_ENDS = {
    "cmyk": ("the book is printed in four inks.", "Convert to the CMYK of the printing condition when exporting; set "
             "black text and rules in black alone (100 % K)."),
    "black": ("the book is printed in black alone.", "Set text, rules and tints in black alone (100 % K)."),
    "any": ("the plate-setter turns that into inks.", "Convert it yourself when exporting, if the colours "
            "matter; set black text in black alone (100 % K)."),
}  # fmt: skip


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    inks = limits.text("inks")
    ends, remedy = _ENDS[inks]
    severity = Severity.NOTE if inks == "any" else Severity.QUERY
    for seen in objects_of(facts):
        if seen is None:
            continue
        parts, spaces, place = _found(seen)
        if parts:
            yield on_page(
                facts,
                seen.index,
                f"rgb-matter/{'-'.join(sorted(spaces))}",
                severity,
                f"{listed(parts, 6)} in {' and '.join(sorted(spaces))}; {ends}",
                remedy,
                place_mm=place,
                measured=" and ".join(sorted(spaces)),
                limit={"any": "any", "cmyk": "CMYK", "black": "black"}[inks],
            )


def _found(seen: PageObjects) -> tuple[list[str], set[str], Rect | None]:
    """What there is in screen colours, in words; the families; where it occurs first.  Pictures are another check's."""
    parts: list[str] = []
    spaces: set[str] = set()
    place: Rect | None = None
    values = _values(seen)
    for use in seen.colours:
        kind = family(use.space)
        if kind not in _SCREEN or use.what == "picture":
            continue
        colours = values.get((use.what, use.space), set())
        if colours and all(is_white(use.space, colour) for colour in colours):
            continue  # bare paper, whatever it is turned into
        spaces.add(kind)
        word = _WORDS.get(use.what, use.what)
        if colours and kind == "RGB" and not any(map(any, colours)):
            word = f"black {word}"
        if word not in parts:
            parts.append(word)
        place = place or use.first_mm
    return parts, spaces, place


def _values(seen: PageObjects) -> dict[tuple[str, str], set[tuple[float, ...]]]:
    """The colours of a page by kind of matter and space, as far as they are known."""
    found: dict[tuple[str, str], set[tuple[float, ...]]] = {}
    for paint in seen.paints:
        what = "fill" if paint.what == "stencil" else paint.what
        if what != "shading":
            found.setdefault((what, paint.space), set()).add(paint.values)
    for text in seen.texts:
        found.setdefault(("text", text.space), set()).add(text.values)
    return found


CHECK = Check(
    id="rgb-matter",
    title="RGB and Lab matter",
    needs=frozenset({Needs.OBJECTS}),
    measures="Text, rules, tints and gradients in DeviceRGB, CalRGB, a three-channel profile or Lab, where the spec "
    "says which inks are printed; without that it only lists them. Pictures have a check of their own, and "
    "white is bare paper.",
    why="Somebody's defaults turn it into inks: colours shift, and black text comes out in four inks that must meet "
    "to a tenth of a millimetre.",
    remedy="Convert with the profile of the printing condition when exporting.",
    source="ISO 15930-1 (PDF/X-1a): all matter in CMYK, grey or spot colours, no RGB, no Lab; the clause from memory",
    run=_run,
    limits={"inks": "any"},
    limit_sources={"inks": "the spec's own say; without one every ink is taken"},
    choices={"inks": ("any", "cmyk", "black")},
    severity=Severity.QUERY,
)
