# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases of the checks on the file: what no press can print, and what it may print otherwise than it shows."""

from __future__ import annotations

from typing import Any

from attrs import evolve

from foldproof.geometry import Rect
from foldproof.manuscript.file_facts import FileFacts, ImageFact, LayerFact, Where
from foldproof.manuscript.model import AnnotationFact
from foldproof.preflight.model import Facts
from tests.preflight.case import NOTE, QUERY, STOP, Passes, Trips
from tests.preflight.facts import a_page, facts

PLAIN = facts()
ON_3 = (2,)


def said(**fields: Any) -> Facts:
    """A plain book whose structure says this."""
    return facts(book={"facts": FileFacts(**fields)})


def note(subtype: str, *, prints: bool = False, shows: bool = True, place: Rect | None = None) -> AnnotationFact:
    return AnnotationFact(subtype, prints, shows, place or Rect(30, 40, 36, 46))


def on_third(*annotations: AnnotationFact, **book: Any) -> Facts:
    return facts(pages={2: a_page(2, annotations=annotations)}, book=book)


def layer(name: str, *, on: bool = True, prints: bool | None = None, pages: tuple[int, ...] = ON_3) -> LayerFact:
    return LayerFact(name, on, prints, False, pages, () if on else pages)


def image(*, alternates: int, prints: bool = False) -> ImageFact:
    return ImageFact(
        key="8 0", width_px=60, height_px=60, bits=8, space="DeviceGray", mask=False, filters=("FlateDecode",),
        interpolate=False, intent=None, alternates=alternates, alternate_prints=prints, opi=False, soft_mask=False,
        jpeg_quality=None, profile=None, pages=ON_3,
    )  # fmt: skip


NOT_PERMITTED = ("printing", "copying")
OUTSIDE = Rect(170, 10, 180, 20)

TRIPS = (
    Trips(
        "form-fields", "two fields that print", on_third(*[note("Widget", prints=True)] * 2), QUERY,
        "form-fields/print", 3, ("2 form fields will be printed",), 2,
    ),
    Trips(
        "form-fields", "a field seen on the screen only", on_third(note("Widget")), QUERY, "form-fields/vanish", 3,
        ("1 form field will not be printed", "Flatten"),
    ),
    Trips(
        "form-fields", "a form", facts(book={"has_form": True, "facts": FileFacts(fields=12)}), NOTE,
        "form-fields/form", None, ("a form of 12 fields; on paper",), 12,
    ),
    Trips(
        "form-fields", "a form that draws its pages", facts(book={"has_form": True, "facts": FileFacts(xfa=True)}),
        QUERY, "form-fields/drawn", None, ("XFA",),
    ),
    Trips(
        "multimedia", "a film without a picture", on_third(note("Movie")), QUERY, "multimedia", 3,
        ("1 film on the page; nothing is printed in its place",), 1,
    ),
    Trips(
        "multimedia", "a model and a sound with pictures",
        on_third(note("3D", prints=True), note("Sound", prints=True)), QUERY,
        "multimedia", 3, ("1 model in three dimensions and 1 sound", "their still pictures are printed"), 2,
    ),
    Trips(
        "multimedia", "one of two films has a picture", on_third(note("Screen", prints=True), note("RichMedia")),
        QUERY, "multimedia", 3, ("not all of them",), 2,
    ),
    Trips(
        "attachments", "two files", said(attachments=(Where("file", "notes.txt"), Where("file", "", ON_3))), NOTE,
        "attachments/file", None, ('2 other files, "notes.txt" on page 3',), 2,
    ),
    Trips(
        "attachments", "a folder of files", said(attachments=(Where("file", "inner.pdf"), Where("portfolio", ""))),
        QUERY, "attachments/portfolio", None, ('("inner.pdf")', "cover sheet"), 1,
    ),
    Trips(
        "scripts", "as the file opens",
        said(scripts=(Where("JavaScript", "opening"), Where("JavaScript", "turning to the page", ON_3))),
        QUERY, "scripts/alone", None, ("2 scripts", "as the file opens and on turning to the page", "on page 3"), 2,
    ),
    Trips(
        "scripts", "buttons on many pages", said(scripts=(Where("JavaScript", "button or field", tuple(range(16))),)),
        NOTE, "scripts/waiting", None, ("on 16 pages, the first of them page 1",), 1,
    ),
    Trips(
        "scripts", "kept with the file", said(scripts=(Where("JavaScript", "document, Init"),)), NOTE,
        "scripts/waiting", None, ("kept with the file (1)",), 1,
    ),
    Trips(
        "scripts", "a link that opens a program",
        said(actions=(Where("Launch", "a.exe", ON_3), Where("URI", "", ON_3))), NOTE,
        "scripts/actions", None, ("opens another program", "on page 3"), 1,
    ),
    Trips(
        "layers", "one that is off", said(layers=(layer("Corrections", on=False), layer("Text"))), QUERY, "layers/off",
        3, ('the layer "Corrections" is switched off',), 1,
    ),
    Trips(
        "layers", "two that are off on one page", said(layers=(layer("A", on=False), layer("B", on=False))), QUERY,
        "layers/off", 3, ('each of 2 layers ("A" and "B") is switched off',), 2,
    ),
    Trips(
        "layers", "one that is not to print", said(layers=(layer("Grid", prints=False),)), QUERY, "layers/screen-only",
        3, ("set not to print",),
    ),
    Trips(
        "layers", "one that only prints", said(layers=(layer("Die", on=False, prints=True),)), QUERY,
        "layers/paper-only", 3, ("hidden on the screen",),
    ),
    Trips(
        "layers", "all on", said(layers=(layer("Text"), layer("Pictures", pages=()))), NOTE, "layers/all-on", None,
        ("2 layers", '"Text" and "Pictures"'), 2,
    ),
    Trips(
        "alternate-images", "one for the print", said(images=(image(alternates=2, prints=True),)), QUERY,
        "alternate-images/prints", 3, ("1 picture has a second one",), 1,
    ),
    Trips(
        "alternate-images", "one for another use", said(images=(image(alternates=1),)), NOTE,
        "alternate-images/stored", 3, ("the one that shows is printed",), 1,
    ),
    Trips(
        "opi", "a stand-in", said(opi=(Where("OPI 2.0", "lamp.tif", ON_3),)), QUERY, "opi", 3, ('"lamp.tif"',), 1,
    ),
    Trips(
        "postscript-objects", "one", said(postscript=(Where("PostScript XObject", "", ON_3),)), QUERY,
        "postscript-objects", 3, ("written in PostScript",), 1,
    ),
    Trips(
        "device-states", "two curves", said(device_states=(Where("TR", "", ON_3), Where("TR2", "", ON_3))), QUERY,
        "device-states/curve", 3, ("transfer curve",), 2,
    ),
    Trips(
        "device-states", "a screen", said(device_states=(Where("HT", "type 1", ON_3),)), QUERY,
        "device-states/screen", 3, ("halftone screen",),
    ),
    Trips(
        "device-states", "black generation", said(device_states=(Where("BG", "", ON_3), Where("UCR2", "", ON_3))), NOTE,
        "device-states/black", 3, ("how black is to be made",), 2,
    ),
    Trips(
        "reference-forms", "another file", said(reference_forms=(Where("Ref", "other.pdf", ON_3),)), QUERY,
        "reference-forms", 3, ('"other.pdf"',), 1,
    ),
    Trips(
        "pdf-version", "2.0", facts(book={"pdf_version": "2.0"}), NOTE, "pdf-version", None, ("version 2.0", "1.7"),
        "2.0",
    ),
    Trips(
        "pdf-version", "newer than asked for", facts(book={"pdf_version": "1.5"}), NOTE, "pdf-version", None, ("1.4",),
        "1.5", {"newest": "1.4"},
    ),
    Trips(
        "encryption", "with words",
        facts(book={"encrypted": True, "facts": FileFacts(encryption="AES, 256 bits", forbidden=NOT_PERMITTED)}),
        STOP, "encryption", None, ("(AES, 256 bits)", "does not permit printing and copying"), "AES, 256 bits",
    ),
    Trips(
        "reader-mends", "a list of parts that was rebuilt",
        facts(book={"reader_warnings": ("file is damaged",), "facts": FileFacts(xref="rebuilt")}), QUERY,
        "reader-mends/rebuilt", None, ("had to be searched for", "file is damaged"), 1,
    ),
)  # fmt: skip

PASSES = (
    Passes("form-fields", "no form", PLAIN),
    Passes("form-fields", "a hidden field, one beyond the page", on_third(
        note("Widget", shows=False), note("Widget", place=OUTSIDE), note("Widget", prints=True, place=OUTSIDE)
    )),
    Passes("annotations", "form fields and films have checks of their own", on_third(
        note("Widget", prints=True), note("Movie", prints=True), note("Screen")
    )),
    Passes("annotations", "a note beyond the page that would vanish", on_third(note("FreeText", place=OUTSIDE))),
    Passes("annotations", "an attached file is told of as such", on_third(note("FileAttachment"))),
    Passes("multimedia", "none", on_third(note("Text", prints=True))),
    Passes("multimedia", "a hidden sound, a film beyond the page", on_third(
        note("Sound", shows=False), note("Movie", place=OUTSIDE)
    )),
    Passes("attachments", "none", PLAIN),
    Passes("scripts", "jumps and web links", said(actions=(Where("GoTo", "", ON_3), Where("URI", "", ON_3)))),
    Passes("layers", "none", PLAIN),
    Passes("layers", "off, and no page uses it", said(layers=(layer("Old", on=False, pages=()),))),
    Passes("layers", "off, and what it shares with another that is on is seen", said(
        layers=(evolve(layer("Old", on=False), hidden=()), layer("Text"))
    )),
    Passes("alternate-images", "one version of each", said(images=(image(alternates=0),))),
    Passes("opi", "none", PLAIN),
    Passes("postscript-objects", "none", PLAIN),
    Passes("device-states", "none", PLAIN),
    Passes("reference-forms", "none", PLAIN),
    Passes("pdf-version", "1.7", facts(book={"pdf_version": "1.7"})),
    Passes("pdf-version", "an old one", facts(book={"pdf_version": "1.3"})),
)  # fmt: skip
