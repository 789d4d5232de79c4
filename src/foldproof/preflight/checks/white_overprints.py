# SPDX-License-Identifier: AGPL-3.0-or-later
"""White matter that is set to overprint, and so is not there on paper."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.seen import PaintUse, TextUse
from foldproof.preflight.inks import PROCESS, ground_shows_through, is_white, plates
from foldproof.preflight.matter import painted_matter, painted_type
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page

_WORDS = {"fill": "areas", "stroke": "rules", "stencil": "stencils"}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    found: dict[int, tuple[list[str], TextUse | PaintUse]] = {}
    for seen, texts in painted_type(facts):
        for text in texts:
            if _vanishes(text):
                _add(found, seen.index, "type", text)
    for seen, paints in painted_matter(facts):
        for paint in paints:
            if paint.what in _WORDS and _vanishes(paint):
                _add(found, seen.index, _WORDS[paint.what], paint)
    for index, (words, use) in sorted(found.items()):
        yield on_page(
            facts,
            index,
            "white-overprints",
            Severity.QUERY,
            f"white {listed(words)} {'is' if words == ['type'] else 'are'} set to overprint; what lies underneath "
            "prints through, and the white is gone.",
            "Switch overprint off for everything white, in placed drawings too, and export again.",
            place_mm=use.first_mm,
            measured="overprints",
            limit="knocks out",
        )


def _add(
    found: dict[int, tuple[list[str], TextUse | PaintUse]], index: int, word: str, use: TextUse | PaintUse
) -> None:
    words, _ = found.setdefault(index, ([], use))
    if word not in words:
        words.append(word)


def _vanishes(use: TextUse | PaintUse) -> bool:
    """White in which no other plate is cleared."""
    if not use.overprint or not is_white(use.space, use.values):
        return False
    own = plates(use.space, use.values) or {}
    others = [name for name in PROCESS if name not in own] or PROCESS
    return all(ground_shows_through(use.space, use.values, True, use.overprint_mode, name) for name in others)


CHECK = Check(
    id="white-overprints",
    title="White that overprints",
    needs=frozenset({Needs.OBJECTS}),
    measures="White type, rules and areas with overprint switched on, where overprint makes white nothing: in "
    "DeviceCMYK with overprint mode 1, and a spot colour at 0 %.",
    why="On screen it is white, on the plate it is not there: white type in a picture is lost.",
    remedy="White must knock out.",
    source="ISO 32000-1, table 148; Ghent Workgroup, GWG2015, contents: overprint of white text and white paths",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
