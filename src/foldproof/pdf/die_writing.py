# SPDX-License-Identifier: AGPL-3.0-or-later
"""A die becomes a PDF of one page: outlines in one spot colour, a layer for spine and for front, nothing else."""

from __future__ import annotations

from pathlib import Path

import pikepdf
from attrs import frozen
from pikepdf import Array, Dictionary, Name

from foldproof.errors import AskedWrong
from foldproof.files import patient
from foldproof.geometry import Rect
from foldproof.pdf.die_shapes import Shape, content
from foldproof.pdf.layered_page import add_layered_page
from foldproof.pdf.structure_objects import plain

#: names of a Separation that stand for no ink of their own (ISO 32000-1, 8.6.6.4)
_NO_INK = ("All", "None")


@frozen
class DieLayer:
    """What is stamped in one place."""

    name: str
    shapes: tuple[Shape, ...]


@frozen
class DiePage:
    """The open case at full size; points, its lower left, y up."""

    title: str
    ink: str
    page_pt: tuple[float, float]
    layers: tuple[DieLayer, ...]


def ink_name(ink: str) -> str:
    """The name of the die's ink as the file spells it.

    Raises:
        AskedWrong: it is a name that stands for every plate, or for none.
    """
    name = plain(" ".join(ink.split()))
    if not name or name in _NO_INK:
        raise AskedWrong(
            f'The job: stamping.ink: "{ink}" stands for no ink of its own in a PDF (ISO 32000-1); name the foil.'
        )
    return name


def write_die_page(page: DiePage, target: Path) -> None:
    """Write a die to ``target`` (a path that may be overwritten); the same page gives the same bytes.

    Raises:
        AskedWrong: the ink has a name that stands for no ink of its own.
        OSError: the disk did not take it.
    """
    name = ink_name(page.ink)
    with pikepdf.new() as pdf:
        # on a screen, and where the foil has no plate of its own, it shows as black
        tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0, 0, 1], N=1)
        space = pdf.make_indirect(Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, tint]))
        add_layered_page(
            pdf,
            page.title,
            page.page_pt,
            [
                (layer.name, f"/Foil CS 1 SCN /Foil cs 1 scn\n{content(layer.shapes)}".encode("ascii"))
                for layer in page.layers
            ],
            {"/ColorSpace": Dictionary(Foil=space)},
            {"/TrimBox": Rect(0, 0, *page.page_pt)},
        )
        with patient(target) as handle:
            pdf.save(handle, min_version="1.6", deterministic_id=True, fix_metadata_version=False)
