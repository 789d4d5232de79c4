# SPDX-License-Identifier: AGPL-3.0-or-later
"""One ink under several names, and one name for several colours."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator

from foldproof.preflight.inks import PROCESS
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, listed, numbers

#: marks of paper or library that makers of ink books put after a name: coated, uncoated, matt, video, process, bridge
_BOOKS = "cvc|cvu|cv|cp|up|ec|pc|ecb|hc|c|u|m"
#: after a word of their own, or, in a name of several words, right after a number
_SUFFIX = re.compile(
    rf"(?:(?<=[^\W_])[\s_.-]+(?:{_BOOKS})|(?<=[\s_.-]\d)[cum]|(?<=[\s_.-]\d\d)[cum]|(?<=\d\d\d)[cum])$"
)
_PROCESS = {name.casefold(): name for name in PROCESS} | {f"process{name.casefold()}": name for name in PROCESS}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    known = [spot.name for spot in facts.manuscript.facts.spots] + list(facts.manuscript.spots)
    names = [name for name in dict.fromkeys(known) if name not in ("All", "None", "", *PROCESS)]
    pages = {spot.name: spot.pages for spot in facts.manuscript.facts.spots}
    yield from _alike(names)
    for name in names:
        ink = _PROCESS.get(_letters(name))
        if ink:
            where = sorted(set(pages.get(name, ())))
            yield in_book(
                f"spot-names/process/{name}",
                Severity.QUERY,
                f'A spot colour is called "{name}"{f" ({numbers(where)})" if where else ""}, nearly as the process '
                f"ink {ink}; it makes a plate of its own.",
                "Set that matter in the process ink itself, or give the spot colour a name that nobody takes for "
                f'"{ink}".',
                measured=name,
                limit=ink,
            )
    yield from _two_recipes(facts)


def _alike(names: list[str]) -> Iterator[Finding]:
    by_letters: dict[str, list[str]] = {}
    for name in names:
        by_letters.setdefault(_letters(name), []).append(name)
    for letters, same in by_letters.items():
        if len(same) > 1:
            yield in_book(
                f"spot-names/alike/{letters}",
                Severity.QUERY,
                f"The spot colours {listed([_quoted(name) for name in same], 8)} differ in spelling alone; each makes "
                "a plate of its own.",
                "Give the ink one name throughout, in the placed files too.",
                measured=len(same),
                limit=1,
            )


def _two_recipes(facts: Facts) -> Iterator[Finding]:
    recipes: dict[str, dict[tuple[str, str], list[int]]] = {}
    for spot in facts.manuscript.facts.spots:
        recipes.setdefault(spot.name, {}).setdefault((spot.alternate, spot.tint), []).extend(spot.pages)
    for name, found in recipes.items():
        if len(found) > 1 and name not in ("All", "None", "", *PROCESS):
            spaces = sorted({alternate for alternate, _ in found})
            how = f"once as {listed(spaces)}" if len(spaces) > 1 else f"with other values of {spaces[0]}"
            fewest: list[int] = min(found.values(), key=len)
            rarer = sorted(set(fewest))
            yield in_book(
                f"spot-names/recipe/{name}",
                Severity.NOTE,
                f'The spot colour "{name}" is described in {len(found)} ways, {how}'
                f"{f', otherwise than elsewhere on {numbers(rarer)}' if rarer else ''}; where it is not printed as an "
                "ink of its own, the same colour comes out differently.",
                "Take the ink from one source in the layout and in the placed files; nothing to do if it is printed as "
                "an ink of its own.",
                measured=len(found),
                limit=1,
            )


def _letters(name: str) -> str:
    """What is left of a name without case, accents, spaces, hyphens and the mark of an ink book at its end."""
    plain = "".join(c for c in unicodedata.normalize("NFKD", name.casefold().strip()) if not unicodedata.combining(c))
    return "".join(c for c in _SUFFIX.sub("", plain) if c.isalnum()) or plain


def _quoted(name: str) -> str:
    return f'"{name}"'


CHECK = Check(
    id="spot-names",
    title="Names of spot colours",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Names of spot colours that differ in case, spaces, hyphens, accents or the mark of an ink book alone; "
    "spot colours called nearly as a process ink; and one name with two recipes for the substitute colour.",
    why="A plate is made for every name: one ink is split over two plates, and one of them is found on the press.",
    remedy="One ink, one name.",
    source="Ghent Workgroup, GWG2015, contents: naming of spot colours, ambiguous spots",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
