# SPDX-License-Identifier: AGPL-3.0-or-later
"""PDF files written byte by byte, so that they may be as wrong as a test wants them."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from pathlib import Path

#: 140 x 216 mm in points, the trim of the books here
WIDE_PT, HIGH_PT = 396.85, 612.28
MEDIA = f"/MediaBox [0 0 {WIDE_PT} {HIGH_PT}] /TrimBox [0 0 {WIDE_PT} {HIGH_PT}]".encode()


class Raw:
    """Objects by number; ``save`` writes them with a table and a trailer, as they are."""

    def __init__(self) -> None:
        self.objects: dict[int, bytes] = {}
        self.last = 0

    def new(self) -> int:
        """A number for an object that is put in later."""
        self.last += 1
        return self.last

    def put(self, number: int, body: bytes) -> int:
        self.objects[number] = body
        return number

    def add(self, body: bytes) -> int:
        return self.put(self.new(), body)

    def stream(self, data: bytes, entries: bytes = b"", number: int | None = None) -> int:
        """A stream as it stands, of its true length."""
        body = b"<< %s /Length %d >>\nstream\n%s\nendstream" % (entries, len(data), data)
        return self.put(number or self.new(), body)

    def flate(self, data: bytes, entries: bytes = b"", number: int | None = None) -> int:
        return self.stream(zlib.compress(data, 9), entries + b" /Filter /FlateDecode", number)

    def form(self, data: bytes, entries: bytes = b"", number: int | None = None) -> int:
        """A form XObject over the whole page."""
        own = b"/Type /XObject /Subtype /Form /BBox [0 0 400 620] " + entries
        return self.stream(data, own, number)

    def save(self, path: Path, root: int, trailer: bytes = b"", version: bytes = b"1.7") -> Path:
        out = bytearray(b"%PDF-" + version + b"\n%\xe2\xe3\xcf\xd3\n")
        places = {}
        for number, body in sorted(self.objects.items()):
            places[number] = len(out)
            out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
        start = len(out)
        count = max(self.objects) + 1
        out += b"xref\n0 %d\n0000000000 65535 f \n" % count
        for number in range(1, count):
            out += b"%010d 00000 n \n" % places[number] if number in places else b"0000000000 65535 f \n"
        out += b"trailer\n<< /Size %d /Root %d 0 R %s >>\nstartxref\n%d\n%%%%EOF\n" % (count, root, trailer, start)
        path.write_bytes(out)
        return path


def plain_page(raw: Raw, tree: int, number: int, boxes: bytes = MEDIA) -> int:
    """A sound page: a block at a height of its own, so that no two pages are alike."""
    content = raw.stream(b"0 g 60 %d 200 40 re f" % (80 + 20 * (number % 20)))
    return raw.add(b"<< /Type /Page /Parent %d 0 R %s /Resources << >> /Contents %d 0 R >>" % (tree, boxes, content))


def bound(
    path: Path,
    raw: Raw,
    *,
    content: int | None = None,
    resources: bytes = b"",
    page: bytes = b"",
    catalog: bytes = b"",
    trailer: bytes = b"",
    pages: int = 8,
    media: bytes = MEDIA,
    others: bytes = MEDIA,
) -> Path:
    """A book of ``pages`` pages whose third is the hostile one: its content, resources and further entries as given.

    ``others``: the boxes of the other pages.
    """
    tree = raw.new()
    kids = []
    for number in range(1, pages + 1):
        if number == 3:
            stream = b"/Contents %d 0 R" % content if content is not None else b""
            kids.append(
                raw.add(
                    b"<< /Type /Page /Parent %d 0 R %s %s /Resources << %s >> %s >>"
                    % (tree, media, stream, resources, page)
                )
            )
        else:
            kids.append(plain_page(raw, tree, number, others))
    raw.put(tree, b"<< /Type /Pages /Count %d /Kids [%s] >>" % (pages, references(kids)))
    root = raw.add(b"<< /Type /Catalog /Pages %d 0 R %s >>" % (tree, catalog))
    return raw.save(path, root, trailer)


def references(numbers: Sequence[int]) -> bytes:
    return b" ".join(b"%d 0 R" % number for number in numbers)


_PIECE = 1 << 20


def zeros(size: int) -> bytes:
    """Flate data that unpack to so many bytes of nothing, made without unpacking anything."""
    return repeated(b"\0" * _PIECE, size // _PIECE)


def repeated(piece: bytes, times: int) -> bytes:
    """Flate data of ``piece`` over and over.

    A block that is flushed whole refers to nothing before it, so that it may stand any number of times.  The sum at the
    end is that of the data, reckoned block by block.
    """
    at_once = max(1, _PIECE // len(piece))
    block = piece * at_once
    machine = zlib.compressobj(9, wbits=-15)
    packed = machine.compress(block) + machine.flush(zlib.Z_FULL_FLUSH)
    count, left = divmod(times, at_once)
    last = zlib.compressobj(9, wbits=-15)
    end = last.compress(piece * left) + last.flush()
    low, high = 1, 0
    for part, often in ((block, count), (piece * left, 1)):
        # Adler (RFC 1950, 8.2): of one part, then as often as it stands, by sums of a series
        total, weighted = _sums(part)
        size = len(part)
        high = (high + often * size * low + often * weighted + size * total * (often * (often - 1) // 2)) % 65521
        low = (low + often * total) % 65521
    return b"\x78\xda" + packed * count + end + (high << 16 | low).to_bytes(4, "big")


def _sums(part: bytes) -> tuple[int, int]:
    """What a part adds to the two sums of Adler, begun at nothing."""
    start = zlib.adler32(part, 0)
    return start & 0xFFFF, start >> 16
