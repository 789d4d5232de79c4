# SPDX-License-Identifier: AGPL-3.0-or-later
"""What goes round a book where its job does not say, and what that spoils.  Pure."""

from __future__ import annotations

from foldproof.job.finishing import CoverKind
from foldproof.job.model import Allowances, House, Job

#: common practice, no source
_CUSTOM: dict[str, CoverKind] = {"sewn": "case", "glued": "paper", "stitched": "paper", "leaflet": "none"}


def cover_kind(job: Job, binding: str) -> CoverKind:
    """``"case"``, ``"paper"`` or ``"none"``: as the job says, else by the custom of its binding.

    Sewn books get a case of boards and cloth, glued and stitched ones a paper cover, leaflets nothing (common practice,
    no source).

    Args:
        binding: of the plan: ``"sewn"``, ``"glued"``, ``"stitched"`` or ``"leaflet"``.
    """
    return job.cover.kind or _CUSTOM[binding]


def is_cased(job: Job, binding: str) -> bool:
    """Whether books go through casing-in; a leaflet is bound by nothing, whatever goes round it."""
    return binding != "leaflet" and cover_kind(job, binding) == "case"


def allowances_for(job: Job, house: House) -> Allowances:
    """The house's allowances for one job: casing-in spoils nothing of books that get no case."""
    given = house.allowances
    if not given.spoil_casing or is_cased(job, job.book.binding):
        return given
    return given.model_copy(update={"spoil_casing": 0.0})
