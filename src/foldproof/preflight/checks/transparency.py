# SPDX-License-Identifier: AGPL-3.0-or-later
"""Matter that lets what lies under it show through, and the colour space in which the two are mixed."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.seen import Transparency
from foldproof.preflight.measures import family, objects_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import listed, on_page

_INKS = {"cmyk": "four inks", "black": "black alone"}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    inks = limits.text("inks")
    for seen in objects_of(facts):
        if seen is None or not seen.transparency.any:
            continue
        found = seen.transparency
        what = listed(_parts(found))
        screen = [space for space in found.group_spaces if family(space) == "RGB"]
        if screen and inks in _INKS:
            yield on_page(
                facts,
                seen.index,
                "transparency/rgb-blend-space",
                Severity.QUERY,
                f"{what}, mixed in {listed(screen)}; the book is printed in {_INKS[inks]}, and "
                f"{_all(facts, seen.index)}, black text too, goes through RGB first.",
                "Set the transparency blend space of the document to CMYK and export again, or flatten the page.",
                place_mm=found.first_mm,
                measured=listed(screen),
                limit="CMYK" if inks == "cmyk" else "grey",
            )
        else:
            mixed = f", mixed in {listed(found.group_spaces)}" if found.group_spaces else ""
            yield on_page(
                facts,
                seen.index,
                "transparency/any",
                Severity.NOTE,
                f"{what}{mixed}.",
                "Nothing, where the plate-setter takes live transparency; else flatten it when exporting.",
                place_mm=found.first_mm,
                measured=what,
            )


def _all(facts: Facts, index: int) -> str:
    """What goes through RGB: the page, when the group is its own."""
    own = facts.manuscript.pages[index].group_space
    return "everything on the page" if own and family(own) == "RGB" else "all that stands in that group"


def _parts(found: Transparency) -> list[str]:
    parts = ["matter that is partly see-through"] if found.alpha else []
    parts += ["a soft mask"] if found.soft_masks else []
    parts += [f"blend mode {listed(found.blends)}"] if found.blends else []
    return parts


CHECK = Check(
    id="transparency",
    title="Transparency",
    needs=frozenset({Needs.OBJECTS}),
    measures="Paint with an opacity below 100 %, soft masks (pictures with soft edges among them) and blend modes "
    "other than Normal that are really painted; and the colour space of the groups in which they are mixed.",
    why="What is mixed in RGB comes out of it as RGB: black text turns into four inks, spot inks and overprint are "
    "lost. Old plate-setters cannot mix at all and flatten as they see fit.",
    remedy="Mix in the colour space that is printed, and keep text above see-through matter.",
    source="ISO 32000-1, 11.6.6 (group colour space) and 11.7.3 (spot colours in groups), from memory; ISO 15930-4 "
    "(PDF/X-1a:2003) and ISO 15930-6 (PDF/X-3:2003) admit no transparency, ISO 15930-7 (PDF/X-4) does",
    run=_run,
    limits={"inks": "any"},
    limit_sources={"inks": "follows the check rgb-matter"},
    follows={"inks": "rgb-matter/inks"},
    choices={"inks": ("any", "cmyk", "black")},
    severity=Severity.QUERY,
)
