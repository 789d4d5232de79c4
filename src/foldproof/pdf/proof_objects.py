# SPDX-License-Identifier: AGPL-3.0-or-later
"""The proof's own reader of structure, on pypdf: page trees, and digests of what is painted.

A digest stands for decoded content and everything that content names.  It does not depend on object numbers, on how
streams are compressed, or on resources that nothing names; so a page and the form that it was turned into have the
same digest, and two pages that differ in one digit do not.
"""

from __future__ import annotations

import bisect
import hashlib
import io
import logging
import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pypdf
from attrs import field, mutable
from pypdf import filters
from pypdf.generic import (
    ArrayObject,
    ByteStringObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    NullObject,
    StreamObject,
    TextStringObject,
    read_object,
)

from foldproof.errors import NeedsPassword, Unreadable
from foldproof.pdf.bounds import inflated
from foldproof.pdf.memory import in_words, room_for

logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what it mends is no concern of the reader of a proof

#: nesting of objects past which a digest stops: deeper than any file seen, shallower than Python's own limit
_DEEPEST = 150
#: pages past which a page tree is taken for a trap
_MOST_PAGES = 200_000

_NAMES = re.compile(rb"/([^\x00\t\n\x0c\r ()<>\[\]{}/%]+)")
_ESCAPE = re.compile(rb"#([0-9A-Fa-f]{2})")
_CATEGORIES = ("/ColorSpace", "/ExtGState", "/Font", "/Pattern", "/Properties", "/Shading", "/XObject")
#: colour spaces that content uses without naming them (ISO 32000-1, 8.6.5.6)
_UNNAMED = frozenset({"/DefaultGray", "/DefaultRGB", "/DefaultCMYK"})
#: keys that say how or where something is stored, or what it belongs to, not how it looks
_ASIDE = frozenset((
    "/Length", "/Filter", "/DecodeParms", "/DL", "/Parent", "/StructParent", "/StructParents", "/Metadata",
    "/PieceInfo", "/LastModified",
))  # fmt: skip
_PLAIN = {
    "/FlateDecode": filters.FlateDecode,
    "/LZWDecode": filters.LZWDecode,
    "/ASCIIHexDecode": filters.ASCIIHexDecode,
    "/ASCII85Decode": filters.ASCII85Decode,
    "/RunLengthDecode": filters.RunLengthDecode,
}
_SHORT = {
    "/Fl": "/FlateDecode",
    "/LZW": "/LZWDecode",
    "/AHx": "/ASCIIHexDecode",
    "/A85": "/ASCII85Decode",
    "/RL": "/RunLengthDecode",
}


class Reader(pypdf.PdfReader):
    """Takes objects out of object streams one at a time.

    pypdf parses all objects of such a stream when the first is wanted; a book's links then cost ten times what its
    pages do (3.3 s against 0.3 s for 2,415 pages).
    """

    def __init__(self, stream: io.BytesIO) -> None:
        self._unpacked: dict[int, tuple[bytes, dict[int, int]]] = {}
        self._after: dict[int, list[int]] = {}
        super().__init__(stream, strict=False)

    def _get_object_from_stream(self, indirect_reference: IndirectObject) -> Any:
        data, index = self._unpack(self.xref_objStm[indirect_reference.idnum][0])
        start = index.get(indirect_reference.idnum)
        if start is None:
            return NullObject()
        while data[start : start + 1].isspace() or data[start : start + 1] == b"\0":
            start += 1
        stream_at = io.BytesIO(data)
        stream_at.seek(start)
        made = read_object(stream_at, self)
        self.cache_indirect_object(0, indirect_reference.idnum, made)
        return made

    def _unpack(self, holder: int) -> tuple[bytes, dict[int, int]]:
        """An object stream inflated, and where each object begins in it."""
        if holder not in self._unpacked:
            stream = resolve(IndirectObject(holder, 0, self))
            data, index = b"", {}
            if isinstance(stream, StreamObject) and holder not in self.xref_objStm:
                data, first = data_of(stream), int(get(stream, "/First") or 0)
                heads = [int(word) for word in data[:first].split()]
                index = {number: first + offset for number, offset in zip(heads[::2], heads[1::2], strict=False)}
            self._unpacked[holder] = data, index
        return self._unpacked[holder]

    def surely_lacks(self, ref: Any, key: bytes) -> bool:
        """Whether an object in an object stream has no such key, told from its bytes without parsing it."""
        if not isinstance(ref, IndirectObject) or ref.idnum not in self.xref_objStm:
            return False
        data, index = self._unpack(self.xref_objStm[ref.idnum][0])
        start = index.get(ref.idnum)
        if start is None:
            return False
        # objects stand in the order of the index (ISO 32000-1, 7.5.7); one that does not is parsed like any other
        after = self._after.setdefault(self.xref_objStm[ref.idnum][0], sorted(index.values()))
        at = bisect.bisect_right(after, start)
        return key not in data[start : after[at] if at < len(after) else len(data)]


@mutable
class OpenFile:
    """A PDF opened for reading; keep one for all pages, so that what pages share is digested once."""

    reader: Reader
    pages: list[dict[str, Any]]  #: page dictionaries with what they inherit filled in
    memo: dict[int, bytes] = field(factory=dict)


def open_file(path: Path, password: str | None) -> OpenFile:
    """Open a PDF and walk its page tree.

    Raises:
        NeedsPassword: it is locked.
        Unreadable: pypdf cannot read it.
    """
    with reading(path):
        room_for(path)
        reader = Reader(io.BytesIO(path.read_bytes()))
        if reader.is_encrypted and not reader.decrypt(password or ""):
            raise NeedsPassword(f"{path.name} is locked by a password. Give it with --password-file.")
        return OpenFile(reader, _pages(reader))


@contextmanager
def reading(path: Path) -> Iterator[None]:
    """Whatever pypdf raises in the block as Unreadable: it parses an object only when it is asked for it.

    Raises:
        Unreadable: pypdf cannot read the file.
    """
    try:
        yield
    except (Unreadable, MemoryError):
        raise
    except Exception as odd:  # pypdf has no common root for what broken files make it raise
        raise unread(path.name, odd) from odd


def unread(name: str, odd: Exception, what: str = "read") -> Unreadable:
    """The error for a library that gives up, in a sentence; what it says may be of any length and hold any sign."""
    said = "".join(sign if sign.isprintable() else " " for sign in in_words(odd)[:200]).strip().rstrip(".")
    return Unreadable(
        f"{name} cannot be {what} for the proof ({said or type(odd).__name__}). "
        "Ask for a fresh export from the layout program."
    )


def _pages(reader: pypdf.PdfReader) -> list[dict[str, Any]]:
    """The leaves of the page tree in order, with inherited attributes (ISO 32000-1, 7.7.3.4)."""
    out: list[dict[str, Any]] = []
    root = get(reader.trailer, "/Root")
    stack: list[tuple[Any, dict[str, Any]]] = [(root.raw_get("/Pages") if "/Pages" in root else None, {})]
    seen: set[int] = set()
    while stack:
        ref, inherited = stack.pop()
        if isinstance(ref, IndirectObject):
            kids_of = resolve(ref)
            if isinstance(kids_of, DictionaryObject) and "/Kids" in kids_of:
                if ref.idnum in seen:
                    continue
                seen.add(ref.idnum)
        node = resolve(ref)
        if not isinstance(node, DictionaryObject):
            continue
        mine = dict(inherited)
        for key in ("/Resources", "/MediaBox", "/CropBox", "/Rotate"):
            if key in node:
                mine[key] = node.raw_get(key)
        kids = get(node, "/Kids")
        if isinstance(kids, ArrayObject):
            stack += [(kid, mine) for kid in reversed(list(list.__iter__(kids)))]
            continue
        out.append({**{key: node.raw_get(key) for key in node}, **mine})
        if len(out) > _MOST_PAGES:
            raise Unreadable("The page tree does not end.")
    return out


def resolve(obj: Any) -> Any:
    """What a reference points to; ``None`` for null and for nothing."""
    for _ in range(32):
        if not isinstance(obj, IndirectObject):
            return None if isinstance(obj, NullObject) else obj
        obj = obj.get_object()
    return None


def get(holder: Any, key: str) -> Any:
    """The resolved value of a key, ``None`` where there is none."""
    if isinstance(holder, DictionaryObject):
        return resolve(holder.raw_get(key)) if key in holder else None
    return resolve(holder.get(key)) if isinstance(holder, dict) else None


def numbers(value: Any, count: int) -> tuple[float, ...] | None:
    """``count`` numbers out of an array, or ``None``."""
    value = resolve(value)
    if not isinstance(value, ArrayObject) or len(value) < count:
        return None
    found = [resolve(list.__getitem__(value, i)) for i in range(count)]
    # a string of figures is no number, though Python would make one of it
    if not all(isinstance(one, int | float) for one in found):
        return None
    try:
        return tuple(float(one) for one in found)
    except (TypeError, ValueError, OverflowError):
        return None


def content_of(page: dict[str, Any]) -> bytes:
    """A page's decoded content; the parts of an array are joined by newlines (ISO 32000-1, 7.8.2)."""
    content = get(page, "/Contents")
    if isinstance(content, StreamObject):
        return data_of(content)
    if isinstance(content, ArrayObject):
        parts = [resolve(part) for part in list.__iter__(content)]
        return b"\n".join(data_of(part) for part in parts if isinstance(part, StreamObject))
    return b""


def data_of(stream: StreamObject) -> bytes:
    """A stream decoded as far as its filters are plain; what is left is named by :func:`_stored`."""
    return _stored(stream)[0]


def _stored(stream: StreamObject) -> tuple[bytes, bytes]:
    """Data without plain filters, and a note of the filters that are left on it."""
    data: bytes = stream._data if isinstance(stream._data, bytes) else bytes(stream._data, "latin-1")
    names = resolve(stream.raw_get("/Filter")) if "/Filter" in stream else None
    parms = resolve(stream.raw_get("/DecodeParms")) if "/DecodeParms" in stream else None
    chain = [resolve(n) for n in list.__iter__(names)] if isinstance(names, ArrayObject) else [names] if names else []
    # what is no name in the place of one stays, as a filter that nobody knows
    chain = [_SHORT.get(name, name) if isinstance(name, NameObject) else f"no name: {name}" for name in chain]
    with_each = [resolve(p) for p in list.__iter__(parms)] if isinstance(parms, ArrayObject) else [parms]
    with_each += [None] * (len(chain) - len(with_each))
    if chain == ["/FlateDecode"]:
        # Files are written again without touching such streams, so a predictor need not be undone, which is slow.
        plain = inflated(data)
        if plain is not None:
            predictor = get(with_each[0], "/Predictor") if with_each[0] is not None else None
            return plain, b"" if predictor in (None, 1) else _flat(with_each[0])
    for index, name in enumerate(chain):
        if name not in _PLAIN:
            rest = [f"{n}".encode() + _flat(p) for n, p in zip(chain[index:], with_each[index:], strict=False)]
            return data, b"|".join(rest)
        parm = with_each[index]
        try:
            made = _PLAIN[name].decode(data, parm if isinstance(parm, DictionaryObject) else None)  # type: ignore[attr-defined]
        except Exception:  # undecodable: the stored bytes stand for themselves
            return data, b"undecodable"
        data = made if isinstance(made, bytes) else bytes(made, "latin-1")
    return data, b""


def _flat(parms: Any) -> bytes:
    if not isinstance(parms, DictionaryObject):
        return b""
    return b",".join(f"{key}={resolve(parms.raw_get(key))}".encode() for key in sorted(parms) if key != "/JBIG2Globals")


def names_in(content: bytes) -> frozenset[str]:
    """Every name that occurs in content; more than it uses does no harm, less would."""
    found = set(_NAMES.findall(content))
    return frozenset(
        "/" + _ESCAPE.sub(lambda m: bytes([int(m[1], 16)]), name).decode("utf-8", "replace") for name in found
    )


# --- digests ---


class Digester:
    """Digests of objects of one file.  Shared objects are digested once; loops end."""

    def __init__(self, memo: dict[int, bytes]) -> None:
        self._memo = memo
        self._open: dict[int, int] = {}
        self._deepest_loop = 0  # the outermost open object that something inside referred back to

    def painted(self, content: bytes, resources: Any) -> bytes:
        """Digest of content with what it names: 16 bytes."""
        self._deepest_loop = 1 << 30
        return self._painted([content], resolve(resources), 0)

    def _painted(self, contents: Iterable[bytes], resources: Any, depth: int) -> bytes:
        made = hashlib.blake2b(digest_size=16)
        used: set[str] = set(_UNNAMED)
        for content in contents:
            made.update(b"content %d " % len(content))
            made.update(content)
            used |= names_in(content)
        if isinstance(resources, DictionaryObject):
            for category in _CATEGORIES:
                held = get(resources, category)
                if isinstance(held, DictionaryObject):
                    for name in sorted(used & set(held)):
                        made.update(f"{category}{name} ".encode("utf-8", "replace"))
                        made.update(self._of(held.raw_get(name), resources, depth + 1))
        return made.digest()

    def _of(self, obj: Any, around: Any, depth: int) -> bytes:
        if depth > _DEEPEST:
            return b"deeper than this reader goes"
        if not isinstance(obj, IndirectObject):
            return self._value(obj, around, depth)
        key = obj.idnum
        known = self._memo.get(key)
        if known is not None:
            return known
        if key in self._open:
            self._deepest_loop = min(self._deepest_loop, self._open[key])
            return b"loop"
        before, self._deepest_loop = self._deepest_loop, 1 << 30
        self._open[key] = len(self._open)
        mine = self._open[key]
        value = resolve(obj)
        made = self._value(value, around, depth)
        del self._open[key]
        # What refers back to something still open depends on where the reading began: not to be kept.
        borrows = isinstance(value, StreamObject) and "/Resources" not in value and get(value, "/Subtype") == "/Form"
        if self._deepest_loop >= mine and not borrows:
            self._memo[key] = made
            self._deepest_loop = 1 << 30
        self._deepest_loop = min(self._deepest_loop, before)
        return made

    def _value(self, value: Any, around: Any, depth: int) -> bytes:
        made = hashlib.blake2b(digest_size=16)
        if isinstance(value, StreamObject):
            if get(value, "/Subtype") == "/Form" or get(value, "/PatternType") == 1:
                own = get(value, "/Resources")
                made.update(b"painted ")
                made.update(self._painted([data_of(value)], own if own is not None else around, depth))
                self._keys(made, value, {"/Resources"}, around, depth)
            else:
                data, left = _stored(value)
                made.update(b"stream %d " % len(data) + left)
                made.update(data)
                self._keys(made, value, set(), around, depth)
        elif isinstance(value, DictionaryObject):
            if get(value, "/Type") == "/Font" and get(value, "/Subtype") == "/Type3":
                glyphs = get(value, "/CharProcs")
                streams = (
                    [resolve(glyphs.raw_get(n)) for n in sorted(glyphs)] if isinstance(glyphs, DictionaryObject) else []
                )
                own = get(value, "/Resources")
                contents = [data_of(s) for s in streams if isinstance(s, StreamObject)]
                made.update(b"glyphs %s " % " ".join(sorted(glyphs or ())).encode("utf-8", "replace"))
                made.update(self._painted(contents, own if own is not None else around, depth))
                self._keys(made, value, {"/Resources", "/CharProcs"}, around, depth)
            else:
                made.update(b"dict ")
                self._keys(made, value, set(), around, depth)
        elif isinstance(value, ArrayObject):
            made.update(b"array %d " % len(value))
            for inner in list.__iter__(value):
                made.update(self._of(inner, around, depth + 1))
        else:
            return _plain(value)
        return made.digest()

    def _keys(self, made: Any, value: DictionaryObject, without: set[str], around: Any, depth: int) -> None:
        for key in sorted(set(value) - _ASIDE - without):
            made.update(key.encode("utf-8", "replace") + b" ")
            made.update(self._of(value.raw_get(key), around, depth + 1))


def _plain(value: Any) -> bytes:
    """A number, name or string, so that 1 and 1.0 are the same and a name is no string."""
    if value is None or isinstance(value, NullObject):
        return b"null"
    if isinstance(value, NameObject):
        return b"name " + str(value).encode("utf-8", "replace") + b" "
    if isinstance(value, TextStringObject):
        return b"text " + value.original_bytes + b" "
    if isinstance(value, ByteStringObject):
        return b"text " + bytes(value) + b" "
    if isinstance(value, int | float):
        return b"number %.9g " % float(value)
    return b"other " + repr(value).encode("utf-8", "replace") + b" "
