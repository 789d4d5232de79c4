# SPDX-License-Identifier: AGPL-3.0-or-later
"""A page looks the same on its sheet and alone, in MuPDF and in ghostscript, whatever it blends in.

ISO 32000-1, 11.4.7: a page's group is isolated whatever it says; 11.6.6: a group without a colour space blends in that
of its parent.  Both readers draw page and sheet, on an RGB and on a CMYK device.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pikepdf
import pymupdf
import pytest
from pikepdf import Array, Dictionary, Name

from tests.build import PT, Picture, book
from tests.impose.plans import FOLIO, plan
from tests.impose.sheets import difference, ghostscript, impose, mupdf, side_index

TRIM = (60.0, 90.0)
PROFILE = Path("/usr/share/color/icc/ghostscript/default_cmyk.icc")
MODES = {"M": "Multiply", "S": "Screen", "D": "Difference", "L": "Luminosity", "E": "Exclusion"}
#: no words: glyphs fall on other parts of a pixel on the sheet
SILENT = {"text": "", "folio": ""}


def worse(found: dict[tuple[str, int], int], spaces: list[str]) -> dict[tuple[str, int], int]:
    """The pages that differ by more than the reader's own rounding.

    MuPDF: 2 of 255.  ghostscript converts the colours of a group that stands on a page at another step than those of a
    page's own group: measured 16 from CMYK to its RGB device, 32 from RGB to its CMYK device, the same blend modes.
    """

    def limit(reader: str, space: str) -> int:
        if not reader.startswith("ghostscript"):
            return 2
        return {("CMYK", "tiff24nc"): 16, ("RGB", "tiff32nc"): 32}.get((space, reader.split()[1]), 2)

    return {
        (reader, page): off for (reader, page), off in found.items() if off > limit(reader, spaces[page].split()[0])
    }


def states() -> Dictionary:
    made = Dictionary({f"/{key}": Dictionary(BM=Name(f"/{mode}")) for key, mode in MODES.items()})
    made["/A"] = Dictionary(ca=0.5, CA=0.5)
    return made


def blends(model: str) -> str:
    ground, over, top = {
        "cmyk": ("0 1 1 0 k", "1 0 0.2 0 k", "0.2 0.1 1 0.3 k"),
        "rgb": ("1 0 0 rg", "0 0.4 1 rg", "0.9 0.9 0 rg"),
    }[model]
    out = f"{ground} 10 10 100 200 re f\n"
    for row, state in enumerate("MSDLEA"):
        y = 20 + row * 35
        out += f"q /{state} gs {over} {30 + row * 5} {y} 100 25 re f {top} 60 {y + 10} 30 25 re f Q\n"
    return out


def group(space: str | None, **more: object) -> Dictionary:
    made = Dictionary(S=Name.Transparency, **more)
    if space:
        made["/CS"] = Name(f"/{space}")
    return made


def kind(name: str) -> dict:
    """Arguments of tests.build.page."""
    space, _, model = name.partition(" ")
    told: dict = {"content": blends(model), "resources": {"ExtGState": states()}}
    if space == "opaque":
        colour = "1 0 0 rg" if model == "rgb" else "0 1 1 0 k"
        return {"content": f"{colour} 10 10 100 200 re f 0 g 30 30 100 100 re f\n"}
    if space != "none":
        told["Group"] = group(None if space == "spaceless" else f"Device{space}")
    return told


def compare(source: Path, pages: int, folder: Path, gs: str | None) -> dict[tuple[str, int], int]:
    """The largest difference of every page by reader and device."""
    made = plan(pages, trim_mm=TRIM, bleed_mm=0, table=FOLIO)
    sheets = folder / "sheets.pdf"
    impose(source, made, sheets)
    drawn = {
        "MuPDF RGB": (mupdf(source), mupdf(sheets)),
        "MuPDF CMYK": (mupdf(source, pymupdf.csCMYK), mupdf(sheets, pymupdf.csCMYK)),
    }
    if gs:
        for device in ("tiff24nc", "tiff32nc"):
            drawn[f"ghostscript {device}"] = (
                ghostscript(gs, source, folder / f"{device} pages", device),
                ghostscript(gs, sheets, folder / f"{device} sheets", device),
            )
    high = made.sheet_mm[1] * PT
    return {
        (reader, place.page): difference(alone[place.page], on_sheet[side_index(place)], place, high)
        for reader, (alone, on_sheet) in drawn.items()
        for place in made.places
        if place.page is not None
    }


def test_page_groups_without_an_output_intent(tool, tmp_path: Path) -> None:
    names = ["CMYK cmyk", "CMYK rgb", "RGB rgb", "RGB cmyk", "none cmyk", "none rgb", "spaceless cmyk", "opaque rgb"]
    source = book(8, tmp_path / "book.pdf", trim_mm=TRIM, bleed_mm=0, **SILENT, each=lambda index: kind(names[index]))
    found = compare(source, 8, tmp_path, tool("gs"))
    assert len(found) == 32
    assert worse(found, names) == {}


def test_a_whole_book_under_a_cmyk_group(tool, tmp_path: Path) -> None:
    names = ["CMYK cmyk", "CMYK rgb"] * 2
    source = book(4, tmp_path / "book.pdf", trim_mm=TRIM, bleed_mm=0, **SILENT, each=lambda index: kind(names[index]))
    found = compare(source, 4, tmp_path, tool("gs"))
    assert {key: off for key, off in found.items() if off > 2} == {}
    with pikepdf.open(tmp_path / "sheets.pdf") as sheets:
        assert all(Name.DeviceCMYK == page.Group.CS for page in sheets.pages)
        forms = [form for page in sheets.pages for _, form in page.Resources.XObject.items()]
        assert len(forms) == 4
        assert all(form.Group.I and Name.DeviceCMYK == form.Group.CS for form in forms)


@pytest.mark.parametrize(
    "names",
    [
        ["none cmyk", "none rgb"],
        ["opaque rgb", "CMYK cmyk"],  # as layout programs write it: a group only where something blends
        ["RGB rgb", "RGB cmyk"],
        ["spaceless cmyk", "opaque cmyk"],
        ["CMYK cmyk", "RGB rgb"],
    ],
    ids=" + ".join,
)
def test_page_groups_under_a_cmyk_output_intent(names: list[str], tool, tmp_path: Path) -> None:
    if not PROFILE.exists():
        pytest.skip("ghostscript's CMYK profile is not installed")

    def after(pdf: pikepdf.Pdf) -> None:
        profile = pdf.make_stream(PROFILE.read_bytes(), N=4)
        pdf.Root.OutputIntents = Array([
            Dictionary(
                Type=Name.OutputIntent, S=Name.GTS_PDFX, OutputConditionIdentifier="Custom", DestOutputProfile=profile
            )
        ])  # fmt: skip

    # pages 1 and 4 share a side of a folio, so do 2 and 3
    four = [names[0], names[0], names[1], names[1]]
    source = book(
        4, tmp_path / "book.pdf", trim_mm=TRIM, bleed_mm=0, **SILENT, each=lambda i: kind(four[i]), after=after
    )
    assert worse(compare(source, 4, tmp_path, tool("gs")), four) == {}


@pytest.mark.parametrize("grouped", [(), (0, 3), (0, 1, 2, 3), (0, 2)], ids=["none", "front", "all", "half of a side"])
def test_soft_masks_and_knockout_groups_inside_pages(grouped: tuple[int, ...], tool, tmp_path: Path) -> None:
    """A luminosity mask, an alpha mask, a picture with a soft mask, and a knockout group drawn on a page.

    ghostscript 10.00 applies the first soft mask of a page without a group of its own twice (0.8 becomes 0.64), on the
    sheet as on any page; where only half of a side has groups it is therefore left out.
    """

    def after(pdf: pikepdf.Pdf) -> None:
        for index, page in enumerate(pdf.pages):
            box = Array([0, 0, 170, 255])
            mask = pdf.make_stream(
                b"0.8 g 0 0 85 255 re f 0.3 g 85 0 85 255 re f", Type=Name.XObject, Subtype=Name.Form, BBox=box,
                Group=group("DeviceGray"), Resources=Dictionary(),
            )  # fmt: skip
            knock = pdf.make_stream(
                blends("cmyk").encode(), Type=Name.XObject, Subtype=Name.Form, BBox=box,
                Group=group("DeviceCMYK", K=True, I=index % 2 == 0), Resources=Dictionary(ExtGState=states()),
            )  # fmt: skip
            page.Resources["/ExtGState"] = states()
            page.Resources.ExtGState["/Mask"] = Dictionary(
                SMask=Dictionary(S=Name.Luminosity if index < 2 else Name.Alpha, G=mask)
            )
            held = page.Resources.get("/XObject", Dictionary())
            held["/K"] = knock
            page.Resources["/XObject"] = held
            page.Contents = pdf.make_stream(
                page.Contents.read_bytes()
                + b"\nq /Mask gs 0 0.5 1 0 k 5 100 160 60 re f Q q 0.5 0 0 0.5 60 5 cm /M gs /K Do Q"
            )
            if index in grouped:
                page.Group = group("DeviceCMYK")

    def each(index: int) -> dict:
        return {"pictures": [Picture((20, 20, 50, 50), space="DeviceCMYK", soft_mask=(30, 30), seed=index + 3)]}

    source = book(
        4, tmp_path / "book.pdf", trim_mm=TRIM, bleed_mm=0, each=each, after=after, say=lambda i: "", folio=""
    )
    found = compare(source, 4, tmp_path, None if grouped == (0, 2) else tool("gs"))
    assert worse(found, ["CMYK" if index in grouped else "none" for index in range(4)]) == {}
    for page in mupdf(source):
        assert len({tuple(pixel) for row in page.tolist() for pixel in row}) > 50  # all of it is drawn


def test_without_the_isolated_group_the_difference_would_show(tmp_path: Path) -> None:
    """The comparison can fail: a sheet whose forms lost their groups differs by far more."""
    names = ["CMYK rgb"] * 4
    source = book(4, tmp_path / "book.pdf", trim_mm=TRIM, bleed_mm=0, **SILENT, each=lambda index: kind(names[index]))
    assert max(compare(source, 4, tmp_path, None).values()) <= 2
    with pikepdf.open(tmp_path / "sheets.pdf", allow_overwriting_input=True) as sheets:
        for page in sheets.pages:
            del page["/Group"]
            for _, form in page.Resources.XObject.items():
                del form["/Group"]
        sheets.save()
    made = plan(4, trim_mm=TRIM, bleed_mm=0, table=FOLIO)
    alone, damaged = mupdf(source), mupdf(tmp_path / "sheets.pdf")
    high = made.sheet_mm[1] * PT
    worst = [difference(alone[p.page], damaged[side_index(p)], p, high) for p in made.places]
    assert min(worst) > 40
    assert np.shape(alone[0])[2] == 3
