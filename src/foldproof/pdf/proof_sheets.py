# SPDX-License-Identifier: AGPL-3.0-or-later
"""The proof's own reading of written sheets: which form stands where, under which clip.

*side* frame: points, lower left of the sheet, y up, as a viewer shows the page (origin of the MediaBox, /Rotate and
UserUnit counted).  Only what places forms is read, and where a side paints anything besides; how things look is another
reader's matter.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

from attrs import evolve, frozen
from pypdf.generic import ArrayObject, DictionaryObject, StreamObject

from foldproof.pdf.proof_affine import (
    IDENTITY,
    Box,
    Map,
    at,
    box_round,
    chain,
    common,
    holds,
    quarter,
    shift,
    stretch,
    then,
)
from foldproof.pdf.proof_objects import Digester, Reader, content_of, data_of, get, numbers, reading, resolve
from foldproof.pdf.proof_pages import any_prints, opened, ordered
from foldproof.pdf.proof_read import Placed, SideRead, SidesJob

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
#: operators that set what lasts into a form drawn after them (ISO 32000-1, 8.4.4, 8.6.8 and 9.3.1): how its page prints
#: would hang on the sheet
_SETTINGS = frozenset(b"gs ri i w J j M d Tc Tw Tz TL Tf Tr Ts G g RG rg K k CS cs SC SCN sc scn".split())
_TEXTS = frozenset({b"Tj", b"TJ", b"'", b'"'})
_POINTS = {b"m": 2, b"l": 2, b"c": 6, b"v": 4, b"y": 4, b"h": 0}


def read_sides(job: SidesJob) -> tuple[SideRead, ...]:
    """Read a run of sides.

    Raises:
        Unreadable: pypdf cannot read the file.
    """
    held = opened(job.path, None)
    digester = Digester(held.memo)
    marks: dict[bytes, tuple[Box, ...]] = {}
    with reading(job.path):
        return tuple(
            _side(held.pages[i], i, _Placing(digester, job.known, marks), held.reader)
            for i in range(job.start, min(job.stop, len(held.pages)))
        )


def _side(page: dict[str, Any], index: int, reader: _Placing, file: Reader) -> SideRead:
    x0, y0, x1, y1 = ordered(page.get("/MediaBox")) or (0.0, 0.0, 612.0, 792.0)
    turned = get(page, "/Rotate")
    rotate = round(float(turned) / 90) % 4 if isinstance(turned, int | float) else 0
    unit = get(page, "/UserUnit")
    unit = float(unit) if isinstance(unit, int | float) and float(unit) > 0 else 1.0
    level = chain(shift(-x0, -y0), stretch(unit), quarter(-rotate))
    corner = box_round(level, (x0, y0, x1, y1))
    to_side = then(level, shift(-corner[0], -corner[1]))
    reader.walk(content_of(page), resolve(page.get("/Resources")), _State(ctm=to_side), 0)
    crop = ordered(page.get("/CropBox"))
    return SideRead(
        index=index,
        width_pt=corner[2] - corner[0],
        height_pt=corner[3] - corner[1],
        to_side=to_side,
        placed=tuple(reader.placed),
        painted=tuple(reader.painted),
        annotated=any_prints(get(page, "/Annots"), file),
        blends_no_cmyk=_lacks_cmyk(get(get(page, "/Group"), "/CS")),
        cropped=crop is not None and not holds(crop, (x0, y0, x1, y1), 0.1),
    )


@frozen
class _State:
    """The graphics state, as far as it matters here."""

    ctm: Map = IDENTITY
    clip: Box = _EVERYWHERE
    settings: tuple[str, ...] = ()
    on_page: bool = False  #: a page was drawn under this very clip


class _Placing:
    """Follows the graphics state as far as it places forms."""

    def __init__(self, digester: Digester, known: frozenset[bytes], marks: dict[bytes, tuple[Box, ...]]) -> None:
        self.placed: list[Placed] = []
        self.painted: list[Box] = []
        self._digester = digester
        self._known = known
        self._marks = marks

    def walk(self, content: bytes, resources: Any, start: _State, depth: int) -> None:
        now = start
        stack: list[_State] = []
        paths: list[Box] = []
        clips = level = False
        line: Map = IDENTITY  # of text
        forms = get(resources, "/XObject")
        for word, operands in _operations(content):
            if word == b"q":
                stack.append(now)
            elif word == b"Q":
                if stack:
                    now = stack.pop()
            elif word == b"cm" and (six := _floats(operands, 6)):
                now = evolve(now, ctm=then((six[0], six[1], six[2], six[3], six[4], six[5]), now.ctm))
            elif word == b"re" and (four := _floats(operands, 4)):
                x, y, w, h = four
                level = not paths and not (now.ctm[0] and now.ctm[1])
                paths.append(box_round(now.ctm, (x, y, x + w, y + h)))
            elif word in _PATHS:
                level = False
                points = _floats(operands, _POINTS[word]) or ()
                for x, y in zip(points[::2], points[1::2], strict=True):
                    point = box_round(now.ctm, (x, y, x, y))
                    if word == b"m" or not paths:
                        paths.append(point)
                    else:
                        paths[-1] = _joined(paths[-1], point)
            elif word in (b"W", b"W*"):
                clips = True
            elif word in _PAINTS:
                if word != b"n":
                    self._paint(paths, now)
                if clips and paths:
                    clip = paths[0]
                    for path in paths[1:]:
                        clip = _joined(clip, path)
                    # A box is all that is kept of a clip: one of another shape hides what the box does not tell.
                    settings = now.settings if level else (*now.settings[:8], "W")
                    now = evolve(now, clip=common(now.clip, clip), settings=settings)
                paths, clips, level = [], False, False
            elif word in _SETTINGS:
                now = evolve(now, settings=(*now.settings, word.decode("ascii"))) if len(now.settings) < 9 else now
            elif word == b"BT":
                line = IDENTITY
            elif word == b"Tm" and (six := _floats(operands, 6)):
                line = six[0], six[1], six[2], six[3], six[4], six[5]
            elif word in (b"Td", b"TD") and (two := _floats(operands, 2)):
                line = then(shift(*two), line)
            elif word in _TEXTS:
                x, y = at(line, 0.0, 0.0)
                self._paint([box_round(now.ctm, (x, y, x, y))], now)
            elif word == b"sh":
                self._paint([now.clip], now)
            elif word == b"ID":
                self._paint([box_round(now.ctm, (0.0, 0.0, 1.0, 1.0))], now)
            elif word == b"Do" and operands and isinstance(forms, DictionaryObject):
                name = operands[-1]
                if isinstance(name, str) and name in forms and self._draw(forms.raw_get(name), resources, now, depth):
                    now = evolve(now, on_page=True)

    def _paint(self, boxes: Iterable[Box], now: _State) -> None:
        # what is painted under a page's clip after the page is an annotation of it
        if not now.on_page:
            seen = (common(box, now.clip) for box in boxes)
            self.painted += [box for box in seen if box[0] <= box[2] and box[1] <= box[3]]

    def _draw(self, ref: Any, around: Any, now: _State, depth: int) -> bool:
        """Draw what a name names; whether it is a page."""
        form = resolve(ref)
        if isinstance(form, StreamObject) and get(form, "/Subtype") == "/Image":
            self._paint([box_round(now.ctm, (0.0, 0.0, 1.0, 1.0))], now)
        if not isinstance(form, StreamObject) or get(form, "/Subtype") != "/Form":
            return False
        own = numbers(get(form, "/Matrix"), 6)
        matrix = then((own[0], own[1], own[2], own[3], own[4], own[5]), now.ctm) if own else now.ctm
        box = ordered(form.raw_get("/BBox") if "/BBox" in form else None) or (0.0, 0.0, 0.0, 0.0)
        shows = common(now.clip, box_round(matrix, box))
        content = data_of(form)
        resources = get(form, "/Resources")
        resources = around if resources is None else resources
        digest = self._digester.painted(content, resources)
        inner: tuple[Placed, ...] = ()
        page = digest in self._known
        if not page and depth < _DEEPEST and len(content) <= _LONGEST:
            if get(resources, "/XObject"):
                deeper = _Placing(self._digester, self._known, self._marks)
                deeper.walk(content, resources, evolve(now, ctm=matrix, clip=shows), depth + 1)
                inner = tuple(deeper.placed)
                self.painted += deeper.painted
            elif self._known and not now.on_page:
                self._paint(
                    (box_round(matrix, one) for one in self._in_marks(digest, content)), evolve(now, clip=shows)
                )
        self.placed.append(Placed(len(self.placed), digest, matrix, shows, box, inner, now.settings))
        return page

    def _in_marks(self, digest: bytes, content: bytes) -> tuple[Box, ...]:
        """What a form without forms paints, form frame; sides share their marks."""
        if digest not in self._marks:
            reader = _Placing(self._digester, self._known, self._marks)
            reader.walk(content, None, _State(), _DEEPEST)
            self._marks[digest] = tuple(reader.painted)
        return self._marks[digest]


def _lacks_cmyk(space: Any) -> bool:
    """Whether a blending space (ISO 32000-1, 11.3.4) is one of grey or of red, green and blue."""
    parts = [resolve(part) for part in list.__iter__(space)] if isinstance(space, ArrayObject) else [space]
    if str(parts[0]) == "/ICCBased" and len(parts) > 1:
        return bool(get(parts[1], "/N") != 4)
    return str(parts[0]) in ("/DeviceGray", "/DeviceRGB", "/CalGray", "/CalRGB")


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
