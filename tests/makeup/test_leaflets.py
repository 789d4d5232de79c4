# SPDX-License-Identifier: AGPL-3.0-or-later
"""A leaflet is one sheet folded, bound by nothing: one piece, whatever its number of pages."""

from __future__ import annotations

import pytest

from foldproof.errors import NoPlan
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.prove.gathering import bind

HOUSE = load_house()


def leaflet(count: int, **sections: object) -> Plan:
    job = Job.model_validate({"book": {"binding": "leaflet"}, "sections": sections})
    return plans(count, (105.0, 148.0), job, HOUSE, title="The Lamp Tariff", most=1)[0]


@pytest.mark.parametrize(("pages", "folded"), [(4, 4), (6, 6), (5, 6), (8, 8), (12, 12), (13, 16), (16, 16), (17, 18)])
def test_the_smallest_fold_that_holds_it_makes_one_piece(pages: int, folded: int) -> None:
    plan = leaflet(pages)
    assert [(section.pages, len(section.pieces)) for section in plan.sections] == [(folded, 1)]
    assert plan.blanks_back == folded - pages
    book = bind(plan.instructions)  # the proof's own folding: more than one pile is a fault of a leaflet
    assert book.troubles == ()


@pytest.mark.parametrize("scheme", ["8 gate", "8 concertina", "8 roll", "6 concertina"])
def test_folds_for_a_pocket_are_made_when_named(scheme: str) -> None:
    plan = leaflet(int(scheme[0]), fold=scheme)
    assert plan.kinds[0].scheme == scheme and bind(plan.instructions).troubles == ()


def test_a_leaflet_that_no_fold_holds_is_refused() -> None:
    with pytest.raises(NoPlan, match="its 70 pages do not go into any fold of the house, which has 64 pages") as none:
        leaflet(70)
    assert none.value.would == ('binding = "stitched"',)
    with pytest.raises(NoPlan, match="its 12 pages do not go into a fold of 8 pages") as none:
        leaflet(12, pages=8)
    assert "a fold of 12 pages" in none.value.would
