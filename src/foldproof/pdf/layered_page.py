# SPDX-License-Identifier: AGPL-3.0-or-later
"""The one page of a full-size drawing, in layers: how case, covers and die write theirs.

Each layer is an optional content group (ISO 32000-1, 8.11), a run of marked content, so that a reader, a designer or a
cutting table takes those that it wants.  The viewer is asked not to scale the page when it prints (ISO 32000-1, table
150): a print that is fitted to its paper would measure wrong.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pikepdf
from pikepdf import Array, Dictionary, Name, String

from foldproof.geometry import Rect


def add_layered_page(
    pdf: pikepdf.Pdf,
    title: str,
    page_pt: tuple[float, float],
    layers: Sequence[tuple[str, bytes]],
    resources: Mapping[str, pikepdf.Object],
    boxes_pt: Mapping[str, Rect] | None = None,
) -> None:
    """Give an empty file its page.

    Args:
        page_pt: width and height; the page's lower left is the origin.
        layers: name and operators of each; the first lies undermost.
        resources: of the page beside its layers, such as ``/Font``.
        boxes_pt: boxes of the page beside its MediaBox, such as ``/TrimBox``.
    """
    groups = [pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String(name))) for name, _ in layers]
    content = b"\n".join(b"/OC /L%d BDC q\n%s\nQ EMC" % (nth, said) for nth, (_, said) in enumerate(layers, start=1))
    page = Dictionary(
        Type=Name.Page,
        MediaBox=Array([0, 0, *page_pt]),
        Resources=Dictionary(
            Properties=Dictionary({f"/L{nth}": group for nth, group in enumerate(groups, start=1)}),
        ),
        Contents=pdf.make_stream(content),
    )
    for name, value in resources.items():
        page.Resources[name] = value
    for name, box in (boxes_pt or {}).items():
        page[name] = Array([box.x0, box.y0, box.x1, box.y1])
    pdf.pages.append(pikepdf.Page(pdf.make_indirect(page)))
    shown = Dictionary(Order=Array(groups), ON=Array(groups), BaseState=Name.ON)
    pdf.Root["/OCProperties"] = Dictionary(OCGs=Array(groups), D=shown)
    pdf.Root["/ViewerPreferences"] = Dictionary(PrintScaling=Name("/None"), DisplayDocTitle=True)
    pdf.Root["/Lang"] = String("en-GB")
    pdf.docinfo["/Title"] = String(title)
