# SPDX-License-Identifier: AGPL-3.0-or-later
"""Lines of text as outlines: shaped by Typst in a face that it carries, read back from its SVG as paths.

The face is Libertinus Serif (SIL Open Font License 1.1: what is set in a face is free of its licence).  System fonts
are left aside, so the same text gives the same outlines on every machine.  Text travels as data, never as source.
"""

from __future__ import annotations

import json
import re
import unicodedata
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Literal

import typst
from attrs import frozen

from foldproof.errors import AskedWrong, OurFault
from foldproof.geometry import Matrix, Rect
from foldproof.pdf.die_shapes import Outline, Shape, Step, bounds

Weight = Literal["regular", "semibold"]
#: space between letters, em: the heavier weight is for small sizes, where foil would bridge it
_TRACKING: dict[Weight, float] = {"regular": 0.0, "semibold": 0.03}
#: height of the capitals over the size, of Libertinus Serif: an H reaches from -0.002 to 0.647
CAP_HEIGHT = 0.645
#: size at which lines are set, and where their baseline stands below the head of the page, Typst's points
_SIZE, _BASELINE = 50.0, 100.0
_SOURCE = """
#let data = json(bytes(sys.inputs.data))
#set page(width: 60000pt, height: 200pt, margin: 0pt, fill: none)
#set text(font: "Libertinus Serif", weight: data.weight, size: 50pt, top-edge: "baseline", bottom-edge: "baseline",
  tracking: data.tracking * 1em, hyphenate: false, lang: "en")
#set par(leading: 0pt, spacing: 0pt)
#for line in data.lines { place(top + left, dy: 100pt, box(text(line))); pagebreak(weak: false) }
"""
#: a character that no font has: what is drawn for it is the sign for a letter that is missing
_NOBODY_HAS = "\U0010fffd"
_SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"
_CALL = re.compile(r"(matrix|translate|scale)\(([^)]*)\)")
_TOKEN = re.compile(r"[A-Za-z]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


@frozen
class Lettering:
    """One line of text; its em is 1, its baseline at y = 0, y up."""

    text: str
    shapes: tuple[Shape, ...]
    ink: Rect  #: round all that is painted


def plain_text(text: str) -> str:
    """Text as it is lettered: composed, controls and runs of white space become one space."""
    kept = "".join(" " if unicodedata.category(c)[0] in "CZ" and c != "\u00a0" else c for c in text)
    return " ".join(unicodedata.normalize("NFC", kept).split())


@lru_cache(maxsize=64)
def lettered(lines: tuple[str, ...], weight: Weight = "regular") -> tuple[Lettering, ...]:
    """Each of ``lines`` (through :func:`plain_text`, none empty) as outlines.

    Raises:
        AskedWrong: the face lacks a letter; the message names it.
    """
    missing, *made = _set((_NOBODY_HAS, *lines), weight)
    sign = missing[0].steps if missing else None
    for line, outlines in zip(lines, made, strict=True):
        if sign is not None and any(outline.steps == sign for outline in outlines):
            raise AskedWrong(_lacking(line, sign, weight))
    found = []
    for line, outlines in zip(lines, made, strict=True):
        shapes = tuple(Shape(outline) for outline in outlines)
        box = bounds(shapes)
        if box is None:
            raise AskedWrong(f'stamping: "{line}" leaves no mark when it is lettered; write letters or leave it away.')
        found.append(Lettering(line, shapes, box))
    return tuple(found)


def _lacking(line: str, sign: tuple[Step, ...], weight: Weight) -> str:
    letters = tuple(dict.fromkeys(letter for letter in line if not letter.isspace()))
    each = _set(letters, weight)
    lacked = [one for one, drawn in zip(letters, each, strict=True) if any(o.steps == sign for o in drawn)]
    shown = ", ".join(f'"{one}"' for one in lacked[:5]) or f'"{line}"'
    return (
        f"The job: stamping: the face that dies are lettered in has no {shown}; write it in letters of the Latin, "
        "Greek, Cyrillic or Hebrew alphabet, or give the lettering as outlines in the emblem."
    )


def _set(lines: Sequence[str], weight: Weight) -> list[list[Outline]]:
    """Typst sets every line on a page of its own; the outlines of each, em 1, baseline at y = 0."""
    data = json.dumps({"lines": list(lines), "weight": weight, "tracking": _TRACKING[weight]}, ensure_ascii=True)
    try:
        pages = typst.compile(
            _SOURCE.encode("utf-8"), sys_inputs={"data": data}, ignore_system_fonts=True, format="svg"
        )
    except RuntimeError as wrong:
        raise OurFault(f"Lettering could not be set: {wrong}") from wrong
    # one page comes as bytes, several as a list; here there is always one more than lines
    assert isinstance(pages, list)
    # y runs down from the head of Typst's page
    upright = Matrix(1 / _SIZE, 0, 0, -1 / _SIZE, 0, _BASELINE / _SIZE)
    return [
        [Outline(outline.steps, outline.matrix.then(upright)) for outline in _outlines(page)]
        for page in pages[: len(lines)]
    ]


# --- reading the SVG ------------------------------------------------------------------------------------------------


def _outlines(page: bytes) -> Iterator[Outline]:
    root = ET.fromstring(page)
    symbols = {node.get("id"): node for node in root.iter() if node.get("id")}
    yield from _walk(root, Matrix(), symbols)


def _walk(node: ET.Element, matrix: Matrix, symbols: dict[str | None, ET.Element]) -> Iterator[Outline]:
    matrix = _matrix(node.get("transform", "")).then(matrix)
    tag = node.tag.removeprefix(_SVG)
    if tag == "use":
        link = node.get(_HREF) or node.get("href") or ""
        shift = Matrix.translation(float(node.get("x", "0")), float(node.get("y", "0")))
        for child in symbols[link.removeprefix("#")].iter(_SVG + "path"):
            yield Outline(_steps(child.get("d", "")), _matrix(child.get("transform", "")).then(shift).then(matrix))
    elif tag == "path":
        yield Outline(_steps(node.get("d", "")), matrix)
    elif tag in ("svg", "g"):
        for child in node:
            yield from _walk(child, matrix, symbols)


def _matrix(text: str) -> Matrix:
    """An SVG transform list, the last applied first."""
    whole = Matrix()
    for kind, given in _CALL.findall(text):
        v = [float(part) for part in re.split(r"[\s,]+", given.strip())]
        if kind == "matrix":
            one = Matrix(*v)
        elif kind == "translate":
            one = Matrix.translation(v[0], v[1] if len(v) > 1 else 0.0)
        else:
            one = Matrix.scaling(v[0], v[1] if len(v) > 1 else v[0])
        whole = one.then(whole)
    return whole


def _steps(data: str) -> tuple[Step, ...]:
    """SVG path data (SVG 1.1, 8.3) as steps; quadratic curves become the same cubic ones."""
    tokens = _TOKEN.findall(data)
    steps: list[Step] = []
    x = y = start_x = start_y = 0.0
    command, place = "", 0
    while place < len(tokens):
        if tokens[place].isalpha():
            command, place = tokens[place], place + 1
        kind = command.upper()
        if kind not in _TAKES:
            raise OurFault(f"Lettering could not be read: path command {command!r}.")
        wanted = _TAKES[kind]
        v = [float(token) for token in tokens[place : place + wanted]]
        place += wanted
        if command.islower() and kind in "MLQC":
            v = [value + (y if i % 2 else x) for i, value in enumerate(v)]
        if kind == "Z":
            steps.append(("h",))
            x, y = start_x, start_y
            continue
        if kind == "H":
            v = [v[0] + (x if command.islower() else 0.0), y]
        elif kind == "V":
            v = [x, v[0] + (y if command.islower() else 0.0)]
        if kind == "Q":
            (qx, qy), end = v[:2], v[2:]
            v = [x + (qx - x) * 2 / 3, y + (qy - y) * 2 / 3, end[0] + (qx - end[0]) * 2 / 3,
                 end[1] + (qy - end[1]) * 2 / 3, *end]  # fmt: skip
        x, y = v[-2:]
        if kind == "M":
            start_x, start_y = x, y
            command = "l" if command == "m" else "L"
            if steps and steps[-1][0] == "m":  # a move that a further move follows marks nothing
                steps.pop()
        steps.append(("m" if kind == "M" else "c" if len(v) == 6 else "l", *v))
    return tuple(steps)


_TAKES = {"M": 2, "L": 2, "H": 1, "V": 1, "Q": 4, "C": 6, "Z": 0}
