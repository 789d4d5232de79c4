# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the house refuses, it refuses for a reason that brute force shares; all else stands in the matrix."""

from __future__ import annotations

from collections import Counter
from itertools import product

import pytest
from attrs import evolve

from foldproof.errors import FoldproofError, NoPlan
from foldproof.job.model import WAYS, Job
from foldproof.makeup.choose import plans
from tests.matrix.cases import (
    BASE,
    BINDINGS,
    HOUSE,
    LIPS_AND_TRIMS,
    ONE_IN_ANOTHER,
    READINGS,
    REFUSED,
    SMALL,
    Case,
    Refusal,
    lipless,
    pieces_of,
    printed,
    scheme_named,
)
from tests.matrix.held import planned


def test_nothing_is_left_out() -> None:
    """Each way to print x binding x scheme stands in the matrix or among the refused, and there are enough of them."""
    asked = set(product([scheme.name for scheme in HOUSE.schemes], BINDINGS, WAYS))
    found = {(job["sections"]["fold"], job["book"]["binding"], job["press"]["way"]) for job in (c.job for c in BASE)}
    refused = {(r.job["sections"]["fold"], r.job["book"]["binding"], r.job["press"]["way"]) for r in REFUSED}
    assert found | refused == asked and not found & refused
    # the house has 17 schemes; five of them hold no thread and no wire, as _NOT_SEWN tells; one makes no lip for the
    # stitcher, and one is cut in two and makes no leaflet
    assert len(refused) == 5 * 5 * 2 + 1 * 5 + 1 * 5 and len(found) == 17 * 4 * 5 - len(refused)
    names = [case.name for case in (*BASE, *ONE_IN_ANOTHER, *LIPS_AND_TRIMS)]
    assert len(names) == len(set(names)) >= 300
    # both readings of each scheme in each binding that takes it
    both = Counter((c.job["sections"]["fold"], c.job["book"]["binding"], c.job["book"]["reading"]) for c in BASE)
    assert len(both) == 2 * (17 * 4 - 5 * 2 - 1 - 1)


#: leaves that the spine fold does not hold, as a scrap of paper shows: the middle panel of three in a row, two of a
#: gate; the concertina of four is two folios, one behind the other
_NOT_SEWN = {
    "6 roll": ("loose", 1),
    "6 concertina": ("loose", 1),
    "18": ("loose", 3),
    "8 gate": ("loose", 2),
    "8 concertina": ("middles", 2),
}


_UNBOUND = [refused for refused in REFUSED if refused.why in ("loose", "middles")]
_OFFCUT = [refused for refused in REFUSED if refused.why == "offcut"]
_LIPLESS = [refused for refused in REFUSED if refused.why == "lip"]


@pytest.mark.parametrize("refused", _LIPLESS, ids=lambda refused: refused.name)
def test_the_stitcher_finds_no_lip(refused: Refusal) -> None:
    """A roll of four: its wider panels are folded into narrower ones, as a scrap of paper shows."""
    assert refused.job["sections"]["fold"] == "8 roll" and refused.job["book"]["binding"] == "stitched"
    with pytest.raises(NoPlan, match="so it makes no lip"):
        plans(refused.pages, SMALL, Job.model_validate(refused.job), HOUSE, title="A book", most=1)


@pytest.mark.parametrize("refused", _OFFCUT, ids=lambda refused: refused.name)
def test_two_pieces_of_paper_are_no_leaflet(refused: Refusal) -> None:
    """The duodecimo with its offcut, cut in two before it is folded."""
    assert refused.job["sections"]["fold"] == "24 with offcut"
    with pytest.raises(NoPlan, match="has an offcut, and a leaflet is one piece of paper"):
        plans(refused.pages, SMALL, Job.model_validate(refused.job), HOUSE, title="A book", most=1)


@pytest.mark.parametrize("refused", _UNBOUND, ids=lambda refused: refused.name)
def test_no_thread_or_wire_would_hold_it(refused: Refusal) -> None:
    scheme, binding = refused.job["sections"]["fold"], refused.job["book"]["binding"]
    assert _NOT_SEWN[scheme] == (refused.why, refused.leaves)
    with pytest.raises(NoPlan) as nothing:
        plans(refused.pages, SMALL, Job.model_validate(refused.job), HOUSE, title="A book", most=1)
    leaves = len(pieces_of(scheme_named(scheme), refused.job["book"]["reading"])[0].leaves)
    assert f"cannot be {binding}: {refused.leaves} of its {leaves} leaves" in str(nothing.value)


@pytest.mark.parametrize(("half", "reading"), list(product(("high folio", "low folio"), READINGS)))
def test_a_lip_is_refused_where_no_width_of_the_strips_makes_one(half: str, reading: str) -> None:
    """Every scheme that can be sewn, with a lip."""
    seen = Counter[bool]()
    for told in HOUSE.schemes:
        folded = pieces_of(told, reading)
        if any(piece.sewn for piece in folded):
            continue
        (case,) = [
            c
            for c in printed("perfecting")
            if c.job["sections"]["fold"] == told.name and c.job["book"]["binding"] == "sewn"
        ]
        job = {**case.job, "bindery": {"lip": half}, "book": {"binding": "sewn", "reading": reading}}
        lipped = evolve(case, job=job)
        none = lipless(told, folded, half)
        seen[none] += 1
        if none:
            with pytest.raises(NoPlan, match="so it makes no lip"):
                planned(lipped)
        else:
            assert planned(lipped).rules
    assert sum(seen.values()) == 17 - len(_NOT_SEWN)


def _asking(press: str, way: str) -> Case:
    (case,) = [c for c in printed("two formes") if c.name == f"16, sewn, two formes, {READINGS[0]}"]
    return evolve(case, job={**case.job, "press": {"name": press, "way": way}})


@pytest.mark.parametrize(("press", "way"), list(product([press.name for press in HOUSE.presses], WAYS)))
def test_a_press_prints_what_its_house_says(press: str, way: str) -> None:
    """As the house file states it: only Beacon 1620 turns a sheet over inside; Rushlight 520 never tumbles."""
    cannot = {(p, "perfecting") for p in ("Lamplighter 1020", "Taper 740", "Rushlight 520")}
    cannot |= {("Rushlight 520", "work and tumble")}
    asked = _asking(press, way)
    if (press, way) in cannot:
        with pytest.raises(FoldproofError, match=f"{press} does not print [\"']{way}[\"']"):
            planned(asked)
    elif way == "one side":  # every page of the book carries something
        with pytest.raises(NoPlan, match=r"one side .* both sides"):
            planned(asked)
    else:
        assert {run.press.name for run in planned(asked).runs} == {press}
