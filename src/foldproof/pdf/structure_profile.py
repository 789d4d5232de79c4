# SPDX-License-Identifier: AGPL-3.0-or-later
"""ICC profiles (ISO 15076-1, 7) by their header and tag table, and the output intents of a file (ISO 32000-1, 14.11.5).

A profile is read as far as a press needs it: what kind of device it is for, in which colours, whether it is whole.
"""

from __future__ import annotations

import struct
from typing import Any

import pikepdf

from foldproof.manuscript.file_facts import Intent, Profile
from foldproof.pdf.structure_objects import entry, keys_of, members, name, object_id, plain, text, whole

#: a profile of a press is some 0.5 to 3 MB; a longer stream is not opened
LONGEST_PROFILE = 64_000_000

#: channels of a data colour space (ISO 15076-1, table 19)
COMPONENTS = {
    "XYZ": 3, "Lab": 3, "Luv": 3, "YCbr": 3, "Yxy": 3, "RGB": 3, "HSV": 3, "HLS": 3, "CMY": 3,
    "GRAY": 1, "CMYK": 4, **{f"{channels:X}CLR": channels for channels in range(2, 16)},
}  # fmt: skip
#: profile classes (table 18)
CLASSES = frozenset({"scnr", "mntr", "prtr", "link", "spac", "abst", "nmcl"})
_PCS = frozenset({"XYZ", "Lab"})
_HEADER, _ENTRY = 128, 12
#: more tags than this no profile has; the registry of tags counts some 60
_MOST_TAGS = 1000


def profile_of(stream: Any) -> Profile | None:
    """The profile in a stream such as /DestOutputProfile or the second part of an ICCBased space; ``None`` for none.

    A stream that cannot be decoded is a profile that is not valid.
    """
    if not isinstance(stream, pikepdf.Stream):
        return None
    if whole(entry(stream, "/Length"), 0) > LONGEST_PROFILE:
        return Profile(valid=False, why=f"it is longer than {LONGEST_PROFILE // 1_000_000} MB")
    try:
        data = stream.read_bytes()
    except (pikepdf.PdfError, RuntimeError, ValueError, MemoryError):
        return Profile(valid=False, why="its stream cannot be decompressed")
    return read_profile(data)


def read_profile(data: bytes) -> Profile:
    """Header and tag table of a profile.

    Valid is one whose signature is right, that is as long as it says (bytes after it are left alone), whose class and
    colour spaces are known and whose tags lie within it; a CMYK output profile has the tables that turn its inks
    into colours and back (ISO 15076-1, 8.5.2: AToB0 and BToA0 at the least).
    """
    if len(data) < _HEADER + 4:
        return Profile(valid=False, why=f"it is {len(data)} bytes long, less than a header")
    device_class, space, pcs = _signature(data[12:16]), _signature(data[16:20]), _signature(data[20:24])
    tags = _tags(data)
    why = _wrong(data, device_class, space, pcs, tags)
    if data[36:40] != b"acsp":  # nothing of it can be believed
        return Profile(valid=False, why=why)
    return Profile(
        valid=not why,
        why=why,
        version=f"{data[8]}.{data[9] >> 4}",  # 7.2.4: the minor version is the high half of the second byte
        device_class=device_class,
        space=space,
        description=_description(data, tags or {}),
        components=COMPONENTS.get(space, 0),
    )


def _wrong(data: bytes, device_class: str, space: str, pcs: str, tags: dict[str, tuple[int, int]] | None) -> str:
    """Why it is no sound profile, ``""`` when it is."""
    if data[36:40] != b"acsp":
        return 'the signature "acsp" is missing'
    (size,) = struct.unpack_from(">I", data, 0)
    if size > len(data):
        return f"it is cut short: {size} bytes are stated, {len(data)} are there"
    if size < _HEADER + 4:
        return f"it states a length of {size} bytes, less than a header"
    if device_class not in CLASSES:
        return f'its device class "{device_class}" is unknown'
    if space not in COMPONENTS:
        return f'its colour space "{space}" is unknown'
    # a device link goes from one device to another (7.2.7)
    if device_class != "link" and pcs not in _PCS:
        return f'its connection space "{pcs}" is neither XYZ nor Lab'
    if tags is None:
        return "its table of tags is longer than the profile"
    for tag, (start, length) in tags.items():
        if start < _HEADER or start + length > size:
            return f'its tag "{tag}" lies outside the profile'
    if device_class == "prtr" and space == "CMYK" and (lacks := [one for one in ("A2B0", "B2A0") if one not in tags]):
        return f"it lacks the table {' and '.join(lacks)} between inks and colours"
    return ""


def _tags(data: bytes) -> dict[str, tuple[int, int]] | None:
    """Offset and length by tag (7.3), ``None`` when the table itself runs over the end."""
    (count,) = struct.unpack_from(">I", data, _HEADER)
    if count > _MOST_TAGS or _HEADER + 4 + count * _ENTRY > len(data):
        return None
    rows = struct.iter_unpack(">4sII", data[_HEADER + 4 : _HEADER + 4 + count * _ENTRY])
    return {_signature(tag): (start, length) for tag, start, length in rows}


def _signature(raw: bytes) -> str:
    """Four bytes of ASCII, padded with spaces (7.2.1), for people and for comparing."""
    return plain(raw.decode("latin-1"))


def _description(data: bytes, tags: dict[str, tuple[int, int]]) -> str:
    """The profile's name (9.2.41): plain ASCII in version 2, text in several languages in version 4 (10.15)."""
    start, length = tags.get("desc", (0, 0))
    body = data[start : start + length] if start >= _HEADER else b""
    if body[:4] == b"desc" and len(body) >= 12:
        (count,) = struct.unpack_from(">I", body, 8)
        return plain(body[12 : 12 + count].partition(b"\0")[0].decode("latin-1"))
    if body[:4] == b"mluc" and len(body) >= 28:
        count, row = struct.unpack_from(">II", body, 8)
        # English where there is English, else what comes first
        rows = [body[16 + row * one :][:12] for one in range(min(count, 100))] if row >= 12 else []
        whole_rows = [one for one in rows if len(one) == 12]
        for one in sorted(whole_rows, key=lambda r: r[:2] != b"en")[:1]:
            size, place = struct.unpack_from(">II", one, 4)
            return plain(body[place : place + size].decode("utf-16-be", "replace").partition("\0")[0])
    return ""


def intents_in_full(pdf: pikepdf.Pdf) -> tuple[Intent, ...]:
    """The entries of the catalog's /OutputIntents (ISO 32000-1, table 365); a shared profile is read once."""
    found: list[Intent] = []
    known: dict[tuple[int, int], Profile | None] = {}
    for one in members(entry(pdf.Root, "/OutputIntents")):
        keys = keys_of(one)
        if not keys:
            continue
        stream = one.get("/DestOutputProfile") if "/DestOutputProfile" in keys else None
        own = object_id(stream)
        if own is None or own not in known:
            profile = profile_of(stream)
            if own is not None:
                known[own] = profile
        else:
            profile = known[own]
        if stream is not None and profile is None:
            profile = Profile(valid=False, why="it is no stream")
        declared = whole(entry(stream, "/N"), -1)
        found.append(
            Intent(
                subtype=name(entry(one, "/S")),
                condition_identifier=text(entry(one, "/OutputConditionIdentifier")),
                condition=text(entry(one, "/OutputCondition")),
                registry=text(entry(one, "/RegistryName")),
                info=text(entry(one, "/Info")),
                declared_components=declared if declared >= 0 else None,
                profile=profile,
                referenced="/DestOutputProfileRef" in keys,
            )
        )
    return tuple(found)
