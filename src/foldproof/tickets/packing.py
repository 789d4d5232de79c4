# SPDX-License-Identifier: AGPL-3.0-or-later
"""Packing: books into cartons, cartons on pallets, and what a carton is marked with.

Numbers are those of :class:`foldproof.quantities.model.Packing`; the drawing lays the stacks where
:func:`foldproof.quantities.footprint.best_rows`, by which they were counted, has them.
"""

from __future__ import annotations

from foldproof.case.model import CoverSizes
from foldproof.job.finishing import HouseCarton
from foldproof.quantities.book import bound_book
from foldproof.quantities.counts import jackets_of
from foldproof.quantities.footprint import best_rows
from foldproof.quantities.model import Packing, Work
from foldproof.tickets.bench import Bench, breakable, due, short
from foldproof.tickets.bench_drawing import Drawing, scale_for, scale_words, width_of
from foldproof.tickets.cautions import cautions_of, load_words
from foldproof.units import format_mm, format_size_mm

#: of the drawing: plan and side view of the carton
_PLAN_MM, _SIDE_MM = (84.0, 56.0), (62.0, 56.0)
#: a book is drawn by itself from this thickness on the ticket
_THINNEST_MM = 0.7
_TITLE_LETTERS = 60
#: a book by itself that is told as a load
_HEAVY_KG = 5.0
_JACKETED = ("jackets square at head and foot, flaps in",)


def benches(work: Work) -> tuple[Bench, ...]:
    """The packing ticket; where no carton was reckoned it says why, and what else the bench does with the book."""
    packed = work.quantities.packing
    return (_unpacked(work),) if packed is None else _packed(work, packed)


def _unpacked(work: Work) -> Bench:
    """Books that go into no carton of the house, or into none that is known: what they are packed in is to be asked."""
    one, copies = _one(work), work.quantities.copies
    book = bound_book(work.plan, work.job, work.house, work.quantities.thickness)
    known = not isinstance(book, str)
    jacketed = _JACKETED if work.jacket else ()
    kilos = 0.0 if isinstance(book, str) else book.grams / 1000
    ask = f"Ask before packing what the {one}s go into, and write it on this ticket."
    notes = [["No carton.", f"{work.quantities.unpacked} {ask}".lstrip()]]
    if work.jacket is not None:
        notes.insert(0, ["Jacket.", _jacket(work, work.jacket)])
    return Bench(
        bench="packing",
        name="Packing",
        what=f"{_counted(copies, one)}; no carton is settled",
        layout="packing",
        facts=(
            ("carton", "none: see below"),
            (f"a {one}", "" if isinstance(book, str) else f"{_three(*book.size_mm)}, {book.grams:,.0f} g"),
            (f"{one}s", f"{copies:,}"),
            (f"all {one}s weigh" if copies > 1 else "it weighs", f"{copies * kilos:,.1f} kg" if known else ""),
        ),
        body={
            "drawing": None,
            "caption": "",
            "notes": notes,
            "label": _label(work, f"______ {one}s · ______ kg", "carton ______ of ______"),
            "label_says": "",
        },
        cautions=cautions_of("packing", load_words(f"A {one}", kilos) if kilos >= _HEAVY_KG else ""),
        checks=(*jacketed, "packing asked for and settled", "first one counted and weighed"),
        due=due(work, "packing"),
    )


def _packed(work: Work, packed: Packing) -> tuple[Bench, ...]:
    carton = next(one for one in work.house.cartons if one.name == packed.carton)
    one, alone = _one(work), packed.cartons == 1
    book = f"{_three(*packed.book_mm)}, {packed.book_g:,.0f} g"
    last = packed.last_carton != packed.per_carton and not alone
    weighs = packed.kg if alone else packed.carton_kg
    bound = bound_book(work.plan, work.job, work.house, work.quantities.thickness)
    left_out = "" if isinstance(bound, str) else bound.left_out
    settled = "No more go in by their " + ("weight" if packed.bound_by == "weight" else "size") + "."
    notes = [
        [
            "How they lie." if not alone else "How a full one lies.",
            f"{packed.layout[:1].upper()}{packed.layout[1:]}. {settled} Fill what is left with paper."
            + (f" Weights are without {left_out}." if left_out else ""),
        ],
    ]
    if packed.pallets:
        notes.append(
            [
                "Pallet.",
                f"{_counted(packed.per_layer, 'carton')} in a layer, {_counted(packed.layers, 'layer')}: at the most"
                f" {packed.per_layer * packed.layers:,} on a pallet. Heavy edges on one another, nothing over the rim.",
            ]
        )
    if work.jacket is not None:
        notes.insert(0, ["Jacket.", _jacket(work, work.jacket)])
    jacketed = _JACKETED if work.jacket else ()
    return (
        Bench(
            bench="packing",
            name="Packing",
            what=f"{_counted(work.quantities.copies, one)} into {_counted(packed.cartons, 'carton')}",
            layout="packing",
            facts=(
                ("carton", f"{carton.name}, {_three(*carton.inside, carton.height)}"),
                (f"a {one}", book),
                ("in the carton" if alone else "in each carton", _counted(_in_each(packed), one)),
                ("cartons", f"{packed.cartons:,}"),
                ("in the last carton", _counted(packed.last_carton, one) if last else ""),
                ("it weighs" if alone else "a full carton weighs", f"{weighs:.1f} kg"),
                ("pallets", f"{packed.pallets:,}" if packed.pallets else ""),
                ("all of it weighs", f"{packed.kg:,.0f} kg"),
            ),
            body={
                **_drawn(packed, carton),
                "notes": notes,
                "label": _label(
                    work,
                    f"{_counted(_in_each(packed), one)} · {weighs:.1f} kg",
                    f"carton ______ of {packed.cartons:,}",
                ),
                "label_says": f"The last carton holds {_counted(packed.last_carton, one)}: say so on its label."
                if last
                else "",
            },
            cautions=cautions_of("packing", load_words("The carton" if alone else "A full carton", weighs)),
            checks=(*jacketed, "first carton counted and weighed", "labels numbered through", "last carton marked"),
            due=due(work, "packing"),
        ),
    )


def _jacket(work: Work, jacket: CoverSizes) -> str:
    """What is put round the book before it goes into its carton."""
    copies = work.quantities.copies
    over = jackets_of(work.plan, work.house.allowances) - copies
    spare = f", and {over:,} over for those spoilt in putting them on" if over else ""
    return (
        f"One on each {_one(work)} first: {format_size_mm(*jacket.trimmed_mm)} lying open, spine on spine, head at the"
        f" head; fold it round both fore-edges and lay the flaps in, {format_mm(jacket.flap_mm)} each. The front of the"
        f" jacket lies on the first page’s side. {_counted(copies, 'jacket')}{spare}."
    )


def _label(work: Work, holds: str, number: str) -> list[str]:
    """What stands on a carton, a line each; what is left open is written by hand."""
    lines = [breakable(short(work.plan.title, _TITLE_LETTERS))]
    lines += [breakable(short(work.author, 42))] if work.author else []
    lines += [f"ISBN {short(work.isbn, 40)}"] if work.isbn else []
    return [
        *lines,
        holds,
        number,
        breakable(short(work.house.name, _TITLE_LETTERS)) + (f" · {work.date}" if work.date else ""),
    ]


def _drawn(packed: Packing, carton: HouseCarton) -> dict[str, object]:
    """The carton from above with its stacks, each with the number of books in it, and from the side."""
    floor = best_rows(carton.inside, packed.book_mm[:2])
    places = floor.places[: packed.per_carton]
    low, more = divmod(packed.per_carton, len(places))
    (wide, deep), high = carton.inside, carton.height
    scale = max(scale_for((wide, deep), _PLAN_MM), scale_for((wide, high), _SIDE_MM))
    tall = max(deep, high) / scale
    x, y = 14.0, 3.0
    drawing = Drawing((180.0, y + tall + 12.0))
    drawing.box("outline", (x, y), (x + wide / scale, y + deep / scale))
    for n, place in enumerate(places):
        x0, x1 = x + place.x0 / scale, x + place.x1 / scale
        y0, y1 = y + (deep - place.y1) / scale, y + (deep - place.y0) / scale
        drawing.box("block", (x0, y0), (x1, y1))
        figure = str(low + (1 if n < more else 0))
        if x1 - x0 >= width_of(figure, 14.0) and y1 - y0 >= 5.5:
            drawing.word(figure, ((x0 + x1) / 2, (y0 + y1) / 2), size_pt=14.0, bold=True)
    foot = y + deep / scale
    drawing.across(foot + 8.5, x, x + wide / scale, wide)
    side = x + wide / scale + 42.0
    drawing.up(x + wide / scale + 4.0, y, foot, deep)
    base = y + high / scale
    drawing.box("outline", (side, y), (side + wide / scale, base))
    # the row nearest to the eye, stack by stack
    front = [(n, place) for n, place in enumerate(places) if place.y0 < 1e-6]
    thick = packed.book_mm[2] / scale
    for n, place in front:
        books = low + (1 if n < more else 0)
        left, right = side + place.x0 / scale, side + place.x1 / scale
        drawing.box("block", (left, base - books * thick), (right, base))
        for book in range(1, books if thick >= _THINNEST_MM else 0):
            drawing.line("hair", (left, base - book * thick), (right, base - book * thick))
    drawing.up(side + wide / scale + 4.0, y, base, high)
    return {
        "drawing": drawing.data(),
        "caption": f"The carton from above, with the books in each stack, and from the side;"
        f" scale {scale_words(scale)}.",
    }


def _one(work: Work) -> str:
    return "leaflet" if work.plan.binding == "leaflet" else "book"


def _in_each(packed: Packing) -> int:
    """Books in a carton: a single one is not full."""
    return packed.last_carton if packed.cartons == 1 else packed.per_carton


def _three(wide_mm: float, high_mm: float, thick_mm: float) -> str:
    return f"{format_size_mm(wide_mm, high_mm).removesuffix(' mm')} x {format_mm(thick_mm)}"


def _counted(count: int, one: str) -> str:
    return f"{count:,} {one}{'' if count == 1 else 's'}"
