# SPDX-License-Identifier: AGPL-3.0-or-later
"""The checks on the file, on files made for them: one fault planted on page 3 of a book of eight, or in its catalog."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, String

from foldproof.job.model import Job
from foldproof.manuscript.model import Observations
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.preflight.model import Facts, Finding, Severity
from foldproof.preflight.run import check
from foldproof.preflight.specs import load_spec
from tests.build import Picture, book
from tests.preflight.facts import the_house

STOP, QUERY, NOTE = Severity.STOP, Severity.QUERY, Severity.NOTE
#: the checks of this subject
OURS = frozenset({
    "alternate-images", "annotations", "attachments", "device-states", "encryption", "form-fields", "layers",
    "multimedia", "opi", "pdf-version", "postscript-objects", "reader-mends", "reference-forms", "scripts",
})  # fmt: skip

Add = Callable[[Pdf], None]


def found(path: Path, spec: str = "any-book") -> list[Finding]:
    """By the structure alone, which is all that these checks feed on."""
    manuscript = read(path)
    unseen = Observations((None,) * len(manuscript.pages), (None,) * len(manuscript.pages))
    facts = Facts(manuscript, unseen, Job(), the_house(), book_trim_mm(manuscript, None), 3.0)
    return [finding for finding in check(facts, load_spec(spec)).items if finding.check in OURS]


def said(findings: list[Finding]) -> list[tuple[int | None, str, Severity]]:
    return [(f.page, f.cause, f.severity) for f in findings]


def drawn(pdf: Pdf, **more: Any) -> pikepdf.Object:
    return pdf.make_stream(b"0 0 20 9 re f", Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 20, 9]), **more)


def third(pdf: Pdf) -> pikepdf.Object:
    return pdf.pages[2].obj


def use(pdf: Pdf, kind: str, thing: Any) -> None:
    third(pdf).Resources["/" + kind] = Dictionary(X=thing)
    paint = {"XObject": b"q 1 0 0 1 90 90 cm /X Do Q", "ExtGState": b"/X gs"}[kind]
    third(pdf).Contents = Array([third(pdf).Contents, pdf.make_stream(paint)])


def annotate(subtype: str, flags: int, *, look: bool, rect: tuple[int, ...] = (100, 100, 140, 120), **more: Any) -> Add:
    def add(pdf: Pdf) -> None:
        made = Dictionary(Type=Name.Annot, Subtype=Name("/" + subtype), Rect=Array(list(rect)), F=flags, **more)
        if look:
            made.AP = Dictionary(N=drawn(pdf))
        third(pdf).Annots = Array([pdf.make_indirect(made)])

    return add


def field(flags: int, *, look: bool, needs: bool = False, **more: Any) -> Add:
    def add(pdf: Pdf) -> None:
        annotate("Widget", flags, look=look, FT=Name.Tx, T=String("name"), **more)(pdf)
        pdf.Root.AcroForm = Dictionary(Fields=Array([third(pdf).Annots[0]]), NeedAppearances=needs)

    return add


def layer(on: bool, print_state: str | None = None) -> Add:
    def add(pdf: Pdf) -> None:
        group = pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String("Corrections")))
        default = Dictionary(Order=Array([group]), OFF=Array([] if on else [group]))
        if print_state:
            group.Usage = Dictionary(Print=Dictionary(PrintState=Name("/" + print_state)))
            default.AS = Array([Dictionary(Event=Name.Print, Category=Array([Name.Print]), OCGs=Array([group]))])
        pdf.Root.OCProperties = Dictionary(OCGs=Array([group]), D=default)
        for page in pdf.pages:  # every page may use it; one does
            page.obj.Resources.Properties = Dictionary(L=group)
        mark = pdf.make_stream(b"/OC /L BDC 0 0 20 20 re f EMC")
        third(pdf).Contents = Array([third(pdf).Contents, mark])

    return add


def curve() -> Dictionary:
    return Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([1]), C1=Array([0]), N=1.4)


def alternate(default: bool) -> Add:
    def add(pdf: Pdf) -> None:
        image = third(pdf).Resources.XObject.Im1
        other = pdf.make_stream(bytes(9), Type=Name.XObject, Subtype=Name.Image, Width=3, Height=3)
        other.ColorSpace, other.BitsPerComponent = Name.DeviceGray, 8
        image.Alternates = Array([Dictionary(Image=other, DefaultForPrinting=default)])

    return add


def opening(pdf: Pdf) -> None:
    pdf.Root.OpenAction = Dictionary(S=Name.JavaScript, JS=String("app.alert(1)"))


def kept_script(pdf: Pdf) -> None:
    leaf = Array([String("Init"), Dictionary(S=Name.JavaScript, JS=String("var a"))])
    pdf.Root.Names = Dictionary(JavaScript=Dictionary(Names=leaf))


def launch(pdf: Pdf) -> None:
    annotate("Link", 4, look=False, A=Dictionary(S=Name.Launch, F=String("a.exe")))(pdf)
    third(pdf).Annots[0].Border = Array([0, 0, 0])


def attach(pdf: Pdf) -> None:
    pdf.attachments["notes.txt"] = b"for the author's eyes"


def portfolio(pdf: Pdf) -> None:
    attach(pdf)
    pdf.Root.Collection = Dictionary(Type=Name.Collection, View=Name.T)


def xfa(pdf: Pdf) -> None:
    pdf.Root.AcroForm = Dictionary(Fields=Array([]), XFA=pdf.make_stream(b"<xdp/>"))


def opi(pdf: Pdf) -> None:
    third(pdf).Resources.XObject.Im1.OPI = Dictionary({"/2.0": Dictionary(F=String("lamp.tif"))})


FAULTS: tuple[tuple[str, Add, list[tuple[int | None, str, Severity]]], ...] = (
    ("a stamp that prints", annotate("Stamp", 4, look=True), [(3, "annotations/print", QUERY)]),
    ("a note that does not", annotate("FreeText", 0, look=True), [(3, "annotations/vanish", QUERY)]),
    ("a field that prints", field(4, look=True), [(None, "form-fields/form", NOTE), (3, "form-fields/print", QUERY)]),
    (
        "a filled-in field that does not",
        field(0, look=False, needs=True, V=String("A. Wick")),
        [(None, "form-fields/form", NOTE), (3, "form-fields/vanish", QUERY)],
    ),
    ("a form that draws the pages", xfa, [(None, "form-fields/drawn", QUERY)]),
    ("a film", annotate("Movie", 4, look=True), [(3, "multimedia", QUERY)]),
    ("a sound without a sign", annotate("Sound", 0, look=False), [(3, "multimedia", QUERY)]),
    ("an attached file", attach, [(None, "attachments/file", NOTE)]),
    (
        "a file attached to a place",
        annotate("FileAttachment", 0, look=False, FS=Dictionary(Type=Name.Filespec, F=String("plan.dwg"))),
        [(None, "attachments/file", NOTE)],
    ),
    ("a folder of files", portfolio, [(None, "attachments/portfolio", QUERY)]),
    ("a script at opening", opening, [(None, "scripts/alone", QUERY)]),
    ("a script kept with the file", kept_script, [(None, "scripts/waiting", NOTE)]),
    ("a link that starts a program", launch, [(None, "scripts/actions", NOTE)]),
    ("a layer that is off", layer(False), [(3, "layers/off", QUERY)]),
    ("a layer for the screen", layer(True, "OFF"), [(3, "layers/screen-only", QUERY)]),
    ("a layer for paper", layer(False, "ON"), [(3, "layers/paper-only", QUERY)]),
    ("a layer that is on", layer(True), [(None, "layers/all-on", NOTE)]),
    ("another picture for the print", alternate(True), [(3, "alternate-images/prints", QUERY)]),
    ("another picture in store", alternate(False), [(3, "alternate-images/stored", NOTE)]),
    ("a stand-in", opi, [(3, "opi", QUERY)]),
    (
        "PostScript",
        lambda pdf: use(pdf, "XObject", pdf.make_stream(b"showpage", Type=Name.XObject, Subtype=Name.PS)),
        [(3, "postscript-objects", QUERY)],
    ),
    (
        "matter of another file",
        lambda pdf: use(pdf, "XObject", drawn(pdf, Ref=Dictionary(F=Dictionary(F=String("other.pdf")), Page=0))),
        [(3, "reference-forms", QUERY)],
    ),
    ("a curve", lambda pdf: use(pdf, "ExtGState", Dictionary(TR=curve())), [(3, "device-states/curve", QUERY)]),
    (
        "a screen",
        lambda pdf: use(pdf, "ExtGState", Dictionary(HT=Dictionary(HalftoneType=1, Frequency=60, Angle=45))),
        [(3, "device-states/screen", QUERY)],
    ),
    (
        "black generation",
        lambda pdf: use(pdf, "ExtGState", Dictionary(BG=curve(), UCR=curve())),
        [(3, "device-states/black", NOTE)],
    ),
)
#: what looks like a fault and is none
SOUND: tuple[tuple[str, Add], ...] = (
    ("nothing", lambda pdf: None),
    ("a hidden stamp", annotate("Stamp", 4 | 2, look=True)),
    ("a stamp beyond the page", annotate("Stamp", 4, look=True, rect=(900, 100, 940, 120))),
    ("a note of no size", annotate("FreeText", 4, look=True, rect=(100, 100, 100, 100))),
    ("a link without a border", annotate("Link", 4, look=False, Border=Array([0, 0, 0]))),
    ("a web link", annotate("Link", 4, look=False, A=Dictionary(S=Name.URI, URI=String("lantern.example")))),
    ("an empty form", lambda pdf: setattr(pdf.Root, "AcroForm", Dictionary(Fields=Array([])))),
    ("states that leave the device alone", lambda pdf: use(
        pdf, "ExtGState", Dictionary(TR2=Name.Default, TR=Name.Identity, HT=Name.Default, BG2=Name.Default)
    )),
    ("opening at a page", lambda pdf: setattr(pdf.Root, "OpenAction", Array([third(pdf), Name.Fit]))),
)  # fmt: skip


def built(tmp_path: Path, after: Add, **more: Any) -> Path:
    picture = Picture((30, 100, 60, 130), (360, 360))
    return book(
        8, tmp_path / "a.pdf", after=after, each=lambda index: {"pictures": (picture,)} if index == 2 else {}, **more
    )


@pytest.mark.parametrize(("after", "want"), [fault[1:] for fault in FAULTS], ids=[fault[0] for fault in FAULTS])
def test_it_is_found_in_a_file(tmp_path: Path, after: Add, want: list[tuple[int | None, str, Severity]]) -> None:
    assert said(found(built(tmp_path, after))) == want


@pytest.mark.parametrize("after", [add for _, add in SOUND], ids=[name for name, _ in SOUND])
def test_nothing_is_found_in_a_sound_file(tmp_path: Path, after: Add) -> None:
    assert said(found(built(tmp_path, after))) == []


def test_every_check_of_the_subject_is_tripped() -> None:
    tripped = {cause.partition("/")[0] for _, _, want in FAULTS for _, cause, _ in want}
    assert tripped == OURS - {"encryption", "pdf-version", "reader-mends"}  # the file as a whole: below


def test_a_lock_is_told_with_what_it_forbids(tmp_path: Path) -> None:
    may = pikepdf.Permissions(print_highres=False, modify_assembly=True)
    lock = pikepdf.Encryption(owner="o", user="", R=6, allow=may)
    [finding] = found(built(tmp_path, lambda pdf: None, save_options={"encryption": lock, "static_id": False}))
    assert (finding.check, finding.severity, finding.measured) == ("encryption", STOP, "AES, 256 bits")
    assert "does not permit printing at full quality." in finding.problem


def test_a_rebuilt_list_of_parts_is_told_as_such(tmp_path: Path) -> None:
    path = built(tmp_path, lambda pdf: None)
    data = path.read_bytes()
    path.write_bytes(data[: data.rindex(b"startxref")] + b"startxref\n17\n%%EOF\n")
    [finding] = found(path)
    assert (finding.cause, finding.severity) == ("reader-mends/rebuilt", QUERY)


@pytest.mark.parametrize(("version", "findings"), [("1.4", 0), ("1.7", 0), ("2.0", 1)])
def test_the_version(tmp_path: Path, version: str, findings: int) -> None:
    plain = {"object_stream_mode": pikepdf.ObjectStreamMode.disable, "force_version": version}
    path = built(tmp_path, lambda pdf: None, save_options=plain)
    assert said(found(path)) == [(None, "pdf-version", NOTE)] * findings
