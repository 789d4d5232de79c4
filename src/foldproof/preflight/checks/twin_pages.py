# SPDX-License-Identifier: AGPL-3.0-or-later
"""Two pages with the same content."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from foldproof.preflight.measures import objects_of
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import numbers, on_page

#: a fly-title is a line or two, each of a piece of text or two
_LITTLE = 5


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    seen, ink = objects_of(facts), facts.observations.ink
    alike: dict[tuple[str, tuple[float, float]], list[int]] = defaultdict(list)
    for page, digest in zip(facts.manuscript.pages, facts.manuscript.facts.page_digests, strict=False):
        matter = seen[page.index]
        inks = ink[page.index] if page.index < len(ink) else None
        if not digest or matter is None or (inks is not None and inks.blank):
            continue
        if matter.text_count or matter.path_count or matter.pictures:
            width, height = page.trim_size_pt
            alike[digest, (round(width, 1), round(height, 1))].append(page.index)
    for indices in alike.values():
        for index in indices[1:]:
            matter = seen[index]
            # a fly-title or a pattern may well come again; a page of text or one with a folio does not
            little = (
                matter is not None and not matter.numbers and matter.type_area is None and matter.text_count < _LITTLE
            )
            yield on_page(
                facts,
                index,
                "twin-pages/little" if little else "twin-pages",
                Severity.NOTE if little else Severity.QUERY,
                f"it is the same as {numbers(indices[: indices.index(index)])}, down to every stroke.",
                "See whether the page stands twice and another one is missing.",
                measured=indices[0] + 1,
                unit="page",
            )


CHECK = Check(
    id="twin-pages",
    title="Twin pages",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Pages whose content, with everything that it uses, is the same as that of an earlier page; blank pages "
    "do not count.",
    why="A page set twice by mistake mostly stands where another one should.",
    remedy="Compare the two with the layout.",
    source="common practice, no source",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
