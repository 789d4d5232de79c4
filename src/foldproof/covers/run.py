# SPDX-License-Identifier: AGPL-3.0-or-later
"""A supplied cover, read, looked at and checked."""

from __future__ import annotations

from pathlib import Path

from attrs import evolve, field, frozen

from foldproof.case.model import CoverSizes
from foldproof.covers.look import Look, look_at
from foldproof.covers.model import CoverFacts, CoverSeen
from foldproof.covers.registry import ALL
from foldproof.errors import Unreadable
from foldproof.job.model import House, Job
from foldproof.manuscript.model import Manuscript, Observations
from foldproof.manuscript.observe import observe, turn_of
from foldproof.manuscript.read import read
from foldproof.manuscript.same import hold_same
from foldproof.pdf.interpreter import Book
from foldproof.preflight.model import Findings, NotJudged
from foldproof.preflight.run import check
from foldproof.preflight.specs import Spec
from foldproof.units import format_mm
from foldproof.workers import Lost, Workers

#: rules that a cover is held against when nothing else is asked for
USUAL_SPEC = "colour-on-coated"
#: seconds that looking at the one page may take: drawing the back at 600 dots an inch and looking for bars in it is a
#: matter of one or two
_SECONDS = 60.0


@frozen
class CoverAsked:
    """One cover and everything that it is held against."""

    path: Path
    sizes: CoverSizes
    job: Job
    house: House
    spec: Spec
    password: str | None = field(default=None, repr=False)


@frozen
class CoverLooked:
    """What a cover was found to be."""

    manuscript: Manuscript
    observations: Observations
    findings: Findings
    seen: CoverSeen | None


def look_over_cover(asked: CoverAsked, workers: Workers) -> CoverLooked:
    """Read a cover, look at it and hold it against its sizes.

    Of a file of several pages that alone is told.

    Raises:
        Unreadable: it cannot be read; ``NeedsPassword``: it is locked.
        AskedWrong: a waiver of the job names no check.
    """
    sizes = asked.sizes
    manuscript = read(asked.path, trim_mm=sizes.trimmed_mm, password=asked.password, workers=workers)
    nothing: tuple[None, ...] = (None,) * len(manuscript.pages)
    observations, seen, why = Observations(nothing, nothing), None, ""
    facts = CoverFacts(
        manuscript,
        observations,
        asked.job,
        asked.house,
        sizes.trimmed_mm,
        sizes.bleed_mm,
        sizes=sizes,
        seen=None,
    )
    if len(manuscript.pages) == 1:
        observations = observe(
            manuscript, workers, trim_mm=sizes.trimmed_mm, bleed_mm=sizes.bleed_mm, needs={"objects", "ink"},
            advance=lambda _: None, password=asked.password,
        )  # fmt: skip
        seen, why = _looked(asked, facts, workers)
        hold_same(manuscript)
        if seen is None and not observations.lost:
            observations = evolve(observations, lost={0: why})
    facts = evolve(facts, observations=observations, seen=seen, why_unseen=why)
    entries = ALL if len(manuscript.pages) == 1 else [entry for entry in ALL if entry.id == "cover-pages"]
    findings = check(facts, asked.spec, entries, on="jacket" if sizes.kind == "jacket" else "cover", of_covers=ALL)
    return CoverLooked(manuscript, observations, findings, seen)


def _looked(asked: CoverAsked, facts: CoverFacts, workers: Workers) -> tuple[CoverSeen | None, str]:
    """What was seen, or why it could not be."""
    page = facts.page
    if min(page.trim_size_pt) <= 0:
        return None, "its trim has no area"
    try:
        back = facts.folds.back
    except NotJudged:
        back = None
    book = Book(asked.path.resolve(), facts.manuscript.sha256, asked.password)
    try:
        found = workers.alone(look_at, Look(book, turn_of(page), back), seconds=_SECONDS)
    except Unreadable as failure:
        return None, str(failure).rstrip(".")
    return (None, found.reason) if isinstance(found, Lost) else (found, "")


def sizes_told(sizes: CoverSizes) -> str:
    """What a cover was held against, in a line."""
    panel = format_mm(sizes.panel_mm[0] + sizes.wrap_mm)
    first, last = ("back", "front") if sizes.reading == "left to right" else ("front", "back")
    flap = [f"flap {format_mm(sizes.flap_mm)}"] if sizes.flap_mm else []
    panels = ", ".join([*flap, f"{first} {panel}", f"spine {format_mm(sizes.spine_mm)}", f"{last} {panel}", *flap])
    wide, high = sizes.trimmed_mm
    return (
        f"Held against a {sizes.kind} of {format_mm(wide).removesuffix(' mm')} x {format_mm(high)}: {panels}; bleed "
        f"{format_mm(sizes.bleed_mm)}."
    )


def bars_told(seen: CoverSeen | None) -> str:
    """What was read on the back, in a line; empty where nothing was."""
    bars = seen.bars if seen is not None else None
    if bars is None or not bars.upright:
        return ""
    return (
        f"The bars read {bars.digits}: {format_mm(bars.box_mm.width)} x {format_mm(bars.box_mm.height)}, "
        f"{100 * bars.module_mm / 0.33:.0f} % of full size."
    )


def waived_told(findings: Findings) -> tuple[str, ...]:
    """What the job waives, who takes it on and why, a line each."""
    return tuple(
        f"waived: {found.check}: {found.problem} Waived by {by}: {reason if reason[-1] in '.!?' else reason + '.'}"
        for found, reason, by in findings.waived
    )
