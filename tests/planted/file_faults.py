# SPDX-License-Identifier: AGPL-3.0-or-later
"""Faults of the file: what no press can print, what it claims of itself, and damage."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, String

from tests.planted.planting import Fault, Page


def _script(page: Page) -> None:
    page.pdf.Root.OpenAction = Dictionary(S=Name.JavaScript, JS=String("app.alert(1)"))


def _attachment(page: Page) -> None:
    page.pdf.attachments["notes.txt"] = b"for the author's eyes"


def _annotation(page: Page, subtype: str, **more: Any) -> None:
    drawn = page.stream(b"0.9 0 0 0 k 0 0 40 40 re f", Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 40, 40]))
    made = Dictionary(
        Type=Name.Annot,
        Subtype=Name("/" + subtype),
        Rect=Array([100, 100, 140, 140]),
        F=4,
        AP=Dictionary(N=drawn),
        **more,
    )
    old = page.leaf.get("/Annots", Array([]))
    page.leaf.Annots = Array([*old, page.pdf.make_indirect(made)])


def _film(page: Page) -> None:
    _annotation(page, "Movie", Movie=Dictionary(F=String("film.avi")))


def _field(page: Page) -> None:
    _annotation(page, "Widget", FT=Name.Tx, T=String("name"))
    page.pdf.Root.AcroForm = Dictionary(Fields=Array([page.leaf.Annots[-1]]))


def _layer_off(page: Page) -> None:
    layer = page.pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("Corrections")))
    page.pdf.Root.OCProperties = Dictionary(OCGs=Array([layer]), D=Dictionary(OFF=Array([layer]), Order=Array([layer])))
    page.paint("/OC /PlL BDC 0.5 0 0 0 k 100 200 60 60 re f EMC", Properties={"PlL": layer})


def _postscript(page: Page) -> None:
    made = page.stream(b"showpage", Type=Name.XObject, Subtype=Name.PS)
    page.paint("/PlP Do", XObject={"PlP": made})


def _state(**entries: Any) -> Any:
    def plant(page: Page) -> None:
        made = Dictionary(Type=Name.ExtGState)
        for key, value in entries.items():
            made["/" + key] = value(page) if callable(value) else value
        page.paint("/PlG gs 0 0 0 1 k 100 200 60 60 re f", ExtGState={"PlG": made})

    return plant


def _curve(page: Page) -> Any:
    return page.pdf.make_indirect(Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([1]), C1=Array([0]), N=1.4))


def _reference(page: Page) -> None:
    made = page.stream(
        b"0 0 40 40 re f", Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 40, 40]),
        Ref=Dictionary(F=Dictionary(Type=Name.Filespec, F=String("other.pdf")), Page=0),
    )  # fmt: skip
    page.paint("1 0 0 1 100 200 cm /PlR Do", XObject={"PlR": made})


def _claim(page: Page) -> None:
    page.pdf.docinfo["/GTS_PDFXVersion"] = "PDF/X-1a:2003"
    page.pdf.docinfo["/GTS_PDFXConformance"] = "PDF/X-1a:2003"


def _bad_profile(page: Page) -> None:
    profile = page.stream(b"this is no profile", N=4)
    page.pdf.Root.OutputIntents = Array(
        [
            Dictionary(
                Type=Name.OutputIntent, S=Name.GTS_PDFX, OutputConditionIdentifier=String("Custom"),
                DestOutputProfile=profile,
            )
        ]
    )  # fmt: skip


def _nothing(page: Page) -> None:
    """What is wrong is done to the written file."""


def _cut_xref(path: Path) -> None:
    data = path.read_bytes()
    at = data.rindex(b"startxref")
    path.write_bytes(data[:at] + b"startxref\n17\n%%EOF\n")


def _locked(path: Path) -> None:
    with pikepdf.open(path, allow_overwriting_input=True) as pdf:
        pdf.save(
            path,
            encryption=pikepdf.Encryption(owner="lantern", user="", allow=pikepdf.Permissions(print_highres=False)),
        )


FAULTS = (
    Fault("a script at opening", "scripts", _script, anywhere=True),
    Fault("an attached file", "attachments", _attachment, anywhere=True),
    Fault("a film", "multimedia", _film, anywhere=True),
    Fault("a form field", "form-fields", _field, anywhere=True),
    Fault("a stamp that prints", "annotations", lambda page: _annotation(page, "Stamp"), anywhere=True),
    Fault("a layer that is off", "layers", _layer_off, anywhere=True),
    Fault("a PostScript XObject", "postscript-objects", _postscript, anywhere=True),
    Fault("a transfer curve", "device-states", _state(TR=_curve), anywhere=True),
    Fault("a black generation", "device-states", _state(BG=_curve), anywhere=True),
    Fault("a reference to a page of another file", "reference-forms", _reference, anywhere=True),
    Fault("a false claim of PDF/X-1a:2003", "declared-standard", _claim, anywhere=True),
    Fault("an output intent whose profile is none", "output-intent", _bad_profile, anywhere=True, alone=True),
    Fault(
        "a cross-reference table that leads nowhere",
        "reader-mends",
        _nothing,
        anywhere=True,
        alone=True,
        after=_cut_xref,
    ),
    Fault("a file locked against printing", "encryption", _nothing, anywhere=True, alone=True, after=_locked),
)
