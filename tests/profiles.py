# SPDX-License-Identifier: AGPL-3.0-or-later
"""Small ICC profiles made by hand (ISO 15076-1, 7 to 10), sound and broken, for tests of every room.

cmyk_profile()                                   an output profile for four inks, 4 kB
cmyk_profile(leave_out=("A2B0",))                one that lacks a table
matrix_profile("RGB")                            a screen's
"""

from __future__ import annotations

import struct
from collections.abc import Sequence


def _padded(body: bytes) -> bytes:
    return body + b"\0" * (-len(body) % 4)


def _fixed(value: float) -> bytes:
    return struct.pack(">i", round(value * 65536))


def _xyz(x: float, y: float, z: float) -> bytes:
    return b"XYZ \0\0\0\0" + _fixed(x) + _fixed(y) + _fixed(z)


def _text(words: str) -> bytes:
    return b"text\0\0\0\0" + words.encode("ascii") + b"\0"


def description(words: str, version: int = 2) -> bytes:
    """textDescriptionType of version 2 (ICC.1:1998-09, 6.5.16), multiLocalizedUnicodeType of version 4 (10.15)."""
    if version < 4:
        raw = words.encode("ascii") + b"\0"
        return b"desc\0\0\0\0" + struct.pack(">I", len(raw)) + raw + b"\0" * 78
    german, raw = "Anders".encode("utf-16-be"), words.encode("utf-16-be")
    rows = b"deDE" + struct.pack(">II", len(german), 40) + b"enGB" + struct.pack(">II", len(raw), 40 + len(german))
    return b"mluc\0\0\0\0" + struct.pack(">II", 2, 12) + rows + german + raw


def table(inputs: int, outputs: int, corners: Sequence[tuple[int, ...]]) -> bytes:
    """lut8Type (10.11) of two grid points an axis: the colour at every corner, first channel slowest."""
    unit = b"".join(_fixed(v) for v in (1, 0, 0, 0, 1, 0, 0, 0, 1))
    line = bytes(range(256))
    grid = b"".join(bytes(corner) for corner in corners)
    return b"mft1\0\0\0\0" + bytes((inputs, outputs, 2, 0)) + unit + line * inputs + grid + line * outputs


def _inks_to_lab() -> bytes:
    corners = []
    for n in range(16):
        c, m, y, k = n >> 3 & 1, n >> 2 & 1, n >> 1 & 1, n & 1
        light = max(0, 245 - 90 * c - 100 * m - 20 * y) * (1 - k) + 10 * k
        corners.append((light, 128 + (60 * (m - c)) * (1 - k), 128 + (60 * y - 40 * c) * (1 - k)))
    return table(4, 3, corners)


def _lab_to_inks() -> bytes:
    dark, light = (0, 0, 0, 255), (0, 0, 0, 0)
    return table(3, 4, [dark] * 4 + [light] * 4)


def assembled(
    tags: dict[str, bytes], *, device_class: str, space: str, pcs: str, version: tuple[int, int] = (2, 1)
) -> bytes:
    """Header (7.2), table of tags (7.3) and their data."""
    start = 128 + 4 + 12 * len(tags)
    rows, data = b"", b""
    for tag, body in tags.items():
        rows += tag.ljust(4).encode("ascii") + struct.pack(">II", start + len(data), len(body))
        data += _padded(body)
    header = bytearray(128)
    struct.pack_into(">I", header, 0, start + len(data))
    header[8], header[9] = version[0], version[1] << 4
    header[12:16], header[16:20], header[20:24] = (v.ljust(4).encode("ascii") for v in (device_class, space, pcs))
    struct.pack_into(">6H", header, 24, 2024, 2, 29, 12, 0, 0)
    header[36:40] = b"acsp"
    header[68:80] = _fixed(0.9642) + _fixed(1.0) + _fixed(0.8249)
    return bytes(header) + struct.pack(">I", len(tags)) + rows + data


def cmyk_profile(
    words: str = "Lantern Row, coated",
    *,
    version: tuple[int, int] = (2, 1),
    device_class: str = "prtr",
    leave_out: tuple[str, ...] = (),
) -> bytes:
    """Four inks, coarse and sound."""
    tags = {
        "desc": description(words, version[0]),
        "cprt": _text("none") if version[0] < 4 else description("none", 4),
        "wtpt": _xyz(0.9642, 1.0, 0.8249),
        "A2B0": _inks_to_lab(),
        "B2A0": _lab_to_inks(),
    }
    kept = {tag: body for tag, body in tags.items() if tag not in leave_out}
    return assembled(kept, device_class=device_class, space="CMYK", pcs="Lab", version=version)


def matrix_profile(
    space: str = "RGB",
    words: str = "Lantern Row, screen",
    *,
    device_class: str = "mntr",
    version: tuple[int, int] = (2, 1),
) -> bytes:
    """Three primaries (sRGB's, D50) or grey, with a gamma of 2.2."""
    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(2.2 * 256))
    tags = {
        "desc": description(words, version[0]),
        "cprt": _text("none") if version[0] < 4 else description("none", 4),
        "wtpt": _xyz(0.9642, 1.0, 0.8249),
    }
    if space == "GRAY":
        tags["kTRC"] = curve
    else:
        primaries = {"r": (0.4361, 0.2225, 0.0139), "g": (0.3851, 0.7169, 0.0971), "b": (0.1431, 0.0606, 0.7141)}
        tags |= {f"{one}XYZ": _xyz(*place) for one, place in primaries.items()}
        tags |= {f"{one}TRC": curve for one in primaries}
    return assembled(tags, device_class=device_class, space=space, pcs="XYZ", version=version)
