# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the drawing of a stamping die tells of it, as entries that can be explained like every check.

The die is measured while it is drawn (:mod:`foldproof.case.die`): no page of the book is looked at for it, so that the
entries run on nothing themselves.  Their limits are the house's (``[finishing]`` ``die_line``, ``die_space``).
"""

from __future__ import annotations

from foldproof.preflight.model import Check, Facts, Finding, Limits, Severity


def _told_by_the_drawing(facts: Facts, limits: Limits) -> tuple[Finding, ...]:
    return ()


def _check(name: str, title: str, severity: Severity, measures: str, why: str, remedy: str) -> Check:
    return Check(
        id=name,
        title=title,
        needs=frozenset(),
        measures=measures,
        why=why,
        remedy=remedy,
        source="common practice, no source; the limits are the house's",
        run=_told_by_the_drawing,
        limits={},
        severity=severity,
    )


#: sorted by id
DIE_CHECKS: tuple[Check, ...] = (
    _check(
        "die-emblem-size",
        "emblem made smaller",
        Severity.NOTE,
        "Whether the emblem of the die is drawn smaller than it was given, so that it has room on its place.",
        "Lines become thinner with it, and the front board may look empty.",
        "Nothing, where that is meant; or give the emblem smaller, or put it on the other place.",
    ),
    _check(
        "die-ink",
        "emblem in several colours",
        Severity.QUERY,
        "Whether the emblem that was given for the die is painted in more than one colour.",
        "A die prints one foil: whatever is painted in the drawing is stamped, a white ground among it.",
        "Look at die.pdf; leave out of the emblem what is not to be stamped.",
    ),
    _check(
        "die-left-away",
        "words the die leaves away",
        Severity.QUERY,
        "Whether title and author have room on the spine and on the front board in letters that foil holds.",
        "A book with half its name on the spine is bound and cannot be put right.",
        "State a shorter stamping.title or stamping.author, or leave that place unstamped.",
    ),
    _check(
        "die-line",
        "line too thin for foil",
        Severity.STOP,
        "The thinnest line of lettering and emblem, measured on the shapes of the die, against the house's die_line.",
        "Foil does not take on what is thinner, or the line is lost when the die is etched.",
        "Draw it thicker in the emblem; let fewer words be set larger, or stamp the front alone.",
    ),
    _check(
        "die-space",
        "space too narrow for foil",
        Severity.STOP,
        "The narrowest space between two shapes of the die, or inside one, against the house's die_space.",
        "Foil bridges it: the drawing fills in.",
        "Draw it wider in the emblem; ask for a proof of the die.",
    ),
)
