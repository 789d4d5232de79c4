# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the knives take off, in which order, and how high the pile under them may be."""

from __future__ import annotations

from typing import Any

from attrs import frozen

from foldproof.job.finishing import Knife
from foldproof.makeup.plan import Plan, SheetKind
from foldproof.quantities.model import Work
from foldproof.quantities.untrimmed import amounts as amounts
from foldproof.tickets.bench import Bench, due
from foldproof.tickets.bench_drawing import Drawing, scale_for, scale_words, width_of
from foldproof.tickets.cautions import cautions_of
from foldproof.units import format_mm, format_size_mm

_FROM = {"sewn": "the binder", "glued": "the gluing", "stitched": "stitching", "leaflet": "the folder"}


@frozen
class Pile:
    """What lies under the clamp at one cut."""

    book_mm: float
    books: int
    high_mm: float
    #: one book alone is higher than the house puts under the clamp
    too_high: bool


def benches(work: Work) -> tuple[Bench, ...]:
    """The trimming ticket; a leaflet's is about its pieces, which are cut flat before they are folded."""
    return (_flat(work) if work.plan.binding == "leaflet" else _bound(work),)


def pile_of(work: Work) -> Pile:
    """As many books as the house's highest pile holds, never fewer than one.

    A book under the clamp is its block with endpapers and the swell of its back, or with the paper cover that is
    trimmed together with it; lining and boards come later.
    """
    thick = work.quantities.thickness
    cover = 0.0 if work.cover is None else 2 * work.cover.caliper_mm
    book = thick.block_mm + thick.endpapers_mm + thick.swell_mm + cover
    most = work.house.finishing.pile_max
    # a hair of slack: 8 books of 10 mm are 80 mm, whatever their binary fractions say
    books = max(1, int(most / book + 1e-9))
    return Pile(book, books, books * book, book > most + 1e-9)


def knives_of(work: Work) -> tuple[Knife, ...]:
    """The order of the cuts as the house states it, each once; an edge that it leaves out comes last."""
    whole: tuple[Knife, ...] = ("fore-edge", "head and foot")
    return tuple(dict.fromkeys((*work.house.finishing.knives, *whole)))


def _bound(work: Work) -> Bench:
    plan, pile, knives = work.plan, pile_of(work), knives_of(work)
    order = ", ".join(f"{n} {knife}" for n, knife in enumerate(knives, 1))
    notes = [
        ["Measure.", _words(plan)],
        [
            "Pile.",
            f"One book is {format_mm(pile.book_mm, 2)} thick as it lies under the clamp; the house piles up to"
            f" {format_mm(work.house.finishing.pile_max)}."
            + (" One book alone is higher: ask before the clamp is set." if pile.too_high else ""),
        ],
    ]
    if work.cover is not None and work.cover.flap_mm:
        notes.append(
            [
                "Flaps.",
                "The cover has flaps, and they must not come under the fore-edge knife: turn them out of its way, or"
                " cut the fore-edge before the cover is put on.",
            ]
        )
    unstated = [knife for knife in knives if knife not in work.house.finishing.knives]
    if unstated:
        notes.append(["Order.", f"The house states no place for {unstated[0]}; it is cut last."])
    return Bench(
        bench="trimming",
        name="Trimming",
        what=f"three knives, to {format_size_mm(*plan.trim_mm)}",
        layout="trimming",
        facts=(
            ("trimmed size, width first", format_size_mm(*plan.trim_mm)),
            ("untrimmed, its back ground" if plan.binding == "glued" else "untrimmed", _untrimmed(plan)),
            ("order of the knives", order),
            ("books in a pile", f"{pile.books:,}"),
            ("knife height, pile", format_mm(pile.high_mm)),
            ("line", plan.line),
        ),
        body={**_table(plan), **_drawn(plan, knives), "notes": notes},
        cautions=cautions_of("trimming"),
        checks=("first book measured: width, height", "head and foot square to the spine", "knife guards tested"),
        due=due(work, "trimming"),
    )


def _flat(work: Work) -> Bench:
    plan = work.plan
    return Bench(
        bench="trimming",
        name="Cutting",
        what=f"flat, one page {format_size_mm(*plan.trim_mm)}",
        layout="trimming",
        facts=(("one page, width first", format_size_mm(*plan.trim_mm)), ("piece, folded", _untrimmed(plan))),
        body={
            "heads": [],
            "rows": [],
            "drawing": None,
            "caption": "",
            "notes": [["Cut flat.", _words(plan)]],
        },
        cautions=cautions_of("cutting"),
        checks=("first sheet measured", "knife guards tested"),
        due=due(work, "trimming"),
    )


def _untrimmed(plan: Plan) -> str:
    """As it comes to this bench: one size, or from which to which the kinds of sheets go; the table holds them all."""
    sizes = list(
        dict.fromkeys(
            (amount.size_mm[0] - amount.spine_mm, amount.size_mm[1])
            for kind in plan.kinds
            for amount in amounts(plan, kind)
        )
    )
    if len(sizes) < 3:
        return " and ".join(format_size_mm(*size) for size in sizes)
    return f"{format_size_mm(*min(sizes))} to {format_size_mm(*max(sizes))}"


def _table(plan: Plan) -> dict[str, Any]:
    """Amounts by kind, kinds that are trimmed alike in one row."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for kind in plan.kinds:
        for amount in amounts(plan, kind):
            off = (amount.head_mm, amount.foot_mm, amount.fore_edge_mm, amount.spine_mm)
            labels = alike.setdefault((format_size_mm(*amount.size_mm), *map(format_mm, off)), [])
            if kind.label not in labels:
                labels.append(kind.label)
    return {
        "heads": ["kind of sheet", "folded", "head", "foot", "fore-edge", "spine"],
        "rows": [["; ".join(labels), *row] for row, labels in alike.items()],
    }


def _drawn(plan: Plan, knives: tuple[Knife, ...]) -> dict[str, Any]:
    """The book as it comes and as it leaves, to scale, every cut with the number of its knife.

    What a glued block loses at its spine is gone before it comes to this bench, so nothing is drawn there.
    """
    (wide, high), first = plan.trim_mm, amounts(plan, plan.kinds[0])[0]
    at_right = plan.reading == "left to right"
    scale = scale_for((wide + first.fore_edge_mm, high + first.head_mm + first.foot_mm), (94.0, 58.0))
    x, y, out = 40.0, 10.0, 8.0
    w, h = (wide + first.fore_edge_mm) / scale, (high + first.head_mm + first.foot_mm) / scale
    drawing = Drawing((180.0, y + h + 20.0))
    drawing.box("outline", (x, y), (x + w, y + h))
    y0, y1 = y + first.head_mm / scale, y + h - first.foot_mm / scale
    x0 = x if at_right else x + first.fore_edge_mm / scale
    x1 = x0 + wide / scale
    drawing.box("paper", (x0, y0), (x1, y1))
    edge = x1 if at_right else x0
    drawing.line("cut", (edge, y - out), (edge, y + h + out))
    for level in (y0, y1):
        drawing.line("cut", (x - out, level), (x + w + out, level))
    apart = max(0.0, 7.4 - (y1 - y0)) / 2  # figures of two cuts close to each other are moved apart
    for level, name, amount in ((y0 - apart, "head", first.head_mm), (y1 + apart, "foot", first.foot_mm)):
        drawing.number(knives.index("head and foot") + 1, (x - out - 4.0, level))
        drawing.word(f"{name} {format_mm(amount)}", (x + w + out + 1.5, level), "left")
    below = y + h + out + 4.0
    drawing.number(knives.index("fore-edge") + 1, (edge, below))
    drawing.word(f"fore-edge {format_mm(first.fore_edge_mm)}", (edge + 5.5, below), "left")
    size = format_size_mm(wide, high)
    if x1 - x0 > width_of(size, 13.0) + 16 and y1 - y0 > 8:
        drawing.word(size, ((x0 + x1) / 2, (y0 + y1) / 2), size_pt=13.0, bold=True)
    if y1 - y0 > 16 and x1 - x0 > 20:
        drawing.word("spine", (x0 + 4 if at_right else x1 - 4, (y0 + y1) / 2), turn=90 if at_right else 270)
    return {
        "drawing": drawing.data(),
        "caption": f"{plan.kinds[0].label}, first page up, head above, scale {scale_words(scale)}. Full line: as it"
        f" comes from {_FROM[plan.binding]}; broken lines: the cuts, each with the number of its knife.",
    }


def lip_of(plan: Plan, kind: SheetKind) -> float:
    """The widest lip of the sections of a kind, mm; 0 where they have none."""
    return max(amount.lip_mm for amount in amounts(plan, kind))


def sizes_folded(plan: Plan, kind: SheetKind) -> list[str]:
    """Sizes of the folded, untrimmed sections of a kind, in words."""
    return list(dict.fromkeys(format_size_mm(*amount.size_mm) for amount in amounts(plan, kind)))


def lip_words(work: Work, kind: SheetKind) -> str:
    """What the folder is told of a lip, as a sentence; nothing where there is none."""
    lip_mm = lip_of(work.plan, kind)
    if not lip_mm:
        return ""
    stated = next((line.lip for line in work.house.lines if line.name == work.plan.line), None)
    half = {"high folio": "The half with the higher pages", "low folio": "The half with the lower pages"}.get(
        work.job.bindery.lip or stated or "", "One half"
    )
    return f"{half} of each section stands out by a lip of {format_mm(lip_mm)} at the fore-edge."


def _words(plan: Plan) -> str:
    width, height = plan.trim_mm
    if plan.binding == "leaflet":
        return (
            f"Cut every piece flat, before it is folded, along the lines that the folding ticket gives; one page is"
            f" {format_size_mm(width, height)}, width first. Nothing is trimmed after folding; measure the first sheet."
        )
    text = f"Trim to {format_size_mm(width, height)}, width first. Amounts are measured on the outermost leaf"
    text += ", the fore-edge from the lip. " if any(lip_of(plan, kind) for kind in plan.kinds) else ". "
    if plan.binding == "glued":
        text += "The spine amount is ground off before gluing; the width counts from the ground edge. "
    else:
        text += "The width counts from the spine fold. "
    return text + "Cut in the order that is stated here, and measure the first book."
