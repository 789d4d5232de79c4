# SPDX-License-Identifier: AGPL-3.0-or-later
"""Makers of small PDFs with named boxes, built with pikepdf alone, for tests of every room.

    from tests.build import Fill, Picture, book, page

    book(16, tmp_path / "a.pdf", trim_mm=(140, 216), bleed_mm=3)
    raw_tree(tmp_path / "c.pdf", "/MediaBox [0 0 9 9]", "/Rotate 45", "")  # by hand, what no library would write
    book(4, tmp_path / "b.pdf", each=lambda i: {"rotate": 90} if i == 2 else {})

Everything painted is said in the *upright trim frame*: origin at the lower left of the trim as a reader sees the page,
after /Rotate and UserUnit, y up, lengths in mm of paper (raw ``content`` in points of paper).  A book built here is the
same bytes every time.  Its page n (1-based) says ``Page n`` in its middle and ``n`` as a folio at the foot.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pikepdf
import pymupdf
from pikepdf import Array, Dictionary, Name, Stream

PT = 72 / 25.4  # points in a millimetre (ISO 32000-1, 8.3.2.3: 1/72 in)
BASE14 = {"helv": "Helvetica", "tiro": "Times-Roman", "cour": "Courier"}

Corners = tuple[float, float, float, float]


@dataclass(frozen=True)
class Fill:
    """A filled rectangle: x0, y0, x1, y1 in mm, trim frame; ``paint`` is the colour operator that sets it."""

    box_mm: Corners
    paint: str = "0 0 0 1 k"


@dataclass(frozen=True)
class Picture:
    """A raster picture stretched over ``box_mm`` (trim frame); made grey, RGB or CMYK noise, or a 1-bit pattern."""

    box_mm: Corners
    pixels: tuple[int, int] = (60, 60)
    space: str = "DeviceGray"  # DeviceGray, DeviceRGB, DeviceCMYK
    bits: int = 8  # 8 or 1
    stencil: bool = False  # an image mask, painted in black
    soft_mask: tuple[int, int] | None = None  # pixels of an /SMask
    turned: float = 0.0  # degrees counter-clockwise about the middle of the box
    seed: int = 1


def _name(plain: str) -> Name:
    return Name("/" + plain)


@cache
def _program(font: str) -> tuple[bytes, tuple[float, ...], tuple[float, float, float, float]]:
    """CFF program, widths of codes 32 to 126 and bounding box (1/1000 em) of one of MuPDF's own fonts."""
    face = pymupdf.Font(font)
    widths = tuple(round(face.glyph_advance(code) * 1000) for code in range(32, 127))
    box = tuple(round(v * 1000) for v in (face.bbox.x0, face.bbox.y0, face.bbox.x1, face.bbox.y1))
    return bytes(face.buffer), widths, box  # type: ignore[return-value]


def font(pdf: pikepdf.Pdf, face: str = "helv", *, embedded: bool = True) -> pikepdf.Object:
    """A simple font, indirect: ``helv``, ``tiro`` or ``cour``, as embedded CFF subset ``ABCDEF+…`` or base 14."""
    plain = BASE14[face]
    if not embedded:
        return pdf.make_indirect(
            Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=_name(plain), Encoding=Name.WinAnsiEncoding)
        )
    program, widths, box = _program(face)
    stream = Stream(pdf, zlib.compress(program))
    stream.Subtype, stream.Filter = Name.Type1C, Name.FlateDecode
    descriptor = Dictionary(
        Type=Name.FontDescriptor, FontName=_name("ABCDEF+" + plain), Flags=32, FontBBox=Array(list(box)),
        ItalicAngle=0, Ascent=box[3], Descent=box[1], CapHeight=700, StemV=80, FontFile3=pdf.make_indirect(stream),
    )  # fmt: skip
    return pdf.make_indirect(
        Dictionary(
            Type=Name.Font, Subtype=Name.Type1, BaseFont=_name("ABCDEF+" + plain), Encoding=Name.WinAnsiEncoding,
            FirstChar=32, LastChar=126, Widths=Array(list(widths)), FontDescriptor=pdf.make_indirect(descriptor),
        )
    )  # fmt: skip


def width_pt(text: str, size_pt: float, face: str = "helv") -> float:
    """Width of a line of plain ASCII text."""
    widths = _program(face)[1]
    return sum(widths[ord(sign) - 32] for sign in text) * size_pt / 1000


def text_at(text: str, x_mm: float, y_mm: float, size_pt: float = 10, *, resource: str = "F1") -> str:
    """Operators that set a line of ASCII text with its start at a place in the trim frame."""
    escaped = text.replace("\\", r"\\").replace("(", r"\(").replace(")", r"\)")
    return f"BT /{resource} {size_pt:g} Tf {x_mm * PT:.4f} {y_mm * PT:.4f} Td ({escaped}) Tj ET\n"


def _noise(count: int, seed: int) -> bytes:
    state, out = seed & 0x7FFFFFFF or 1, bytearray()
    for _ in range(count):
        state = (state * 1103515245 + 12345) & 0x7FFFFFFF
        out.append(state >> 16 & 0xFF)
    return bytes(out)


def image(pdf: pikepdf.Pdf, picture: Picture) -> pikepdf.Object:
    """The image XObject of a picture."""
    (across, down), bits = picture.pixels, 1 if picture.stencil else picture.bits
    samples = {"DeviceGray": 1, "DeviceRGB": 3, "DeviceCMYK": 4}[picture.space]
    row = (across * bits * (1 if picture.stencil else samples) + 7) // 8
    made = Stream(pdf, zlib.compress(_noise(row * down, picture.seed)))
    made.Type, made.Subtype, made.Filter = Name.XObject, Name.Image, Name.FlateDecode
    made.Width, made.Height, made.BitsPerComponent = across, down, bits
    if picture.stencil:
        made.ImageMask = True
    else:
        made.ColorSpace = _name(picture.space)
    if picture.soft_mask:
        made.SMask = image(pdf, Picture((0, 0, 1, 1), picture.soft_mask, seed=picture.seed + 1))
    return pdf.make_indirect(made)


def _place(picture: Picture, resource: str) -> str:
    x0, y0, x1, y1 = (v * PT for v in picture.box_mm)
    quick = {0.0: (1, 0), 90.0: (0, 1), 180.0: (-1, 0), 270.0: (0, -1)}
    if picture.turned in quick:
        cos, sin = quick[picture.turned]
    else:
        cos, sin = math.cos(math.radians(picture.turned)), math.sin(math.radians(picture.turned))
    w, h, cx, cy = x1 - x0, y1 - y0, (x0 + x1) / 2, (y0 + y1) / 2
    a, b, c, d = w * cos, w * sin, -h * sin, h * cos
    e, f = cx - (a + c) / 2, cy - (b + d) / 2
    return f"q {a:.6f} {b:.6f} {c:.6f} {d:.6f} {e:.6f} {f:.6f} cm /{resource} Do Q\n"


def page(
    pdf: pikepdf.Pdf,
    text: str = "",
    *,
    trim_mm: tuple[float, float] = (140, 216),
    bleed_mm: float = 3,
    slug_mm: float = 0,
    origin_pt: tuple[float, float] = (0, 0),
    boxes: dict[str, Sequence[float] | None] | None = None,
    rotate: int | None = None,
    user_unit: float | None = None,
    face: str = "helv",
    embedded: bool = True,
    font_object: pikepdf.Object | None = None,
    size_pt: float = 18,
    folio: str | None = None,
    fills: Sequence[Fill] = (),
    pictures: Sequence[Picture] = (),
    content: str | bytes = b"",
    resources: dict[str, Any] | None = None,
    annotations: Sequence[pikepdf.Object] = (),
    **entries: Any,
) -> pikepdf.Page:
    """Add one page to ``pdf`` and return it.

    Args:
        text: set in the middle of the trim (``""``: none); ``folio`` at the foot.
        trim_mm: trim as a reader sees it, after /Rotate and UserUnit.  The MediaBox is trim + bleed + slug on each
            side, with its lower left corner at ``origin_pt`` (PDF units); TrimBox and BleedBox are written, CropBox and
            ArtBox not.
        boxes: puts a box in place of the made one (``{"CropBox": [0, 0, 9, 9]}``), or leaves it out
            (``{"TrimBox": None}``); what is painted does not move.
        rotate: /Rotate as written, any number; ``user_unit`` as written.
        fills, pictures, content: painted in that order, before the text; ``content`` are raw operators, in points of
            the trim frame.
        resources: further resource dictionaries (``{"ColorSpace": Dictionary(...)}``).
        entries: further keys of the page dictionary (``Group=Dictionary(...)``).
    """
    unit = 1.0 if user_unit is None else float(user_unit)
    turn = (rotate or 0) % 360
    wide, high = (trim_mm[1], trim_mm[0]) if turn in (90, 270) else trim_mm
    x, y = origin_pt
    w, h, around, bleed = wide * PT / unit, high * PT / unit, (bleed_mm + slug_mm) * PT / unit, bleed_mm * PT / unit
    trim = [x + around, y + around, x + around + w, y + around + h]
    made: dict[str, Sequence[float] | None] = {
        "MediaBox": [x, y, x + w + 2 * around, y + h + 2 * around],
        "TrimBox": trim,
        "BleedBox": [trim[0] - bleed, trim[1] - bleed, trim[2] + bleed, trim[3] + bleed],
        **(boxes or {}),
    }
    # upright trim frame (points of paper) -> media frame (PDF units); /Rotate turns clockwise (ISO 32000-1, table 30)
    s = 1 / unit
    a, b, c, d, e, f = {
        90: (0, s, -s, 0, trim[2], trim[1]),
        180: (-s, 0, 0, -s, trim[2], trim[3]),
        270: (0, -s, s, 0, trim[0], trim[3]),
    }.get(turn, (s, 0, 0, s, trim[0], trim[1]))

    parts = [f"q {a:.6f} {b:.6f} {c:.6f} {d:.6f} {e:.4f} {f:.4f} cm\n"]
    for fill in fills:
        x0, y0, x1, y1 = (v * PT for v in fill.box_mm)
        parts.append(f"q {fill.paint} {x0:.4f} {y0:.4f} {x1 - x0:.4f} {y1 - y0:.4f} re f Q\n")
    used: dict[str, Any] = {"Font": Dictionary(F1=font_object or font(pdf, face, embedded=embedded))}
    if pictures:
        used["XObject"] = Dictionary({f"/Im{n}": image(pdf, one) for n, one in enumerate(pictures, 1)})
        parts += [_place(one, f"Im{n}") for n, one in enumerate(pictures, 1)]
    raw = content.decode("latin-1") if isinstance(content, bytes) else content
    parts.append(raw + "\n" if raw else "")
    parts.append("0 0 0 1 k\n" if text or folio else "")
    for line, size, y_mm in ((text, size_pt, trim_mm[1] / 2), (folio or "", 9.0, 10.0)):
        if line:
            start = trim_mm[0] / 2 - width_pt(line, size, face) / PT / 2
            parts.append(text_at(line, start, y_mm, size))
    parts.append("Q\n")
    for kind, held in (resources or {}).items():
        if kind in used:
            for key, value in held.items():
                used[kind][key] = value
        else:
            used[kind] = held

    leaf = Dictionary(
        Type=Name.Page,
        Contents=pdf.make_indirect(Stream(pdf, "".join(parts).encode("latin-1"))),
        Resources=Dictionary({"/" + kind: held for kind, held in used.items()}),
    )
    for box, corners in made.items():
        if corners is not None:
            leaf[_name(box)] = Array([round(float(v), 5) for v in corners])
    if rotate is not None:
        leaf.Rotate = rotate
    if user_unit is not None:
        leaf.UserUnit = user_unit
    if annotations:
        leaf.Annots = Array([pdf.make_indirect(one) for one in annotations])
    for key, value in entries.items():
        leaf[_name(key)] = value
    pdf.pages.append(pikepdf.Page(pdf.make_indirect(leaf)))
    return pdf.pages[-1]


def save(pdf: pikepdf.Pdf, target: Path, **options: Any) -> Path:
    """Write ``pdf`` with an id that follows from its content, and close it."""
    # ISO 32000-1, 14.4: the id; an encrypted file cannot take one from its content
    pdf.save(target, **{"static_id": True, **options})
    pdf.close()
    return target


def book(
    n: int,
    target: Path,
    *,
    title: str = "The Lamplighter's Almanac",
    author: str = "Lantern Row Press",
    labels: pikepdf.Object | None = None,
    each: Callable[[int], dict[str, Any]] | None = None,
    after: Callable[[pikepdf.Pdf], None] | None = None,
    say: Callable[[int], str] = lambda index: f"Page {index + 1}",
    save_options: dict[str, Any] | None = None,
    **common: Any,
) -> Path:
    """Write a book of ``n`` single pages to ``target`` and return it.

    Args:
        labels: a /PageLabels number tree.
        each: from the 0-based index of a page to arguments of :func:`page` that are its own.
        after: a last change to the whole PDF, before it is saved.
        say: the text of a page from its 0-based index.
        common: arguments of :func:`page` for all pages.
    """
    pdf = pikepdf.new()
    pdf.docinfo["/Title"], pdf.docinfo["/Author"] = title, author
    pdf.docinfo["/CreationDate"] = "D:20240229120000+00'00'"
    shared = font(pdf, common.get("face", "helv"), embedded=common.get("embedded", True)) if n else None
    for index in range(n):
        wanted = {"folio": str(index + 1), "font_object": shared, **common, **(each(index) if each else {})}
        page(pdf, wanted.pop("text", say(index)), **wanted)
    if labels is not None:
        pdf.Root.PageLabels = labels
    if after:
        after(pdf)
    return save(pdf, target, **(save_options or {}))


def raw_pdf(target: Path, objects: dict[int, str | bytes], *, root: int = 1) -> Path:
    """Write a PDF by hand, for what no library would write: object numbers and what stands between obj and endobj.

    A stream is given whole, ``<< /Length 3 >> stream\\nq Q\\nendstream``.
    """
    out, places = bytearray(b"%PDF-1.7\n"), {}
    for key in sorted(objects):
        places[key] = len(out)
        body = objects[key]
        out += b"%d 0 obj\n%s\nendobj\n" % (key, body.encode("latin-1") if isinstance(body, str) else body)
    start, size = len(out), max(objects) + 1
    out += b"xref\n0 %d\n0000000000 65535 f \n" % size
    for key in range(1, size):
        out += b"%010d 00000 %c \n" % (places.get(key, 0), b"n" if key in places else b"f")
    out += b"trailer\n<< /Size %d /Root %d 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (size, root, start)
    target.write_bytes(bytes(out))
    return target


def raw_tree(target: Path, node: str, *leaves: str, more: dict[int, str | bytes] | None = None) -> Path:
    """Pages under one node of the page tree, written by hand: entries of the node, entries of each page.

    Object 1 is the catalog, 2 the root of the tree, 3 the node, 10, 11, 12 … the pages; ``more`` are further objects.
    """
    kids = " ".join(f"{10 + n} 0 R" for n in range(len(leaves)))
    objects: dict[int, str | bytes] = {
        1: "<< /Type /Catalog /Pages 2 0 R >>",
        2: f"<< /Type /Pages /Kids [3 0 R] /Count {len(leaves)} >>",
        3: f"<< /Type /Pages /Parent 2 0 R /Kids [{kids}] /Count {len(leaves)} {node} >>",
        **{10 + n: f"<< /Type /Page /Parent 3 0 R {leaf} >>" for n, leaf in enumerate(leaves)},
    }
    return raw_pdf(target, {**objects, **(more or {})})
