# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the structure says beyond the pages, put together from the parts that read it."""

from __future__ import annotations

from pathlib import Path

import pikepdf

from foldproof.manuscript.file_facts import FileFacts, Where
from foldproof.pdf.structure_alike import Alike
from foldproof.pdf.structure_claims import claims_of
from foldproof.pdf.structure_doings import Doings
from foldproof.pdf.structure_images import images
from foldproof.pdf.structure_layers import configurations, layer_facts
from foldproof.pdf.structure_model import WrittenPage
from foldproof.pdf.structure_profile import intents_in_full
from foldproof.pdf.structure_programs import programs
from foldproof.pdf.structure_resources import Kind, ResourceGraph, bits
from foldproof.pdf.structure_states import (
    device_states,
    opi,
    postscript,
    reference_forms,
    spaces,
    spots,
    transparency,
)
from foldproof.pdf.structure_tree import Leaf
from foldproof.pdf.structure_writing import (
    catalog_version,
    encryption_of,
    has_object_streams,
    header_version,
    sections,
    updates,
)


def file_facts(
    pdf: pikepdf.Pdf,
    path: Path,
    header: bytes,
    leaves: list[Leaf],
    pages: list[WrittenPage],
    graph: ResourceGraph,
    doings: Doings,
) -> FileFacts:
    """Everything of :class:`FileFacts`, from an open file.

    Args:
        header: the first bytes of the file.
        leaves, pages: the page objects, and what was read from them.
        graph, doings: what the pages reach and do, all pages added.
    """
    doings.of_file(pdf)
    found = sections(path)
    encryption, forbidden = encryption_of(pdf)
    states, forms, pictures = (graph.reached(kind) for kind in (Kind.STATE, Kind.FORM, Kind.IMAGE))
    alike = Alike(pdf)
    digests, filters = _alike_and_filters(leaves, graph, alike)
    return FileFacts(
        claims=claims_of(pdf),
        intents=intents_in_full(pdf),
        header_version=header_version(header),
        catalog_version=catalog_version(pdf),
        xref=found.kind if found else "rebuilt",
        object_streams=has_object_streams(path, found),
        updates=updates(header, found),
        encryption=encryption,
        forbidden=forbidden,
        scripts=doings.scripts.listed(),
        actions=doings.actions.listed(),
        attachments=doings.attachments.listed(),
        media=doings.media.listed(),
        fields=doings.fields,
        xfa=doings.xfa,
        layers=layer_facts(pdf, leaves, graph),
        layer_configurations=configurations(pdf),
        images=images(graph),
        spots=spots(graph, alike),
        programs=programs(graph),
        opi=opi([*pictures, *forms]),
        postscript=postscript(graph.reached(Kind.POSTSCRIPT), forms),
        reference_forms=reference_forms(
            [*pictures, *forms], [leaf.page.get("/Contents") if "/Contents" in leaf.keys else None for leaf in leaves]
        ),
        device_states=device_states(states),
        transparency=transparency(
            states, pictures, forms, [index for index, page in enumerate(pages) if page.is_group]
        ),
        spaces=spaces(graph),
        filters=filters,
        page_user_units=tuple(index for index, leaf in enumerate(leaves) if "/UserUnit" in leaf.keys),
        both_boxes=_stating(leaves, both=True),
        neither_box=_stating(leaves, both=False),
        page_digests=digests,
    )


def _stating(leaves: list[Leaf], *, both: bool) -> tuple[int, ...]:
    """Pages that state both TrimBox and ArtBox, or neither."""
    return tuple(
        index for index, leaf in enumerate(leaves) if ("/TrimBox" in leaf.keys) is both is ("/ArtBox" in leaf.keys)
    )


def _alike_and_filters(
    leaves: list[Leaf], graph: ResourceGraph, alike: Alike
) -> tuple[tuple[str, ...], tuple[Where, ...]]:
    """A digest a page of its content and everything that it reaches, and the filters of all those streams by page."""
    digests, by_mask = [], dict[int, list[int]]()
    for index, leaf in enumerate(leaves):
        contents = leaf.page.get("/Contents") if "/Contents" in leaf.keys else None
        group = leaf.page.get("/Group") if "/Group" in leaf.keys else None
        digest, mask = alike.digest_and_filters([contents, leaf.held.resources, group, *graph.appearances(index)])
        digests.append(digest)
        by_mask.setdefault(mask, []).append(index)
    names = alike.filter_names()
    pages: dict[str, list[int]] = {name: [] for name in names}
    for mask, indices in by_mask.items():
        for bit in bits(mask):
            pages[names[bit]] += indices
    return tuple(digests), tuple(Where(name, "", tuple(sorted(pages[name]))) for name in sorted(names))
