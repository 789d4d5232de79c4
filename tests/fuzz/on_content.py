# SPDX-License-Identifier: AGPL-3.0-or-later
"""Damage inside streams that are coded soundly again, so that it reaches what interprets them: operators of content,
font programs, colour profiles, samples, functions, character maps."""

from __future__ import annotations

import re
import zlib
from collections.abc import Callable
from random import Random

from tests.fuzz.on_objects import EXTREMES
from tests.fuzz.syntax import NUMBER, REFERENCE, Array, Atom, Part, Raw, tokens

Content = Callable[[Random, Raw], None]

#: operators of ISO 32000-1, annex A
OPERATORS = (
    b"b b* B B* BDC BI BMC BT BX c cm CS cs d d0 d1 Do DP EI EMC ET EX f F f* G g gs h i ID j J K k l m M MP n q Q re "
    b"RG rg ri s S SC sc SCN scn sh T* Tc Td TD Tf Tj TJ TL Tm Tr Ts Tw Tz v w W W* y ' \""
).split()

_WORD = re.compile(rb"[A-Za-z'\"*][A-Za-z0-9*'\"]*")
_INLINE_END = re.compile(rb"\sEI(?=\s|$)")

#: never more than this many bytes of content, however often an operator is repeated
_MOST = 400_000

_INSERTS = (
    b"q", b"Q", b"Q Q Q", b"BT", b"ET", b"BT BT", b"W n", b"0 0 0 0 re W n", b"h f", b"BX", b"EX", b"EMC", b"/P BMC",
    b"0 0 0 0 0 0 cm", b"1e38 0 0 1e38 0 0 cm", b"1 0 0 1 1e30 1e30 cm", b"1000000 w", b"[0 0] 0 d", b"[-1] 0 d",
    b"0 Tz", b"1e9 Tc", b"3 Tr", b"7 Tr", b"99 Tr", b"/F1 0 Tf", b"/F1 1e9 Tf", b"/Nothing 12 Tf", b"/Nothing Do",
    b"/Nothing gs", b"/Nothing sh", b"/Pattern cs /Nothing scn", b"/Nothing cs 1 scn", b"-5 300 m 1e6 l S",
    b"BI /W 99999 /H 99999 /BPC 8 /CS /G ID x EI", b"BI /W 1 /H 1 /BPC 1 /IM true ID \xff EI", b"BI ID EI",
    b"0 0 1e5 1e5 re f*", b"0.5 0.5 0.5 rg 10 10 m 20 20 30 30 40 40 c b*", b"<", b"(", b"[", b"<<", b">>", b"}", b"%",
    b"0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 0 sc", b"2 0 0 rg", b"-1 g", b"9 9 9 9 k",
)  # fmt: skip


def instructions(data: bytes) -> list[bytes]:
    """Content cut after each operator; a picture in line stays whole."""
    out, start, skip = [], 0, 0
    for begin, end in tokens(data):
        if begin < skip:
            continue
        word = data[begin:end]
        if not _WORD.fullmatch(word) or word in (b"true", b"false", b"null", b"BI"):
            continue
        if word == b"ID" and (over := _INLINE_END.search(data, end)):
            end = skip = over.end()
        out.append(data[start:end])
        start = end
    return [*out, data[start:]] if start < len(data) else out


def _content_parts(raw: Raw) -> list[Part]:
    """Streams of content: of pages, forms, patterns, glyphs."""
    named: set[int] = set()
    for page in raw.of_kind(b"/Page"):
        held = page.dict.get(b"/Contents") if page.dict else None
        for atom in held.items if isinstance(held, Array) else [held]:
            if isinstance(atom, Atom) and (reference := REFERENCE.fullmatch(atom.text)):
                named.add(int(reference[1]))
    found = []
    for part in raw.streams():
        assert part.dict is not None
        form = part.dict.get(b"/Subtype") == Atom(b"/Form") or part.dict.get(b"/PatternType") == Atom(b"1")
        if part.number in named or form:
            found.append(part)
    return found


def _coded(part: Part, data: bytes) -> None:
    assert part.dict is not None
    part.stream, part.source = zlib.compress(data, 1), None
    part.dict.drop(b"/Filter", b"/DecodeParms", b"/F", b"/FFilter")
    part.dict.put(b"/Filter", Atom(b"/FlateDecode"))


def operators(rng: Random, raw: Raw) -> None:
    """Operators dropped, repeated, exchanged, out of order, among others, with odd operands."""
    for part in _content_parts(raw):
        data = part.plain()
        if data is None or len(data) > _MOST or rng.random() < 0.2:
            continue
        lines = instructions(data)
        for _ in range(rng.choice((1, 2, 4, 12))):
            if not lines:
                lines = [b"q"]
            at = rng.randrange(len(lines))
            match rng.randrange(9):
                case 0:
                    del lines[at : at + rng.choice((1, 1, 2, 10))]
                case 1:
                    lines[at:at] = [lines[at]] * rng.choice((1, 2, 30, min(3000, _MOST // (len(lines[at]) + 1))))
                case 2:
                    window = lines[at : at + rng.choice((3, 10, 200))]
                    rng.shuffle(window)
                    lines[at : at + len(window)] = window
                case 3:
                    other = rng.randrange(len(lines))
                    lines[at], lines[other] = lines[other], lines[at]
                case 4:
                    lines[at] = _odd_operand(rng, lines[at])
                case 5:
                    lines[at] = re.sub(rb"[A-Za-z'\"*]+$", lambda _: rng.choice(OPERATORS), lines[at])
                case 6:
                    lines.insert(at, b"\n" + rng.choice(_INSERTS) + b"\n")
                case 7:
                    lines[at:at] = [b"\n" + rng.choice((b"q", b"BT", b"/P BMC", b"BX", b"[", b"0 0 m", b"W"))] * 300
                case _:
                    lines = lines[:at]
        _coded(part, b"".join(line if line[:1].isspace() else b" " + line for line in lines)[: 4 * _MOST])


def _odd_operand(rng: Random, line: bytes) -> bytes:
    found = [(start, end) for start, end in tokens(line) if NUMBER.fullmatch(line, start, end)]
    if not found:
        return line[::-1]
    start, end = rng.choice(found)
    return line[:start] + rng.choice(EXTREMES) + line[end:]


def payloads(rng: Random, raw: Raw) -> None:
    """Bytes of fonts, profiles, pictures, functions and maps, the coding round them sound."""
    content = {part.number for part in _content_parts(raw)}
    found = [part for part in raw.streams() if part.number not in content and part.stream]
    for part in rng.sample(found, min(len(found), rng.choice((1, 2, 5)))):
        data = part.plain()
        assert part.dict is not None and part.stream is not None
        if data is None or len(data) > 1_500_000:
            # coded for pictures: what is in there is what its decoder reads
            part.stream = _spoilt(rng, part.stream)
        else:
            _coded(part, _spoilt(rng, data))


def _spoilt(rng: Random, data: bytes) -> bytes:
    if not data:
        return b"\0"
    out = bytearray(data)
    match rng.randrange(5):
        case 0:
            return bytes(out[: rng.randrange(len(out))])
        case 1:
            at = rng.randrange(len(out))
            out[at:at] = out[: rng.choice((1, 100))] * rng.choice((1, 30))
        case 2:
            # four bytes that are a length or a place in most formats: profiles, fonts, boxes of JPEG 2000
            at = rng.randrange(min(len(out), 400))
            out[at : at + 4] = rng.choice((b"\0\0\0\0", b"\xff\xff\xff\xff", b"\x7f\xff\xff\xff", b"\x80\0\0\0"))
        case _:
            for _ in range(rng.choice((1, 3, 10, 60))):
                out[rng.randrange(len(out))] = rng.randrange(256)
    return bytes(out)


def in_itself(rng: Random, raw: Raw) -> None:
    """A form that paints itself, or another that paints it."""
    forms = [p for p in _content_parts(raw) if p.dict and p.dict.get(b"/Subtype") == Atom(b"/Form")]
    if not forms:
        return operators(rng, raw)
    part, other = rng.choice(forms), rng.choice(forms)
    data = part.plain()
    if data is None or part.dict is None:
        return None
    part.dict.put(b"/Resources", _resources_with(other.number))
    return _coded(part, data[:_MOST] + b"\n/Again Do /Again Do\n")


def _resources_with(number: int) -> Atom:
    return Atom(b"<< /XObject << /Again %d 0 R >> >>" % number)


MUTATORS: tuple[Content, ...] = (operators, operators, operators, payloads, payloads, in_itself)
