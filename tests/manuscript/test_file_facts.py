# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the structure says beyond the pages, on small files made for it; clauses are those of ISO 32000-1."""

from __future__ import annotations

import io
import random
import re
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pymupdf
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, Stream, String
from PIL import Image

from foldproof.manuscript.file_facts import FileFacts, Where
from foldproof.manuscript.model import Manuscript
from foldproof.manuscript.read import read
from foldproof.pdf.structure_resources import Kind, ResourceGraph
from tests.build import Picture, book, raw_tree

Add = Callable[[Pdf], None]


def manuscript(tmp_path: Path, after: Add, **made: Any) -> Manuscript:
    return read(book(made.pop("pages", 4), tmp_path / "a.pdf", after=after, **made))


def facts(tmp_path: Path, after: Add, **made: Any) -> FileFacts:
    return manuscript(tmp_path, after, **made).facts


def resources(pdf: Pdf, index: int, kind: str, **things: Any) -> None:
    held = pdf.pages[index].obj.Resources
    if "/" + kind not in held:
        held["/" + kind] = Dictionary()
    for key, thing in things.items():
        held["/" + kind]["/" + key] = thing


def form(pdf: Pdf, data: bytes = b"", **entries: Any) -> pikepdf.Object:
    return pdf.make_stream(data, Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 9, 9]), **entries)


def function(**more: Any) -> Dictionary:
    return Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0]), C1=Array([1]), N=1, **more)


def tint(*inks: float) -> Dictionary:
    return Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0, 0, 0, 0]), C1=Array(list(inks)), N=1)


# --- how it is written --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("options", "kind", "packed"),
    [
        ({"object_stream_mode": pikepdf.ObjectStreamMode.disable}, "table", False),
        ({"object_stream_mode": pikepdf.ObjectStreamMode.generate}, "stream", True),
        ({"object_stream_mode": pikepdf.ObjectStreamMode.generate, "linearize": True}, "stream", True),
        ({"object_stream_mode": pikepdf.ObjectStreamMode.disable, "linearize": True}, "table", False),
    ],
    ids=("table", "stream", "linearized stream", "linearized table"),
)
def test_how_the_objects_are_listed(tmp_path: Path, options: dict[str, Any], kind: str, packed: bool) -> None:
    found = facts(tmp_path, lambda pdf: None, save_options=options)
    assert (found.xref, found.object_streams, found.updates) == (kind, packed, 0)


def appended(path: Path, body: str, *, more: str = "") -> None:
    """An incremental update by hand (7.5.6): object 900, and a section that leads on to the one before."""
    data = path.read_bytes()
    start = int(data[data.rindex(b"startxref") + 9 :].split()[0])
    trailer = data[data.rindex(b"trailer") + 7 : data.rindex(b"startxref")].decode("latin-1").rstrip()
    trailer = re.sub(r"/Prev \d+", "", trailer.removesuffix(">>"))
    place = len(data)
    added = f"900 0 obj\n{body}\nendobj\n"
    section = f"xref\n900 1\n{place:010d} 00000 n \ntrailer\n{trailer} /Prev {start} {more} >>\n"
    path.write_bytes(data + f"{added}{section}startxref\n{place + len(added)}\n%%EOF\n".encode("latin-1"))


def test_updates_are_counted(tmp_path: Path) -> None:
    plain = {"object_stream_mode": pikepdf.ObjectStreamMode.disable}
    path = book(300, tmp_path / "a.pdf", save_options=plain)  # a table longer than what is read at once
    appended(path, "(one)")
    assert (read(path).facts.updates, read(path).facts.xref) == (1, "table")
    appended(path, "(two)")
    assert read(path).facts.updates == 2


def test_an_update_of_a_linearized_file(tmp_path: Path) -> None:
    options = {"object_stream_mode": pikepdf.ObjectStreamMode.disable, "linearize": True}
    path = book(4, tmp_path / "a.pdf", save_options=options)
    data = path.read_bytes()
    first = data.index(b"trailer")
    # its last startxref leads to the section of the first page, whose trailer stands first (annex F)
    trailer = data[first + 7 : data.index(b"startxref")].decode("latin-1").rstrip().removesuffix(">>")
    trailer = re.sub(r"/Size \d+", "/Size 901", re.sub(r"/Prev \d+", "", trailer))
    start, place = int(data[data.rindex(b"startxref") + 9 :].split()[0]), len(data)
    body = "900 0 obj\n(one)\nendobj\n"
    section = f"xref\n900 1\n{place:010d} 00000 n \ntrailer\n{trailer} /Prev {start} >>\n"
    path.write_bytes(data + f"{body}{section}startxref\n{place + len(body)}\n%%EOF\n".encode("latin-1"))
    assert read(path).facts.updates == 1
    assert read(path).reader_warnings == ()


def test_a_list_that_leads_nowhere_was_rebuilt(tmp_path: Path) -> None:
    path = book(4, tmp_path / "a.pdf")
    data = path.read_bytes()
    path.write_bytes(data[: data.rindex(b"startxref")] + b"startxref\n17\n%%EOF\n")
    found = read(path).facts
    assert (found.xref, found.updates) == ("rebuilt", 0)
    path.write_bytes(data[: data.rindex(b"startxref")])
    assert read(path).facts.xref == "rebuilt"


def test_versions(tmp_path: Path) -> None:
    def later(pdf: Pdf) -> None:
        pdf.Root.Version = Name("/1.7")

    found = facts(tmp_path, later, save_options={"force_version": "1.4"})
    assert (found.header_version, found.catalog_version) == ("1.4", "1.7")
    assert facts(tmp_path, lambda pdf: None, save_options={"force_version": "1.5"}).catalog_version is None


@pytest.mark.parametrize(
    ("revision", "words"), [(2, "RC4, 40 bits"), (3, "RC4, 128 bits"), (4, "AES, 128 bits"), (6, "AES, 256 bits")]
)
def test_locks_in_words(tmp_path: Path, revision: int, words: str) -> None:
    # table 22: what each bit of /P stands for; revision 2 knows fewer of them
    may = pikepdf.Permissions(print_lowres=False, print_highres=False, extract=False, modify_assembly=True)
    lock = pikepdf.Encryption(owner="o", user="", R=revision, allow=may, aes=revision >= 4, metadata=revision >= 4)
    found = facts(tmp_path, lambda pdf: None, save_options={"encryption": lock, "static_id": False})
    assert found.encryption == words
    assert {"printing", "copying"} <= set(found.forbidden)
    assert revision == 2 or found.forbidden == ("printing", "copying")


ALL_BUT_FINE = pikepdf.Permissions(print_highres=False, modify_assembly=True)


def test_full_quality_may_be_forbidden_alone(tmp_path: Path) -> None:
    lock = pikepdf.Encryption(owner="o", user="", R=6, allow=ALL_BUT_FINE)
    found = facts(tmp_path, lambda pdf: None, save_options={"encryption": lock, "static_id": False})
    assert found.forbidden == ("printing at full quality",)


# --- what it claims -----------------------------------------------------------------------------------------------

PACKET = b"""<?xpacket begin="" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:pdfxid="http://www.npes.org/pdfx/ns/id/" xmlns:dc="http://purl.org/dc/elements/1.1/"
 xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
 pdfxid:GTS_PDFXVersion="PDF/X-4" xmp:CreateDate="2024-02-29T12:00:00Z">
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">The Almanac</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>Lantern</rdf:li><rdf:li>Row</rdf:li></rdf:Seq></dc:creator>
<pdf:Trapped>False</pdf:Trapped></rdf:Description></rdf:RDF></x:xmpmeta><?xpacket end="w"?>"""


def with_packet(packet: bytes) -> Add:
    def add(pdf: Pdf) -> None:
        pdf.Root.Metadata = pdf.make_stream(packet, Type=Name.Metadata, Subtype=Name.XML)

    return add


def test_claims(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        with_packet(PACKET)(pdf)
        pdf.docinfo["/GTS_PDFXVersion"] = "PDF/X-1:2001"
        pdf.docinfo["/GTS_PDFXConformance"] = "PDF/X-1a:2001"
        pdf.docinfo["/Trapped"] = Name("/True")

    claims = facts(tmp_path, add).claims
    assert (claims.info_version, claims.info_conformance) == ("PDF/X-1:2001", "PDF/X-1a:2001")
    assert (claims.info_trapped, claims.xmp_trapped) == ("True", "False")
    assert (claims.xmp_version, claims.xmp_conformance) == ("PDF/X-4", None)
    assert dict(claims.xmp)["dc:title"] == "The Almanac" and dict(claims.xmp)["dc:creator"] == "Lantern, Row"
    assert dict(claims.xmp)["xmp:CreateDate"] == "2024-02-29T12:00:00Z"
    assert dict(claims.info)["CreationDate"] == "D:20240229120000+00'00'"
    assert claims.has_xmp and claims.has_id


@pytest.mark.parametrize(
    "packet",
    [
        b"<not xml",
        b"\xff\xfe\x00",
        b'<!DOCTYPE a [<!ENTITY a "b">]>' + PACKET,  # entities may grow without end; XMP has none
        PACKET.replace(b"x:xmpmeta>", b"x:other>"),
    ],
)
def test_an_unsound_packet_claims_nothing(tmp_path: Path, packet: bytes) -> None:
    # by hand: the library that writes the other files puts such packets right
    more = {
        1: "<< /Type /Catalog /Pages 2 0 R /Metadata 50 0 R >>",
        50: b"<< /Length %d >> stream\n%s\nendstream" % (len(packet), packet),
    }
    claims = read(raw_tree(tmp_path / "a.pdf", "/MediaBox [0 0 99 99]", "", more=more)).facts.claims
    assert claims.has_xmp and claims.xmp == () and claims.xmp_version is None


def test_trapped_must_be_a_name(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        pdf.docinfo["/Trapped"] = "False"

    assert facts(tmp_path, add).claims.info_trapped == "(False)"  # table 317: a name


# --- what it does -------------------------------------------------------------------------------------------------


def script(words: str = "1") -> Dictionary:
    return Dictionary(S=Name.JavaScript, JS=String(words))


def test_scripts_wherever_they_hang(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        pdf.Root.OpenAction = Dictionary(S=Name.GoTo, D=Array([]), Next=Array([script(), Dictionary(S=Name.Named)]))
        pdf.Root.AA = Dictionary(WP=script())
        leaf = Dictionary(Names=Array([String("Init"), script()]))
        pdf.Root.Names = Dictionary(JavaScript=Dictionary(Kids=Array([pdf.make_indirect(leaf)])))
        pdf.pages[1].obj.AA = Dictionary(O=script())
        button = Dictionary(Type=Name.Annot, Subtype=Name.Widget, Rect=Array([0, 0, 9, 9]), AA=Dictionary(D=script()))
        link = Dictionary(
            Type=Name.Annot, Subtype=Name.Link, Rect=Array([0, 0, 9, 9]), A=Dictionary(S=Name.URI, Next=script())
        )
        for index, one in ((2, button), (3, link), (2, link)):
            pdf.pages[index].obj.Annots = Array([*pdf.pages[index].obj.get("/Annots", []), pdf.make_indirect(one)])
        pdf.Root.Outlines = Dictionary(First=pdf.make_indirect(Dictionary(Title=String("a"), A=script())))

    found = facts(tmp_path, add)
    assert {(one.detail, one.pages) for one in found.scripts} == {
        ("opening", ()), ("printing", ()), ("document, Init", ()), ("turning to the page", (1,)),
        ("button or field", (2,)), ("link", (2, 3)), ("bookmark", ()),
    }  # fmt: skip
    assert {(one.what, one.pages) for one in found.actions} == {("GoTo", ()), ("Named", ()), ("URI", (2, 3))}


def test_a_script_is_not_hidden_by_words_in_an_address(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        odd = Dictionary(S=Name.JavaScript, JS=String("/S /GoTo"))
        also = Dictionary(S=Name.URI, URI=String("/S /JavaScript"))
        twice = Dictionary(S=Name.GoTo, D=String("/S /GoTo"))
        far = pdf.make_indirect(Dictionary(S=Name.JavaScript, JS=String("1")))
        for index, actions in ((0, [odd]), (1, [also]), (2, [twice, far]), (3, [twice, Dictionary()])):
            links = [
                Dictionary(Type=Name.Annot, Subtype=Name.Link, Rect=Array([0, 0, 9, 9]), A=action) for action in actions
            ]
            pdf.pages[index].obj.Annots = Array([pdf.make_indirect(link) for link in links])

    found = facts(tmp_path, add)
    assert found.scripts == (Where("JavaScript", "link", (0, 2)),)
    assert found.actions == (Where("URI", "", (1,)), Where("GoTo", "", (2, 3)))


def test_actions_in_a_circle_come_to_an_end(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        one = pdf.make_indirect(Dictionary(S=Name.Launch, F=String("a.exe")))
        one.Next = Array([one, one])
        pdf.Root.OpenAction = one
        pdf.Root.Outlines = Dictionary(First=one)

    assert [(a.what, a.detail) for a in facts(tmp_path, add).actions] == [("Launch", "a.exe"), ("Launch", "")]


def test_attachments_and_media(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        pdf.attachments["notes.txt"] = b"for the author's eyes"
        file = Dictionary(Type=Name.Filespec, F=String("plan.dwg"))
        for index, one in (
            (1, Dictionary(Subtype=Name.FileAttachment, FS=file)),
            (2, Dictionary(Subtype=Name.Movie)),
            (3, Dictionary(Subtype=Name.Movie)),
            (3, Dictionary(Subtype=Name("/3D"))),
        ):
            one.Rect = Array([0, 0, 9, 9])
            pdf.pages[index].obj.Annots = Array([*pdf.pages[index].obj.get("/Annots", []), pdf.make_indirect(one)])

    found = facts(tmp_path, add)
    assert set(found.attachments) == {Where("file", "notes.txt"), Where("file", "plan.dwg", (1,))}
    assert found.media == (Where("Movie", "", (2, 3)), Where("3D", "", (3,)))


def test_fields_are_counted_by_name(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        places = [pdf.make_indirect(Dictionary(Subtype=Name.Widget)) for _ in range(2)]
        two_places = pdf.make_indirect(Dictionary(T=String("choice"), Kids=Array(places)))
        below = [pdf.make_indirect(Dictionary(T=String(name))) for name in "ab"]
        group = pdf.make_indirect(Dictionary(T=String("group"), Kids=Array(below)))
        pdf.Root.AcroForm = Dictionary(Fields=Array([two_places, group]), XFA=String("x"))

    found = facts(tmp_path, add)
    assert (found.fields, found.xfa) == (3, True)


@pytest.mark.parametrize(
    ("entries", "shows"),
    [
        ({"FT": Name.Btn, "Ff": 1 << 16, "MK": Dictionary()}, False),  # waits to be pressed, and shows nothing
        ({"FT": Name.Btn, "Ff": 1 << 16, "MK": Dictionary(CA=String("Press"))}, True),
        ({"FT": Name.Btn, "MK": Dictionary(CA=String("4"))}, False),  # a box that is not ticked
        ({"FT": Name.Btn, "MK": Dictionary(CA=String("4")), "V": Name.Yes}, True),
        ({"FT": Name.Tx, "MK": Dictionary(BC=Array([0]))}, True),  # a border with a colour
        ({"FT": Name.Tx, "MK": Dictionary(BC=Array([]))}, False),
        ({"FT": Name.Tx, "V": String("A name")}, True),
        ({"FT": Name.Tx, "V": String("")}, False),
        ({"Parent": Dictionary(FT=Name.Tx, V=String("A name"))}, True),
        ({"FT": Name.Ch, "Opt": Array([String("a")])}, True),  # a list stands open
        ({"FT": Name.Ch, "Ff": 1 << 17, "Opt": Array([String("a")])}, False),  # a combo box does not
    ],
    ids=str,
)
def test_which_fields_a_viewer_fills(tmp_path: Path, entries: dict[str, Any], shows: bool) -> None:
    def add(pdf: Pdf) -> None:
        made = Dictionary(Type=Name.Annot, Subtype=Name.Widget, Rect=Array([100, 100, 200, 120]))
        for key, value in entries.items():
            made["/" + key] = pdf.make_indirect(value) if key == "Parent" else value
        field = pdf.make_indirect(made)
        pdf.pages[0].obj.Annots = Array([field])
        pdf.Root.AcroForm = Dictionary(Fields=Array([field]), NeedAppearances=True)

    [annotation] = manuscript(tmp_path, add).pages[0].annotations
    assert (annotation.shows, annotation.prints) == (shows, False)


# --- layers -------------------------------------------------------------------------------------------------------


def layered(pdf: Pdf, **default: Callable[[dict[str, Any]], Any]) -> dict[str, Any]:
    """Groups a, b and c; a on page 1 by content, b on page 2 by a form, c on page 3 by a membership and a picture."""
    groups = {name: pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String(name))) for name in "abc"}
    configuration = Dictionary({"/" + key: made(groups) for key, made in default.items()})
    pdf.Root.OCProperties = Dictionary(OCGs=Array(list(groups.values())), D=configuration)
    member = pdf.make_indirect(Dictionary(Type=Name.OCMD, OCGs=Array([groups["c"]])))
    for index in range(4):  # as writers do, all names on every page: of no weight
        resources(pdf, index, "Properties", A=groups["a"], C=member)
    for index, mark in ((0, b"/OC /A BDC 0 0 9 9 re f EMC"), (2, b"/OC  /#43 BDC EMC")):
        pdf.pages[index].obj.Contents = Array([pdf.pages[index].obj.Contents, pdf.make_stream(mark)])
    resources(pdf, 1, "XObject", Fm=form(pdf, OC=groups["b"]))
    return groups


@pytest.mark.parametrize(
    ("default", "on"),
    [
        ({}, (True, True, True)),
        ({"OFF": lambda g: Array([g["b"]])}, (True, False, True)),
        ({"BaseState": lambda g: Name.OFF, "ON": lambda g: Array([g["a"]])}, (True, False, False)),
        ({"BaseState": lambda g: Name.Unchanged, "OFF": lambda g: Array([g["c"]])}, (True, True, False)),
    ],
    ids=("all on", "one off", "one on", "unchanged"),
)
def test_layers_by_default(tmp_path: Path, default: dict[str, Any], on: tuple[bool, ...]) -> None:
    found = facts(tmp_path, lambda pdf: layered(pdf, **default) and None).layers
    assert [(one.name, one.on, one.pages) for one in found] == [
        (name, state, pages) for name, state, pages in zip("abc", on, ((0,), (1,), (2,)), strict=True)
    ]


@pytest.mark.parametrize(
    ("membership", "shown"),
    [
        # a is on, b is off; table 99: AnyOn is the default policy
        (lambda a, b: {"OCGs": [a, b]}, True),
        (lambda a, b: {"OCGs": [a, b], "P": Name.AnyOn}, True),
        (lambda a, b: {"OCGs": [a, b], "P": Name.AllOn}, False),
        (lambda a, b: {"OCGs": [a, b], "P": Name.AnyOff}, True),
        (lambda a, b: {"OCGs": [a, b], "P": Name.AllOff}, False),
        (lambda a, b: {"OCGs": b}, False),
        (lambda a, b: {"OCGs": b, "P": Name.AllOff}, True),
        (lambda a, b: {"OCGs": b, "VE": [Name.Or, a, b]}, True),
        (lambda a, b: {"VE": [Name.And, a, b]}, False),
        (lambda a, b: {"VE": [Name.And, a, [Name.Not, b]]}, True),
        (lambda a, b: {"VE": [Name.Not, [Name.Or, a, b]]}, False),
    ],
)
def test_what_several_layers_decide_together(
    tmp_path: Path, tool: Callable[[str], str], membership: Callable[[Any, Any], dict[str, Any]], shown: bool
) -> None:
    def add(pdf: Pdf) -> None:
        a, b = (pdf.make_indirect(Dictionary(Type=Name.OCG, Name=String(name))) for name in "ab")
        pdf.Root.OCProperties = Dictionary(OCGs=Array([a, b]), D=Dictionary(OFF=Array([b])))
        made = Dictionary({"/Type": Name.OCMD, **{"/" + key: value for key, value in membership(a, b).items()}})
        resources(pdf, 2, "Properties", M=pdf.make_indirect(made))
        mark = pdf.make_stream(b"/OC /M BDC 0 g 100 100 200 200 re f EMC")
        pdf.pages[2].obj.Contents = Array([pdf.pages[2].obj.Contents, mark])

    found = manuscript(tmp_path, add)
    named = [one for one in found.facts.layers if one.pages]
    assert named and all(one.pages == (2,) and one.hidden == (() if shown else (2,)) for one in named)
    # others paint the square or do not.  poppler passes over the policy where there is one group alone; MuPDF reads no
    # visibility expressions, and takes AllOn and AnyOff otherwise than table 99
    if membership("a", "b").get("OCGs") == "b" and "P" in membership("a", "b"):
        with pymupdf.open(found.path) as other:
            painted = other[2].get_pixmap(colorspace=pymupdf.csGRAY).tobytes("pgm")
    else:
        command = [tool("pdftoppm"), "-gray", "-r", "72", "-f", "3", "-l", "3", found.path]
        painted = subprocess.run(command, capture_output=True, check=True).stdout
    picture = Image.open(io.BytesIO(painted))
    assert (picture.getpixel((200, picture.height - 200)) < 128) is shown


def test_what_a_layer_does_on_printing_hangs_on_as(tmp_path: Path) -> None:
    """8.11.4.5: a usage alone changes nothing; /AS names the event for which a program is to apply it."""

    def add(applied: bool) -> Add:
        def change(pdf: Pdf) -> None:
            groups = layered(pdf)
            for name, state in (("a", Name.OFF), ("b", Name.ON)):
                groups[name].Usage = Dictionary(Print=Dictionary(PrintState=state))
            usage = Dictionary(Event=Name.Print, Category=Array([Name.Print]), OCGs=Array(list(groups.values())))
            pdf.Root.OCProperties.D.AS = Array([usage] if applied else [])
            pdf.Root.OCProperties.D.Locked = Array([groups["c"]])
            pdf.Root.OCProperties.Configs = Array([Dictionary(Name=String("Proof"))])

        return change

    assert [one.prints for one in facts(tmp_path, add(False)).layers] == [None, None, None]
    found = facts(tmp_path, add(True))
    assert [(one.prints, one.locked) for one in found.layers] == [(False, False), (True, False), (None, True)]
    assert found.layer_configurations == 1


# --- what resources bring -----------------------------------------------------------------------------------------


def test_device_states(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        states = (
            Dictionary(TR=Name.Identity, TR2=Name.Default, HT=Name.Default, BG2=Name.Default, UCR2=Name.Default),
            Dictionary(TR=function(), HT=Dictionary(HalftoneType=1, HalftoneName=String("Round"), Frequency=60)),
            Dictionary(TR=Array([Name.Identity] * 4), BG=function(), UCR2=function()),
            Dictionary(HT=Dictionary(HalftoneType=5, Default=Dictionary(HalftoneType=1, TransferFunction=function()))),
        )
        for index, state in enumerate(states):
            resources(pdf, index, "ExtGState", G=pdf.make_indirect(state) if index % 2 else state)

    assert facts(tmp_path, add).device_states == (
        Where("BG", "", (2,)),
        Where("HT", "type 1, named Round", (1,)),
        Where("HT", "type 5", (3,)),
        Where("TR", "", (1,)),
        Where("TR", "in a halftone", (3,)),
        Where("UCR2", "", (2,)),
    )


def test_transparency_that_resources_could_bring(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        group = Dictionary(S=Name.Transparency, CS=Name.DeviceRGB)
        mask = Dictionary(S=Name.Luminosity, G=form(pdf, Group=group))
        resources(pdf, 0, "ExtGState", A=Dictionary(CA=1, ca=1.0, SMask=Name("/None"), BM=Name.Normal))
        resources(pdf, 1, "ExtGState", A=Dictionary(CA=0.5, ca=0.25, BM=Array([Name.Multiply])))
        resources(pdf, 2, "ExtGState", A=Dictionary(SMask=mask))
        pdf.pages[3].obj.Group = group

    masked = (Picture((9, 9, 50, 50), soft_mask=(9, 9)),)
    found = facts(tmp_path, add, each=lambda index: {"pictures": () if index else masked})
    assert found.transparency == (
        Where("BM", "Multiply", (1,)), Where("CA", "0.5", (1,)), Where("Group", "form", (2,)),
        Where("Group", "page", (3,)), Where("SMask", "picture", (0,)), Where("SMask", "state", (2,)),
        Where("ca", "0.25", (1,)),
    )  # fmt: skip
    assert Where("DeviceRGB", "", (2, 3)) in found.spaces  # the spaces of both groups


def test_stand_ins_and_foreign_matter(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        opi = Dictionary({"/1.3": Dictionary(F=String("lamp.tif"))})
        programs = pdf.make_stream(b"showpage", Subtype=Name.PS)
        reference = Dictionary(F=Dictionary(F=String("other.pdf")), Page=0)
        inner = form(pdf, OPI=opi)
        outer = form(pdf, Resources=Dictionary(XObject=Dictionary(I=inner)))
        for index in (0, 2):
            resources(pdf, index, "XObject", O=outer)
        resources(pdf, 1, "XObject", P=programs, Q=form(pdf, Subtype2=Name.PS), R=form(pdf, Ref=reference))

    found = facts(tmp_path, add)
    assert found.opi == (Where("OPI 1.3", "lamp.tif", (0, 2)),)
    assert found.postscript == (Where("PostScript XObject", "", (1,)), Where("form with PostScript", "", (1,)))
    assert found.reference_forms == (Where("Ref", "other.pdf", (1,)),)


def test_spaces_and_spots(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        gold, brass = (Array([Name.Separation, Name.Gold, Name.DeviceCMYK, tint(0, n, 1, 0)]) for n in (0.2, 0.3))
        resources(pdf, 0, "ColorSpace", A=gold, DefaultRGB=Array([Name.CalRGB, Dictionary()]))
        resources(pdf, 1, "ColorSpace", A=pdf.make_indirect(gold))
        resources(pdf, 2, "ColorSpace", A=Array([Name.Indexed, brass, 1, String("ab")]))
        both = Array([Name.DeviceN, Array([Name.Gold, Name.Black]), Name.DeviceCMYK, function()])
        resources(pdf, 3, "ColorSpace", A=both, B=Array([Name.Pattern, gold]))

    found = facts(tmp_path, add)
    named = [(one.name, one.alternate, bool(one.tint), one.pages) for one in found.spots]
    assert sorted(named) == [
        ("Gold", "DeviceCMYK", False, (3,)),  # of a DeviceN space nothing is said of Gold alone
        ("Gold", "DeviceCMYK", True, (0, 1, 3)),
        ("Gold", "DeviceCMYK", True, (2,)),
    ]
    said = {(one.what, one.detail): one.pages for one in found.spaces}
    assert said["Separation(Gold)", ""] == (0, 1)
    assert said["CalRGB", "DefaultRGB"] == (0,)
    assert said["Indexed(Separation(Gold))", ""] == (2,)
    assert said["DeviceN(Gold, Black)", ""] == (3,)


def test_filters_of_all_that_a_page_reaches(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        deep = pdf.make_stream(b"68656C6C6F>", Filter=Name.ASCIIHexDecode)
        function_stream = pdf.make_stream(b"~>", Filter=Array([Name.ASCII85Decode, Name.LZWDecode]))
        font = Dictionary(Type=Name.Font, Subtype=Name.Type3, CharProcs=Dictionary(a=deep), Resources=Dictionary())
        resources(pdf, 1, "Font", T=pdf.make_indirect(font))
        resources(pdf, 2, "Shading", S=Dictionary(ShadingType=2, ColorSpace=Name.DeviceGray, Function=function_stream))

    keep = {"compress_streams": False, "stream_decode_level": pikepdf.StreamDecodeLevel.none}
    found = {one.what: one.pages for one in facts(tmp_path, add, save_options=keep).filters}
    # the fonts of the pages are packed with Flate
    assert found == {
        "FlateDecode": (0, 1, 2, 3), "ASCIIHexDecode": (1,), "ASCII85Decode": (2,), "LZWDecode": (2,)
    }  # fmt: skip


def test_boxes_and_units(tmp_path: Path) -> None:
    path = raw_tree(
        tmp_path / "a.pdf", "/MediaBox [0 0 99 99]",
        "", "/TrimBox [1 1 9 9]", "/ArtBox [1 1 9 9]", "/TrimBox [1 1 9 9] /ArtBox [2 2 8 8]", "/UserUnit 1",
    )  # fmt: skip
    found = read(path).facts
    assert (found.both_boxes, found.neither_box, found.page_user_units) == ((3,), (0, 4), (4,))


# --- pages that are alike -----------------------------------------------------------------------------------------


def test_a_page_copied_with_all_that_it_uses_is_alike(tmp_path: Path) -> None:
    source = book(4, tmp_path / "a.pdf", pictures=(Picture((20, 60, 90, 160), (400, 400)),))
    twin = pikepdf.open(source)
    with pikepdf.open(source) as other:
        twin.pages.append(other.pages[1])  # a copy of the page, its font and its picture, with numbers of their own
        twin.pages[4].obj.StructParents = 7
        twin.pages.append(twin.pages[2])  # page 3 again
        assert twin.pages[4].obj.Resources.Font.F1.objgen != twin.pages[1].obj.Resources.Font.F1.objgen
        twin.save(tmp_path / "b.pdf")
    digests = read(tmp_path / "b.pdf").facts.page_digests
    assert digests[4] == digests[1] and digests[5] == digests[2]
    assert len(set(digests)) == 4


def test_one_sample_of_a_long_picture_tells_pages_apart(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    pdf = pikepdf.new()
    for last in (b"a", b"b", b"a"):
        pdf.add_blank_page()
        data = bytes(99_999) + last  # longer than what is hashed as it is met
        image = Stream(pdf, data, Type=Name.XObject, Subtype=Name.Image, Width=1000, Height=100, BitsPerComponent=8)
        image.ColorSpace = Name.DeviceGray
        pdf.pages[-1].obj.Resources = Dictionary(XObject=Dictionary(I=pdf.make_indirect(image)))
        pdf.pages[-1].obj.Contents = pdf.make_stream(b"/I Do")
    pdf.save(path, compress_streams=False)
    first, second, third = read(path).facts.page_digests
    assert first == third != second


def test_resources_in_a_circle_have_a_digest(tmp_path: Path) -> None:
    def add(pdf: Pdf) -> None:
        one, two = form(pdf, b"1"), form(pdf, b"2")
        one.Resources, two.Resources = (Dictionary(XObject=Dictionary(X=other)) for other in (two, one))
        resources(pdf, 0, "XObject", X=one)
        resources(pdf, 1, "XObject", X=one)

    found = facts(tmp_path, add, say=lambda index: "alike", folio=None)
    assert found.page_digests[0] == found.page_digests[1] != found.page_digests[2]


# --- the graph ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_the_graph_agrees_with_a_walk_from_every_page(seed: int) -> None:
    """Forms that hold one another at random, circles among them, against a plain search from each page."""
    chance = random.Random(seed)
    pdf = pikepdf.new()
    forms = [form(pdf, OPI=Dictionary()) for _ in range(40)]
    below: dict[int, list[int]] = {}
    for place, one in enumerate(forms):
        below[place] = chance.sample(range(40), chance.choice((0, 1, 1, 2, 3)))
        one.Resources = Dictionary(XObject=Dictionary({f"/X{n}": forms[n] for n in below[place]}))
    starts = [chance.sample(range(40), chance.choice((0, 1, 2))) for _ in range(90)]
    graph = ResourceGraph()
    for start in starts:
        graph.add_root(Dictionary(XObject=Dictionary({f"/X{n}": forms[n] for n in start})), [], [])
    want: dict[str, list[int]] = {}
    for page, start in enumerate(starts):
        seen, waiting = set(start), list(start)
        while waiting:
            after = set(below[waiting.pop()]) - seen
            seen |= after
            waiting += after
        for place in seen:
            want.setdefault("{} {}".format(*forms[place].objgen), []).append(page)
    found = {one.key: list(one.pages) for one in graph.reached(Kind.FORM)}
    assert found == want
