# SPDX-License-Identifier: AGPL-3.0-or-later
"""Layers that are off, or that print otherwise than they show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import evolve

from foldproof.manuscript.file_facts import LayerFact
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.uses import quoted
from foldproof.preflight.words import counted, in_book, on_page

_REMEDY = (
    "Show or hide each layer in the layout program as it is to be printed, and export with visible layers only, "
    "flattened into the page."
)


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    layers = facts.manuscript.facts.layers
    if not layers:
        return
    # what several layers decide together may be seen though one of them is off, so it is asked what is hidden
    off = [evolve(layer, pages=layer.hidden) for layer in layers if not layer.on and layer.prints is not True]
    yield from _on_pages(facts, "layers/off", off, "is switched off, and what stands on it is not printed")
    hidden = [layer for layer in layers if layer.on and layer.prints is False]
    yield from _on_pages(
        facts,
        "layers/screen-only",
        hidden,
        "is seen on the screen and set not to print; some programs print it all the same",
    )
    paper = [layer for layer in layers if not layer.on and layer.prints is True]
    yield from _on_pages(
        facts, "layers/paper-only", paper, "is hidden on the screen and set to print; some programs leave it out"
    )
    used = [layer for layer in layers if layer.pages]
    if used and all(layer.on and layer.prints is not False and not layer.hidden for layer in used):
        yield in_book(
            "layers/all-on",
            Severity.NOTE,
            f"The file holds {counted(len(layers), 'layer')} ({quoted([one.name for one in layers])}); everything that "
            "stands on one is on, and is printed.",
            "Flatten the layers on export if the print shop asks for a file without them.",
            measured=len(layers),
            limit=0,
        )


def _on_pages(facts: Facts, cause: str, layers: list[LayerFact], says: str) -> Iterator[Finding]:
    by_page: dict[int, list[LayerFact]] = {}
    for layer in layers:
        for page in layer.pages:
            by_page.setdefault(page, []).append(layer)
    for page, here in sorted(by_page.items()):
        names = quoted([layer.name for layer in here])
        if len(here) == 1:
            what = f"the layer {names}" if names else "a layer without a name"
        else:
            what = f"each of {len(here)} layers" + (f" ({names})" if names else "")
        yield on_page(
            facts,
            page,
            cause,
            Severity.QUERY,
            f"{what} {says}.",
            _REMEDY,
            measured=len(here),
            limit=0,
            count=len(here),
        )


CHECK = Check(
    id="layers",
    title="Layers",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Layers that content of a page belongs to: whether each is on as the file opens, and whether it is set to "
    "print otherwise than it shows. Layers that no page uses are passed over.",
    why="A layer of corrections or of another language is printed, or one that was wanted is not; and programs differ "
    "over layers that show and do not print.",
    remedy="Export with the wanted layers only, flattened.",
    source="ISO 32000-1, 8.11 (optional content), 8.11.4.5 (usage on printing). ISO 15930-4 and -6 (PDF/X-1a, X-3) "
    "know no layers, ISO 15930-7 (PDF/X-4) one configuration; from memory.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
