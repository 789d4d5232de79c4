# SPDX-License-Identifier: AGPL-3.0-or-later
"""Image XObjects (ISO 32000-1, 8.9.5) as written; of coded data only the head is read, no picture is decoded."""

from __future__ import annotations

import binascii
import zlib
from base64 import a85decode
from collections.abc import Iterable
from typing import Any

import pikepdf

from foldproof.manuscript.file_facts import ImageFact, Profile
from foldproof.pdf.coded_pictures import Bytes, Jpeg, Jpeg2000, jbig2_coding, jpeg, jpeg_2000
from foldproof.pdf.structure_colour import space_in_words
from foldproof.pdf.structure_objects import entry, keys_of, members, name, object_id, whole
from foldproof.pdf.structure_profile import profile_of
from foldproof.pdf.structure_resources import Kind, ResourceGraph

_ROLES = {Kind.IMAGE: "picture", Kind.MASK: "mask", Kind.ALTERNATE: "alternate"}
#: abbreviations that some writers use outside inline pictures too (table 94)
_SHORT = {
    "AHx": "ASCIIHexDecode", "A85": "ASCII85Decode", "LZW": "LZWDecode", "Fl": "FlateDecode", "RL": "RunLengthDecode",
    "CCF": "CCITTFaxDecode", "DCT": "DCTDecode",
}  # fmt: skip
#: of data that is packed once more, this much is unpacked: heads with large profiles in them are as long
_HEAD_BYTES = 4_000_000


def images(graph: ResourceGraph) -> tuple[ImageFact, ...]:
    """All image XObjects that pages reach, in the order in which they come to them.

    One that is used in two roles, as a picture and as the mask of another, is told once for each.
    """
    profiles: dict[tuple[int, int], Profile | None] = {}
    return tuple(
        _image(one.key, one.thing, _ROLES[one.kind], one.pages, profiles)
        for one in graph.reached(*_ROLES)
        if isinstance(one.thing, pikepdf.Stream)
    )


def _image(
    key: str, stream: Any, role: str, pages: tuple[int, ...], profiles: dict[tuple[int, int], Profile | None]
) -> ImageFact:
    keys = keys_of(stream)

    def get(*names: str) -> Any:
        return next((stream.get(one) for one in names if one in keys), None)

    mask = get("/ImageMask", "/IM") is True
    filters = _filters(get("/Filter", "/F"))
    coder = filters[-1] if filters else ""
    head = _head(stream, filters[:-1]) if coder in ("DCTDecode", "JPXDecode", "JBIG2Decode") else None
    coded: Jpeg | Jpeg2000 | None = None
    if head is not None and coder != "JBIG2Decode":
        coded = jpeg(head) if coder == "DCTDecode" else jpeg_2000(head)
    space = get("/ColorSpace", "/CS")
    alternates = members(get("/Alternates"))
    return ImageFact(
        key=key,
        width_px=whole(get("/Width", "/W"), 0) or (coded.width_px if coded else 0),
        height_px=whole(get("/Height", "/H"), 0) or (coded.height_px if coded else 0),
        bits=_bits(whole(get("/BitsPerComponent", "/BPC"), 0), coder, mask, coded),
        space="none" if mask else space_in_words(space) or _space_of(coded),
        mask=mask,
        filters=filters,
        interpolate=get("/Interpolate", "/I") is True,
        intent=name(get("/Intent")) or None,
        alternates=len(alternates),
        alternate_prints=any(entry(one, "/DefaultForPrinting") is True for one in alternates),
        opi="/OPI" in keys,
        # 8.9.5.1: JPEG 2000 may carry its own
        soft_mask=isinstance(get("/SMask"), pikepdf.Stream) or whole(get("/SMaskInData"), 0) in (1, 2),
        jpeg_quality=coded.quality if isinstance(coded, Jpeg) else None,
        profile=None if mask else _profile(space, profiles),
        pages=pages,
        role=role,
        stored_bytes=max(whole(get("/Length"), 0), 0),
        coding=jbig2_coding(*_globals(stream), head) if head is not None and coder == "JBIG2Decode" else "",
    )


def _bits(stated: int, coder: str, mask: bool, coded: Jpeg | Jpeg2000 | None) -> int:
    """Bits a sample.  A stencil has one (8.9.6.2); JPEG 2000 goes by its own head (7.4.9), a JPEG mostly too."""
    if mask:
        return 1
    if coder == "JPXDecode" and coded and coded.bits:
        return coded.bits
    if coder in ("CCITTFaxDecode", "JBIG2Decode"):
        return stated or 1
    return stated or (coded.bits if coded else 0)


def _space_of(coded: Jpeg | Jpeg2000 | None) -> str:
    """The space of a picture whose dictionary states none: only JPEG 2000 may leave it out (table 89)."""
    return (coded.space or "none") if isinstance(coded, Jpeg2000) else "none"


def _profile(space: Any, known: dict[tuple[int, int], Profile | None]) -> Profile | None:
    """The profile of a picture in an ICCBased space, also under Indexed; each is read once."""
    parts = members(space)
    if len(parts) > 1 and name(parts[0]) in ("Indexed", "I"):
        parts = members(parts[1])
    own = object_id(parts[1]) if len(parts) > 1 and name(parts[0]) == "ICCBased" else None
    if own is None:  # a stream always has an id
        return None
    if own not in known:
        known[own] = profile_of(parts[1])
    return known[own]


def _listed(thing: Any) -> Iterable[Any]:
    return members(thing) if isinstance(thing, pikepdf.Array) else [thing]


def _globals(stream: Any) -> list[Bytes]:
    """The segments that JBIG2 pictures of a file share (7.4.7)."""
    for parameters in _listed(entry(stream, "/DecodeParms")):
        shared = entry(parameters, "/JBIG2Globals")
        if isinstance(shared, pikepdf.Stream):
            data = _head(shared, _filters(entry(shared, "/Filter")))
            return [] if data is None else [data]
    return []


def _filters(stated: Any) -> tuple[str, ...]:
    return tuple(_SHORT.get(one, one) for one in map(name, _listed(stated)) if one)


def _head(stream: Any, packings: tuple[str, ...]) -> Bytes | None:
    """The coded data of a picture: as it stands, or the head of it where it is packed once more.

    The library hands out a stream only whole; it is let go of again before the next is asked for.
    """
    try:
        data: Bytes = memoryview(stream.get_raw_stream_buffer())
    except (pikepdf.PdfError, RuntimeError, ValueError):
        return None
    for packed in packings:
        unpacked = _unpacked(data, packed)
        if unpacked is None:
            return None
        data = unpacked
    return data


def _unpacked(data: Bytes, packed: str) -> bytes | None:
    try:
        match packed:
            case "FlateDecode":
                return zlib.decompressobj().decompress(data, _HEAD_BYTES)
            case "ASCII85Decode":
                return a85decode(bytes(data).split(b"~>")[0].replace(b"\0", b""))
            case "ASCIIHexDecode":
                digits = b"".join(bytes(data).split(b">")[0].split())
                return binascii.unhexlify(digits + b"0" * (len(digits) % 2))
    except (zlib.error, ValueError):  # binascii.Error is one
        return None
    return None
