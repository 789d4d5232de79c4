# SPDX-License-Identifier: AGPL-3.0-or-later
"""Damage to what the objects of a file say: numbers, names, entries, references, page boxes, streams' descriptions."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator
from random import Random

from tests.fuzz.syntax import NUMBER, REFERENCE, Array, Atom, Dict, Node, Part, Raw, holders, parsed

Objects = Callable[[Random, Raw], None]

EXTREMES = (
    b"0", b"-1", b"1", b"2", b"255", b"256", b"65535", b"65536", b"2147483647", b"2147483648", b"-2147483649",
    b"4294967296", b"9223372036854775807", b"9223372036854775808", b"-9223372036854775809", b"1e38", b"1E400", b"-0",
    b"340282346638528859811704183484516925440", b"0.0000000000000000000000001", b"-0.5", b"1.", b".5", b"--5", b"+-3",
    b"NaN", b"inf", b"1.5.5", b"0x10", b"00000000000000000000000000000001", b"1" * 400, b"32767.99999", b"-32768",
)  # fmt: skip

STANDARD_NAMES = (
    b"/Page", b"/Pages", b"/Catalog", b"/Font", b"/Type0", b"/Type1", b"/Type3", b"/TrueType", b"/CIDFontType0",
    b"/CIDFontType2", b"/Identity-H", b"/Identity-V", b"/XObject", b"/Image", b"/Form", b"/DeviceGray", b"/DeviceRGB",
    b"/DeviceCMYK", b"/CalGray", b"/CalRGB", b"/Lab", b"/ICCBased", b"/Indexed", b"/Pattern", b"/Separation",
    b"/DeviceN", b"/NChannel", b"/All", b"/None", b"/FlateDecode", b"/LZWDecode", b"/DCTDecode", b"/JPXDecode",
    b"/JBIG2Decode", b"/CCITTFaxDecode", b"/RunLengthDecode", b"/ASCII85Decode", b"/ASCIIHexDecode", b"/Crypt",
    b"/Transparency", b"/Luminosity", b"/Alpha", b"/Multiply", b"/Normal", b"/Annot", b"/Widget", b"/Link", b"/Popup",
    b"/OCG", b"/OCMD", b"/GTS_PDFX", b"/OutputIntent", b"/Metadata", b"/Length", b"/MediaBox", b"/Kids", b"/Parent",
    b"/", b"/#00", b"/A#20B", b"/" + b"N" * 300,
)  # fmt: skip

_STRINGS = (
    b"()", b"(\\376\\377\\330\\000)", b"(\\376\\377\\000)", b"<FEFF>", b"<script>alert(1)</script>", b"(\\000)",
    b"(<script>document.title=1</script>)", b"(" + b"A" * 70000 + b")", b"(\\033[2J\\007\\r\\n)", b"(../../../etc/x)",
    b"(D:99999999999999)", b"(D:20240230256199Z)", b"(\\377\\376A\\000)", b"(\\357\\273\\277\\303)",
    b"(\\342\\200\\256)",
)  # fmt: skip

_FILTERS = (
    b"/FlateDecode", b"/LZWDecode", b"/DCTDecode", b"/JPXDecode", b"/JBIG2Decode", b"/CCITTFaxDecode", b"/Crypt",
    b"/RunLengthDecode", b"/ASCII85Decode", b"/ASCIIHexDecode", b"/Nonsense", b"null", b"[]", b"17",
    b"[ /FlateDecode /FlateDecode ]", b"[ /ASCII85Decode /FlateDecode ]", b"[" + b" /FlateDecode" * 60 + b" ]",
)  # fmt: skip

_PARMS = (
    b"<< /Predictor 15 /Columns 2147483647 /Colors 32 /BitsPerComponent 16 >>", b"<< /Predictor 2 /Columns 0 >>",
    b"<< /Predictor 12 /Columns -1 >>", b"<< /Predictor 99 >>", b"<< /EarlyChange 7 >>", b"[ null null null ]", b"17",
    b"<< /K -1 /Columns 2147483647 /Rows 2147483647 >>", b"<< /Predictor 10 /Colors 1000000 /Columns 1000000 >>",
    b"<< /Name /Identity >>", b"<< /ColorTransform NaN >>",
)  # fmt: skip

BOXES = (b"/MediaBox", b"/CropBox", b"/TrimBox", b"/BleedBox", b"/ArtBox")


def atoms(raw: Raw) -> list[Atom]:
    """Every token of every object."""
    found = []
    for part in raw.parts:
        for holder in holders(part.node):
            values = holder.items if isinstance(holder, Array) else [value for _, value in holder.entries]
            found += [value for value in values if isinstance(value, Atom)]
    return found


def _some(rng: Random, found: list[Atom]) -> Iterator[Atom]:
    yield from rng.sample(found, min(len(found), rng.choice((1, 1, 2, 5))))


def numbers(rng: Random, raw: Raw) -> None:
    for atom in _some(rng, [a for a in atoms(raw) if NUMBER.fullmatch(a.text)]):
        if rng.random() < 0.7:
            atom.text = rng.choice(EXTREMES)
        else:
            atom.text = b"%g" % (float(atom.text) * rng.choice((-1, 0.001, 0.5, 1.01, 2, 1000)))


def names(rng: Random, raw: Raw) -> None:
    found = [a for a in atoms(raw) if a.text.startswith(b"/")]
    own = sorted({a.text for a in found})
    for atom in _some(rng, found):
        atom.text = rng.choice(own) if rng.random() < 0.5 else rng.choice(STANDARD_NAMES)


def strings(rng: Random, raw: Raw) -> None:
    for atom in _some(rng, [a for a in atoms(raw) if a.text[:1] in (b"(", b"<")]):
        atom.text = rng.choice(_STRINGS)


def references(rng: Random, raw: Raw) -> None:
    """Pointed elsewhere: at other kinds of objects, in circles, at nothing."""
    targets = [part.number for part in raw.parts] + [0, raw.free_number(), 99999999]
    for atom in _some(rng, [a for a in atoms(raw) if REFERENCE.fullmatch(a.text)]):
        atom.text = b"%d %d R" % (rng.choice(targets), rng.choice((0, 0, 0, 0, 1)))


def circles(rng: Random, raw: Raw) -> None:
    """An object that holds itself where it held another."""
    for part in rng.sample(raw.parts, min(len(raw.parts), 3)):
        held = [v for h in holders(part.node) if isinstance(h, Dict) for _, v in h.entries if isinstance(v, Atom)]
        held = [atom for atom in held if REFERENCE.fullmatch(atom.text)]
        if held:
            rng.choice(held).text = b"%d 0 R" % part.number


def _dicts(raw: Raw) -> list[Dict]:
    return [h for part in raw.parts for h in holders(part.node) if isinstance(h, Dict) and h.entries]


def dropped(rng: Random, raw: Raw) -> None:
    """Entries that are not there."""
    for holder in rng.sample(found := _dicts(raw), min(len(found), rng.choice((1, 1, 3)))):
        holder.entries.pop(rng.randrange(len(holder.entries)))


def doubled(rng: Random, raw: Raw) -> None:
    """A key that stands twice, with another value."""
    found = _dicts(raw)
    if not found:
        return
    holder, other = rng.choice(found), rng.choice(found)
    key, value = rng.choice(holder.entries)[0], rng.choice(other.entries)[1]
    holder.entries.insert(rng.randrange(len(holder.entries) + 1), (key, copy.deepcopy(value)))


def retyped(rng: Random, raw: Raw) -> None:
    """A value of another kind than its key asks for."""
    found = _dicts(raw)
    for holder in rng.sample(found, min(len(found), rng.choice((1, 1, 3)))):
        at = rng.randrange(len(holder.entries))
        key, value = holder.entries[at]
        other = rng.choice(rng.choice(found).entries)[1]
        holder.entries[at] = (key, rng.choice([
            Array([]), Dict([]), Array([copy.deepcopy(value)]), Array([copy.deepcopy(value)] * 40), Atom(b"null"),
            Atom(b"true"), Atom(b"17"), Atom(b"-1.5"), Atom(b"/Name"), Atom(b"(text)"), Atom(b"<00>"),
            Dict([(b"/Type", copy.deepcopy(value))]), copy.deepcopy(other), deep(rng.choice((20, 90, 400, 3000))),
        ]))  # fmt: skip


def deep(levels: int) -> Atom:
    """One token here, so that nothing of ours has to go down into it."""
    return Atom(b"[ << /D " * levels + b"0" + b" >> ]" * levels)


def arrays(rng: Random, raw: Raw) -> None:
    """Arrays that are too long, too short, or in another order."""
    found = [h for part in raw.parts for h in holders(part.node) if isinstance(h, Array) and h.items]
    for holder in rng.sample(found, min(len(found), rng.choice((1, 2)))):
        match rng.randrange(4):
            case 0:
                holder.items.pop(rng.randrange(len(holder.items)))
            case 1:
                holder.items += copy.deepcopy(holder.items) * rng.choice((1, 1, 50))
            case 2:
                rng.shuffle(holder.items)
            case _:
                holder.items.insert(rng.randrange(len(holder.items) + 1), Atom(rng.choice((b"null", b"/X", b"(x)"))))


def objects_moved(rng: Random, raw: Raw) -> None:
    """Objects removed, doubled under one number, or exchanged."""
    if len(raw.parts) < 2:
        return
    one, other = rng.sample(raw.parts, 2)
    match rng.randrange(4):
        case 0:
            raw.parts.remove(one)
        case 1:
            raw.parts.append(Part(one.number, copy.deepcopy(other.node), other.stream, other.source))
        case 2:
            one.node, other.node = other.node, one.node
            one.stream, other.stream = other.stream, one.stream
            one.source, other.source = other.source, one.source
        case _:
            one.stream, other.stream = other.stream, one.stream


def places(rng: Random, raw: Raw) -> None:
    """A cross-reference that points beside objects."""
    for part in rng.sample(raw.parts, min(len(raw.parts), rng.choice((1, 2, 9)))):
        raw.astray[part.number] = rng.choice((-10, -1, 1, 3, 4000, -100000, 10**9))


def streams(rng: Random, raw: Raw) -> None:
    """Lies about how a stream is coded, and how long it is."""
    found = raw.streams()
    if not found:
        return
    part = rng.choice(found)
    assert part.dict is not None
    match rng.randrange(4):
        case 0:
            part.length = rng.choice((*EXTREMES[:12], b"%d 0 R" % part.number, b"(5)", b"null"))
        case 1:
            part.dict.put(b"/Filter", parsed(rng.choice(_FILTERS)))
        case 2:
            part.dict.put(b"/DecodeParms", parsed(rng.choice(_PARMS)))
        case _:
            part.stream = (part.stream or b"")[: rng.randrange(len(part.stream or b"") + 1)]


def boxes(rng: Random, raw: Raw) -> None:
    """Page boxes, turns and units past what any press has seen."""
    pages = raw.of_kind(b"/Page")
    for part in rng.sample(pages, min(len(pages), rng.choice((1, 1, 4)))):
        assert part.dict is not None
        match rng.randrange(6):
            case 0:
                part.dict.put(b"/Rotate", Atom(rng.choice((b"90", b"180", b"-90", b"45", b"1e9", b"/A", *EXTREMES))))
            case 1:
                part.dict.put(b"/UserUnit", Atom(rng.choice((b"0.5", b"2", b"75000", b"1e-30", *EXTREMES))))
            case _:
                part.dict.put(rng.choice(BOXES), _box(rng))


def _box(rng: Random) -> Node:
    sound = rng.choice((b"0 0 397 612", b"-20 -20 400 630", b"397 612 0 0", b"8 8 389 604", b"0 0 14400 14400"))
    odd = rng.choice((
        b"0 0 0 0", b"0 0 1e-9 1e-9", b"0 0 1000000 3", b"0 0 1e38 1e38", b"-1e38 -1e38 1e38 1e38", b"0 0 NaN NaN",
        b"5000 5000 5001 5001", b"0 0 612", b"0 0 612 792 1", b"null null null null", b"[0] 0 612 792",
        b"0 0 2147483648 9223372036854775808", b"0.1 0.1 0.1001 999", b"/A /B /C /D",
    ))  # fmt: skip
    return parsed(b"[" + (sound if rng.random() < 0.5 else odd) + b"]")


def resources(rng: Random, raw: Raw) -> None:
    """Pages without what their content asks for."""
    for part in raw.of_kind(b"/Page") + [p for p in raw.streams() if p.dict and p.dict.get(b"/Resources")]:
        assert part.dict is not None
        if rng.random() < 0.6:
            continue
        held = part.dict.get(b"/Resources")
        if isinstance(held, Dict) and held.entries and rng.random() < 0.7:
            held.entries.pop(rng.randrange(len(held.entries)))
        else:
            part.dict.drop(b"/Resources")


def trees(rng: Random, raw: Raw) -> None:
    """Page trees with pages that stand twice, nodes that are pages, counts that lie."""
    nodes = raw.of_kind(b"/Pages")
    if not nodes:
        return
    node = rng.choice(nodes)
    assert node.dict is not None
    kids = node.dict.get(b"/Kids")
    match rng.randrange(4):
        case 0:
            node.dict.put(b"/Count", Atom(rng.choice(EXTREMES)))
        case 1 if isinstance(kids, Array):
            kids.items += copy.deepcopy(kids.items) * rng.choice((1, 3, 17))
        case 2 if isinstance(kids, Array):
            kids.items.insert(rng.randrange(len(kids.items) + 1), Atom(b"%d 0 R" % rng.choice(raw.parts).number))
        case _:
            node.dict.put(b"/Type", Atom(rng.choice((b"/Page", b"/Font", b"null"))))


MUTATORS: tuple[Objects, ...] = (
    numbers, numbers, names, names, strings, references, references, circles, dropped, dropped, doubled, retyped,
    retyped, arrays, objects_moved, places, streams, streams, boxes, boxes, resources, trees,
)  # fmt: skip
