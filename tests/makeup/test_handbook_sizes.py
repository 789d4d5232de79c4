# SPDX-License-Identifier: AGPL-3.0-or-later
"""Sheets, pages, trims and bleed against published sizes (tests/handbook/sizes.toml and trims.toml)."""

from __future__ import annotations

import math

import pytest

from foldproof.job.load import load_house
from foldproof.job.model import Allowances, HouseLine, HousePress, Job
from foldproof.makeup.binding import Panel, panel_for
from foldproof.makeup.capability import USUAL_TRIMS
from foldproof.makeup.choose import plans
from foldproof.makeup.folding import LEFT_TO_RIGHT, Scheme
from foldproof.makeup.layout import TWO_FORMES, Bed
from foldproof.makeup.paper import paper_for
from foldproof.makeup.plan import PagePlace
from foldproof.makeup.sections import SHORT_SIZES, Unit, divide
from foldproof.makeup.shapes import laid
from foldproof.units import PT_PER_MM, inch_to_mm, mm_to_inch, parse_size_mm
from tests.handbook.facts import given, told

HOUSE = load_house(None)
TRIMS = {name: (width, height) for name, width, height in USUAL_TRIMS}

#: folded by halves only, each across the long side of what lies there: pages to the name of the format
HALVED = {
    "folio": Scheme("folio", 2, 1, ("left under",)),
    "4to": Scheme("4to", 2, 2, ("top under", "left under")),
    "8vo": Scheme("8vo", 4, 2, ("right under", "top over", "left over")),
    "16mo": Scheme("16mo", 4, 4, ("top under", "left under", "top under", "left under")),
    "32mo": Scheme("32mo", 8, 4, ("left under", "top under", "left under", "top under", "left under")),
    "64mo": Scheme(
        "64mo", 8, 8, ("top under", "left under", "top under", "left under", "top under", "left under")
    ),
}  # fmt: skip


def _sheet_of(scheme: Scheme, page: tuple[float, float], trims: tuple[float, float, float]) -> tuple[float, float]:
    """The flat section, smaller side first, of a page with so much cut off at head, foot and fore-edge."""
    head, foot, fore_edge = trims
    panel = Panel(*page, 0.0, fore_edge, head, foot)
    short, long = sorted(laid(scheme, LEFT_TO_RIGHT, panel, True).size_mm)
    return short, long


def _cut_off(trim_mm: float) -> Allowances:
    """So much at head, foot and fore-edge."""
    return Allowances.model_validate(dict.fromkeys(("head", "foot", "fore_edge"), f"{trim_mm} mm"))


# --- A sizes ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["A4", "A5", "A6"])
def test_pages_of_the_a_series(name: str) -> None:
    """iso-a, iso-ratio: ISO 216.  The folio of a page twice as large has it; both sides are rounded to millimetres."""
    assert list(TRIMS[name]) == told("iso-a")[name]
    larger = f"A{int(name[1]) - 1}"
    assert _sheet_of(HALVED["folio"], TRIMS[name], (0, 0, 0)) == pytest.approx(tuple(told("iso-a")[larger]), abs=1)
    width, height = TRIMS[name]
    assert height / width == pytest.approx(told("iso-ratio")["ratio"], abs=1 / width)


def test_the_house_holds_untrimmed_sheets_of_the_standard() -> None:
    """iso-217: SRA1 and SRA2 stand among the sheets of the shipped stocks, and take A sizes with their trims."""
    held = {tuple(sorted(sheet.size)) for stock in HOUSE.stocks for sheet in stock.sheets}
    for name in ("SRA1", "SRA2"):
        assert tuple(float(side) for side in told("iso-217")[name]) in held
    # a sixteen of A5 with 3 mm all round goes on SRA2: 4 x 151 by 2 x 216
    short, long = _sheet_of(HALVED["8vo"], TRIMS["A5"], (3, 3, 3))
    assert (short, long) == pytest.approx((432, 604))
    assert short <= told("iso-217")["SRA2"][0] and long <= told("iso-217")["SRA2"][1]


@pytest.mark.parametrize("name", ["RA0", "RA1", "SRA0", "SRA1"])
@pytest.mark.parametrize("given_as", ["short first", "long first"])
def test_the_smaller_side_of_a_sheet_is_written_first(name: str, given_as: str) -> None:
    """iso-479-name, iso-217: in centimetres there, in millimetres with us."""
    short, long = told("iso-479-name")[name]
    text = f"{short} x {long} cm" if given_as == "short first" else f"{long} x {short} cm"
    sheet = paper_for(Job.model_validate({"paper": {"sheet": text}}), HOUSE).sheets[0]
    assert (sheet.short_mm, sheet.long_mm) == tuple(told("iso-217")[name])
    assert sheet.says.startswith(f"{10 * short} x {10 * long} mm")


# --- British and American sizes ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("page", "quad"),
    [
        (f"{name}_{fold}", f"quad_{name}")
        for name in ("crown", "large_crown", "demy", "royal")
        for fold in ("8vo", "4to")
    ],
)
def test_metric_pages_and_their_quad_sheets_belong_together(page: str, quad: str) -> None:
    """bs-metric-page, bs-metric-quad, bs-trim-rule: four sections of a page, 3 mm cut off all round, are the quad."""
    height, width = told("bs-metric-page")[page]
    short, long = _sheet_of(HALVED[page[-3:]], (width, height), (3, 3, 3))
    assert sorted((2 * short, 2 * long)) == pytest.approx(sorted(told("bs-metric-quad")[quad]))


def test_demy_from_the_quad_to_the_trimmed_page() -> None:
    """bs-trim-rule, and the pages that the house is measured by: bs-metric-page writes the height first."""
    fact = told("bs-trim-rule")
    panel = panel_for(TRIMS["demy octavo"], 3, "sewn", _cut_off(3))
    assert [panel.height_mm, panel.width_mm] == fact["8vo_untrimmed"]
    assert [panel.trim_h_mm, panel.trim_w_mm] == fact["8vo_trimmed"]
    assert _sheet_of(HALVED["8vo"], TRIMS["demy octavo"], (3, 3, 3)) == tuple(fact["sheet"])
    grid = Bed(_press(888, 1128), 1128, 888, TWO_FORMES).grid((564, 444), HALVED["8vo"].panels)
    assert grid is not None and [888 / grid.up, 1128 / grid.across] == fact["sheet"]
    pages = told("bs-metric-page")
    for ours, theirs in (("demy octavo", "demy_8vo"), ("royal octavo", "royal_8vo"), ("crown quarto", "crown_4to")):
        assert list(TRIMS[ours][::-1]) == pages[theirs]


def _press(short_mm: float, long_mm: float) -> HousePress:
    """A press that prints the whole of one sheet: what is asked is what the sheet holds, not the press."""
    return HousePress.model_validate(
        {
            "name": "whole", "sheet_max": f"{long_mm} x {short_mm} mm", "sheet_min": "10 x 10 mm",
            "gripper": "0.000001 mm", "tail": "0 mm", "side": "0 mm",
        }
    )  # fmt: skip


@pytest.mark.parametrize(
    ("sheet", "form"), [(sheet, form) for sheet, pages in told("bs-inch-mm").items() for form in pages]
)
def test_inch_sheets_fold_to_their_pages_in_millimetres(sheet: str, form: str) -> None:
    """bs-inch-sheets, bs-inch-mm: to the millimetre that the table is rounded to."""
    long, short = told("bs-inch-sheets")[sheet]
    width, height = told("bs-inch-mm")[sheet][form]
    flat = _sheet_of(HALVED[form], (width, height), (0, 0, 0))
    cells = max(HALVED[form].columns, HALVED[form].rows)
    assert flat == pytest.approx(parse_size_mm(f"{short} x {long} in"), abs=0.51 * cells)


def test_demy_folded_thrice_and_trimmed_an_eighth() -> None:
    """bs-quad-inch: 22 1/2 x 17 1/2 in gives 8 3/4 x 5 5/8, trimmed 8 1/2 x 5 1/2."""
    fact, trim = told("bs-quad-inch"), inch_to_mm(given("bs-quad-inch")["trim_in"])
    width, height = (inch_to_mm(side) for side in fact["trimmed"][::-1])
    panel = panel_for((width, height), trim, "sewn", _cut_off(trim))
    assert [mm_to_inch(panel.height_mm), mm_to_inch(panel.width_mm)] == pytest.approx(fact["untrimmed"])
    flat = _sheet_of(HALVED["8vo"], (width, height), (trim, trim, trim))
    assert flat == pytest.approx(parse_size_mm("17 1/2 in x 22 1/2 in"))


@pytest.mark.parametrize("sheet", ["royal", "medium", "crown"])
@pytest.mark.parametrize(("nth", "form"), list(enumerate(HALVED)))
def test_each_fold_halves_the_page(sheet: str, nth: int, form: str) -> None:
    """fold-royal: the long side of the page first, as the table writes it."""
    height, width = (inch_to_mm(side) for side in told("fold-royal")[sheet][nth])
    flat = _sheet_of(HALVED[form], (width, height), (0, 0, 0))
    assert [mm_to_inch(side) for side in flat] == pytest.approx(given("fold-royal")[sheet])


def test_an_eighth_off_head_and_tail() -> None:
    """trim-customary: 10 in untrimmed leave 9 3/4."""
    fact, trim = given("trim-customary"), inch_to_mm(given("trim-customary")["trim_in"])
    page = (150.0, inch_to_mm(told("trim-customary")["block_h"]))
    panel = panel_for(page, 0, "sewn", _cut_off(trim))
    assert mm_to_inch(panel.height_mm) == pytest.approx(fact["untrimmed_h_in"])


def test_a_common_sheet_holds_sixteen_pages_of_letter_size() -> None:
    """us-parent: 8 leaves of 8 1/2 x 11 in on 23 x 35, one section, with an eighth cut off all round."""
    fact = given("us-parent")
    trim = inch_to_mm(0.125)
    width, height = (inch_to_mm(side) for side in fact["trim_in"])
    sheet = [inch_to_mm(side) for side in fact["sheet_in"]]
    leaves = []
    for scheme in HALVED.values():
        short, long = _sheet_of(scheme, (width, height), (trim, trim, trim))
        for size in ((short, long), (long, short)):
            grid = Bed(_press(*sheet), sheet[1], sheet[0], TWO_FORMES).grid(size, scheme.panels)
            leaves.append(grid.cells * scheme.panels if grid else 0)
    assert 2 * max(leaves) == told("us-parent")["pages_per_sheet"]


@pytest.mark.parametrize("name", [name for name in TRIMS if name.endswith(" in")])
def test_inch_pages_are_those_of_the_trade(name: str) -> None:
    """us-trims (recalled)."""
    assert list(map(float, name.removesuffix(" in").split(" x "))) in told("us-trims")["trims"]
    assert parse_size_mm(name) == pytest.approx(TRIMS[name])


# --- trims, bleed, lip ------------------------------------------------------------------------------------------------


def test_a_bleed_in_inches() -> None:
    """bleed-1-8: the knives take off no less than the bleed."""
    bleed = Job.model_validate({"book": {"bleed": "1/8 in"}}).book.bleed
    assert bleed is not None and mm_to_inch(bleed) == pytest.approx(told("bleed-1-8")["in"])
    thin = _cut_off(1)
    panel = panel_for((100, 150), bleed, "sewn", thin)
    assert mm_to_inch(panel.head_mm) == mm_to_inch(panel.foot_mm) == pytest.approx(told("bleed-1-8")["in"])


def test_trims_of_the_house_for_glued_books() -> None:
    """trim-perfect: an eighth of an inch ground off (3 mm by custom here); 1/8 to 1/2 in cut off, one figure for all

    there; ours are 1 mm more at head and foot than at the fore-edge, within the same bounds.
    """
    fact, ours = told("trim-perfect"), HOUSE.allowances
    assert ours.spine_grind == pytest.approx(inch_to_mm(fact["grind_in"]), abs=0.2)
    least, most = (inch_to_mm(trim) for trim in fact["trim_in"])
    panel = panel_for((140, 216), ours.bleed, "glued", ours)
    for taken in (panel.head_mm, panel.foot_mm, panel.fore_edge_mm):
        assert least <= taken <= most


def test_no_short_section_stands_first_or_last() -> None:
    """trim-perfect: 4, 6 and 8 pages stand next to heavier sections."""
    for pages in range(33, 400):
        units = divide(pages, Unit((16,)), SHORT_SIZES).units
        if len(units) > 2 and units[1].pages == 16:
            assert units[0].pages == units[-1].pages == 16


def test_lips_are_as_wide_as_custom_has_them() -> None:
    """lip-size: 8 to 10 mm; 3/8 in lies between."""
    least, most = told("lip-size")["mm"]
    assert least <= HouseLine.model_fields["lip_size"].default <= most
    assert least <= inch_to_mm(told("lip-size")["in"]) <= most
    assert all(least <= line.lip_size <= most for line in HOUSE.lines if line.lip)


def test_glued_pages_bleed_on_all_four_sides() -> None:
    """perfect-bleed-4: the spine included, as far as it is ground off."""
    job = Job.model_validate({"book": {"binding": "glued", "bleed": "3 mm"}, "sections": {"pages": 16}})
    plan = plans(64, (140.0, 216.0), job, HOUSE, title="A book", most=1)[0]

    def beyond(place: PagePlace) -> list[float]:
        clip, trim = place.clip_pt, place.trim_pt
        sides = (trim.x0 - clip.x0, clip.x1 - trim.x1, trim.y0 - clip.y0, clip.y1 - trim.y1)
        return [side / PT_PER_MM for side in sides]

    for place in plan.places:
        if place.depth == 0:  # the outermost leaf is not pushed out
            sides = [side for side in beyond(place) if side >= 3 - 1e-6]
            assert len(sides) == told("perfect-bleed-4")["sides"]
    assert math.isclose(min(min(beyond(p)) for p in plan.places if p.depth == 0), 3, abs_tol=1e-6)
