# SPDX-License-Identifier: AGPL-3.0-or-later
"""All numbers of a job together: every binding, odd books, and a house that states next to nothing."""

from __future__ import annotations

import json
import time
from typing import Any

import pytest
from attrs import asdict, evolve

from foldproof.job.finishing import Finishing
from foldproof.job.load import load_house
from foldproof.job.model import House, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.quantities.model import Quantities
from foldproof.quantities.reckon import reckon
from tests.quantities.made import HOUSE, job_of, usual

BINDINGS = ("sewn", "glued", "stitched", "leaflet")


@pytest.mark.parametrize("binding", BINDINGS)
def test_every_binding_is_reckoned_to_the_end(binding: str) -> None:
    plan, job = usual(binding)
    made = reckon(plan, job, HOUSE)
    assert made.copies == plan.run_copies == made.counts[-1].comes_out
    assert made.thickness.block_mm == pytest.approx(plan.bulk_mm)
    assert len(made.plates) == plan.plates
    assert (made.thread is not None) == (binding == "sewn")
    assert made.packing is not None and made.packing.book_g > 0
    assert made.unknown == ()
    assert made == reckon(plan, job, HOUSE)
    json.dumps(asdict(made), allow_nan=False)


def bare() -> House:
    """The shipped house with its machines and papers, and not a price, a speed, a board or a carton."""
    return load_house(None).model_copy(
        update={
            "presses": tuple(p.model_copy(update={"sheets_per_hour": None}) for p in HOUSE.presses),
            "folders": tuple(f.model_copy(update={"sheets_per_hour": None}) for f in HOUSE.folders),
            "stocks": tuple(s.model_copy(update={"price_per_kg": None}) for s in HOUSE.stocks),
            "lines": (), "boards": (), "cloths": (), "cartons": (), "pallet": None, "finishing": Finishing(),
        }
    )  # fmt: skip


def test_a_house_that_states_nothing_is_told_what_it_lacks() -> None:
    house, job = bare(), job_of("sewn", cover={"rounding": "rounded and backed"})
    plan = plans(64, (140.0, 216.0), job, house, title="A book", most=1)[0]
    made = reckon(plan, job, house)
    said = " ".join(made.unknown)
    for lacking in ("Hearth Book 90", "press", "folding", "gathering", "sewing", "case", "no board", "Cartons"):
        assert lacking in said, lacking
    assert all(sentence.endswith(".") and "\n" not in sentence for sentence in made.unknown)
    assert len(set(made.unknown)) == len(made.unknown)
    assert made.orders and made.orders[0].gross > 0 and made.orders[0].price is None
    assert made.packing is None


@pytest.mark.parametrize(
    ("binding", "pages", "trim"),
    [
        ("sewn", 4, (140.0, 216.0)), ("glued", 4, (140.0, 216.0)), ("stitched", 4, (80.0, 105.0)),
        ("leaflet", 4, (105.0, 148.0)), ("sewn", 32, (80.0, 105.0)), ("sewn", 32, (300.0, 400.0)),
        ("glued", 40, (100.0, 100.0)),
    ],
)  # fmt: skip
def test_small_and_odd_books(binding: str, pages: int, trim: tuple[float, float]) -> None:
    job = job_of(binding, 1)
    plan = plans(pages, trim, job, HOUSE, title="A book", most=1)[0]
    made = reckon(plan, job, HOUSE)
    assert made.copies == 1 and made.counts[-1].comes_out == 1
    assert sum(section.leaves for section in made.thickness.sections) == made.thickness.leaves
    if made.packing is None:
        assert any("Cartons" in sentence for sentence in made.unknown)
    else:
        assert (made.packing.cartons, made.packing.last_carton) == (1, 1)


def long_book() -> tuple[Plan, Job]:
    """One section of a plan over and over: 150 of them, 2,400 pages, on 75 sheets."""
    job = job_of("sewn", sections={"pages": 16})
    plan = plans(32, (140.0, 216.0), job, HOUSE, title="A book", most=1)[0]
    places: list[Any] = []
    sections: list[Any] = []
    runs: list[Any] = []
    sheets: list[Any] = []
    for nth in range(75):
        shift, on = 32 * nth, nth * len(plan.runs)
        places += [evolve(p, position=p.position + shift, sheet=p.sheet + on) for p in plan.places]
        sections += [evolve(s, number=s.number + 2 * nth, first=s.first + shift) for s in plan.sections]
        runs += [evolve(r, sheet=r.sheet + on) for r in plan.runs]
        sheets += [evolve(s, number=s.number + on) for s in plan.instructions.sheets]
    long = evolve(
        plan, places=tuple(places), sections=tuple(sections), runs=tuple(runs), pages=2400,
        instructions=evolve(plan.instructions, sheets=tuple(sheets)),
    )  # fmt: skip
    return long, job


def test_a_book_of_150_sections_is_reckoned_at_once() -> None:
    plan, job = long_book()
    begun = time.process_time()
    made: Quantities = reckon(plan, job, HOUSE)
    assert time.process_time() - begun < 0.5
    assert len(made.thickness.sections) == 150 and made.thickness.leaves == 1200
    assert made.thickness.block_mm == pytest.approx(1200 * 0.117)
    assert made.thickness.swell_mm == pytest.approx(150 * 0.3 * 0.5 * 0.5)
    assert made.thread is not None and made.thread.sections == 150
    assert sum(order.gross for order in made.orders) == sum(run.gross_sheets for run in plan.runs)
    # 150 sections at 24 stations: 7 passes of the gatherer
    gathering = next(need for need in made.times if need.bench == "gathering")
    assert gathering.says.startswith("7 passes") and gathering.make_ready_min == 7 * 30 + 150 * 2
