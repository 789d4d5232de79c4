# SPDX-License-Identifier: AGPL-3.0-or-later
"""The proof's own reading of written sheets: which form stands where, under which clip.

*side* frame: points, lower left of the sheet, y up, as a viewer shows the page (origin of the MediaBox, /Rotate and
UserUnit counted).  Only what places forms is read: ``q Q cm re W n Do``; how things look is another reader's matter.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from attrs import frozen
from pypdf.generic import DictionaryObject, StreamObject

from foldproof.pdf.proof_affine import Box, Map, box_round, chain, common, quarter, shift, stretch, then
from foldproof.pdf.proof_objects import Digester, content_of, data_of, get, numbers, resolve
from foldproof.pdf.proof_pages import opened, ordered

_EVERYWHERE: Box = (-1e9, -1e9, 1e9, 1e9)
#: forms inside forms are followed this far
_DEEPEST = 6
#: a form that is no page is looked into for pages only up to this length: those of a page maker's are short
_LONGEST = 50_000

_TOKEN = re.compile(
    rb"%[^\r\n]*"
    rb"|(?P<number>[+-]?(?:\d+\.?\d*|\.\d+))(?=[\s\[\]()<>/%]|$)"
    rb"|/(?P<name>[^\x00\s()<>\[\]{}/%]*)"
    rb"|(?P<string>\()"
    rb"|<<|>>|<[^>]*>|[\[\]{}]"
    rb"|(?P<word>[^\x00\s()<>\[\]{}/%]+)"
)
_STRING_PART = re.compile(rb"\\.|[()]", re.DOTALL)
_IMAGE_END = re.compile(rb"\sEI(?=\s|$)")
_PATHS = frozenset({b"m", b"l", b"c", b"v", b"y", b"h"})
_PAINTS = frozenset({b"n", b"f", b"F", b"f*", b"S", b"s", b"B", b"B*", b"b", b"b*"})
_POINTS = {b"m": 2, b"l": 2, b"c": 6, b"v": 4, b"y": 4, b"h": 0}


@frozen
class Placed:
    """One form drawn on a side."""

    order: int  #: among the forms of the side, in the order in which they are drawn
    digest: bytes
    form: Map  #: form frame → side frame, points
    clip: Box  #: what may show of it, side frame, points: clips and the form's own box
    box: Box  #: its /BBox, form frame
    inside: tuple[Placed, ...] = ()  #: forms that it draws itself, where it is no page


@frozen
class SideRead:
    """One page of the sheets' file."""

    index: int  #: 0-based in the file
    width_pt: float
    height_pt: float
    to_side: Map  #: default user space → side frame, points
    placed: tuple[Placed, ...]


@frozen
class SidesJob:
    """Pages ``start`` to ``stop`` (0-based, half open) of the sheets' file; ``known`` are digests of whole pages."""

    path: Path
    start: int
    stop: int
    known: frozenset[bytes] = frozenset()


def read_sides(job: SidesJob) -> tuple[SideRead, ...]:
    """Read a run of sides.

    Raises:
        Unreadable: pypdf cannot read the file.
    """
    held = opened(job.path, None)
    digester = Digester(held.memo)
    return tuple(_side(held.pages[i], i, digester, job.known) for i in range(job.start, min(job.stop, len(held.pages))))


def _side(page: dict[str, Any], index: int, digester: Digester, known: frozenset[bytes]) -> SideRead:
    x0, y0, x1, y1 = ordered(page.get("/MediaBox")) or (0.0, 0.0, 612.0, 792.0)
    turned = get(page, "/Rotate")
    rotate = round(float(turned) / 90) % 4 if isinstance(turned, int | float) else 0
    unit = get(page, "/UserUnit")
    unit = float(unit) if isinstance(unit, int | float) and float(unit) > 0 else 1.0
    level = chain(shift(-x0, -y0), stretch(unit), quarter(-rotate))
    corner = box_round(level, (x0, y0, x1, y1))
    to_side = then(level, shift(-corner[0], -corner[1]))
    reader = _Placing(digester, known)
    reader.walk(content_of(page), resolve(page.get("/Resources")), to_side, _EVERYWHERE, 0)
    return SideRead(index, corner[2] - corner[0], corner[3] - corner[1], to_side, tuple(reader.placed))


class _Placing:
    """Follows the graphics state as far as it places forms."""

    def __init__(self, digester: Digester, known: frozenset[bytes]) -> None:
        self.placed: list[Placed] = []
        self._digester = digester
        self._known = known

    def walk(self, content: bytes, resources: Any, ctm: Map, clip: Box, depth: int) -> None:
        stack: list[tuple[Map, Box]] = []
        path: Box | None = None
        clips = False
        forms = get(resources, "/XObject")
        for word, operands in _operations(content):
            if word == b"q":
                stack.append((ctm, clip))
            elif word == b"Q":
                if stack:
                    ctm, clip = stack.pop()
            elif word == b"cm" and (six := _floats(operands, 6)):
                ctm = then((six[0], six[1], six[2], six[3], six[4], six[5]), ctm)
            elif word == b"re" and (four := _floats(operands, 4)):
                x, y, w, h = four
                path = _joined(path, box_round(ctm, (x, y, x + w, y + h)))
            elif word in _PATHS:
                points = _floats(operands, _POINTS[word]) or ()
                for x, y in zip(points[::2], points[1::2], strict=True):
                    path = _joined(path, box_round(ctm, (x, y, x, y)))
            elif word in (b"W", b"W*"):
                clips = True
            elif word in _PAINTS:
                if clips and path is not None:
                    clip = common(clip, path)
                path, clips = None, False
            elif word == b"Do" and operands and isinstance(forms, DictionaryObject):
                name = operands[-1]
                if isinstance(name, str) and name in forms:
                    self._draw(forms.raw_get(name), resources, ctm, clip, depth)

    def _draw(self, ref: Any, around: Any, ctm: Map, clip: Box, depth: int) -> None:
        form = resolve(ref)
        if not isinstance(form, StreamObject) or get(form, "/Subtype") != "/Form":
            return
        own = numbers(get(form, "/Matrix"), 6)
        matrix = then((own[0], own[1], own[2], own[3], own[4], own[5]), ctm) if own else ctm
        box = ordered(form.raw_get("/BBox") if "/BBox" in form else None) or (0.0, 0.0, 0.0, 0.0)
        shows = common(clip, box_round(matrix, box))
        content = data_of(form)
        resources = get(form, "/Resources")
        resources = around if resources is None else resources
        digest = self._digester.painted(content, resources)
        inner: tuple[Placed, ...] = ()
        if digest not in self._known and depth < _DEEPEST and len(content) <= _LONGEST and get(resources, "/XObject"):
            deeper = _Placing(self._digester, self._known)
            deeper.walk(content, resources, matrix, shows, depth + 1)
            inner = tuple(deeper.placed)
        self.placed.append(Placed(len(self.placed), digest, matrix, shows, box, inner))


def _joined(one: Box | None, other: Box) -> Box:
    if one is None:
        return other
    return min(one[0], other[0]), min(one[1], other[1]), max(one[2], other[2]), max(one[3], other[3])


def _floats(operands: list[Any], count: int) -> tuple[float, ...] | None:
    last = operands[-count:] if count else []
    return tuple(last) if len(last) == count and all(isinstance(v, float) for v in last) else None


def _operations(content: bytes) -> Iterator[tuple[bytes, list[Any]]]:
    """Operators with their number and name operands; strings, arrays and inline images are stepped over."""
    operands: list[Any] = []
    at = 0
    while True:
        found = _TOKEN.search(content, at)
        if not found:
            return
        at = found.end()
        kind = found.lastgroup
        if kind == "number":
            operands.append(float(found["number"]))
        elif kind == "name":
            operands.append("/" + found["name"].decode("utf-8", "replace"))
        elif kind == "string":
            at = _past_string(content, at)
        elif kind == "word":
            word = found["word"]
            yield word, operands
            operands = []
            if word == b"ID":
                end = _IMAGE_END.search(content, at)
                at = end.end() if end else len(content)


def _past_string(content: bytes, at: int) -> int:
    depth = 1
    for part in _STRING_PART.finditer(content, at):
        if part[0] == b"(":
            depth += 1
        elif part[0] == b")":
            depth -= 1
            if depth == 0:
                return part.end()
    return len(content)
