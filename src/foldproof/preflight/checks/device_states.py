# SPDX-License-Identifier: AGPL-3.0-or-later
"""Screens, transfer curves and black generation that a file brings along."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from foldproof.manuscript.file_facts import Where
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.uses import by_page
from foldproof.preflight.words import on_page

_CURVES = ("TR", "TR2")
_SCREENS = ("HT",)
_BLACK = ("BG", "BG2", "UCR", "UCR2")


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    states = facts.manuscript.facts.device_states
    yield from _each(
        facts, states, _CURVES, "device-states/curve", Severity.QUERY,
        "the page brings a transfer curve of its own; where it is obeyed, every tint changes, and where it is not, the "
        "page looks as it does here.",
    )  # fmt: skip
    yield from _each(
        facts, states, _SCREENS, "device-states/screen", Severity.QUERY,
        "the page brings a halftone screen of its own; where it is obeyed, it takes the place of the print shop's.",
    )  # fmt: skip
    yield from _each(
        facts, states, _BLACK, "device-states/black", Severity.NOTE,
        "the page says how black is to be made when its RGB colours are turned into inks; it changes nothing that is "
        "in inks already.",
    )  # fmt: skip


def _each(
    facts: Facts, states: Iterable[Where], kinds: tuple[str, ...], cause: str, severity: Severity, says: str
) -> Iterator[Finding]:
    for page, things in by_page(one for one in states if one.what in kinds).items():
        yield on_page(
            facts,
            page,
            cause,
            severity,
            says,
            "Export without the settings of another printing device: no transfer curves, no halftone screens, no black "
            "generation. A drawing placed on the page may have brought them.",
            measured=len(things),
            limit=0,
            count=len(things),
        )


CHECK = Check(
    id="device-states",
    title="Settings of another device",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Transfer curves, halftone screens, black generation and undercolour removal in the graphics states that "
    "a page can use; those that say to leave things as they are are passed over.",
    why="They were made for another machine. One plate-setter obeys them and prints darker or in a coarse screen, the "
    "next does not, and no screen shows it.",
    remedy="Export without them.",
    source="ISO 32000-1, 8.4.5 (table 58) and 10. ISO 15930 (PDF/X): no TR, TR2 and halftones restricted; the clause "
    "from memory.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
