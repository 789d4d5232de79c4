# SPDX-License-Identifier: AGPL-3.0-or-later
"""How a file is written: header, cross-reference sections, updates, locks (ISO 32000-1, 7.5 and 7.6)."""

from __future__ import annotations

import re
from pathlib import Path

import pikepdf
from attrs import frozen

from foldproof.pdf.structure_objects import entry, name

_HEADER = re.compile(rb"%PDF-(\d\.\d)")
_START = re.compile(rb"startxref\s+(\d+)")
_PREVIOUS = re.compile(rb"/Prev\s+(\d+)")
_BESIDE = re.compile(rb"/XRefStm\s+\d+")
_STREAM_HEAD = re.compile(rb"\s*\d+\s+\d+\s+obj\b")
_TAIL = 2048  #: startxref stands in the last 1,024 bytes (annex H, note 18); with room for junk behind it
_DICTIONARY = 8192  #: a trailer, or the dictionary of a cross-reference stream, is read no further
_PACKED, _PIECE = b"/ObjStm", 1 << 20
_CRYPT_FILTERS = 4  #: the first algorithm (/V, table 20) that names its methods; before it there was RC4 alone
_MOST_SECTIONS = 500
_LINEAR = b"/Linearized"
_FIRST_PAGE_SECTIONS = 1  #: a linearized file (annex F) has a section of its own for the first page


@frozen
class Sections:
    """The cross-reference sections, followed from the last one back."""

    kind: str  #: ``"table"``, ``"stream"``, ``"hybrid"``
    count: int


def header_version(header: bytes) -> str:
    """The version that the first line states, ``""`` without one."""
    found = _HEADER.search(header)
    return found[1].decode() if found else ""


def catalog_version(pdf: pikepdf.Pdf) -> str | None:
    return name(entry(pdf.Root, "/Version")) or None


def sections(path: Path) -> Sections | None:
    """How the objects of a file are listed, and how often; ``None`` where the chain cannot be followed.

    The library keeps neither, so the few bytes at each section are read here.
    """
    try:
        with path.open("rb") as handle:
            size = handle.seek(0, 2)
            start = max(handle.read(1024).find(b"%PDF-"), 0) if handle.seek(0) == 0 else 0
            handle.seek(max(size - _TAIL, 0))
            places = _START.findall(handle.read())
            if not places:
                return None
            place, seen, tables, streams, hybrid = int(places[-1]), set[int](), 0, 0, False
            while place not in seen and len(seen) < _MOST_SECTIONS:
                seen.add(place)
                handle.seek(start + place)
                head = handle.read(_DICTIONARY)
                if head.lstrip()[:4] == b"xref":
                    # the entries stand before the trailer: 20 bytes each, of any number
                    while b"trailer" not in head[-_DICTIONARY - 16 :] and (more := handle.read(1 << 16)):
                        head = head[-16:] + more
                    said = head.partition(b"trailer")[2]
                    said += handle.read(_DICTIONARY)
                    said = said[:_DICTIONARY].partition(b"startxref")[0]
                    tables += 1
                    hybrid = hybrid or bool(_BESIDE.search(said))
                elif _STREAM_HEAD.match(head):
                    said = head.partition(b"stream")[0]
                    streams += 1
                else:
                    return None
                before = _PREVIOUS.search(said)
                if not before:
                    break
                place = int(before[1])
    except (OSError, ValueError, OverflowError):
        return None
    kind = "hybrid" if hybrid or (tables and streams) else "stream" if streams else "table"
    return Sections(kind, len(seen))


def updates(header: bytes, found: Sections | None) -> int:
    """How often the file was added to after it was first written.

    A file that was linearized at first keeps its two sections when something is added, though it is linear no more.
    """
    if found is None:
        return 0
    return max(found.count - 1 - (_FIRST_PAGE_SECTIONS if _LINEAR in header else 0), 0)


def has_object_streams(path: Path, found: Sections | None) -> bool:
    """Whether objects stand packed in streams (7.5.7), which only a cross-reference stream can list.

    Their dictionaries stand open in the file, encrypted or not; the library would list a hundred thousand objects.
    """
    if found is not None and found.kind == "table":
        return False
    try:
        with path.open("rb") as handle:
            before = b""
            while piece := handle.read(_PIECE):
                if _PACKED in before + piece:
                    return True
                before = piece[-len(_PACKED) :]
    except OSError:
        pass
    return False


def encryption_of(pdf: pikepdf.Pdf) -> tuple[str | None, tuple[str, ...]]:
    """The lock in words, and what whoever set it does not permit (table 22)."""
    if not pdf.is_encrypted:
        return None, ()
    lock, may = pdf.encryption, pdf.allow
    method = "rc4" if lock.V < _CRYPT_FILTERS else str(lock.stream_method.name).lower()
    kind = {"rc4": "RC4", "aes": "AES", "aesv3": "AES", "none": "no method"}.get(method, "unknown method")
    forbidden = {
        "printing": not may.print_lowres,
        "printing at full quality": may.print_lowres and not may.print_highres,
        "changing": not may.modify_other,
        "copying": not may.extract,
        "adding remarks": not may.modify_annotation,
        "filling in forms": not may.modify_form,
        "putting pages together": not may.modify_assembly,
    }
    return f"{kind}, {lock.bits} bits", tuple(what for what, is_so in forbidden.items() if is_so)
