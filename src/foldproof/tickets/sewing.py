# SPDX-License-Identifier: AGPL-3.0-or-later
"""The bench that holds the sections together: sewn through the fold, or stitched with wire; glued books go to the
gluing bench (:mod:`foldproof.tickets.gluing`).

Holes and thread are reckoned in :mod:`foldproof.quantities`; this bench measures nothing again.  Heights are told
twice, from the head as trimmed and from the head of the folded section, which is not yet trimmed at this bench.
"""

from __future__ import annotations

from collections.abc import Sequence

from foldproof.job.covering import cover_kind
from foldproof.makeup.plan import GatheredSection
from foldproof.quantities.model import Work
from foldproof.quantities.wires import wire_places_mm
from foldproof.tickets.bench import Bench, due
from foldproof.tickets.bench_drawing import Drawing, scale_for, scale_words, width_of
from foldproof.tickets.cautions import cautions_of
from foldproof.tickets.gluing import cover_facts, cover_words, covering, gluing
from foldproof.tickets.trimming import amounts
from foldproof.units import format_mm

#: line of paste by which an endpaper hangs on its section (common practice, no source)
TIP_MM = 3.0
#: widest drawing of the back, and deepest
_ROOM_MM = (158.0, 40.0)
#: a section is drawn by itself while it is so thick on the ticket
_SECTION_MM = 0.7
_SET_FIRST = (
    "Before sewing set the inner piece into the middle of the outer one, heads level; the needle goes through all folds"
    " of the section at once. Pieces are named from the innermost."
)
#: so many sections with pieces set one in another are listed; two columns of them fill a page
MOST_WRAPS = 150


def benches(work: Work) -> tuple[Bench, ...]:
    """Sewing (and covering, where the block gets a paper cover), gluing or stitching; nothing for a leaflet."""
    if work.plan.binding == "sewn":
        return (sewing(work), *covering(work))
    if work.plan.binding == "glued":
        return (gluing(work),)
    return (stitching(work),) if work.plan.binding == "stitched" else ()


def sewing(work: Work) -> Bench:
    """Holes, sections, thread."""
    plan, thread = work.plan, work.quantities.thread
    holes = thread.holes_mm if thread else ()
    wraps = [section for section in plan.sections if len(section.pieces) > 1]
    head = amounts(plan, plan.kinds[0])[0].head_mm
    thick = work.quantities.thickness
    facts = [
        ("sections", f"{len(plan.sections):,}" + _wrapped(len(wraps), len(plan.sections))),
        ("holes in each fold", f"{len(holes)}, the kettle stitches among them" if holes else ""),
        ("thread for one book", f"{thread.metres_per_book:.2f} m" if thread else ""),
        ("thread for the run", f"{thread.metres:,.0f} m" if thread else ""),
        ("back when nipped, unlined", format_mm(thick.block_mm + thick.endpapers_mm + thick.swell_mm)),
        ("line", plan.line),
    ]
    drawing, caption = _back(plan.trim_mm[1], thick.block_mm + thick.swell_mm, holes, len(plan.sections))
    notes = [["Endpapers.", _endpapers(work)]]
    if not holes:
        notes.insert(
            0, ["Holes.", "None are reckoned: the book is too low for two kettle stitches; ask how it is sewn."]
        )
    if wraps:
        notes.insert(0, ["Set one in another first.", _SET_FIRST])
    return Bench(
        bench="sewing",
        name="Sewing",
        what=f"{_counted(len(plan.sections), 'section')} through the fold, {format_mm(plan.trim_mm[1])} high trimmed",
        layout="sewing",
        facts=tuple(facts),
        body={
            "drawing": drawing.data(),
            "caption": caption,
            "heads": ["hole", "", "trimmed head", "untrimmed head"],
            "rows": [
                [str(n), "kettle stitch" if n in (1, len(holes)) else "", format_mm(mm), format_mm(mm + head)]
                for n, mm in enumerate(holes, 1)
            ],
            "rows_say": _heads_say(head),
            "notes": notes,
            "wraps": [[str(s.number), s.signature, _into(s.pieces)] for s in wraps[:MOST_WRAPS]],
            "wraps_left": _left(wraps),
        },
        cautions=cautions_of("sewing"),
        checks=("first book: no fold missed, none sewn twice", "thread tight, kettle stitches caught", "nipped"),
        due=due(work, "sewing"),
    )


def stitching(work: Work) -> Bench:
    """Wires through the fold of one gathered section."""
    plan = work.plan
    height = plan.trim_mm[1]
    wires = wire_places_mm(height)
    first = amounts(plan, plan.kinds[0])[0]
    pieces = [piece for section in plan.sections for piece in section.pieces]
    thick, cover = work.quantities.thickness, work.cover
    # the wire goes through every leaf once, and through the fold of the cover
    under = thick.block_mm / 2 + (cover.caliper_mm if cover else 0.0)
    through = f"{thick.leaves // 2:,} leaves{' and the cover' if cover else ''}, {format_mm(under, 2)}"
    drawing, caption = _fold_with_wires(height, wires)
    lip = f"{format_mm(first.lip_mm)}, at the fore-edge" if first.lip_mm else ""
    inner = f"{_into(pieces)}: the last lies innermost" if len(pieces) > 1 else pieces[0]
    return Bench(
        bench="stitching",
        name="Stitching",
        what=f"{_counted(len(wires), 'wire')} through the fold, {format_mm(height)} high trimmed",
        layout="sewing",
        facts=(
            ("wires", str(len(wires))),
            ("under the heads", through),
            ("book, closed", format_mm(thick.block_mm + (2 * cover.caliper_mm if cover else 0.0))),
            ("lip for the feeders", lip),
            ("line", plan.line),
            *cover_facts(work),
        ),
        body={
            "drawing": drawing.data(),
            "caption": caption,
            "heads": ["wire", "", "trimmed head", "untrimmed head"],
            "rows": [
                [str(n), "its middle", format_mm(mm), format_mm(mm + first.head_mm)] for n, mm in enumerate(wires, 1)
            ],
            "rows_say": _heads_say(first.head_mm),
            "notes": [
                ["Pieces, the innermost first.", f"{inner}."],
                *cover_words(work, "The cover goes round the outermost piece and is stitched with it."),
            ],
            "wraps": [],
            "wraps_left": "",
        },
        cautions=cautions_of("stitching"),
        checks=("wires on the fold, legs closed flat", "first book opened at its middle: pages in order"),
        due=due(work, "stitching"),
    )


def _back(height_mm: float, thick_mm: float, holes: Sequence[float], sections: int) -> tuple[Drawing, str]:
    """The back, head at the left: a line across it at every hole, its distance from the head above."""
    scale = scale_for((height_mm, thick_mm), _ROOM_MM)
    long, deep = height_mm / scale, max(thick_mm / scale, 0.4)
    left, top = 11.0, 15.0
    drawing = Drawing((180.0, top + deep + 13.0))
    drawing.box("paper", (left, top), (left + long, top + deep))
    if deep / sections >= _SECTION_MM:
        for n in range(1, sections):
            y = top + deep * n / sections
            drawing.line("hair", (left, y), (left + long, y))
    last, ends = -1e9, (0, len(holes) - 1)
    kept = left + holes[-1] / scale if holes else 0.0
    roomy = bool(holes) and (holes[-1] - holes[0]) / scale > 2 * width_of("kettle") + 2
    for n, mm in enumerate(holes):
        x = left + mm / scale
        drawing.line("thick" if n in ends else "fine", (x, top - 1.5), (x, top + deep + 1.5))
        if deep / sections >= _SECTION_MM:
            for section in range(sections):
                drawing.dot("black", (x, top + deep * (section + 0.5) / sections), 0.32)
        text = format_mm(mm).removesuffix(" mm")
        apart = width_of(text) + 2.5
        # a figure that has no room between its neighbours stands in the list alone
        if x - last >= apart and (n in ends or kept - x >= apart):
            drawing.word(text, (x, top - 4.6))
            last = x
        if n in ends and roomy:
            drawing.word("kettle", (x, top + deep + 5.0), "left" if n == 0 else "right")
    drawing.word("head", (left - 6.5, top + deep / 2), turn=90, bold=True)
    drawing.word("foot", (left + long + 6.5, top + deep / 2), turn=270, bold=True)
    return drawing, (
        f"The back, head at the left, scale {scale_words(scale)}; figures are mm from the head as trimmed. Thick lines:"
        " kettle stitches."
    )


def _fold_with_wires(height_mm: float, wires: Sequence[float]) -> tuple[Drawing, str]:
    scale = scale_for((height_mm, 1.0), _ROOM_MM)
    long, left, top = height_mm / scale, 11.0, 14.0
    drawing = Drawing((180.0, 28.0))
    drawing.line("outline", (left, top), (left + long, top))
    for mm in wires:
        x = left + mm / scale
        # the crown of a wire is some 13 mm long (common practice, no source)
        half = 6.5 / scale
        drawing.line("wire", (x - half, top), (x + half, top))
        drawing.word(format_mm(mm).removesuffix(" mm"), (x, top - 5.0))
    drawing.word("head", (left - 3.5, top), turn=90, bold=True)
    drawing.word("foot", (left + long + 3.5, top), turn=270, bold=True)
    return drawing, (
        f"The fold, head at the left, scale {scale_words(scale)}; figures are mm from the head as trimmed to the middle"
        " of each wire."
    )


def _endpapers(work: Work) -> str:
    """Where the endpapers come in at this bench."""
    plan, how = work.plan, work.job.cover.endpapers
    first, last = plan.sections[0], plan.sections[-1]
    if cover_kind(work.job, plan.binding) != "case":
        return "None: the block goes into a paper cover."
    if how == "none":
        return "None: the block is cased without them."
    if how == "self":
        return (
            f"None are added: the first leaf of section {first.number} and the last leaf of section {last.number} are"
            " pasted to the boards. Sew both sections as all others."
        )
    where = f"section {first.number}" if len(plan.sections) == 1 else f"sections {first.number} and {last.number}"
    return (
        f"Separate: a folded sheet at either end, tipped after sewing along the fold of {where} with a line of paste"
        f" {format_mm(TIP_MM)} wide; the thread does not go through it."
    )


def _wrapped(wraps: int, sections: int) -> str:
    if not wraps:
        return ""
    return f", {'each' if wraps == sections else f'{wraps:,}'} of pieces set one in another"


def _into(pieces: Sequence[str]) -> str:
    """``"3C into 3B into 3A"``: pieces are named with the outermost first, and set with the innermost first."""
    return " into ".join(reversed(pieces))


def _heads_say(head_mm: float) -> str:
    return (
        f"Measured from the head. The knives take {format_mm(head_mm)} there: at this bench, where nothing is trimmed"
        " yet, the second figure counts."
    )


def _left(wraps: Sequence[GatheredSection]) -> str:
    over = len(wraps) - MOST_WRAPS
    return f"{over:,} more sections are set so; the gathering ticket lists them." if over > 0 else ""


def _counted(count: int, one: str) -> str:
    return f"{count:,} {one}{'' if count == 1 else 's'}"
