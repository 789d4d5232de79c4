# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a file says of itself in its information dictionary and its XMP packet (ISO 32000-1, 14.3)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

import pikepdf

from foldproof.manuscript.file_facts import Claims
from foldproof.pdf.structure_objects import entry, members, name, plain, text, whole

_INFO = ("Title", "Author", "Creator", "Producer", "CreationDate", "ModDate")
#: XMP packets are a few kB; a longer one is not read
LONGEST_XMP = 4_000_000

_RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
#: XMP specification (ISO 16684-1), clause 8, and ISO 15930-7 for pdfxid
_SPACES = {
    "http://purl.org/dc/elements/1.1/": "dc",
    "http://ns.adobe.com/xap/1.0/": "xmp",
    "http://ns.adobe.com/xap/1.0/mm/": "xmpMM",
    "http://ns.adobe.com/pdf/1.3/": "pdf",
    "http://www.npes.org/pdfx/ns/id/": "pdfxid",
    "http://ns.adobe.com/pdfx/1.3/": "pdfx",
    "http://www.aiim.org/pdfa/ns/id/": "pdfaid",
}


def claims_of(pdf: pikepdf.Pdf) -> Claims:
    """All that the claim of a standard rests on, as written."""
    info = entry(pdf.trailer, "/Info")
    packet = entry(pdf.Root, "/Metadata")
    has_xmp = isinstance(packet, pikepdf.Stream)
    xmp = _properties(packet) if has_xmp else {}
    ids = members(entry(pdf.trailer, "/ID"))
    return Claims(
        info_version=_said(entry(info, "/GTS_PDFXVersion")),
        info_conformance=_said(entry(info, "/GTS_PDFXConformance")),
        xmp_version=xmp.get("pdfxid:GTS_PDFXVersion") or xmp.get("pdfx:GTS_PDFXVersion"),
        xmp_conformance=xmp.get("pdfxid:GTS_PDFXConformance") or xmp.get("pdfx:GTS_PDFXConformance"),
        info_trapped=_trapped(entry(info, "/Trapped")),
        xmp_trapped=xmp.get("pdf:Trapped"),
        info=tuple((key, said) for key in _INFO if (said := text(entry(info, "/" + key)))),
        xmp=tuple(sorted(xmp.items())),
        has_xmp=has_xmp,
        has_id=len(ids) == 2 and all(isinstance(one, pikepdf.String) for one in ids),
    )


def _said(value: Any) -> str | None:
    return text(value) or None


def _trapped(value: Any) -> str | None:
    """A name (table 317).  Other types are no answer; they are shown so that nobody takes them for one."""
    if value is None:
        return None
    return name(value) or (f"({text(value)})" if isinstance(value, pikepdf.String) else f"({value})")


def _properties(packet: Any) -> dict[str, str]:
    """Properties of the known schemas; nothing from a packet that is no sound XML."""
    if whole(entry(packet, "/Length"), 0) > LONGEST_XMP:
        return {}
    try:
        data = packet.read_bytes()
    except (pikepdf.PdfError, RuntimeError):
        return {}
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data or len(data) > LONGEST_XMP:  # XMP has none; entities can be bombs
        return {}
    try:
        root = ElementTree.fromstring(data.strip(b" \t\r\n\0"))
    except (ElementTree.ParseError, ValueError, LookupError):
        return {}
    found: dict[str, str] = {}
    for description in root.iter(f"{_RDF}Description"):
        for key, value in _pairs(description):
            space, _, local = key.removeprefix("{").partition("}")
            if space in _SPACES and (said := plain(value)):
                found.setdefault(f"{_SPACES[space]}:{local}", said)
    return found


def _pairs(description: ElementTree.Element) -> Iterator[tuple[str, str]]:
    """A property is an attribute, or an element with text or with a list (ISO 16684-1, 7.4 to 7.7)."""
    yield from description.attrib.items()
    for child in description:
        listed = [(item.text or "").strip() for item in child.iter(f"{_RDF}li")]
        yield child.tag, ", ".join(listed) if listed else (child.text or "").strip()
