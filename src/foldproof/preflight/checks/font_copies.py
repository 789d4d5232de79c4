# SPDX-License-Identifier: AGPL-3.0-or-later
"""One face embedded again and again."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.matter import face
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, listed


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    most = int(limits.number("most_copies"))
    programs: dict[str, dict[str, int]] = {}
    for program in facts.manuscript.facts.programs:
        font = facts.manuscript.fonts.get(program.key)
        # fonts that share one program share its digest; one without a digest cannot be told from others
        if font is not None and font.name and program.digest:
            programs.setdefault(face(font.name), {})[program.digest] = program.size_bytes
    many = {name: copies for name, copies in programs.items() if len(copies) > most}
    if not many:
        return
    ranked = sorted(many, key=lambda name: (-len(many[name]), name))
    worst = ranked[0]
    kilobytes = sum(sum(copies.values()) for copies in many.values()) / 1000
    faces = listed([f"{name} ({len(many[name])} times)" for name in ranked], 3)
    yield in_book(
        "font-copies",
        Severity.NOTE,
        f"The file holds {faces}, each time another part of the font; together they take {kilobytes:,.0f} kB of "
        f"{facts.manuscript.size_bytes / 1000:,.0f} kB.",
        "Nothing for the print. To make the file smaller, place drawings without their fonts and let the whole book be "
        "written in one go, or have the finished PDF written anew by a program that joins parts of one font.",
        measured=len(many[worst]),
        limit=most,
    )


CHECK = Check(
    id="font-copies",
    title="Copies of one font",
    needs=frozenset({Needs.STRUCTURE}),
    measures="How many different programs of one face the file holds: parts of it that came with placed drawings.",
    why="The file grows, and the plate-setter takes longer over every page. What is printed is the same.",
    remedy="Write the book in one go.",
    source="common practice, no source",
    run=_run,
    limits={"most_copies": 10},
    limit_sources={"most_copies": "common practice, no source"},
    severity=Severity.NOTE,
)
