# SPDX-License-Identifier: AGPL-3.0-or-later
"""Coarse pictures that ask the plate-setter to smooth them."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.model import PictureKind
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import LEAST_SIDE_MM, LEAST_SIDE_SOURCE, count_in_words, placed, true_of
from foldproof.preflight.words import on_page


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least_mm = limits.number("least_side_mm")
    fine = {True: limits.number("contone_fine_ppi"), False: limits.number("line_fine_ppi")}
    seen = [
        one
        for one in placed(facts)
        if one.seen_mm is not None
        and not one.is_small(least_mm)
        and one.ppi < fine[one.use.kind is PictureKind.CONTONE]
    ]
    for index, told in true_of(seen, lambda image: image.interpolate).items():
        ppi = min(one.placed.ppi for one in told)
        yield on_page(
            facts,
            index,
            "picture-interpolation",
            Severity.NOTE,
            f"{count_in_words(told)} {'asks' if len(told) == 1 else 'ask'} to be smoothed ({ppi:.0f} ppi); some "
            "plate-setters do it and some do not, so that the print may differ from the proof.",
            "Place a picture of higher resolution, or switch smoothing of pictures off when exporting.",
            place_mm=told[0].place_mm,
            measured=ppi,
            limit=fine[told[0].placed.use.kind is PictureKind.CONTONE],
            unit="ppi",
            count=len(told),
        )


CHECK = Check(
    id="picture-interpolation",
    title="Pictures to be smoothed",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="Pictures with the Interpolate entry that are coarse enough for it to be seen.",
    why="The standard leaves it to the machine whether and how it smooths: proof and print need not look alike.",
    remedy="Use pictures that are fine enough and switch smoothing off.",
    source="ISO 32000-1, 8.9.5.3: interpolation is up to the reader",
    run=_run,
    limits={"contone_fine_ppi": 225, "line_fine_ppi": 800, "least_side_mm": LEAST_SIDE_MM},
    limit_sources={
        "contone_fine_ppi": "Ghent Workgroup, sheet-fed, warning, as for picture-resolution; from memory",
        "line_fine_ppi": "Ghent Workgroup, 1-bit, warning, as for picture-resolution; from memory",
        "least_side_mm": LEAST_SIDE_SOURCE,
    },
    severity=Severity.NOTE,
)
