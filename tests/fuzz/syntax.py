# SPDX-License-Identifier: AGPL-3.0-or-later
"""A PDF taken apart into objects that may be written wrong: trees of tokens, and the streams as they are coded.

A library that writes PDFs mends what it writes.  Here every object is text: names may stand twice in a dictionary, a
number may be ``NaN``, a length may lie, a cross-reference may point anywhere.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

import pikepdf


@dataclass
class Atom:
    """A number, a name, a string, a reference or a word, as written."""

    text: bytes


@dataclass
class Array:
    items: list[Node]


@dataclass
class Dict:
    """Keys and values in their order; a key may stand there twice."""

    entries: list[tuple[bytes, Node]]

    def get(self, key: bytes) -> Node | None:
        return next((value for name, value in self.entries if name == key), None)

    def put(self, key: bytes, value: Node) -> None:
        for index, (name, _) in enumerate(self.entries):
            if name == key:
                self.entries[index] = (key, value)
                return
        self.entries.append((key, value))

    def drop(self, *keys: bytes) -> None:
        self.entries = [(name, value) for name, value in self.entries if name not in keys]


Node = Atom | Array | Dict

_TOKEN = re.compile(
    rb"<<|>>|[\[\]{}]|/[^\s\x00()<>\[\]{}/%]*|<[0-9A-Fa-f\s]*>|\d+\s\d+\sR(?![A-Za-z0-9])|[^\s\x00()<>\[\]{}/%]+"
)
_SPACE = re.compile(rb"[\s\x00]+|%[^\r\n]*")
REFERENCE = re.compile(rb"(\d+) (\d+) R")
NUMBER = re.compile(rb"[+-]?(\d+\.?\d*|\.\d+)")


def tokens(data: bytes) -> Iterator[tuple[int, int]]:
    """Start and end of each token; what is no token is one of a single byte."""
    place, end = 0, len(data)
    while place < end:
        if space := _SPACE.match(data, place):
            place = space.end()
            continue
        start = place
        if data[place] == 0x28:
            place = _string_end(data, place)
        elif token := _TOKEN.match(data, place):
            place = token.end()
        else:
            place += 1
        yield start, place


def _string_end(data: bytes, place: int) -> int:
    depth = 0
    while place < len(data):
        sign = data[place]
        if sign == 0x5C:
            place += 1
        elif sign == 0x28:
            depth += 1
        elif sign == 0x29:
            depth -= 1
            if not depth:
                return place + 1
        place += 1
    return len(data)


def parsed(text: bytes) -> Node:
    """The tree of one object, written soundly."""
    found = [text[start:end] for start, end in tokens(text)]
    node, _ = _node(found, 0)
    return node


def _node(found: list[bytes], at: int) -> tuple[Node, int]:
    token = found[at]
    if token == b"[":
        items: list[Node] = []
        at += 1
        while found[at] != b"]":
            node, at = _node(found, at)
            items.append(node)
        return Array(items), at + 1
    if token == b"<<":
        entries: list[tuple[bytes, Node]] = []
        at += 1
        while found[at] != b">>":
            key = found[at]
            node, at = _node(found, at + 1)
            entries.append((key, node))
        return Dict(entries), at + 1
    return Atom(token), at + 1


def written(node: Node) -> bytes:
    match node:
        case Atom(text):
            return text
        case Array(items):
            return b"[ " + b" ".join(map(written, items)) + b" ]"
        case Dict(entries):
            return b"<< " + b"".join(key + b" " + written(value) + b"\n" for key, value in entries) + b">>"


def holders(node: Node) -> Iterator[Array | Dict]:
    """All arrays and dictionaries of a tree, itself first."""
    if isinstance(node, Atom):
        return
    yield node
    for inner in node.items if isinstance(node, Array) else [value for _, value in node.entries]:
        yield from holders(inner)


@dataclass
class Part:
    """One indirect object."""

    number: int
    node: Node
    #: the bytes of the stream as coded, ``None`` for what is no stream
    stream: bytes | None = None
    #: the library's object, asked for what the stream holds
    source: pikepdf.Object | None = None
    #: /Length as it is to be written where it is to be wrong
    length: bytes | None = None

    @property
    def dict(self) -> Dict | None:
        return self.node if isinstance(self.node, Dict) else None

    def plain(self) -> bytes | None:
        """What the stream says once it is decoded; ``None`` where nobody here can."""
        if self.source is None or self.stream is None:
            return None
        try:
            return self.source.read_bytes()
        except (pikepdf.PdfError, RuntimeError):
            return None

    def is_a(self, kind: bytes) -> bool:
        return self.dict is not None and self.dict.get(b"/Type") == Atom(kind)


@dataclass
class Raw:
    """A whole file in parts."""

    parts: list[Part]
    trailer: Dict
    version: bytes = b"1.7"
    pdf: pikepdf.Pdf | None = field(default=None, repr=False)
    #: added to the places that the cross-reference states, by object number
    astray: dict[int, int] = field(default_factory=dict)

    def of_kind(self, kind: bytes) -> list[Part]:
        return [part for part in self.parts if part.is_a(kind)]

    def streams(self) -> list[Part]:
        return [part for part in self.parts if part.stream is not None and part.dict is not None]

    def free_number(self) -> int:
        return max((part.number for part in self.parts), default=0) + 1

    def bytes(self) -> bytes:
        out, places = bytearray(b"%PDF-" + self.version + b"\n%\xe2\xe3\xcf\xd3\n"), {}
        for part in self.parts:
            places[part.number] = len(out) + self.astray.get(part.number, 0)
            out += b"%d 0 obj\n" % part.number
            if part.stream is not None and isinstance(part.node, Dict):
                part.node.put(b"/Length", Atom(part.length or b"%d" % len(part.stream)))
                out += written(part.node) + b"\nstream\n" + part.stream + b"\nendstream\nendobj\n"
            else:
                out += written(part.node) + b"\nendobj\n"
        start, size = len(out), max(places, default=0) + 1
        out += b"xref\n0 %d\n0000000000 65535 f \n" % size
        for number in range(1, size):
            # twenty bytes a line (ISO 32000-1, 7.5.4), whatever the place is made of
            out += b"%010d 00000 %c \n" % (max(0, places.get(number, 0)), b"n" if number in places else b"f")
        if self.trailer.get(b"/Size") is None:
            self.trailer.put(b"/Size", Atom(b"%d" % size))
        out += b"trailer\n" + written(self.trailer) + b"\nstartxref\n%d\n%%%%EOF\n" % start
        return bytes(out)


def taken_apart(data: bytes) -> Raw:
    """A sound file in parts, its object streams undone.

    Raises:
        pikepdf.PdfError: it is none.
    """
    pdf = pikepdf.open(io.BytesIO(data), suppress_warnings=True, inherit_page_attributes=False)
    parts = []
    for one in pdf.objects:
        if not isinstance(one, pikepdf.Object):
            continue
        number = one.objgen[0]
        if isinstance(one, pikepdf.Stream):
            if one.get("/Type") in ("/XRef", "/ObjStm"):
                continue
            node = parsed(one.stream_dict.unparse(resolved=True))
            parts.append(Part(number, node, one.read_raw_bytes(), one))
        elif number:
            parts.append(Part(number, parsed(one.unparse(resolved=True))))
    trailer = parsed(pdf.trailer.unparse(resolved=True))
    if not isinstance(trailer, Dict):
        raise pikepdf.PdfError("no trailer")
    # what belongs to a cross-reference stream alone, and what ties the file to its old places (7.5.5, 7.5.8)
    trailer.entries = [(key, value) for key, value in trailer.entries if key in (b"/Root", b"/Info", b"/ID")]
    version = pdf.pdf_version.encode("ascii", "replace")
    return Raw(parts, trailer, version, pdf)
