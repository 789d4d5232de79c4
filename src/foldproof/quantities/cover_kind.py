# SPDX-License-Identifier: AGPL-3.0-or-later
"""What goes round a book where its job does not say.  Pure."""

from __future__ import annotations

from foldproof.job.finishing import CoverKind
from foldproof.job.model import Job

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
