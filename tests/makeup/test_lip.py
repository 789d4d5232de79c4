# SPDX-License-Identifier: AGPL-3.0-or-later
"""The lip by which a feeder opens a section: one half of it has more paper at the fore-edge, until the knives come.

lip-size (handbook): 8 to 10 mm; lip-def: one side of a section stands past the other.  The stitcher of the shipped
house asks for a high folio lip of 9 mm.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from foldproof.errors import NoPlan
from foldproof.job.model import House
from foldproof.makeup.binding import Panel
from foldproof.makeup.folding import FoldError, Scheme
from foldproof.makeup.lines import USUAL_LIP_MM
from foldproof.makeup.shapes import Lip, laid
from foldproof.prove.gathering import bind
from foldproof.prove.model import Verdict
from tests.handbook.facts import told
from tests.makeup.real_books import FRAME_MM, HOUSE, TRIM_MM, Made, frames, made, planned, proved_whole

#: from crease to fore-edge before any knife: the trim and 4 mm at the fore-edge (allowances of the shipped house)
LEAF_MM = TRIM_MM[0] + 4
LIP_MM = 9.0
STITCHED = {"binding": "stitched"}


def widths(one: Made) -> dict[str, list[float]]:
    """Paper of every leaf of every piece, from its crease to its fore-edge, in reading order: as it is folded."""
    out: dict[str, list[float]] = {}
    for place in bind(one.told).places[: len(one.plan.places) : 2]:
        assert place is not None
        out.setdefault(place.section, []).append(round(place.panel[2] - place.panel[0], 6))
    return out


LTR, RTL = "left to right", "right to left"


@pytest.mark.parametrize("half", ["high folio", "low folio"])
@pytest.mark.parametrize(
    ("fold", "stock", "reading"),
    [
        ("4", "Hearth Book 90", LTR), ("8", "Hearth Book 90", RTL), ("8 strip", "Hearth Book 90", LTR),
        ("16", "Hearth Book 90", LTR), ("16", "Hearth Book 90", RTL), ("12", "Wick Bible 40", LTR),
        ("12 long", "Wick Bible 40", RTL), ("24", "Wick Bible 40", LTR), ("24 long", "Wick Bible 40", LTR),
        ("32", "Wick Thin 60", RTL), ("64", "Wick Bible 40", LTR),
    ],
)  # fmt: skip
def test_one_half_of_every_section_has_the_lip_and_the_book_comes_out_trimmed(
    tmp_path: Path, fold: str, stock: str, half: str, reading: str
) -> None:
    pages = 64 if fold == "64" else 48
    one = made(
        tmp_path, pages, book={**STITCHED, "reading": reading}, paper={"stock": stock}, sections={"fold": fold},
        bindery={"lip": half},
    )  # fmt: skip
    proved_whole(one)
    for section, leaves in widths(one).items():
        low = len(leaves) // 2
        wide = [LEAF_MM + LIP_MM] * low
        narrow = [LEAF_MM] * low
        assert leaves == (narrow + wide if half == "high folio" else wide + narrow), section
    caliper, leaves_in_all = one.plan.caliper_mm, pages // 2
    for page, frame in frames(one).items():
        leaf = (page - 1) // 2
        push = min(leaf, leaves_in_all - 1 - leaf) * caliper
        assert frame.inner_mm + push == pytest.approx(FRAME_MM, abs=0.003)
        assert TRIM_MM[0] - push - frame.outer_mm == pytest.approx(FRAME_MM, abs=0.003)


def test_the_strips_of_an_octavo_that_hold_the_high_folios_are_the_wider_ones() -> None:
    """imp-16-octavo: outer forme 5 12 9 8 over 4 13 16 1: the two columns in the middle hold 9 to 16."""
    sheet = planned(32, book=STITCHED, sections={"fold": "16"}).instructions.sheets[0]
    assert sheet.sections[0].column_mm == (84.0, 93.0, 93.0, 84.0)
    low = planned(32, book=STITCHED, sections={"fold": "16"}, bindery={"lip": "low folio"}).instructions.sheets[0]
    assert low.sections[0].column_mm == (93.0, 84.0, 84.0, 93.0)
    assert sheet.sections[0].rect_mm[2] - sheet.sections[0].rect_mm[0] == pytest.approx(2 * 84 + 2 * 93)


def test_the_line_asks_for_it_and_the_job_may_ask_otherwise() -> None:
    usual = planned(48, book=STITCHED)
    assert usual.line == "Thorn"
    assert "A lip of 9 mm on the high folio half, for the feeder to open sections by (the binding line)." in usual.rules
    least, most = told("lip-size")["mm"]
    assert least <= LIP_MM <= most
    assert least <= USUAL_LIP_MM <= most
    asked = planned(48, book=STITCHED, bindery={"lip": "low folio"})
    assert "A lip of 9 mm on the low folio half, for the feeder to open sections by (the job)." in asked.rules
    none = planned(48, book=STITCHED, bindery={"lip": "none"})
    assert {w for sheet in none.instructions.sheets for s in sheet.sections for w in s.column_mm} == {84.0}
    assert not any("lip" in rule for rule in none.rules)


def test_a_sewing_feeder_that_opens_by_the_lap(tmp_path: Path) -> None:
    lines = tuple(
        line.model_copy(update={"lip": "low folio", "lip_size": 8.0}) if line.name == "Weaver" else line
        for line in HOUSE.lines
    )
    house = HOUSE.model_copy(update={"lines": lines})
    one = made(tmp_path, 64, house=house, sections={"pages": 16})
    proved_whole(one)
    assert set(map(tuple, widths(one).values())) == {(92.0,) * 4 + (84.0,) * 4}


def test_sheets_with_the_lip_on_the_other_half_are_no_book(tmp_path: Path) -> None:
    """The same sheets told with the other half wide: creases 9 mm beside the spines, so pages stand 9 mm off."""
    job: dict[str, Any] = {"book": STITCHED, "sections": {"fold": "8"}, "paper": {"stock": "Hearth Book 90"}}
    one = made(tmp_path, 16, **job)
    other = planned(16, bindery={"lip": "low folio"}, **job)
    assert other.sheet_mm == one.plan.sheet_mm
    proof = one.proof(other.instructions)
    assert proof.verdict is Verdict.FAILED
    assert {round(page.shift_mm or 0.0, 2) for page in proof.pages} == {9.0}


# --- what makes no lip ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "scheme",
    [
        # folded across its spine after the spine was made: the halves lie in one column
        Scheme("across", 2, 2, ("left under", "top under"), "top"),
        # three by three: the middle column's leaves lie on either side of the middle
        Scheme("18", 3, 3, ("top 1 under", "bottom 1 under", "left 1 under", "right 1 under"), "top"),
    ],
)
def test_a_strip_with_leaves_of_both_halves_makes_no_lip(scheme: Scheme) -> None:
    panel = Panel(*TRIM_MM, 0.0, 4.0, 5.0, 5.0)
    with pytest.raises(FoldError, match="folds both halves of its leaves out of one strip, so it makes no lip"):
        laid(scheme, "left to right", panel, True, Lip("high folio", 9.0))


def with_lip(size_mm: float) -> House:
    lines = tuple(
        line.model_copy(update={"lip_size": size_mm}) if line.name == "Thorn" else line for line in HOUSE.lines
    )
    return HOUSE.model_copy(update={"lines": lines})


def test_the_folders_reach_is_held_against_it() -> None:
    """Moth and Lacewing fold lips of 5 to 15 mm, Midge of 6 to 12 (the shipped house)."""
    plan = planned(48, house=with_lip(15), book=STITCHED)
    assert {run.folder for run in plan.runs} <= {"Moth", "Lacewing"}
    for size, says in ((4.9, "folds a lip of 5 mm to 15 mm"), (15.1, "opens sections by one of 15.1 mm")):
        with pytest.raises(NoPlan) as refused:
            planned(48, house=with_lip(size), book=STITCHED)
        assert says in str(refused.value)
        assert "a lip of 5 mm to 15 mm" in refused.value.would
    with pytest.raises(NoPlan, match="folder Midge folds a lip of 6 mm to 12 mm"):
        planned(48, house=with_lip(13), book=STITCHED, bindery={"folder": "Midge"})


def test_a_folder_that_states_no_lip_folds_none() -> None:
    folders = tuple(folder.model_copy(update={"lip_min": None, "lip_max": None}) for folder in HOUSE.folders)
    house = HOUSE.model_copy(update={"folders": folders})
    with pytest.raises(NoPlan, match="states no lip that it folds"):
        planned(48, house=house, book=STITCHED)
    assert planned(48, house=house, book=STITCHED, bindery={"lip": "none"}).pages == 48


@pytest.mark.parametrize("binding", ["glued", "leaflet"])
def test_what_no_feeder_opens_takes_no_lip(binding: str) -> None:
    with pytest.raises(NoPlan, match="would serve nothing") as refused:
        planned(8, book={"binding": binding}, bindery={"lip": "high folio"})
    assert 'lip = "none"' in refused.value.would
    assert planned(8, book={"binding": binding}, bindery={"lip": "none"}).pages == 8
