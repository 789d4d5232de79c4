# SPDX-License-Identifier: AGPL-3.0-or-later
"""A written plan.json, read back: the same plan, and written again the same file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from foldproof.errors import AskedWrong
from foldproof.job.load import load_house
from foldproof.job.model import Book, Insert, Job, Paper
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.quantities.thickness import thickness
from foldproof.report.as_json import plan_json, written
from foldproof.report.plan_read import plan_in

HOUSE = load_house(None)
DEMY = (140.0, 216.0)
JOBS = {
    "sewn": (96, Job()),
    "glued, from the right": (130, Job(book=Book(binding="glued", reading="right to left"))),
    "stitched": (24, Job(book=Book(binding="stitched"), paper=Paper(stock="Glaze Silk 115"))),
    "pictures between": (
        64,
        Job.model_validate({"insert": [{"first_page": 17, "pages": 8, "stock": "Glaze Silk 135"}]}),
    ),
}


def _made(pages: int, job: Job) -> Plan:
    return plans(pages, DEMY, job, HOUSE, title="The Lamps of Merrowby", most=1)[0]


@pytest.mark.parametrize("name", JOBS)
def test_written_read_and_written_again_it_is_the_same_file(name: str, tmp_path: Path) -> None:
    pages, job = JOBS[name]
    plan = _made(pages, job)
    first = written(plan_json(plan))
    path = tmp_path / "plan.json"
    path.write_bytes(first)
    back = plan_in(path)
    again = json.loads(written(plan_json(back)))
    # the lines of the cost are not read
    assert {**again, "cost": None} == {**json.loads(first), "cost": None}
    assert back.bulk_mm == pytest.approx(plan.bulk_mm, abs=0.01)
    one, other = thickness(plan, job, HOUSE), thickness(back, job, HOUSE)
    assert (one.spine_mm, one.leaves) == (pytest.approx(other.spine_mm, abs=0.01), other.leaves)
    for here, there in zip(plan.places, back.places, strict=True):
        assert here.matrix.as_tuple() == pytest.approx(there.matrix.as_tuple(), abs=0.001)
    assert isinstance(job.inserts, tuple) and (not job.inserts or isinstance(job.inserts[0], Insert))


def _without(key: str) -> Any:
    return lambda data: data.pop(key)


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (lambda data: data.update(schema="foldproof/proof/1"), "no plan of schema"),
        (_without("sections"), "lacks 'sections'"),
        (_without("paper"), "lacks 'paper'"),
        (lambda data: data.update(trim_mm=[0, 216]), "no area"),
        (lambda data: data.update(pages="many"), "whole number"),
        (lambda data: data.update(binding="nailed"), "none of sewn"),
        (lambda data: data["places"][0].update(trim_mm=[1, 2]), "cannot be read as a plan"),
        (lambda data: data["instructions"].update(schema="other"), "schema"),
        (lambda data: data.update(places=[]), "no pages"),
    ],
)
def test_what_is_no_plan_is_told_in_a_sentence(spoil: Any, why: str, tmp_path: Path) -> None:
    data = plan_json(_made(32, Job()))
    spoil(data)
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(AskedWrong, match=why):
        plan_in(path)


@pytest.mark.parametrize("content", [b"", b"[1, 2]", b"\xff\xfe", b"[" * 100_000, b"null"])
def test_a_file_that_is_something_else_is_told(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_bytes(content)
    with pytest.raises(AskedWrong, match=r"plan\.json"):
        plan_in(path)
    with pytest.raises(AskedWrong, match="cannot be read"):
        plan_in(tmp_path / "none.json")
