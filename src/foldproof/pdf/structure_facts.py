# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the structure says beyond the pages, put together from the parts that read it."""

from __future__ import annotations

import pikepdf

from foldproof.manuscript.file_facts import FileFacts
from foldproof.pdf.structure_images import images
from foldproof.pdf.structure_profile import intents_in_full
from foldproof.pdf.structure_programs import programs
from foldproof.pdf.structure_resources import ResourceGraph


def file_facts(pdf: pikepdf.Pdf, graph: ResourceGraph) -> FileFacts:
    """Everything of :class:`FileFacts`, from an open file and the graph of what its pages reach."""
    return FileFacts(
        intents=intents_in_full(pdf),
        images=images(graph),
        programs=programs(graph),
    )
