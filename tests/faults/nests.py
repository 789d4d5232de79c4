# SPDX-License-Identifier: AGPL-3.0-or-later
"""Things within things within things, and things within themselves."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tests.faults.raw import Raw, bound, references

Maker = Callable[[Path], Path]
#: resources, content, further entries of the page, entries of the catalog
Parts = tuple[bytes, bytes, bytes, bytes]

BLOCK = b"0 g 50 50 100 100 re f"
DEEP = 100_000
FORMS = 10_000


def _of(build: Callable[[Raw], Parts]) -> Maker:
    def make(path: Path) -> Path:
        raw = Raw()
        resources, content, page, catalog = build(raw)
        return bound(path, raw, content=raw.stream(content), resources=resources, page=page, catalog=catalog)

    return make


def _arrays(raw: Raw) -> Parts:
    return b"", BLOCK, b"/PieceInfo " + b"[" * DEEP + b"]" * DEEP, b""


def _dictionaries(raw: Raw) -> Parts:
    return b"/ExtGState " + b"<< /A " * DEEP + b"1" + b" >>" * DEEP, BLOCK, b"", b""


def _arrays_in_content(raw: Raw) -> Parts:
    return b"", BLOCK + b" " + b"[" * DEEP + b"]" * DEEP + b" TJ", b"", b""


def _saves(raw: Raw) -> Parts:
    return b"", b"q " * DEEP + BLOCK, b"", b""


def _restores(raw: Raw) -> Parts:
    return b"", BLOCK + b" Q" * DEEP, b"", b""


def _marked(raw: Raw) -> Parts:
    return b"", b"/Span BMC " * DEEP + BLOCK, b"", b""


def _clips(raw: Raw) -> Parts:
    return b"", b"q 0 0 400 600 re W n " * 5_000 + BLOCK, b"", b""


def _forms(raw: Raw) -> Parts:
    inner = raw.form(BLOCK)
    for _ in range(FORMS):
        inner = raw.form(b"/X Do", b"/Resources << /XObject << /X %d 0 R >> >>" % inner)
    return b"/XObject << /X %d 0 R >>" % inner, b"/X Do", b"", b""


def _forms_twice(raw: Raw) -> Parts:
    """Every form draws the one below twice: 2^40 drawings in 40 lines."""
    inner = raw.form(BLOCK)
    for _ in range(40):
        inner = raw.form(b"/X Do /X Do", b"/Resources << /XObject << /X %d 0 R >> >>" % inner)
    return b"/XObject << /X %d 0 R >>" % inner, b"/X Do", b"", b""


def _form_in_itself(raw: Raw) -> Parts:
    own = raw.new()
    raw.form(BLOCK + b" /X Do", b"/Resources << /XObject << /X %d 0 R >> >>" % own, own)
    return b"/XObject << /X %d 0 R >>" % own, b"/X Do", b"", b""


def _soft_mask(raw: Raw) -> Parts:
    group, state = raw.new(), raw.new()
    raw.form(
        b"/G gs " + BLOCK, b"/Group << /S /Transparency /CS /DeviceGray >> /Resources << /ExtGState << /G %d 0 R >> >>"
        % state, group,
    )  # fmt: skip
    raw.put(state, b"<< /Type /ExtGState /SMask << /S /Luminosity /G %d 0 R >> >>" % group)
    return b"/ExtGState << /G %d 0 R >>" % state, b"/G gs " + BLOCK, b"", b""


def _pattern(raw: Raw) -> Parts:
    own = raw.new()
    raw.stream(
        b"/Pattern cs /P scn 0 0 10 10 re f",
        b"/Type /Pattern /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 20 20] /XStep 20 /YStep 20 "
        b"/Resources << /Pattern << /P %d 0 R >> >>" % own, own,
    )  # fmt: skip
    return b"/Pattern << /P %d 0 R >>" % own, b"/Pattern cs /P scn 50 50 100 100 re f", b"", b""


def _tiny_tiles(raw: Raw) -> Parts:
    """A thousand million tiles of a pattern on one page."""
    own = raw.stream(
        b"0 0 1 1 re f",
        b"/Type /Pattern /PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 1 1] /XStep 0.01 /YStep 0.01 "
        b"/Resources << >>",
    )
    return b"/Pattern << /P %d 0 R >>" % own, b"/Pattern cs /P scn 0 0 390 600 re f", b"", b""


def _glyph_font(raw: Raw, glyph: bytes, own: int) -> None:
    drawn = raw.stream(b"10 0 d0 " + glyph)
    raw.put(
        own,
        b"<< /Type /Font /Subtype /Type3 /FontBBox [0 0 10 10] /FontMatrix [.1 0 0 .1 0 0] /FirstChar 65 /LastChar 65 "
        b"/Widths [10] /Encoding << /Differences [65 /a] >> /CharProcs << /a %d 0 R >> "
        b"/Resources << /Font << /F %d 0 R >> >> >>" % (drawn, own),
    )


def _type3(raw: Raw) -> Parts:
    own = raw.new()
    _glyph_font(raw, b"BT /F 1 Tf (A) Tj ET 0 0 5 5 re f", own)
    return b"/Font << /F %d 0 R >>" % own, b"BT /F 12 Tf 50 50 Td (A) Tj ET", b"", b""


def _layer_expression(raw: Raw) -> Parts:
    layer = raw.add(b"<< /Type /OCG /Name (Weir) >>")
    expression = b"%d 0 R" % layer
    for _ in range(400):
        expression = b"[/And %s]" % expression
    below = raw.add(expression)
    for _ in range(20_000):
        below = raw.add(b"[/Not %d 0 R]" % below)
    member = raw.add(b"<< /Type /OCMD /VE %d 0 R >>" % below)
    catalog = b"/OCProperties << /OCGs [%d 0 R] /D << /Order [%d 0 R] >> >>" % (layer, layer)
    return b"/Properties << /L %d 0 R >>" % member, b"/OC /L BDC " + BLOCK + b" EMC", b"", catalog


def _layer_in_itself(raw: Raw) -> Parts:
    layer, own = raw.add(b"<< /Type /OCG /Name (Weir) >>"), raw.new()
    raw.put(own, b"[/And %d 0 R %d 0 R]" % (own, own))
    member = raw.add(b"<< /Type /OCMD /VE %d 0 R >>" % own)
    catalog = b"/OCProperties << /OCGs [%d 0 R] /D << /Order [%d 0 R] >> >>" % (layer, layer)
    return b"/Properties << /L %d 0 R >>" % member, b"/OC /L BDC " + BLOCK + b" EMC", b"", catalog


def _layer_order(raw: Raw) -> Parts:
    layer, own = raw.add(b"<< /Type /OCG /Name (Weir) >>"), raw.new()
    raw.put(own, b"[%d 0 R %d 0 R]" % (layer, own))
    catalog = b"/OCProperties << /OCGs [%d 0 R] /D << /Order %d 0 R >> >>" % (layer, own)
    return b"/Properties << /L %d 0 R >>" % layer, b"/OC /L BDC " + BLOCK + b" EMC", b"", catalog


def _outline(raw: Raw) -> Parts:
    root, one, other = raw.new(), raw.new(), raw.new()
    raw.put(root, b"<< /Type /Outlines /First %d 0 R /Last %d 0 R /Count 2 >>" % (one, other))
    raw.put(one, b"<< /Title (One) /Parent %d 0 R /Next %d 0 R /First %d 0 R /Last %d 0 R >>" % (root, other, one, one))
    raw.put(other, b"<< /Title (Other) /Parent %d 0 R /Next %d 0 R >>" % (root, one))
    return b"", BLOCK, b"", b"/Outlines %d 0 R" % root


def _outline_deep(raw: Raw) -> Parts:
    root = raw.new()
    numbers = [raw.new() for _ in range(30_000)]
    raw.put(root, b"<< /Type /Outlines /First %d 0 R /Last %d 0 R /Count 1 >>" % (numbers[0], numbers[0]))
    for above, own, below in zip([root, *numbers], numbers, [*numbers[1:], numbers[0]], strict=False):
        raw.put(own, b"<< /Title (x) /Parent %d 0 R /First %d 0 R /Last %d 0 R /Count 1 >>" % (above, below, below))
    return b"", BLOCK, b"", b"/Outlines %d 0 R" % root


def _name_tree(raw: Raw) -> Parts:
    one, other = raw.new(), raw.new()
    raw.put(one, b"<< /Kids [%d 0 R %d 0 R] >>" % (other, one))
    raw.put(other, b"<< /Kids [%d 0 R] /Names [(a) %d 0 R] >>" % (one, one))
    trees = b"/JavaScript %d 0 R /EmbeddedFiles %d 0 R /Dests %d 0 R" % (one, one, one)
    return b"", BLOCK, b"", b"/Names << %s >>" % trees


def _labels(raw: Raw) -> Parts:
    one, other = raw.new(), raw.new()
    raw.put(one, b"<< /Kids [%d 0 R %d 0 R] >>" % (other, one))
    raw.put(other, b"<< /Nums [0 << /S /r >> 2 << /S /D >>] /Kids [%d 0 R] >>" % one)
    return b"", BLOCK, b"", b"/PageLabels %d 0 R" % one


def _structure(raw: Raw) -> Parts:
    root, one = raw.new(), raw.new()
    raw.put(root, b"<< /Type /StructTreeRoot /K %d 0 R /ParentTree %d 0 R >>" % (one, one))
    raw.put(one, b"<< /S /P /P %d 0 R /K [%d 0 R %d 0 R] /Kids [%d 0 R] >>" % (root, one, root, one))
    return b"", BLOCK, b"/StructParents 0", b"/StructTreeRoot %d 0 R /MarkInfo << /Marked true >>" % root


def _stitched(raw: Raw, levels: int, *, circle: bool) -> bytes:
    below = first = raw.new()
    raw.put(below, b"<< /FunctionType 2 /Domain [0 1] /C0 [0 0 0 0] /C1 [0 0 0 1] /N 1 >>")
    for _ in range(levels):
        below = raw.add(
            b"<< /FunctionType 3 /Domain [0 1] /Bounds [.5] /Encode [0 1 0 1] /Functions [%d 0 R %d 0 R] >>"
            % (below, below)
        )
    if circle:
        raw.put(
            first,
            b"<< /FunctionType 3 /Domain [0 1] /Bounds [] /Encode [0 1] /Functions [%d 0 R] >>" % below,
        )
    return b"/ColorSpace << /C [/Separation /Gold /DeviceCMYK %d 0 R] >>" % below


def _functions(raw: Raw) -> Parts:
    return _stitched(raw, 40, circle=False), b"/C cs 1 sc 50 50 100 100 re f", b"", b""


def _functions_circle(raw: Raw) -> Parts:
    return _stitched(raw, 3, circle=True), b"/C cs 1 sc 50 50 100 100 re f", b"", b""


def _functions_deep(raw: Raw) -> Parts:
    below = raw.add(b"<< /FunctionType 2 /Domain [0 1] /C0 [0 0 0 0] /C1 [0 0 0 1] /N 1 >>")
    for _ in range(20_000):
        below = raw.add(b"<< /FunctionType 3 /Domain [0 1] /Bounds [] /Encode [0 1] /Functions [%d 0 R] >>" % below)
    resources = b"/ColorSpace << /C [/Separation /Gold /DeviceCMYK %d 0 R] >>" % below
    return resources, b"/C cs 1 sc 50 50 100 100 re f", b"", b""


def _spaces(raw: Raw) -> Parts:
    tint = raw.add(b"<< /FunctionType 2 /Domain [0 1] /C0 [0] /C1 [1] /N 1 >>")
    below = raw.add(b"/DeviceGray")
    for level in range(20_000):
        if level % 2:
            below = raw.add(b"[/Indexed %d 0 R 1 <0001>]" % below)
        else:
            below = raw.add(b"[/Separation /Gold%d %d 0 R %d 0 R]" % (level, below, tint))
    return b"/ColorSpace << /C %d 0 R >>" % below, b"/C cs 1 sc 50 50 100 100 re f", b"", b""


def _space_in_itself(raw: Raw) -> Parts:
    own = raw.new()
    tint = raw.add(b"<< /FunctionType 2 /Domain [0 1] /C0 [0] /C1 [1] /N 1 >>")
    raw.put(own, b"[/Separation /Gold [/Indexed %d 0 R 1 <0001>] %d 0 R]" % (own, tint))
    return b"/ColorSpace << /C %d 0 R >>" % own, b"/C cs 1 sc 50 50 100 100 re f", b"", b""


def _actions(raw: Raw) -> Parts:
    one = raw.new()
    raw.put(one, b"<< /S /GoTo /D [0 /Fit] /Next [%d 0 R %d 0 R] >>" % (one, one))
    return b"", BLOCK, b"", b"/OpenAction %d 0 R" % one


def _fields(raw: Raw) -> Parts:
    one = raw.new()
    raw.put(one, b"<< /T (a) /FT /Tx /Parent %d 0 R /Kids [%d 0 R] >>" % (one, one))
    return b"", BLOCK, b"", b"/AcroForm << /Fields [%d 0 R] /DA (/F 0 Tf) >>" % one


def _references(raw: Raw) -> Parts:
    """A chain of a hundred thousand objects, each nothing but a reference to the next; the last to the first."""
    numbers = [raw.new() for _ in range(DEEP)]
    for own, after in zip(numbers, [*numbers[1:], numbers[0]], strict=True):
        raw.put(own, b"%d 0 R" % after)
    return b"/XObject << /X %d 0 R >>" % numbers[0], BLOCK + b" /X Do", b"/Annots %d 0 R" % numbers[7], b""


def _threads(raw: Raw) -> Parts:
    bead = raw.new()
    raw.put(bead, b"<< /Type /Bead /N %d 0 R /V %d 0 R >>" % (bead, bead))
    return b"", BLOCK, b"/B [%s]" % references([bead] * 3), b"/Threads [<< /F %d 0 R >>]" % bead


def _mask_of_itself(raw: Raw) -> Parts:
    own = raw.new()
    raw.stream(
        bytes(100),
        b"/Type /XObject /Subtype /Image /Width 10 /Height 10 /BitsPerComponent 8 /ColorSpace /DeviceGray "
        b"/SMask %d 0 R /Alternates [<< /Image %d 0 R >>]" % (own, own), own,
    )  # fmt: skip
    return b"/XObject << /X %d 0 R >>" % own, b"100 0 0 100 50 50 cm /X Do", b"", b""


def _length_of_itself(raw: Raw) -> Parts:
    own = raw.new()
    raw.put(own, b"<< /Length %d 0 R /Type /XObject /Subtype /Form /BBox [0 0 9 9] >>\nstream\n0 g\nendstream" % own)
    return b"/XObject << /X %d 0 R >>" % own, BLOCK + b" /X Do", b"", b""


FAULTS: dict[str, Maker] = {
    name: _of(build)
    for name, build in {
        "nest: arrays, 100,000 deep": _arrays,
        "nest: dictionaries, 100,000 deep": _dictionaries,
        "nest: arrays in content, 100,000 deep": _arrays_in_content,
        "nest: q, 100,000 deep": _saves,
        "nest: Q without q, 100,000 times": _restores,
        "nest: marked content, 100,000 deep": _marked,
        "nest: clips, 5,000 deep": _clips,
        "nest: forms, 10,000 deep": _forms,
        "nest: forms, each drawn twice": _forms_twice,
        "circle: form": _form_in_itself,
        "circle: soft mask": _soft_mask,
        "circle: pattern": _pattern,
        "nest: a thousand million tiles": _tiny_tiles,
        "circle: Type 3 glyph": _type3,
        "nest: layer expression": _layer_expression,
        "circle: layer expression": _layer_in_itself,
        "circle: order of layers": _layer_order,
        "circle: outline": _outline,
        "nest: outline, 30,000 deep": _outline_deep,
        "circle: name tree": _name_tree,
        "circle: page labels": _labels,
        "circle: structure tree": _structure,
        "nest: functions, each twice, 40 levels": _functions,
        "nest: functions, 20,000 deep": _functions_deep,
        "circle: functions": _functions_circle,
        "nest: colour spaces, 20,000 deep": _spaces,
        "circle: colour space": _space_in_itself,
        "circle: actions": _actions,
        "circle: form fields": _fields,
        "circle: references alone": _references,
        "circle: article threads": _threads,
        "circle: picture its own mask": _mask_of_itself,
        "circle: length of a stream": _length_of_itself,
    }.items()
}
