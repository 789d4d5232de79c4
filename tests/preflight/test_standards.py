# SPDX-License-Identifier: AGPL-3.0-or-later
"""PDF/X clause by clause: books that conform, the same with one thing broken, and files that nobody here wrote."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from attrs import field, frozen
from pikepdf import Array, Dictionary, Name, Stream, String

from foldproof.job.model import Job
from foldproof.manuscript.model import Observations
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.preflight.model import Facts, Finding, Severity
from foldproof.preflight.registry import check_named
from foldproof.preflight.run import check
from foldproof.preflight.specs import Spec, load_spec
from foldproof.preflight.standards import CLAUSES, broken
from foldproof.preflight.standards.model import ALL, OF_2003, X1A, X3, X4, Standard
from foldproof.workers import Workers
from tests.build import Picture, book, font, image
from tests.preflight.facts import the_house
from tests.preflight.pdfx import (
    XMP,
    Change,
    conforming,
    icc,
    intent,
    layers,
    lzw,
    paints,
    profile_stream,
    resource,
    spot,
    xmp,
)
from tests.profiles import cmyk_profile, matrix_profile

SPECS = {Standard.X1A: "pdf-x-1a", Standard.X3: "pdf-x-3", Standard.X4: "pdf-x-4"}
OURS = ("asked-standard", "declared-standard", "output-intent")


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers(1) as some:
        yield some


Seen = Callable[[Path], Facts]


@pytest.fixture(scope="module")
def seen(workers: Workers) -> Seen:
    """A file as the passes see it; of ink nothing here hangs."""

    def facts(path: Path) -> Facts:
        manuscript = read(path)
        trim_mm = (140.0, 216.0)
        found = observe(
            manuscript, workers, trim_mm=trim_mm, bleed_mm=3.0, needs={"objects"}, advance=lambda steps: None
        )
        assert not found.lost, found.lost
        return Facts(manuscript, found, Job(), the_house(), trim_mm, 3.0)

    return facts


def ours(facts: Facts, spec: str | Spec) -> list[Finding]:
    """What the three checks of this group say under a spec."""
    rules = load_spec(spec) if isinstance(spec, str) else spec
    found = []
    for name in OURS:
        entry = check_named(name)
        if not rules.is_off(entry):
            found += list(entry.run(facts, rules.limits_of(entry)))
    return found


# --- books that conform -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("standard", Standard, ids=lambda one: one.name)
def test_a_conforming_book_has_no_findings(seen: Seen, tmp_path: Path, standard: Standard) -> None:
    facts = seen(conforming(standard, tmp_path / "a.pdf"))
    for spec in ("any-book", SPECS[standard], "colour-on-coated"):
        assert ours(facts, spec) == [], spec


def test_the_conforming_books_are_looked_at_whole(seen: Seen, tmp_path: Path) -> None:
    """So that nothing passes for not having been seen."""
    facts = seen(conforming(Standard.X4, tmp_path / "a.pdf"))
    first = facts.observations.objects[0]
    assert first is not None
    spaces = {use.space for use in first.colours}
    assert spaces >= {"DeviceCMYK", "DeviceGray", "ICCBased(3)", "Separation(Ember)"}
    assert first.transparency.alpha and first.transparency.blends == ("Multiply",)
    assert facts.manuscript.facts.layers


# --- one thing broken -------------------------------------------------------------------------------------------------


@frozen
class Breaks:
    clause: str
    name: str
    standards: frozenset[Standard]
    change: Change | None = None
    says: str = ""
    also: frozenset[str] = frozenset()  #: clauses that cannot but break as well
    rewrite: Callable[[bytes], bytes] | None = None
    options: dict[str, Any] = field(factory=dict)


def info(key: str, value: Any = None) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        if value is None:
            del pdf.docinfo[key]
        else:
            pdf.docinfo[key] = value

    return change


def metadata(**changed: str | None) -> Change:
    """The XMP with some properties changed or left out; ``_`` stands for the colon."""

    def change(pdf: pikepdf.Pdf) -> None:
        made = XMP | {key.replace("_", ":", 1): value or "" for key, value in changed.items()}
        xmp(pdf, {key: value for key, value in made.items() if value})

    return change


def other_intent(**changed: Any) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        pdf.Root.OutputIntents = Array([intent(pdf, **changed)])

    return change


def intent_profile(data: bytes, stated: int | None = 4, **changed: Any) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        stream = profile_stream(pdf, data, stated or 0)
        if stated is None:
            del stream.N
        pdf.Root.OutputIntents = Array([intent(pdf, DestOutputProfile=stream, **changed)])

    return change


def on_root(**entries: Callable[[], Any]) -> Change:
    """Entries of the catalog, made anew for every file: an object belongs to one file."""

    def change(pdf: pikepdf.Pdf) -> None:
        for key, made in entries.items():
            pdf.Root["/" + key] = pdf.make_indirect(made())

    return change


def on_page(index: int = 1, **entries: Any) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        for key, value in entries.items():
            if value is None:
                del pdf.pages[index].obj["/" + key]
            else:
                pdf.pages[index].obj["/" + key] = value

    return change


def state(**entries: Any) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        resource(pdf, 1, "ExtGState", "Odd", Dictionary({f"/{key}": value for key, value in entries.items()}))
        paints(pdf, 1, "q /Odd gs 0 0 0 0.3 k 50 50 20 20 re f Q\n")

    return change


def painted(operators: str, **spaces: Callable[[pikepdf.Pdf], Any]) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        for name, made in spaces.items():
            resource(pdf, 1, "ColorSpace", name, made(pdf))
        paints(pdf, 1, operators)

    return change


def xobject(made: Callable[[pikepdf.Pdf], Any], *, paint: bool = True) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        resource(pdf, 1, "XObject", "Odd", made(pdf))
        if paint:
            paints(pdf, 1, "q 30 0 0 30 300 300 cm /Odd Do Q\n")

    return change


def form(data: bytes = b"0 0 0 0.3 k 0 0 1 1 re f", **entries: Any) -> Callable[[pikepdf.Pdf], Any]:
    def made(pdf: pikepdf.Pdf) -> Any:
        stream = Stream(pdf, data)
        stream.Type, stream.Subtype, stream.BBox = Name.XObject, Name.Form, Array([0, 0, 1, 1])
        for key, value in entries.items():
            stream["/" + key] = value
        return pdf.make_indirect(stream)

    return made


def picture(space: Any = None, **entries: Any) -> Callable[[pikepdf.Pdf], Any]:
    def made(pdf: pikepdf.Pdf) -> Any:
        stream = image(pdf, Picture((0, 0, 1, 1), (32, 32), "DeviceGray"))
        if space is not None:
            stream.ColorSpace = space(pdf)
        for key, value in entries.items():
            stream["/" + key] = value(pdf) if callable(value) else value
        return stream

    return made


def coded(name: str, data: bytes) -> Callable[[pikepdf.Pdf], Any]:
    def made(pdf: pikepdf.Pdf) -> Any:
        stream = Stream(pdf, data)
        stream.Type, stream.Subtype, stream.Filter = Name.XObject, Name.Image, Name("/" + name)
        stream.Width = stream.Height = 8
        stream.BitsPerComponent, stream.ColorSpace = 1, Name.DeviceGray
        return pdf.make_indirect(stream)

    return made


def content_in_lzw(pdf: pikepdf.Pdf) -> None:
    stream = Stream(pdf, lzw(b"0 0 0 0.3 k 50 50 20 20 re f\n" * 20))
    stream.Filter = Name.LZWDecode
    there = pdf.pages[1].obj.Contents
    pdf.pages[1].obj.Contents = Array(
        [*(there.as_list() if isinstance(there, Array) else [there]), pdf.make_indirect(stream)]
    )


def outline(action: Dictionary) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        if "/D" in action:
            action.D = Array([pdf.pages[1].obj, Name.Fit])
        top = pdf.make_indirect(Dictionary(Type=Name.Outlines, Count=1))
        item = pdf.make_indirect(Dictionary(Title="Chapter", Parent=top, A=action))
        top.First = top.Last = item
        pdf.Root.Outlines = top

    return change


def annotation(subtype: str, *rect: float) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        made = Dictionary(Type=Name.Annot, Subtype=Name("/" + subtype), Rect=Array(list(rect)), Border=Array([0, 0, 0]))
        pdf.pages[1].obj.Annots = Array([pdf.make_indirect(made)])

    return change


def one_field(pdf: pikepdf.Pdf) -> None:
    field = pdf.make_indirect(Dictionary(FT=Name.Tx, T=String("name"), V=String("")))
    pdf.Root.AcroForm = Dictionary(Fields=Array([field]))


def attached(pdf: pikepdf.Pdf) -> None:
    file = pdf.make_indirect(Stream(pdf, b"words"))
    spec = Dictionary(Type=Name.Filespec, F=String("notes.txt"), EF=Dictionary(F=file))
    pdf.Root.Names = Dictionary(EmbeddedFiles=Dictionary(Names=Array([String("notes"), pdf.make_indirect(spec)])))


def opaque_in_rgb(pdf: pikepdf.Pdf) -> None:
    states = pdf.pages[1].obj.Resources.ExtGState
    states.Half, states.Darker = Dictionary(ca=1), Dictionary(BM=Name.Normal)
    pdf.pages[1].obj.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB)


def idle_font(pdf: pikepdf.Pdf) -> None:
    resource(pdf, 1, "Font", "F9", font(pdf, "tiro", embedded=False))


def unseen_font(pdf: pikepdf.Pdf) -> None:
    idle_font(pdf)
    paints(pdf, 1, "BT 3 Tr /F9 12 Tf 60 300 Td (Elsewhere) Tj ET\n")


def unembedded(pdf: pikepdf.Pdf) -> None:
    idle_font(pdf)
    paints(pdf, 1, "BT /F9 12 Tf 60 300 Td (Elsewhere) Tj ET\n")


def art_for_trim(pdf: pikepdf.Pdf) -> None:
    for page in pdf.pages:
        page.obj.ArtBox = page.obj.TrimBox
        del page.obj.TrimBox


def without(key: str) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        del pdf.Root["/" + key]

    return change


def both(*changes: Change) -> Change:
    def change(pdf: pikepdf.Pdf) -> None:
        for one in changes:
            one(pdf)

    return change


def swapped(old: bytes, new: bytes) -> Callable[[bytes], bytes]:
    def rewrite(data: bytes) -> bytes:
        assert len(old) == len(new) and data.count(old) >= 1, old
        return data.replace(old, new)

    return rewrite


#: ISO 32000-1, 10.5.5.2 and 10.4; a curve that does nothing is a curve all the same
def script() -> Dictionary:
    return Dictionary(S=Name.JavaScript, JS=String("1"))


CURVE = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0]), C1=Array([1]), N=2)
HALFTONE = Dictionary(Type=Name.Halftone, HalftoneType=1, Frequency=60, Angle=45, SpotFunction=Name.Round)
NAMED = Dictionary({**dict(HALFTONE.items()), "/HalftoneName": String("Fine")})
OPI = Dictionary({"/1.3": Dictionary(Type=Name.OPI, Version=1.3, F=String("high.tif"))})
MANAGED = painted("/Icc cs 0.4 0.2 0.1 0.2 scn 50 50 20 20 re f\n", Icc=lambda pdf: icc(pdf, cmyk_profile(), 4))
LAB = painted(
    "/Lab cs 40 10 10 scn 50 50 20 20 re f\n",
    Lab=lambda pdf: Array([Name.Lab, Dictionary(WhitePoint=Array([0.9642, 1, 0.8249]))]),
)
RGB = painted("0.2 0.4 0.6 rg 50 50 20 20 re f\n")
RGB_OUT = intent_profile(matrix_profile(device_class="prtr"), 3)

BREAKS = (
    Breaks("version-key", "not said", OF_2003, info("/GTS_PDFXVersion"), "nothing in the file says"),
    Breaks("version-key", "not said", X4, metadata(pdfxid_GTS_PDFXVersion=None), "nothing in the file says"),
    Breaks(
        "version-key", "in the XMP", X1A,
        both(info("/GTS_PDFXVersion"), metadata(pdfxid_GTS_PDFXVersion="PDF/X-1a:2003")), "in the wrong place",
    ),
    Breaks(
        "version-key", "in the information dictionary", X4,
        both(info("/GTS_PDFXVersion", "PDF/X-4"), metadata(pdfxid_GTS_PDFXVersion=None)), "in the wrong place",
    ),
    Breaks(
        "version-key", "in an older schema", X4,
        metadata(pdfxid_GTS_PDFXVersion=None, pdfx_GTS_PDFXVersion="PDF/X-4"), "in an older schema",
    ),
    Breaks("conformance", "that of 2001", X1A, info("/GTS_PDFXConformance", "PDF/X-1a:2001"), '"PDF/X-1a:2001"'),
    Breaks("info-keys", "no date of change", OF_2003, info("/ModDate"), "does not say ModDate"),
    Breaks("info-keys", "no title", OF_2003, info("/Title", ""), "does not say Title"),
    Breaks("xmp-keys", "no version", X4, metadata(xmpMM_VersionID=None), "does not say xmpMM:VersionID"),
    Breaks("xmp-keys", "no title", X4, metadata(dc_title=None), "does not say dc:title"),
    Breaks("xmp-keys", "no XMP", X4, without("Metadata"), "no XMP at all",
           frozenset({"version-key", "trapped"})),
    Breaks("trapped", "unsaid", OF_2003, info("/Trapped"), "does not say whether it is trapped"),
    Breaks("trapped", "unknown", OF_2003, info("/Trapped", Name.Unknown), '"Unknown"'),
    Breaks("trapped", "unsaid", X4, metadata(pdf_Trapped=None), "does not say whether"),
    Breaks("trapped", "two answers", X4, info("/Trapped", Name("/True")), "the XMP says False"),
    Breaks("file-id", "none", ALL, None, "no ID", rewrite=swapped(b"/ID [", b"/Id [")),
    Breaks("encryption", "RC4", OF_2003, None, "encrypted",
           options={"encryption": pikepdf.Encryption(owner="o", user="", R=3, aes=False, metadata=False)}),
    Breaks("encryption", "AES", X4, None, "encrypted",
           options={"encryption": pikepdf.Encryption(owner="o", user="", R=4)}),
    Breaks("pdf-version", "1.5", OF_2003, None, "PDF 1.5", options={"force_version": "1.5"}),
    Breaks("pdf-version", "2.0", X4, None, "PDF 2.0", options={"force_version": "2.0"}),
    Breaks("compressed-structure", "object streams", OF_2003, None, "a cross-reference stream and object streams",
           rewrite=swapped(b"%PDF-1.5", b"%PDF-1.4"),
           options={"force_version": "1.5", "object_stream_mode": pikepdf.ObjectStreamMode.generate}),
    Breaks("intent-one", "none", ALL, on_root(OutputIntents=Array), "for which printing condition"),
    Breaks("intent-one", "for archives alone", ALL, other_intent(S=Name.GTS_PDFA1), "for which printing condition"),
    Breaks("intent-one", "two", ALL, lambda pdf: pdf.Root.OutputIntents.append(intent(pdf)), "has 2 output intents"),
    Breaks("intent-identifier", "none", ALL, other_intent(OutputConditionIdentifier=None), "does not name"),
    Breaks("intent-registry", "no profile and another registry", X1A,
           other_intent(DestOutputProfile=None, RegistryName="http://example.org"), '"http://example.org"'),
    Breaks("intent-info", "outside the registry", ALL, other_intent(RegistryName=None, Info=None), "does not describe"),
    Breaks("intent-embedded", "none", X4, other_intent(DestOutputProfile=None), "holds no profile"),
    Breaks("intent-embedded", "elsewhere", X4,
           other_intent(DestOutputProfile=None, DestOutputProfileRef=Dictionary()), "elsewhere"),
    Breaks("intent-managed", "colours with profiles, output without", X3,
           other_intent(DestOutputProfile=None), "have profiles of their own"),
    Breaks("intent-valid", "cut short", ALL, intent_profile(cmyk_profile()[:-200]), "is damaged: it is cut short"),
    Breaks("intent-valid", "no profile at all", ALL, intent_profile(b"words"), "5 bytes long"),
    Breaks("intent-class", "of a screen", ALL, intent_profile(cmyk_profile(device_class="mntr")), "one of a screen"),
    Breaks("intent-space", "RGB", X1A, intent_profile(matrix_profile(device_class="prtr"), 3), "is for RGB colour"),
    Breaks("intent-space", "Lab", OF_2003 | X4,
           intent_profile(matrix_profile("GRAY", device_class="prtr").replace(b"GRAY", b"Lab ", 1), 3), "Lab colour"),
    Breaks("intent-components", "three", ALL, intent_profile(cmyk_profile(), 3), "states 3"),
    Breaks("intent-components", "unsaid", ALL, intent_profile(cmyk_profile(), None), "states nothing"),
    Breaks("intent-version", "4", OF_2003, intent_profile(cmyk_profile(version=(4, 2))), "of version 4.2"),
    Breaks("intent-version", "5", X4, intent_profile(cmyk_profile(version=(5, 0))), "of version 5.0"),
    Breaks("trim-or-art", "neither", ALL, on_page(TrimBox=None), "page 2 states neither"),
    Breaks("trim-or-art", "both", ALL, on_page(ArtBox=Array([20, 20, 300, 500])), "page 2 states both"),
    Breaks("boxes", "bleed inside the trim", ALL, on_page(BleedBox=Array([20, 20, 380, 600])), "beyond the BleedBox"),
    Breaks("boxes", "crop inside the trim", ALL, on_page(CropBox=Array([20, 20, 380, 600])), "beyond the CropBox"),
    Breaks("boxes", "bleed outside the page", ALL, on_page(BleedBox=Array([-9, -9, 500, 700])), "beyond the MediaBox"),
    Breaks("annotations", "a link", ALL, annotation("Link", 50, 50, 90, 60), "1 Link annotation lies"),
    Breaks("annotations", "half in the bleed", ALL, annotation("Text", -20, 50, 4, 60), "1 Text annotation"),
    Breaks("user-unit", "1", ALL, on_page(UserUnit=1), "page 2 is measured"),
    Breaks("fonts", "a base font", ALL, unembedded, "Times-Roman on page 2 is not in the file"),
    Breaks("lzw", "content", ALL, content_in_lzw, "LZW is used (page 2)"),
    Breaks("jpeg-2000", "a picture", OF_2003, xobject(coded("JPXDecode", b"x"), paint=False), "JPEG 2000 is used"),
    Breaks("jbig2", "a picture", OF_2003, xobject(coded("JBIG2Decode", b"x"), paint=False), "JBIG2 is used (page 2)"),
    Breaks("bits", "16", OF_2003, xobject(picture(BitsPerComponent=16, Width=16)), "1 picture on page 2 has 16 bits"),
    Breaks("halftones", "named", ALL, state(HT=NAMED), "a halftone of type 1, named Fine (page 2)"),
    Breaks("halftones", "type 6", ALL, state(HT=Dictionary(Type=Name.Halftone, HalftoneType=6)), "type 6"),
    Breaks("transfer", "TR", ALL, state(TR=CURVE), "transfer curves (page 2)"),
    Breaks("transfer", "TR2", ALL, state(TR2=CURVE), "transfer curves"),
    Breaks("postscript", "an XObject", ALL,
           xobject(lambda pdf: pdf.make_indirect(Stream(pdf, b"0", Type=Name.XObject, Subtype=Name.PS))), "PostScript"),
    Breaks("postscript", "a form", ALL, xobject(form(Subtype2=Name.PS)), "PostScript (page 2)"),
    Breaks("alternates", "one that prints", ALL, xobject(picture(
        Alternates=lambda pdf: Array([Dictionary(Image=picture()(pdf), DefaultForPrinting=True)]))), "a stand-in"),
    Breaks("opi", "a picture", ALL, xobject(picture(OPI=OPI)), "(OPI) (page 2)"),
    Breaks("opi", "a form", ALL, xobject(form(OPI=OPI)), "(OPI)"),
    Breaks("references", "a form", ALL, xobject(form(Ref=Dictionary(F=String("a.pdf"), Page=0))),
           "other files (page 2)"),
    Breaks("scripts", "of the document", ALL,
           on_root(Names=lambda: Dictionary(JavaScript=Dictionary(Names=Array([String("a"), script()])))),
           "JavaScript"),
    Breaks("scripts", "on opening", ALL, on_root(OpenAction=script), "JavaScript"),
    Breaks("actions", "to the web", ALL, outline(Dictionary(S=Name.URI, URI=String("http://example.org"))), "(URI)"),
    Breaks("links-by-action", "a bookmark", ALL, outline(Dictionary(S=Name.GoTo, D=Array([]))), "by an action"),
    Breaks("forms", "a field", OF_2003, one_field, "1 field"),
    Breaks("layers", "one", OF_2003, layers, '1 layer that can be switched, "Notes"'),
    Breaks("layer-configurations", "two", X4,
           lambda pdf: pdf.Root.OCProperties.__setattr__("Configs", Array([Dictionary(Name="Proof")])), "in 2 ways"),
    Breaks("attachments", "a text", ALL, attached, '"notes.txt"'),
    Breaks("colour", "device RGB", X1A, RGB, "DeviceRGB is painted on page 2"),
    Breaks("colour", "Lab", X1A, LAB, "Lab is painted on page 2"),
    Breaks("colour", "CMYK with a profile", X1A, MANAGED, "CMYK with a profile (ICCBased(4)) is painted on page 2"),
    Breaks("colour", "an RGB picture", X1A, xobject(picture(lambda pdf: Name.DeviceRGB, Width=10)), "DeviceRGB"),
    Breaks("colour", "indexed RGB", X1A,
           painted("/Few cs 1 scn 50 50 20 20 re f\n",
                   Few=lambda pdf: Array([Name.Indexed, Name.DeviceRGB, 1, String(b"\x00\x00\x00\xff\x00\x00")])),
           "Indexed(DeviceRGB)"),
    Breaks("colour", "a default for CMYK", X1A, painted("", DefaultCMYK=lambda pdf: icc(pdf, cmyk_profile(), 4)),
           "CMYK with a profile (ICCBased(4) as DefaultCMYK)"),
    Breaks("device-colour", "RGB", X3 | X4, RGB, "DeviceRGB is painted on page 2"),
    Breaks("device-colour", "CMYK for an RGB output", X3, RGB_OUT, "DeviceCMYK is painted on pages 1 and 2",
           frozenset({"spot-alternate"})),
    Breaks("spot-alternate", "Lab", X1A,
           painted("", Odd=lambda pdf: spot(Array([Name.Lab, Dictionary(WhitePoint=Array([0.96, 1, 0.82]))]), 3)),
           '"Ember" in Lab'),
    Breaks("spot-alternate", "device RGB", ALL, painted("", Odd=lambda pdf: spot(Name.DeviceRGB, 3)), "in DeviceRGB"),
    Breaks("source-profiles", "cut short", X3 | X4,
           xobject(picture(lambda pdf: icc(pdf, matrix_profile()[:-50])), paint=False), "page 2 is damaged: it is cut"),
    Breaks("transparency", "alpha", OF_2003, state(ca=0.5), "on page 2 (paint that shows through)"),
    Breaks("transparency", "blend", OF_2003, state(BM=Name.Multiply), "blend mode Multiply"),
    Breaks("transparency", "a picture's soft mask", OF_2003,
           xobject(picture(SMask=lambda pdf: picture()(pdf))), "soft masks"),
    Breaks("transparency-unpainted", "a page group", OF_2003,
           on_page(Group=Dictionary(S=Name.Transparency)), "page 2 has transparency groups"),
    Breaks("transparency-unpainted", "a state nobody uses", OF_2003,
           lambda pdf: resource(pdf, 1, "ExtGState", "Odd", Dictionary(ca=0.5)), "page 2 has means"),
    Breaks("blend-space", "RGB", X4, on_page(Group=Dictionary(S=Name.Transparency, CS=Name.DeviceRGB)),
           "page 2 is blended in DeviceRGB"),
    Breaks("blend-space-unused", "RGB", X4,
           opaque_in_rgb,
           "page 2 would be blended in DeviceRGB"),
)  # fmt: skip


def _cases() -> list[Any]:
    return [
        pytest.param(case, standard, id=f"{case.clause}: {case.name} {standard.name}")
        for case in BREAKS
        for standard in Standard
        if standard in case.standards
    ]


@pytest.mark.parametrize(("case", "standard"), _cases())
def test_one_broken_clause_is_reported_and_no_other(
    seen: Seen, tmp_path: Path, case: Breaks, standard: Standard
) -> None:
    path = conforming(standard, tmp_path / "a.pdf", case.change, rewrite=case.rewrite, **case.options)
    facts = seen(path)
    found = ours(facts, SPECS[standard])
    assert {finding.cause for finding in found} == {f"asked-standard/{one}" for one in {case.clause, *case.also}}, [
        finding.problem for finding in found
    ]
    [finding] = [one for one in found if one.cause == f"asked-standard/{case.clause}"]
    assert case.says in finding.problem, finding.problem
    assert finding.problem.startswith(f"{standard.value} is asked for") and finding.problem.endswith(".")
    assert "  " not in finding.problem and "None" not in finding.problem
    # and where nothing is asked for, the file's own claim is weighed by the same clauses
    if case.clause != "version-key" and "version-key" not in case.also:
        claimed = ours(facts, "any-book")
        told = {one.cause for one in claimed if one.check == "declared-standard"}
        assert told == {f"declared-standard/{one}" for one in {case.clause, *case.also}}
        assert all(one.problem.startswith(f"The file says that it is {standard.value}, but ") for one in claimed)
        assert {one.check for one in claimed} == {"declared-standard"}


def test_every_clause_of_every_standard_is_broken_once() -> None:
    tried = {(case.clause, standard) for case in BREAKS for standard in case.standards}
    asked = {(clause.id, standard) for clause in CLAUSES for standard in clause.standards}
    # an intent without a profile breaks intent-managed in PDF/X-3 where colours are managed, as they are in the book
    assert asked - tried == {("intent-registry", Standard.X3)}


def test_registry_in_x3(seen: Seen, tmp_path: Path) -> None:
    """The one left over: without colours that have profiles the registry alone is at fault."""
    change = other_intent(DestOutputProfile=None, RegistryName=None)
    found = ours(seen(conforming(Standard.X3, tmp_path / "a.pdf", change)), "pdf-x-3")
    assert [one.cause for one in found] == ["asked-standard/intent-registry"]
    assert "names no registry and holds no profile" in found[0].problem


# --- what must not be reported ----------------------------------------------------------------------------------------

STANDS = (
    ("a registered condition without a profile", X1A, other_intent(DestOutputProfile=None)),
    ("a profile without registry, described", ALL, other_intent(RegistryName=None)),
    ("an intent for archives beside the one for the press", ALL,
     lambda pdf: pdf.Root.OutputIntents.append(intent(pdf, S=Name.GTS_PDFA1))),
    ("device RGB with a default", X3 | X4,
     painted("0.2 0.4 0.6 rg 50 50 20 20 re f\n", DefaultRGB=lambda pdf: icc(pdf))),
    ("Lab", X3 | X4, LAB),
    ("CMYK with a profile", X3 | X4, MANAGED),
    ("an RGB space that nothing is painted in", X1A, painted("", Idle=lambda pdf: icc(pdf))),
    ("a base font that no text is set in", ALL,
     idle_font),
    ("a base font for text that does not show", ALL,
     unseen_font),
    ("an ArtBox in the place of the TrimBox", ALL,
     art_for_trim),
    ("a printer's mark", ALL, annotation("PrinterMark", 50, 50, 90, 60)),
    ("a note beside the page", ALL, annotation("Text", -60, 50, -40, 60)),
    ("a plain halftone", ALL, state(HT=HALFTONE)),
    ("the plate-setter's own curve", ALL, state(TR2=Name.Default, HT=Name.Default)),
    ("stand-ins that do not print", ALL,
     xobject(picture(Alternates=lambda pdf: Array([Dictionary(Image=picture()(pdf), DefaultForPrinting=False)])))),
    ("full alpha", OF_2003, state(ca=1, CA=1, BM=Name.Normal, SMask=Name("/None"))),
    ("JPEG 2000 and JBIG2", X4, xobject(coded("JBIG2Decode", b"x"), paint=False)),
    ("a blending space with a profile", X4,
     lambda pdf: on_page(Group=Dictionary(S=Name.Transparency, CS=icc(pdf)))(pdf)),
    ("no blending space", X4, on_page(Group=Dictionary(S=Name.Transparency))),
    ("trapped", OF_2003, info("/Trapped", Name("/True"))),
    ("a profile of version 4", X4, intent_profile(cmyk_profile(version=(4, 2)))),
    ("a conformance key that says the same", X1A, info("/GTS_PDFXConformance", "PDF/X-1a:2003")),
)  # fmt: skip


@pytest.mark.parametrize(
    ("change", "standard"),
    [
        pytest.param(change, standard, id=f"{name} {standard.name}")
        for name, standards, change in STANDS
        for standard in Standard
        if standard in standards
    ],
)
def test_what_is_allowed_is_not_reported(seen: Seen, tmp_path: Path, change: Change, standard: Standard) -> None:
    facts = seen(conforming(standard, tmp_path / "a.pdf", change))
    found = ours(facts, SPECS[standard])
    assert found == [], [one.problem for one in found]


# --- claims and requests ----------------------------------------------------------------------------------------------


def test_a_plain_book_claims_nothing(seen: Seen, tmp_path: Path) -> None:
    facts = seen(book(2, tmp_path / "a.pdf"))
    assert ours(facts, "any-book") == []
    asked = {one.cause for one in ours(facts, "pdf-x-4")}
    assert asked == {f"asked-standard/{one}" for one in ("version-key", "xmp-keys", "trapped", "intent-one")}


def test_a_request_stops_and_a_claim_asks(seen: Seen, tmp_path: Path) -> None:
    facts = seen(conforming(Standard.X1A, tmp_path / "a.pdf", RGB))
    for spec, severity in (("any-book", Severity.QUERY), ("pdf-x-1a", Severity.STOP)):
        [found] = [one for one in check(facts, load_spec(spec)).items if one.check in OURS]
        assert found.severity is severity
        assert found.cause.endswith("/colour")


def test_what_is_only_a_matter_of_form_never_stops(seen: Seen, tmp_path: Path) -> None:
    facts = seen(conforming(Standard.X1A, tmp_path / "a.pdf", info("/ModDate")))
    [found] = [one for one in check(facts, load_spec("pdf-x-1a")).items if one.check in OURS]
    assert found.severity is Severity.NOTE


def test_a_claim_of_another_standard_than_the_one_asked_for(seen: Seen, tmp_path: Path) -> None:
    facts = seen(conforming(Standard.X3, tmp_path / "a.pdf"))
    found = {one.cause: one for one in ours(facts, "pdf-x-1a")}
    assert set(found) == {"asked-standard/version-key", "asked-standard/colour"}
    assert "the file says that it is PDF/X-3:2003" in found["asked-standard/version-key"].problem


def test_a_clause_of_both_standards_is_told_once(seen: Seen, tmp_path: Path) -> None:
    facts = seen(conforming(Standard.X3, tmp_path / "a.pdf", both(info("/Trapped"), content_in_lzw)))
    causes = [one.cause for one in ours(facts, "pdf-x-1a")]
    assert len([cause for cause in causes if cause.endswith(("/trapped", "/lzw"))]) == 2
    assert not [cause for cause in causes if cause.startswith("declared-standard")]


@pytest.mark.parametrize(
    ("version", "conformance", "name"),
    [
        ("PDF/X-1:2001", "PDF/X-1a:2001", "PDF/X-1a:2001"),
        ("PDF/X-3:2002", None, "PDF/X-3:2002"),
        ("PDF/X-5g", None, "PDF/X-5g"),
        ("PDF/X-6", None, "PDF/X-6"),
        ("PDF/X-4p", None, "PDF/X-4p"),
    ],
)
def test_a_claim_that_is_not_known_here(
    seen: Seen, tmp_path: Path, version: str, conformance: str | None, name: str
) -> None:
    change = both(
        info("/GTS_PDFXVersion", version), *([info("/GTS_PDFXConformance", conformance)] if conformance else [])
    )
    [found] = ours(seen(conforming(Standard.X1A, tmp_path / "a.pdf", change)), "any-book")
    assert (found.cause, found.severity) == ("declared-standard/unknown", Severity.NOTE)
    assert f'"{name}"; this is not verified here' in found.problem


def test_two_claims_are_both_verified(seen: Seen, tmp_path: Path) -> None:
    change = both(metadata(), info("/Trapped"))
    found = ours(seen(conforming(Standard.X1A, tmp_path / "a.pdf", change)), "any-book")
    assert [one.cause for one in found] == ["declared-standard/two-claims", "declared-standard/trapped"]
    assert "PDF/X-1a:2003 and PDF/X-4 at once" in found[0].problem


def test_pages_that_could_not_be_looked_at_are_judged_by_their_resources(tmp_path: Path) -> None:
    """No object pass: what resources name is all there is to go by."""
    from tests.preflight.facts import facts as plain

    change = both(
        painted("/Icc cs 0.4 0.2 0.1 0.2 scn 9 9 9 9 re f\n", Icc=lambda pdf: icc(pdf, cmyk_profile(), 4)),
        state(ca=0.5),
        unembedded,
    )
    manuscript = read(conforming(Standard.X1A, tmp_path / "a.pdf", change))
    blind = plain(count=2, objects={0: None, 1: None}, lost={0: "broken", 1: "broken"})
    facts = Facts(manuscript, blind.observations, Job(), blind.house, blind.trim_mm, 3.0)
    found = {clause.id: how for clause, how in broken(facts, Standard.X1A)}
    assert set(found) == {"colour", "transparency", "fonts"}
    assert found["transparency"].pages == found["colour"].pages == found["fonts"].pages == (1,)


@pytest.mark.parametrize("standard", Standard, ids=lambda one: one.name)
def test_facts_that_lack_everything_are_borne(standard: Standard) -> None:
    """Pages lost, a page without area, nothing known of the file: clauses answer, and in words."""
    from tests.preflight.facts import a_page
    from tests.preflight.facts import facts as plain

    odd = (
        plain(count=2, lost={0: "broken", 1: "broken"}, ink={0: None, 1: None}, objects={0: None, 1: None}),
        plain(count=1, pages={0: a_page(0, trim_mm=(0.1, 0.1))}, trim_mm=(0.1, 0.1)),
        plain(count=2, book={"pdf_version": "", "fonts": {}, "encrypted": True}),
    )
    for facts in odd:
        found = broken(facts, standard)
        assert {"version-key", "intent-one"} <= {clause.id for clause, _ in found}
        assert all(how.says and how.measured for _, how in found)


def test_every_clause_has_its_words() -> None:
    assert len({(clause.id, one) for clause in CLAUSES for one in clause.standards}) == sum(
        len(clause.standards) for clause in CLAUSES
    )
    for clause in CLAUSES:
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", clause.id)
        assert clause.asks[0].islower() or clause.asks.startswith(("PDF", "TrimBox")), clause.asks
        assert not clause.asks.endswith(".") and clause.remedy.endswith(".") and clause.remedy[0].isupper()
        assert clause.wants and clause.standards and "ISO" in clause.source


# --- files that nobody here wrote -------------------------------------------------------------------------------------


@frozen
class Known:
    """What is known of a file from other tools, and what has to follow under a spec."""

    file: str
    spec: str
    found: dict[str, str]  #: clause: words of the finding


CORPUS = (
    # pdfinfo: subtype PDF/X-4, PDF 1.6, five boxes of 612 x 792; pdffonts: one font, embedded; pdfimages: none;
    # qpdf --json: a TrimBox and no ArtBox, pdfxid in the XMP, one intent FOGRA39 with a profile of four inks, no
    # graphics states: the claim is true
    Known("pikepdf__pdfx.pdf", "any-book", {}),
    Known("pikepdf__pdfx.pdf", "pdf-x-4", {}),
    # as PDF/X-1a: of colour it has black text alone, but it is written in the manner of PDF 1.6 (qpdf: /Type /XRef)
    Known("pikepdf__pdfx.pdf", "pdf-x-1a", {
        "version-key": "the file says that it is PDF/X-4",
        "pdf-version": "PDF 1.6",
        "compressed-structure": "a cross-reference stream and object streams",
    }),
    # pdfinfo: subtype PDF/X-3:2002, which is not one of the three; pdffonts: all embedded; qpdf --json: an ArtBox and
    # no TrimBox, a DefaultCMYK with a profile (pdfimages calls its six CMYK pictures "icc"), intent CGATS TR 001
    Known("ocr__cmyk.pdf", "any-book", {"unknown": '"PDF/X-3:2002"; this is not verified here'}),
    # held against the edition of the next year, it lacks the claim alone
    Known("ocr__cmyk.pdf", "pdf-x-3", {
        "unknown": '"PDF/X-3:2002"', "version-key": "the file says that it is PDF/X-3:2002",
    }),
    Known("ocr__cmyk.pdf", "pdf-x-1a", {
        "unknown": '"PDF/X-3:2002"', "version-key": "the file says that it is PDF/X-3:2002",
        "conformance": '"PDF/X-3:2002"',
        "colour": "CMYK with a profile (ICCBased(4) as DefaultCMYK) is painted on page 1",
    }),
)  # fmt: skip


@pytest.mark.parametrize("known", CORPUS, ids=lambda known: f"{known.file} {known.spec}")
def test_the_corpus_files_that_claim_it(seen: Seen, corpus: Path, known: Known) -> None:
    found = {one.cause.partition("/")[2]: one for one in ours(seen(corpus / "hard" / known.file), known.spec)}
    assert set(found) == set(known.found)
    for clause, words in known.found.items():
        assert words in found[clause].problem, found[clause].problem


def test_poppler_reads_the_same_claims(corpus: Path, tool: Callable[[str], str]) -> None:
    """pdfinfo names the standard of a file; of the whole corpus these two have one."""
    claims = {}
    for path in sorted((corpus / "hard").glob("*.pdf")):
        said = subprocess.run([tool("pdfinfo"), path], capture_output=True, text=True, errors="replace", check=False)
        if named := re.search(r"^PDF subtype:\s+(PDF/X\S*)", said.stdout, re.MULTILINE):
            claims[path.name] = named[1]
    assert claims == {"pikepdf__pdfx.pdf": "PDF/X-4", "ocr__cmyk.pdf": "PDF/X-3:2002"}
    for name, claim in claims.items():
        facts = read(corpus / "hard" / name).facts.claims
        assert claim in (facts.info_version, facts.xmp_version)


# --- a writer of PDF/X ------------------------------------------------------------------------------------------------

_PROFILE = Path("/usr/share/color/icc/ghostscript/default_cmyk.icc")


def _definitions() -> str:
    """Ghostscript's own sample of what makes a file PDF/X-3, with a profile that is there and the edition of 2003."""
    samples = sorted(Path("/usr/share/ghostscript").glob("*/lib/PDFX_def.ps"))
    if not samples or not _PROFILE.exists():
        pytest.skip("ghostscript's PDFX_def.ps or default_cmyk.icc is not installed")
    text = samples[-1].read_text("latin-1")
    assert "(ISO Coated sb.icc) def" in text and "(PDF/X-3:2002)" in text
    return text.replace("(ISO Coated sb.icc) def", f"({_PROFILE}) def").replace("PDF/X-3:2002", "PDF/X-3:2003")


def _by_ghostscript(gs: str, source: Path, target: Path) -> Path:
    definitions = target.with_suffix(".ps")
    definitions.write_text(_definitions(), "latin-1")
    subprocess.run(
        [
            gs, "-q", "-dBATCH", "-dNOPAUSE", "-dPDFX", "-sDEVICE=pdfwrite", "-sColorConversionStrategy=CMYK",
            f"--permit-file-read={_PROFILE}", f"-sOutputFile={target}", definitions, source,
        ],
        check=True, capture_output=True,
    )  # fmt: skip
    return target


def test_a_book_that_ghostscript_writes_passes(seen: Seen, tmp_path: Path, tool: Callable[[str], str]) -> None:
    """From RGB text, a picture in RGB and an unembedded font, and from a transparent book."""
    plain = book(
        2, tmp_path / "plain.pdf", embedded=False,
        pictures=(Picture((30, 60, 60, 90), (40, 40), "DeviceRGB"),), content="0.2 0.4 0.6 rg 60 60 50 50 re f\n",
    )  # fmt: skip
    for name, source in (("a", plain), ("b", conforming(Standard.X4, tmp_path / "x4.pdf"))):
        facts = seen(_by_ghostscript(tool("gs"), source, tmp_path / f"{name}.pdf"))
        for spec in ("any-book", "pdf-x-3"):
            found = ours(facts, spec)
            assert found == [], [one.problem for one in found]
        # all is CMYK now: but for its name it is PDF/X-1a too
        assert [one.cause for one in ours(facts, "pdf-x-1a")] == ["asked-standard/version-key"]


def test_what_ghostscript_leaves_without_definitions(seen: Seen, tmp_path: Path, tool: Callable[[str], str]) -> None:
    """-dPDFX alone converts and flattens; the claim, the intent and /Trapped are what PDFX_def.ps adds."""
    target = tmp_path / "a.pdf"
    source = conforming(Standard.X4, tmp_path / "x4.pdf", both(info("/Title"), without("OutputIntents")))
    subprocess.run(
        [tool("gs"), "-q", "-dBATCH", "-dNOPAUSE", "-dPDFX", "-sDEVICE=pdfwrite", "-sColorConversionStrategy=CMYK",
         f"-sOutputFile={target}", source],
        check=True, capture_output=True,
    )  # fmt: skip
    causes = {one.cause.partition("/")[2] for one in ours(seen(target), "pdf-x-3")}
    assert causes >= {"version-key", "intent-one", "trapped"}, causes
    assert causes <= {"version-key", "intent-one", "trapped", "info-keys"}, causes


# --- twelve books, held against other tools ---------------------------------------------------------------------------


def _fields(tool: str, path: Path, *options: str) -> dict[str, str]:
    said = subprocess.run([tool, *options, path], capture_output=True, text=True, errors="replace", check=True)
    return {key.strip(): value.strip() for key, _, value in (line.partition(":") for line in said.stdout.splitlines())}


def test_the_books_of_the_corpus_agree_with_other_tools(corpus: Path, tool: Callable[[str], str]) -> None:
    """Of each clause that another tool can tell: whether it is broken, on all books, by structure alone.

    pdfinfo tells version, encryption, scripts and XMP; MuPDF, by an interface of its own, the annotations and boxes;
    qpdf the objects of the file's own structure and of its trailer.
    """
    import pymupdf

    for path in sorted((corpus / "books").glob("*.pdf")):
        manuscript = read(path)
        nothing = (None,) * len(manuscript.pages)
        facts = Facts(manuscript, Observations(nothing, nothing), Job(), the_house(), (140.0, 216.0), 3.0)
        ours = {one: {clause.id: how for clause, how in broken(facts, one)} for one in Standard}
        x1a, x4 = ours[Standard.X1A], ours[Standard.X4]
        said = _fields(tool("pdfinfo"), path)
        assert ("pdf-version" in x1a) == (float(said["PDF version"]) > 1.4), path.name
        assert ("encryption" in x4) == (said["Encrypted"] != "no"), path.name
        assert ("scripts" in x4) == (said["JavaScript"] != "no"), path.name
        assert ("forms" in x1a) == (said["Form"] != "none"), path.name
        assert (x4["xmp-keys"].measured == "no XMP") == (said["Metadata Stream"] == "no"), path.name
        lacks = x1a["info-keys"].says if "info-keys" in x1a else ""
        for key, words in (("Title", "Title"), ("CreationDate", "CreationDate"), ("ModDate", "ModDate")):
            assert (words in lacks) == (not said.get(key)), (path.name, key)
        raw = path.read_bytes()
        streams = bool(re.search(rb"/Type\s*/(XRef|ObjStm)\b", raw))
        assert ("compressed-structure" in x1a) == streams, path.name
        with pymupdf.open(path) as theirs:
            pages = [theirs.page_xref(n) for n in range(theirs.page_count)]
            keys = [set(theirs.xref_get_keys(page)) for page in pages]
            neither = tuple(n for n, there in enumerate(keys) if not there & {"TrimBox", "ArtBox"})
            assert x4["trim-or-art"].pages == neither, path.name
            catalog = theirs.pdf_catalog()
            assert ("intent-one" in x4) == (theirs.xref_get_key(catalog, "OutputIntents")[0] == "null"), path.name
            assert ("layers" in x1a) == bool(theirs.get_ocgs()), path.name
            annotated = tuple(n for n, there in enumerate(keys) if "Annots" in there)
        assert x4["annotations"].pages == annotated, path.name
