# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small black type that is cut out of its coloured ground instead of printing over it."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.seen import TextUse
from foldproof.preflight.inks import ground_shows_through, is_black, said
from foldproof.preflight.matter import face, painted_type
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import on_page

#: how dark an ink is beside black (ISO 32000-1, 10.3.5: DeviceCMYK to DeviceGray): white edges in yellow hardly show
_DARK = {"Cyan": 0.3, "Magenta": 0.59, "Yellow": 0.11}
#: a spot colour may be any: about as dark as cyan
_SPOT = 0.3


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    least, faint = limits.number("least_pt"), limits.number("ground_percent") / 100
    for seen, texts in painted_type(facts):
        cut = []
        for use in texts:
            # in a group that is blended the ground stays or goes by other rules
            if use.ground and not use.type3 and 0 < use.size_pt < least and use.alpha == 1 and use.blend == "Normal":
                lost = _lost(use, faint)
                if lost:
                    cut.append((use, lost))
        if cut:
            use, lost = min(cut, key=lambda one: one[0].size_pt)
            yield on_page(
                facts,
                seen.index,
                "black-knocks-out",
                Severity.QUERY,
                f"black type of {use.size_pt:g} pt ({face(use.font)}) does not overprint: it is cut out of a ground of "
                f"{said(lost)}.",
                "Let black overprint when exporting; or ask the plate-setter to overprint 100 % black, as most do "
                "unless told otherwise.",
                place_mm=use.first_mm,
                measured=use.size_pt,
                limit=least,
                unit="pt",
            )


def _lost(use: TextUse, faint: float) -> dict[str, float]:
    """What the ground loses under a piece of black type, by ink."""
    if not is_black(use.space, use.values):
        return {}
    lost = {
        name: cover
        for name, cover in use.ground
        if name != "Black"
        and cover >= 0.01
        and not ground_shows_through(use.space, use.values, use.overprint, use.overprint_mode, name)
    }
    return lost if sum(cover * _DARK.get(name, _SPOT) for name, cover in lost.items()) >= faint else {}


CHECK = Check(
    id="black-knocks-out",
    title="Black type not overprinting",
    needs=frozenset({Needs.OBJECTS, Needs.INK}),
    measures="Type in solid black under a size limit, on a ground of other inks, not too light, that it does "
    "not overprint. In DeviceGray black never overprints process inks, and in DeviceCMYK only with overprint mode 1.",
    why="The letters are cut out of the ground and must be printed exactly into the holes; a tenth of a millimetre "
    "out of register leaves white edges round every letter.",
    remedy="Let black type overprint.",
    source="Ghent Workgroup: black text under 12 pt overprints; from memory; what overprints: ISO 32000-1, table 148",
    run=_run,
    limits={"least_pt": 12, "ground_percent": 25},
    limit_sources={
        "least_pt": "Ghent Workgroup, black text under 12 pt; from memory",
        "ground_percent": "how dark the lost inks are as a grey (ISO 32000-1, 10.3.5); white edges in a lighter ground "
        "hardly show; common practice, no source",
    },
    severity=Severity.QUERY,
)
