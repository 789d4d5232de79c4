# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whole small books that conform to PDF/X-1a:2003, PDF/X-3:2003 and PDF/X-4, to be broken one clause at a time.

    conforming(Standard.X4, tmp_path / "a.pdf")
    conforming(Standard.X1A, tmp_path / "b.pdf", lambda pdf: pdf.docinfo.__delitem__("/Trapped"))

What makes them conform is written down here from ISO 15930 as the handbook of check values has it (tests/handbook,
``standards.toml``), with pikepdf alone and nothing of the project.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

from foldproof.preflight.standards.model import Standard
from tests.build import Picture, font, image, page, save
from tests.profiles import cmyk_profile, matrix_profile

Change = Callable[[pikepdf.Pdf], None]

DATE = "2024-02-29T12:00:00Z"
XMP: dict[str, str] = {
    "dc:title": "The Lamplighter's Almanac",
    "xmp:CreateDate": DATE,
    "xmp:ModifyDate": DATE,
    "xmp:MetadataDate": DATE,
    "xmpMM:DocumentID": "uuid:5a1f0c2e-0000-4000-8000-000000000001",
    "xmpMM:VersionID": "1",
    "xmpMM:RenditionClass": "default",
    "pdf:Trapped": "False",
    "pdfxid:GTS_PDFXVersion": "PDF/X-4",
}
_SPACES = {
    "dc": "http://purl.org/dc/elements/1.1/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "xmpMM": "http://ns.adobe.com/xap/1.0/mm/",
    "pdf": "http://ns.adobe.com/pdf/1.3/",
    "pdfxid": "http://www.npes.org/pdfx/ns/id/",
    "pdfx": "http://ns.adobe.com/pdfx/1.3/",
}


def xmp(pdf: pikepdf.Pdf, properties: dict[str, str]) -> None:
    """Put an XMP packet (ISO 16684-1) of these properties into the file."""
    parts = []
    for key, value in properties.items():
        if key == "dc:title":
            value = f'<rdf:Alt><rdf:li xml:lang="x-default">{value}</rdf:li></rdf:Alt>'
        parts.append(f"<{key}>{value}</{key}>")
    spaces = " ".join(f'xmlns:{prefix}="{space}"' for prefix, space in _SPACES.items())
    packet = (
        '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/">'
        '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        f'<rdf:Description rdf:about="" {spaces}>{"".join(parts)}</rdf:Description>'
        '</rdf:RDF></x:xmpmeta><?xpacket end="w"?>'
    )
    stream = Stream(pdf, packet.encode("utf-8"))
    stream.Type, stream.Subtype = Name.Metadata, Name.XML
    pdf.Root.Metadata = pdf.make_indirect(stream)


def profile_stream(pdf: pikepdf.Pdf, data: bytes, components: int) -> pikepdf.Object:
    stream = Stream(pdf, data)
    stream.N = components
    return pdf.make_indirect(stream)


def icc(pdf: pikepdf.Pdf, data: bytes | None = None, components: int = 3) -> Array:
    return Array([Name.ICCBased, profile_stream(pdf, matrix_profile() if data is None else data, components)])


def intent(pdf: pikepdf.Pdf, **changed: Any) -> Dictionary:
    """An output intent with a profile; ``None`` leaves an entry out."""
    made = {
        "Type": Name.OutputIntent,
        "S": Name.GTS_PDFX,
        "OutputConditionIdentifier": "FOGRA39",
        "OutputCondition": "Offset on coated paper",
        "RegistryName": "http://www.color.org",
        "Info": "Coated FOGRA39",
        "DestOutputProfile": profile_stream(pdf, cmyk_profile(), 4),
        **changed,
    }
    return pdf.make_indirect(Dictionary({f"/{key}": value for key, value in made.items() if value is not None}))


def spot(alternate: Any = Name.DeviceCMYK, values: int = 4) -> Array:
    """A Separation space (ISO 32000-1, 8.6.6.4) with an exponential tint transform (7.10.3)."""
    tint = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0] * values), C1=Array([0.5] * values), N=1)
    return Array([Name.Separation, Name.Ember, alternate, tint])


def paints(pdf: pikepdf.Pdf, index: int, operators: str) -> None:
    """Add operators to a page, in points of its media."""
    extra = pdf.make_indirect(Stream(pdf, operators.encode("latin-1")))
    there = pdf.pages[index].obj.Contents
    pdf.pages[index].obj.Contents = Array([*(there.as_list() if isinstance(there, Array) else [there]), extra])


def resource(pdf: pikepdf.Pdf, index: int, kind: str, name: str, value: Any) -> None:
    held = pdf.pages[index].obj.Resources
    if "/" + kind not in held:
        held["/" + kind] = Dictionary()
    held["/" + kind]["/" + name] = value


def layers(pdf: pikepdf.Pdf, **more: Any) -> None:
    """One optional content group, on (ISO 32000-1, 8.11)."""
    group = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="Notes"))
    default = Dictionary(Name="Print", ON=Array([group]), Order=Array([group]))
    pdf.Root.OCProperties = Dictionary(OCGs=Array([group]), D=default, **more)
    resource(pdf, 0, "Properties", "L1", group)
    paints(pdf, 0, "/OC /L1 BDC 0 0 0 1 k 60 60 20 20 re f EMC\n")


def conforming(
    standard: Standard,
    target: Path,
    change: Change | None = None,
    *,
    rewrite: Callable[[bytes], bytes] | None = None,
    **options: Any,
) -> Path:
    """Write a book of two pages that conforms, after one change perhaps; ``options`` are those of saving.

    Besides text in black it holds CMYK and grey, a picture, a spot ink; from PDF/X-3 on a picture and a tint with
    profiles of their own; in PDF/X-4 tints that show through, a blending space, a layer and a picture of 16 bits.
    """
    pdf = pikepdf.new()
    info = pdf.docinfo
    info["/Title"] = XMP["dc:title"]
    info["/CreationDate"] = info["/ModDate"] = "D:20240229120000Z"
    if standard is not Standard.X4:
        info["/Trapped"], info["/GTS_PDFXVersion"] = Name("/False"), standard.value
    face = font(pdf)
    for index in range(2):
        extra: dict[str, Any] = {"ColorSpace": Dictionary(Spot=spot())}
        content = "0.2 0.1 0 0.3 k 100 80 40 40 re f 0.5 g 150 80 20 20 re f /Spot cs 0.7 scn 180 80 20 20 re f\n"
        if standard is not Standard.X1A:
            extra["ColorSpace"]["/Screen"] = icc(pdf)
            content += "/Screen cs 0.2 0.4 0.6 scn 220 80 20 20 re f\n"
        more: dict[str, Any] = {}
        if standard is Standard.X4:
            extra["ExtGState"] = Dictionary(Half=Dictionary(ca=0.5, CA=0.5), Darker=Dictionary(BM=Name.Multiply))
            content += "q /Half gs 0 1 0 0 k 110 90 40 40 re f /Darker gs 1 0 0 0 k 115 95 9 9 re f Q\n"
            more["Group"] = Dictionary(S=Name.Transparency, CS=Name.DeviceCMYK)
        pictures = (Picture((30, 60, 60, 90), (30, 30)), Picture((70, 60, 100, 90), (30, 30), "DeviceCMYK"))
        page(
            pdf, f"Page {index + 1}", folio=str(index + 1), font_object=face, pictures=pictures, content=content,
            resources=extra, **more,
        )  # fmt: skip
    if standard is not Standard.X1A:
        for index in range(2):
            picture = image(pdf, Picture((0, 0, 1, 1), (30, 30), "DeviceRGB"))
            picture.ColorSpace = icc(pdf)
            resource(pdf, index, "XObject", "Managed", picture)
            paints(pdf, index, "q 40 0 0 40 240 300 cm /Managed Do Q\n")
    pdf.Root.OutputIntents = Array([intent(pdf)])
    if standard is Standard.X4:
        xmp(pdf, XMP)
        layers(pdf)
        deep = Stream(pdf, zlib.compress(bytes(range(256)) * 2 * 16))
        deep.Type, deep.Subtype, deep.Filter = Name.XObject, Name.Image, Name.FlateDecode
        deep.Width, deep.Height, deep.BitsPerComponent, deep.ColorSpace = 64, 64, 16, Name.DeviceGray
        resource(pdf, 1, "XObject", "Deep", pdf.make_indirect(deep))
        paints(pdf, 1, "q 30 0 0 30 300 300 cm /Deep Do Q\n")
    if change is not None:
        change(pdf)
    asked = {
        "force_version": "1.6" if standard is Standard.X4 else "1.4",
        "stream_decode_level": pikepdf.StreamDecodeLevel.none,
        "compress_streams": False,
        "fix_metadata_version": False,
        **options,
    }
    if "encryption" in options:
        del asked["stream_decode_level"]  # the library takes one or the other
    save(pdf, target, **asked)
    if rewrite is not None:
        target.write_bytes(rewrite(target.read_bytes()))
    return target


def lzw(data: bytes) -> bytes:
    """LZW (ISO 32000-1, 7.4.4.2) of codes of 9 bits alone: the table is cleared before it asks for more."""
    codes: list[int] = []
    for start in range(0, len(data), 200):
        codes += [256, *data[start : start + 200]]
    joined = "".join(f"{code:09b}" for code in [*codes, 257])
    joined += "0" * (-len(joined) % 8)
    return bytes(int(joined[place : place + 8], 2) for place in range(0, len(joined), 8))
