# SPDX-License-Identifier: AGPL-3.0-or-later
"""Embedded font programs: what they say of themselves."""

from __future__ import annotations

from foldproof.manuscript.file_facts import FontProgram
from foldproof.pdf.structure_resources import ResourceGraph


def programs(graph: ResourceGraph) -> tuple[FontProgram, ...]:
    """The programs of all fonts that pages reach, in the order in which they come to them."""
    return ()
