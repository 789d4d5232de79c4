# SPDX-License-Identifier: AGPL-3.0-or-later
"""PDF files written byte by byte, so that they may be as wrong as a test wants them."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from pathlib import Path

#: 140 x 216 mm in points, the trim of the books here
WIDE_PT, HIGH_PT = 396.85, 612.28
MEDIA = f"/MediaBox [0 0 {WIDE_PT} {HIGH_PT}]".encode()


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


def text_page(raw: Raw, tree: int, font: int, words: str) -> int:
    """A page with a line of type."""
    content = raw.stream(b"BT /F 10 Tf 60 500 Td (%s) Tj ET" % words.encode("ascii"))
    return raw.add(
        b"<< /Type /Page /Parent %d 0 R %s /Resources << /Font << /F %d 0 R >> >> /Contents %d 0 R >>"
        % (tree, MEDIA, font, content)
    )


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
) -> Path:
    """A book of ``pages`` pages whose third is the hostile one: its content, resources and further entries as given."""
    tree, font = raw.new(), raw.add(b"<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>")
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
            kids.append(text_page(raw, tree, font, f"Lantern Row, leaf {number}"))
    raw.put(tree, b"<< /Type /Pages /Count %d /Kids [%s] >>" % (pages, references(kids)))
    root = raw.add(b"<< /Type /Catalog /Pages %d 0 R %s >>" % (tree, catalog))
    return raw.save(path, root, trailer)


def references(numbers: Sequence[int]) -> bytes:
    return b" ".join(b"%d 0 R" % number for number in numbers)


_PIECE = 1 << 20


def zeros(size: int, byte: bytes = b"\0", level: int = 9) -> bytes:
    """Flate data that unpack to so many bytes alike, made without ever holding them."""
    machine, out = zlib.compressobj(level), []
    piece = byte * _PIECE
    while size > 0:
        out.append(machine.compress(piece[: min(size, _PIECE)]))
        size -= _PIECE
    return b"".join([*out, machine.flush()])


def repeated(piece: bytes, times: int) -> bytes:
    """Flate data of ``piece`` over and over, made without ever holding all of it."""
    machine, out = zlib.compressobj(9), []
    at_once = max(1, _PIECE // len(piece))
    while times > 0:
        out.append(machine.compress(piece * min(times, at_once)))
        times -= at_once
    return b"".join([*out, machine.flush()])
