# SPDX-License-Identifier: AGPL-3.0-or-later
"""The gluing bench: grind-off and spine of a glued block, and the paper cover that goes round a block."""

from __future__ import annotations

from foldproof.case.cover_sizes import FOOT_EXTRA_MM
from foldproof.makeup.plan import Plan
from foldproof.quantities.model import Work
from foldproof.tickets.bench import Bench, due
from foldproof.tickets.bench_drawing import Drawing, scale_for, scale_words
from foldproof.tickets.cautions import cautions_of
from foldproof.tickets.trimming import amounts
from foldproof.units import format_mm, format_size_mm

#: of the drawing of the back: so far into the book, and so high, on the ticket
_INTO_MM, _HIGH_MM = 62.0, 44.0


def gluing(work: Work) -> Bench:
    """A glued block: ground, glued, covered; or lined for a case."""
    plan = work.plan
    thick = work.quantities.thickness
    grind = _grind(plan)
    lined = work.cover is None
    notes = [
        [
            "Grind-off.",
            f"Take {format_mm(grind)} off the spine, until every leaf stands free: a fold that is left holds its inner"
            " leaves by nothing. The trimmed width counts from the ground edge."
            if grind
            else "Nothing is ground off: notch the folds so that the glue reaches every leaf.",
        ],
        ["Glue.", "Head to foot without a gap; let the glue set before the knife comes to it."],
    ]
    if lined:
        notes.append(["No cover here.", "The glued block is lined and goes into its case at the casing-in bench."])
    return Bench(
        bench="gluing",
        name="Gluing",
        what=f"{_sections(plan)}, spine {format_mm(thick.spine_mm)}",
        layout="gluing",
        facts=(
            ("grind off the spine", format_mm(grind) if grind else "nothing"),
            ("block, ground and pressed together", format_mm(thick.block_mm)),
            ("block as it comes, untrimmed", format_size_mm(*amounts(plan, plan.kinds[0])[0].size_mm)),
            ("sections", f"{len(plan.sections):,}"),
            ("line", plan.line),
            *cover_facts(work),
        ),
        body={
            **_drawn(work, grind),
            "notes": notes
            + cover_words(work, "The cover is fed on to the glued spine with its printed side outwards."),
        },
        cautions=cautions_of("gluing"),
        checks=(
            "pull test: no leaf comes out",
            *(("spine square",) if lined else ("spine square, cover straight at the head", "hinge glue in its line")),
        ),
        due=due(work, "gluing"),
    )


def covering(work: Work) -> tuple[Bench, ...]:
    """A sewn block that gets a paper cover; nothing where there is none to put on."""
    if work.cover is None or work.plan.binding != "sewn":
        return ()
    return (
        Bench(
            bench="covering",
            name="Covering",
            what=f"paper cover round the sewn block, spine {format_mm(work.cover.spine_mm)}",
            layout="gluing",
            facts=cover_facts(work),
            body={
                **_drawn(work, 0.0),
                "notes": cover_words(work, "Glue the sewn back, then set the cover on it, printed side outwards."),
            },
            cautions=cautions_of("gluing"),
            checks=("cover straight at the head", "title reads the right way", "hinge glue inside its line"),
            due=due(work, "covering"),
        ),
    )


def cover_facts(work: Work) -> tuple[tuple[str, str], ...]:
    """Sizes of the paper cover; nothing where there is none."""
    cover = work.cover
    if cover is None:
        return ()
    return (
        ("cover, trimmed and lying open", format_size_mm(*cover.trimmed_mm)),
        ("spine of the cover", format_mm(cover.spine_mm) if cover.spine_mm else "folded once"),
        ("hinge, from the spine", format_mm(cover.hinge_mm) if cover.hinge_mm else ""),
        ("flaps", format_mm(cover.flap_mm) if cover.flap_mm else ""),
        ("stock of the cover", f"{cover.stock}, {format_mm(cover.caliper_mm, 3)}"),
    )


def cover_words(work: Work, feed: str) -> list[list[str]]:
    """How the paper cover is fed, and how it lies: head and words; nothing where there is none."""
    cover = work.cover
    if cover is None:
        return []
    names = ["back flap", "back", "spine", "front", "front flap"]
    if not cover.flap_mm:
        names = names[1:4]
    if not cover.spine_mm:
        names.remove("spine")
    if cover.reading == "right to left":
        names.reverse()
    words = f"{feed} Lying open, printed side up, from the left: {', '.join(names)}. The front lies on the first page."
    if work.plan.binding == "glued":
        words += (
            f" Heads level; as it is fed it stands {format_mm(FOOT_EXTRA_MM)} beyond the untrimmed block at the foot,"
            " and the knives take that off with it."
        )
    if cover.hinge_mm:
        words += f" Creases: at the edges of the spine and {format_mm(cover.hinge_mm)} from them; glue no farther."
    return [["Cover.", words]]


def _grind(plan: Plan) -> float:
    """What the grinder takes off, mm: as the sections are laid out for it."""
    return max(amount.spine_mm for kind in plan.kinds for amount in amounts(plan, kind))


def _sections(plan: Plan) -> str:
    count = len(plan.sections)
    return f"{count:,} section{'' if count == 1 else 's'}"


def _drawn(work: Work, grind_mm: float) -> dict[str, object]:
    """The end of the block, cover and hinges round it: the back at the left, to scale."""
    thick = work.quantities.thickness
    cover = work.cover
    high = max(thick.block_mm + thick.swell_mm, 0.2)
    hinge = cover.hinge_mm if cover else 0.0
    scale = scale_for((grind_mm + max(hinge, 6.0), high), (_INTO_MM * 0.4, _HIGH_MM), largest=0.2)
    deep = high / scale
    x, y = 62.0, 16.0
    drawing = Drawing((180.0, y + deep + 16.0))
    drawing.box("paper", (x, y), (x + _INTO_MM, y + deep))
    sections = len(work.plan.sections)
    if deep / sections >= 1.0:
        for n in range(1, sections):
            drawing.line("hair", (x, y + deep * n / sections), (x + _INTO_MM, y + deep * n / sections))
    if grind_mm:
        drawing.box("ground", (x - grind_mm / scale, y), (x, y + deep))
        drawing.across(y - 5.0, x - grind_mm / scale, x, grind_mm, words=f"off: {format_mm(grind_mm)}", beyond="left")
    drawing.line("glue", (x, y), (x, y + deep))
    drawing.word("leaves go on", (x + _INTO_MM + 3, y + deep / 2), "left")
    drawing.up(22.0, y, y + deep, high, words=format_mm(thick.spine_mm or high), beyond="left")
    if cover is not None:
        gap, at = 1.1, x
        for edge in (y - gap, y + deep + gap):
            drawing.line("outline", (at - gap, edge), (at + _INTO_MM, edge))
        drawing.line("outline", (at - gap, y - gap), (at - gap, y + deep + gap))
        if hinge:
            below = y + deep + gap
            drawing.line("thick", (x + hinge / scale, below - 1.6), (x + hinge / scale, below + 1.6))
            drawing.line("thick", (x + hinge / scale, y - gap - 1.6), (x + hinge / scale, y - gap + 1.6))
            drawing.across(below + 5.0, x, x + hinge / scale, hinge, words=f"hinge: {format_mm(hinge)}")
    # lying with its first page above, a book read from left to right has its back at the left seen from the foot
    end = "foot" if work.plan.reading == "left to right" else "head"
    says = [f"The back, seen from the {end}, first page above, scale {scale_words(scale)}."]
    if grind_mm:
        says.append("Grey: ground off.")
    if cover is not None:
        says.append("The line round the block is the cover" + (", thick strokes its hinge creases." if hinge else "."))
    return {"drawing": drawing.data(), "caption": " ".join(says)}
