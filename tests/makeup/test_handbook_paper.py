# SPDX-License-Identifier: AGPL-3.0-or-later
"""Thickness, weight and push-out against published figures (tests/handbook/paper.toml)."""

from __future__ import annotations

import pytest
from attrs import evolve

from foldproof.job.load import load_house
from foldproof.job.model import HouseStock, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.cost_run import RunInput, run_cost
from foldproof.makeup.folding import LEFT_TO_RIGHT, Scheme, read
from foldproof.makeup.paper import paper_for
from foldproof.makeup.plan import Plan
from foldproof.units import inch_to_mm, mm_to_inch
from tests.handbook.facts import given, told

HOUSE = load_house(None)
SHEET = {"size": "640 x 900 mm", "grain": "long"}


def _stock(grammage: float, **thickness: object) -> HouseStock:
    return HouseStock.model_validate({"name": "told", "grammage": grammage, "sheets": [SHEET], **thickness})


@pytest.fixture(scope="module")
def plan() -> Plan:
    job = Job.model_validate({"sections": {"pages": 16}, "book": {"binding": "glued"}})
    return plans(64, (140.0, 216.0), job, HOUSE, title="A book", most=1)[0]


def _block_mm(plan: Plan, pages: int, caliper_mm: float) -> float:
    return evolve(plan, pages=pages, blanks_front=0, blanks_back=0, caliper_mm=caliper_mm).bulk_mm


@pytest.mark.parametrize("fact", ["jcp-a55", "jcp-a63"])
def test_thickness_of_book_papers(fact: str) -> None:
    """jcp-a55, jcp-a63: grammage x bulk / 1000 is the table's thickness, as it is rounded there (to 5 um)."""
    table = told(fact)
    bulks = table.get("bulk_cm3_g", [told("jcp-a55")["bulk_cm3_g"][1]] * len(table["gsm"]))
    for grammage, bulk, thick in zip(table["gsm"], bulks, table["mm"], strict=True):
        assert _stock(grammage, bulk=bulk).caliper_mm == pytest.approx(thick, abs=0.0025)


def test_plain_papers_of_the_house_are_as_thick_as_the_standard_has_them() -> None:
    """jcp-a55: each plain stock of a grammage of the table lies within the tolerance of its thickness."""
    table = told("jcp-a55")
    thick = dict(zip(table["gsm"], table["mm"], strict=True))
    held = [s for s in HOUSE.stocks if s.grammage in thick and (s.bulk or 0) >= 1.2]
    assert held
    for stock in held:
        assert stock.caliper_mm == pytest.approx(thick[stock.grammage], abs=table["thickness_tolerance_mm"])


def test_bulk_is_thickness_over_grammage() -> None:
    """iso-536 (ISO 534): a stock that states its thickness has a bulk, by which other grammages of it go."""
    thick = _stock(80, caliper="0.12 mm")
    house = HOUSE.model_copy(update={"stocks": (thick,), "usual_stock": "told"})
    asked = paper_for(Job.model_validate({"paper": {"stock": "told", "grammage": 100}}), house)
    assert asked.caliper_mm == pytest.approx(100 * (120 / 80) / 1000)  # um over g/m2 is cm3/g


def test_bulks_of_the_house_lie_in_the_ranges_of_their_kinds() -> None:
    """bulk-ranges.  A bulky novel paper goes beyond what the source calls high (common practice, no source)."""
    fact = told("bulk-ranges")
    coated = [s for s in HOUSE.stocks if s.name.startswith("Glaze")]
    plain = [s for s in HOUSE.stocks if s not in coated and "Bulky" not in s.name]
    for stocks, (least, most) in ((coated, fact["coated_art"]), (plain, fact["uncoated_book"])):
        assert stocks
        for stock in stocks:
            assert least <= stock.caliper_mm * 1000 / stock.grammage <= most
    light, heavy = fact["thicker"]
    assert all(
        _stock(light, bulk=bulk).caliper_mm > _stock(heavy, bulk=fact["coated_art"][0]).caliper_mm
        for bulk in fact["uncoated_book"]
    )


@pytest.mark.parametrize("fact", ["bulk-formula", "bulk-80-1.5"])
def test_a_block_is_half_its_pages_thick(fact: str, plan: Plan) -> None:
    """bulk-formula, bulk-80-1.5 (whose source prints 4 mm for 6)."""
    figures = given(fact)
    leaf = _stock(figures["gsm"], bulk=figures["volume"]).caliper_mm
    expected = told(fact)
    assert leaf == pytest.approx(expected.get("leaf_mm", 0.09))
    assert _block_mm(plan, figures["pages"], leaf) == pytest.approx(expected.get("block_mm", expected.get("mm")))


def test_pages_to_the_inch(plan: Plan) -> None:
    """ppi-def, ppi-caliper: so many pages of a paper are an inch thick, within the table's 1 per cent."""
    pages = given("ppi-def")["pages"]
    leaf = inch_to_mm(2 / given("ppi-def")["ppi"])
    assert mm_to_inch(_block_mm(plan, pages, leaf)) == pytest.approx(told("ppi-def")["thickness_in"])
    table = told("ppi-caliper")
    for mil, ppi in zip(table["caliper_mil"], table["ppi"], strict=True):
        assert mm_to_inch(_block_mm(plan, ppi, inch_to_mm(mil / 1000))) == pytest.approx(1, rel=0.01)


def test_thickness_of_two_blocks_in_inches(plan: Plan) -> None:
    """spine-128; hard-spine-add without what it adds for the case."""
    fact = given("spine-128")
    block = mm_to_inch(_block_mm(plan, fact["pages"], inch_to_mm(fact["caliper_in"])))
    assert block == pytest.approx(told("spine-128")["in"])
    assert round(block * 32) / 32 == told("spine-128")["rounded_in"]
    fact = given("hard-spine-add")
    block = mm_to_inch(_block_mm(plan, fact["pages"], inch_to_mm(fact["caliper_in"])))
    assert block + fact["case_in"] == pytest.approx(told("hard-spine-add")["in"])


def test_a_sheet_of_a4_weighs_five_grammes() -> None:
    """a4-5g: 80 g/m2.  The nominal sheet is a sixteenth of a square metre, 210 x 297 mm a little less."""
    press = HOUSE.presses[0]
    stock = _stock(given("a4-5g")["gsm"], bulk=1.25, price_per_kg=1)
    plain = HOUSE.allowances.model_copy(
        update={name: 0.0 for name in type(HOUSE.allowances).model_fields if "spoil" in name}
    )
    run = RunInput(press, "one side", 0, 0, stock, (210.0, 297.0), 1, ())
    cost = run_cost(run, 1000, "leaflet", plain)
    (paper,) = (charge for charge in cost.charges if charge.what == "paper")
    assert paper.unit == "kg" and cost.gross_sheets == 1000
    assert float(paper.quantity) == pytest.approx(told("a4-5g")["g"], rel=0.003)  # of 1000 sheets


# --- push-out ---------------------------------------------------------------------------------------------------------


def test_push_out_of_glued_sections_starts_again_in_each(plan: Plan) -> None:
    """creep-perfect: only what lies inside one section pushes out."""
    by_section: dict[str, list[float]] = {}
    for place in plan.places:
        by_section.setdefault(place.signature, []).append(place.creep_mm)
    first = next(iter(by_section.values()))
    assert len(by_section) > 2 and min(first) == 0 and max(first) > 0
    assert all(creeps == pytest.approx(first) for creeps in by_section.values())


def test_the_middle_leaf_of_a_section_stands_out_most() -> None:
    """creep-fold-wrinkle: the outer leaves go round the others."""
    leaves = read(Scheme("16", 4, 2, ("right under", "top over", "left over")), LEFT_TO_RIGHT)
    depths = [leaf.depth for leaf in leaves]
    half = len(depths) // 2
    assert depths[:half] == sorted(depths[:half]) and depths[half:] == sorted(depths[half:], reverse=True)
    assert max(depths) == depths[half - 1] == depths[half] > depths[0]
