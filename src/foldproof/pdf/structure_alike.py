# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which objects are alike in every byte, whatever their numbers, and which stream filters they rest on.

The digest of an object is that of its own text with the digests of the objects it refers to in the place of their
numbers.  So a page that was copied whole, fonts and pictures and all, keeps its digest.  Entries that only say where
an object hangs in its file are left out.  Long streams are read only when another one has the same dictionary.
"""

from __future__ import annotations

import re
from hashlib import blake2b, sha256
from typing import Any

import pikepdf

from foldproof.pdf.structure_objects import entry, members, name, object_id

_Id = tuple[int, int]
_REFERENCE = re.compile(rb"(?<![\d.])(\d+) (\d+) R\b")
#: places in the structure tree and keepsakes of programs: they differ between twins and paint nothing
_ELSEWHERE = re.compile(
    rb"/(?:StructParents? -?\d+|(?:Metadata|PieceInfo|Parent|P|SD) \d+ \d+ R|LastModified \([^)]*\))"
)
#: streams up to this many bytes are hashed as they are met
_SHORT = 32_768
_LOOP = b"loop"


class Alike:
    """Digests of objects of one file, each made once.  They mean nothing in another file."""

    def __init__(self, pdf: pikepdf.Pdf) -> None:
        self._pdf = pdf
        self._known: dict[_Id, tuple[bytes, int]] = {}
        self._filters: dict[str, int] = {}
        #: long streams by the digest of their dictionary: the first one's id, and digests of bytes once there are two
        self._long: dict[bytes, tuple[Any, dict[bytes, int]]] = {}

    def digest(self, things: list[Any]) -> str:
        """Of several things in order, hexadecimal."""
        return self.digest_and_filters(things)[0]

    def digest_and_filters(self, things: list[Any]) -> tuple[str, int]:
        """The digest, and the filters as a bit mask over :meth:`filter_names`."""
        said, mask = blake2b(digest_size=16), 0
        for thing in things:
            digest, filters = self._of(thing)
            said.update(digest)
            mask |= filters
        return said.hexdigest(), mask

    def filter_names(self) -> list[str]:
        return list(self._filters)

    def _of(self, thing: Any) -> tuple[bytes, int]:
        if not isinstance(thing, pikepdf.Object):
            return _hashed(repr(thing).encode()), 0
        own = object_id(thing)
        if own is None:
            text = _ELSEWHERE.sub(b"", thing.unparse())
            return self._closed(text, None)
        if own not in self._known:
            self._walk(own, thing)
        return self._known[own]

    def _walk(self, start: _Id, thing: Any) -> None:
        """Post-order over references, without recursion; what comes back to an object still open counts as a loop."""
        self._known[start] = (_LOOP, 0)
        open_ones = [(start, thing, text := _text(thing), self._unknown(text))]
        while open_ones:
            own, thing, text, below = open_ones[-1]
            if below:
                after = below.pop()
                if after not in self._known:
                    self._known[after] = (_LOOP, 0)
                    thing = self._object(after)
                    text = _text(thing)
                    open_ones.append((after, thing, text, self._unknown(text)))
                continue
            self._known[own] = self._closed(text, thing)
            open_ones.pop()

    def _unknown(self, text: bytes) -> list[_Id]:
        ids = [(int(a), int(b)) for a, b in _REFERENCE.findall(text)] if b" R" in text else []
        return [own for own in ids if own not in self._known]

    def _object(self, own: _Id) -> Any:
        """An object by its number; ``None`` for one that cannot be read, as for one that is not there."""
        try:
            return self._pdf.get_object(own)
        except (pikepdf.PdfError, RuntimeError):
            return None

    def _closed(self, text: bytes, thing: Any) -> tuple[bytes, int]:
        """The digest of an object whose references are all known, or of one that stands directly in another."""
        mask = 0

        def known(found: re.Match[bytes]) -> bytes:
            nonlocal mask
            own = (int(found[1]), int(found[2]))
            if own not in self._known:
                self._walk(own, self._object(own))
            digest, filters = self._known[own]
            mask |= filters
            return b"<" + digest + b">"

        digest = _hashed(_REFERENCE.sub(known, text) if b" R" in text else text)
        if isinstance(thing, pikepdf.Stream):
            mask |= self._filter_mask(thing)
            digest = self._of_stream(digest, thing)
        return digest, mask

    def _of_stream(self, dictionary: bytes, stream: Any) -> bytes:
        length = entry(stream, "/Length")
        if not isinstance(length, int) or length <= _SHORT:
            return _hashed(dictionary + _raw(stream))
        known = self._long.get(dictionary)
        if known is None:
            self._long[dictionary] = (stream, {})
            return _hashed(dictionary + b"0")
        first, classes = known
        if not classes:
            classes[_hashed_long(first)] = 0
        place = classes.setdefault(_hashed_long(stream), len(classes))
        return _hashed(dictionary + b"%d" % place)

    def _filter_mask(self, stream: Any) -> int:
        filters = entry(stream, "/Filter")
        mask = 0
        for one in [filters] if isinstance(filters, pikepdf.Name) else members(filters):
            mask |= 1 << self._filters.setdefault(name(one), len(self._filters))
        return mask


def _hashed(data: bytes) -> bytes:
    return blake2b(data, digest_size=16).digest()


def _text(thing: Any) -> bytes:
    """An indirect object as it would be written, one level deep; of a stream its dictionary."""
    if isinstance(thing, pikepdf.Stream):
        thing = thing.stream_dict
    if not isinstance(thing, pikepdf.Object):
        return repr(thing).encode()
    return _ELSEWHERE.sub(b"", thing.unparse(resolved=True))


def _hashed_long(stream: Any) -> bytes:
    """Of the bytes of a stream, without a copy of them."""
    try:
        return sha256(stream.get_raw_stream_buffer()).digest()
    except (pikepdf.PdfError, RuntimeError) as odd:
        return repr(type(odd)).encode()


def _raw(stream: Any) -> bytes:
    try:
        found: bytes = stream.read_raw_bytes()
        return found
    except (pikepdf.PdfError, RuntimeError) as odd:
        return repr(type(odd)).encode()
