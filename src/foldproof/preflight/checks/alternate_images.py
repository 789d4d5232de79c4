# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures that have a second picture in store."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.file_facts import ImageFact
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import counted, on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    by_page: dict[int, list[ImageFact]] = {}
    for image in facts.manuscript.facts.images:
        if image.alternates:
            for page in image.pages:
                by_page.setdefault(page, []).append(image)
    for page, images in sorted(by_page.items()):
        printing = [image for image in images if image.alternate_prints]
        if printing:
            yield on_page(
                facts,
                page,
                "alternate-images/prints",
                Severity.QUERY,
                f"{counted(len(printing), 'picture')} {'has' if len(printing) == 1 else 'have'} a second one in store "
                "that is meant for the print; programs differ over which of the two they take.",
                "Keep the picture that is to be printed, and export without alternates.",
                measured=len(printing),
                limit=0,
                count=len(printing),
            )
        elif images:
            yield on_page(
                facts,
                page,
                "alternate-images/stored",
                Severity.NOTE,
                f"{counted(len(images), 'picture')} {'has' if len(images) == 1 else 'have'} a second one in store for "
                "other uses; the one that shows is printed.",
                "Export without alternates; the file gets smaller by them.",
                measured=len(images),
                limit=0,
                count=len(images),
            )


CHECK = Check(
    id="alternate-images",
    title="Alternate pictures",
    needs=frozenset({Needs.STRUCTURE}),
    measures="Pictures with other versions of themselves in the file, and whether one of these is marked as the one to "
    "be printed.",
    why="The screen shows one picture and the plate may show another: of another resolution, or of another state.",
    remedy="Export with one version of every picture.",
    source="ISO 32000-1, 8.9.5.4 (alternate images). ISO 15930 (PDF/X): none that is the default for printing; from "
    "memory.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
