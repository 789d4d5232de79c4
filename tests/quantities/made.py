# SPDX-License-Identifier: AGPL-3.0-or-later
"""Plans that the tests of this folder reckon from, each made once."""

from __future__ import annotations

from functools import cache
from typing import Any

from foldproof.job.load import load_house
from foldproof.job.model import House, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan

HOUSE = load_house(None)
DEMY = (140.0, 216.0)
PROCESS = ("Cyan", "Magenta", "Yellow", "Black")


def job_of(binding: str = "sewn", copies: int | None = None, **tables: Any) -> Job:
    given = {"book": {"binding": binding}, "run": {"copies": copies}, **tables}
    return Job.model_validate(given)


def plan_of(pages: int, job: Job, house: House = HOUSE, inks: tuple[str, ...] = ("Black",)) -> Plan:
    return plans(pages, DEMY, job, house, title="A book", most=1, inks=(inks,) * pages)[0]


@cache
def usual(binding: str) -> tuple[Plan, Job]:
    """One book for each binding, in the house's usual run; kept, since a search takes its time."""
    pages = {"sewn": 150, "glued": 150, "stitched": 48, "leaflet": 8}[binding]
    job = job_of(binding)
    inks = PROCESS if binding == "stitched" else ("Black",)
    return plan_of(pages, job, inks=inks), job


def finished(house: House = HOUSE, **changed: Any) -> House:
    """The house with other customs from sewing to casing-in."""
    return house.model_copy(update={"finishing": house.finishing.model_copy(update=changed)})
