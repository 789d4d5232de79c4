# SPDX-License-Identifier: AGPL-3.0-or-later
"""For which printing condition the file says that it is made, against the one that the spec asks for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from foldproof.manuscript.file_facts import Intent
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.standards.claims import claimed
from foldproof.preflight.standards.model import Standard
from foldproof.preflight.words import in_book, listed

_APART = re.compile(r"[\s_\-.,;:()/]+")
_REMEDY = "Export again with the output profile of the printing condition that the printer names."
_INKS = {"cmyk": "four inks", "black": "black alone"}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    intents = facts.manuscript.facts.intents
    for_press = [one for one in intents if one.subtype == "GTS_PDFX"]
    yield from _condition(for_press, limits.text("condition"))
    # what a verified PDF/X says of its intent is told clause by clause
    held = {one.value for one in claimed(facts).standards} | ({limits.text("asked")} - {"none"})
    verified = bool(held)
    if Standard.X1A.value not in held:  # which has its own word on colours
        yield from _colours(for_press, intents, limits.text("inks"))
    yield from _profiles([one for one in intents if not (verified and one.subtype == "GTS_PDFX")])


def _condition(intents: list[Intent], asked: str) -> Iterator[Finding]:
    if plain(asked) == "any":
        return
    if not intents:
        yield in_book(
            "output-intent/missing",
            Severity.QUERY,
            f'The file does not say for which printing condition it is made; "{asked}" is asked for.',
            _REMEDY,
            measured="none",
            limit=asked,
        )
        return
    names = [name for one in intents for name in (one.condition_identifier, one.condition) if name]
    if not any(plain(name) == plain(asked) for name in names):
        said = names[0] if names else "a condition without a name"
        yield in_book(
            "output-intent/condition",
            Severity.QUERY,
            f'The file is made for "{said}"; "{asked}" is asked for.',
            "Ask whether the colours were converted for the other condition; if so, convert them again from the "
            "originals.",
            measured=said,
            limit=asked,
        )


def plain(name: str) -> str:
    """A name of a condition without case, spaces and signs that people set as they like: ``FOGRA 39`` is FOGRA39."""
    return _APART.sub("", name).casefold()


def _colours(for_press: list[Intent], intents: tuple[Intent, ...], inks: str) -> Iterator[Finding]:
    if inks == "any":
        return
    # an intent for archives or the screen says what device colours mean where none is there for the press
    for intent in for_press or intents:
        space = intent.profile.space if intent.profile is not None else ""
        if space == "RGB" or (space == "GRAY" and inks == "cmyk") or (space and space not in ("RGB", "GRAY", "CMYK")):
            bound = intent.subtype == "GTS_PDFX" and not (inks == "cmyk" and space == "GRAY")
            yield in_book(
                "output-intent/colours",
                Severity.QUERY if bound else Severity.NOTE,
                f"The file is made for an output in {'grey' if space == 'GRAY' else space}{_called(intent)}; the book "
                f"is printed in {_INKS[inks]}.",
                _REMEDY,
                measured=space,
                limit="CMYK" if inks == "cmyk" else "black",
            )
            return


def _profiles(intents: list[Intent]) -> Iterator[Finding]:
    for intent in intents:
        if intent.profile is not None and not intent.profile.valid:
            yield in_book(
                "output-intent/profile",
                Severity.QUERY if intent.subtype == "GTS_PDFX" else Severity.NOTE,
                f"The output profile in the file{_called(intent)} is damaged: {intent.profile.why}.",
                _REMEDY,
                measured="damaged",
                limit="a sound profile",
            )
            return


def _called(intent: Intent) -> str:
    description = intent.profile.description if intent.profile is not None else ""
    names = [name for name in dict.fromkeys((intent.condition_identifier, description)) if name]
    return f" ({listed([f'{name}' for name in names])})" if names else ""


CHECK = Check(
    id="output-intent",
    title="Printing condition",
    needs=frozenset({Needs.STRUCTURE}),
    measures="The output intent: whether it names the printing condition that the spec asks for (spaces, case and "
    "hyphens do not count), whether it is for the inks of the book, and whether its profile is sound. With the "
    'condition "any" every one will do, and none too.',
    why="Colours that were converted for another paper and press come out too full or too thin, and nobody sees it "
    "before the sheets are printed.",
    remedy="Settle the printing condition with the printer, and export with its profile.",
    source="ISO 32000-1, 14.11.5 and table 365; ISO 15930 (PDF/X): an output intent is required",
    run=_run,
    limits={"condition": "any", "inks": "any", "asked": "none"},
    limit_sources={
        "condition": "the spec's own say, any words; without one every condition will do",
        "inks": "the inks that the check rgb-matter is set to",
        "asked": "the standard that the check asked-standard is set to: what is wrong by it is told there",
    },
    choices={
        "condition": ("any",),
        "inks": ("any", "cmyk", "black"),
        "asked": ("none", *(one.value for one in Standard)),
    },
    free=frozenset({"condition"}),
    follows={"inks": "rgb-matter/inks", "asked": "asked-standard/standard"},
    severity=Severity.QUERY,
)
