# SPDX-License-Identifier: AGPL-3.0-or-later
"""Spot colours: listed and counted."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, in_book, listed, numbers

#: spot colours that have a finding each; those beyond share one
_LISTED = 24


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    spots = [name for name in facts.manuscript.spots if name not in ("All", "None")]
    where = _pages_by_spot(facts, spots)
    for name in spots[:_LISTED]:
        pages = where[name]
        yield in_book(
            f"spot-colours/{name}",
            Severity.NOTE,
            f'The spot colour "{name}" is '
            + (f"used on {numbers(pages)}." if pages else "named in the file; no page was found that paints with it."),
            "Nothing to do if it is to be printed as an ink of its own; otherwise convert it to CMYK when exporting.",
            measured=name,
        )
    if len(spots) > _LISTED:
        yield in_book(
            "spot-colours/more",
            Severity.NOTE,
            f"Besides, {listed([_quoted(name) for name in spots[_LISTED:]], 8)} are spot colours too.",
            "See where so many come from: a placed drawing or picture with colours of its own, as a rule.",
            measured=len(spots) - _LISTED,
        )
    most = limits.number("most_spots")
    if len(spots) > most:
        yield in_book(
            "spot-colours/too-many",
            Severity.QUERY,
            f"The book uses {counted(len(spots), 'spot colour')}, {listed([_quoted(name) for name in spots], 8)}; the "
            f"spec counts on {f'{most:g}' if most else 'none'}.",
            "Convert those that are not printed as inks of their own, or settle the further inks with the printer.",
            measured=len(spots),
            limit=most,
        )


def _quoted(name: str) -> str:
    return f'"{name}"'


def _names(space: str) -> list[str]:
    """The colorants in ``Separation(Gold)`` or ``DeviceN(Gold, Silver)``, wrapped or not."""
    for kind in ("Separation(", "DeviceN("):
        _, found, rest = space.partition(kind)
        if found:
            return [part.strip() for part in rest.rstrip(")").split(",")]
    return []


def _pages_by_spot(facts: Facts, spots: list[str]) -> dict[str, list[int]]:
    where: dict[str, list[int]] = {name: [] for name in spots}
    known: dict[str, list[str]] = {}
    for seen in facts.observations.objects if spots else ():
        if seen is None:
            continue
        spaces = [use.space for use in seen.colours] + [use.space for use in seen.pictures]
        for space in dict.fromkeys(spaces):
            if space not in known:
                inside = _names(space)
                known[space] = [name for name in spots if name in inside or space.endswith(f"({name})")]
            for name in known[space]:
                if not where[name] or where[name][-1] != seen.index:
                    where[name].append(seen.index)
    return where


CHECK = Check(
    id="spot-colours",
    title="Spot colours",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Names of the inks besides the four of the process, where they occur and how many there are.",
    why="Every spot colour is a plate, an ink and a wash-up; one that nobody ordered is found on the press.",
    remedy="Keep the inks that are paid for; convert the others.",
    source="Ghent Workgroup, GWG2015, contents: number of spot colours",
    run=_run,
    limits={"most_spots": 32},
    limit_sources={
        "most_spots": "the most colorants of a DeviceN space (ISO 32000-1, annex C): no bound; they are listed"
    },
    severity=Severity.QUERY,
)
