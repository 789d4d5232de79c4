# SPDX-License-Identifier: AGPL-3.0-or-later
"""Files whose skeleton is wrong: cross-references, page trees, boxes."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path

from tests.faults.raw import HIGH_PT, MEDIA, WIDE_PT, Raw, bound, plain_page, references

Maker = Callable[[Path], Path]
#: a page that states no more than how large it is
SHEET = b"/MediaBox [0 0 %g %g]" % (WIDE_PT, HIGH_PT)


def sound(path: Path) -> Path:
    """A book with nothing wrong, to spoil."""
    raw = Raw()
    return bound(path, raw, content=raw.stream(b"0 g 50 50 100 100 re f"))


def _spoilt(*changes: tuple[bytes, bytes]) -> Maker:
    def make(path: Path) -> Path:
        data = sound(path).read_bytes()
        for before, after in changes:
            spoilt = re.sub(before, after, data, count=1)
            assert spoilt != data
            data = spoilt
        path.write_bytes(data)
        return path

    return make


def _truncated(part: int) -> Maker:
    """Cut at one of ten places that look random and are the same every time."""
    share = random.Random(20260917 + part).uniform(part / 10, (part + 1) / 10)

    def make(path: Path) -> Path:
        data = sound(path).read_bytes()
        path.write_bytes(data[: max(8, int(len(data) * share))])
        return path

    return make


def _tree(nodes: Callable[[Raw, int, list[int]], bytes], catalog: bytes = b"") -> Maker:
    """A book of eight pages under a root node that ``nodes`` writes; it may add others."""

    def make(path: Path) -> Path:
        raw = Raw()
        tree = raw.new()
        kids = [plain_page(raw, tree, number) for number in range(1, 9)]
        raw.put(tree, nodes(raw, tree, kids))
        return raw.save(path, raw.add(b"<< /Type /Catalog /Pages %d 0 R %s >>" % (tree, catalog)))

    return make


def _loop(raw: Raw, tree: int, kids: list[int]) -> bytes:
    inner = raw.new()
    raw.put(inner, b"<< /Type /Pages /Parent %d 0 R /Count 8 /Kids [%d 0 R] >>" % (tree, tree))
    return b"<< /Type /Pages /Count 8 /Kids [%d 0 R %d 0 R] >>" % (kids[0], inner)


def _own_kid(raw: Raw, tree: int, kids: list[int]) -> bytes:
    return b"<< /Type /Pages /Count 9 /Kids [%s %d 0 R] >>" % (references(kids), tree)


def _counting(count: bytes) -> Maker:
    return _tree(lambda raw, tree, kids: b"<< /Type /Pages /Count %s /Kids [%s] >>" % (count, references(kids)))


def _deep_tree(raw: Raw, tree: int, kids: list[int]) -> bytes:
    below = kids[0]
    for _ in range(20_000):
        below = raw.add(b"<< /Type /Pages /Count 1 /Kids [%d 0 R] >>" % below)
    return b"<< /Type /Pages /Count 1 /Kids [%d 0 R] >>" % below


def _doubling(raw: Raw, tree: int, kids: list[int]) -> bytes:
    """Every node names the one below twice: 2^60 pages in 60 lines, did nobody count."""
    below = kids[0]
    for _ in range(60):
        below = raw.add(b"<< /Type /Pages /Count 2 /Kids [%d 0 R %d 0 R] >>" % (below, below))
    return b"<< /Type /Pages /Count 1 /Kids [%d 0 R] >>" % below


def one_page_often(path: Path, often: int) -> Path:
    """One page object, named so many times."""
    return _tree(
        lambda raw, tree, kids: b"<< /Type /Pages /Count %d /Kids [%s] >>" % (often, b"%d 0 R " % kids[0] * often)
    )(path)


def tiny_pages(path: Path, count: int) -> Path:
    """So many pages of three words each."""
    raw = Raw()
    tree = raw.new()
    kids = [raw.add(b"<< /Type /Page /Parent %d 0 R >>" % tree) for _ in range(count)]
    raw.put(tree, b"<< /Type /Pages /Count %d %s /Kids [%s] >>" % (count, MEDIA, references(kids)))
    return raw.save(path, raw.add(b"<< /Type /Catalog /Pages %d 0 R >>" % tree))


def _paged(media: bytes, page: bytes = b"", *, all_pages: bool = False) -> Maker:
    """One page, or every page, with these boxes."""

    def make(path: Path) -> Path:
        raw = Raw()
        content = raw.stream(b"0 g 50 50 100 100 re f")
        others = media + b" " + page if all_pages else MEDIA
        return bound(path, raw, content=content, media=media, page=page, others=others)

    return make


def _no_pages_key(path: Path) -> Path:
    data = sound(path).read_bytes()
    path.write_bytes(re.sub(rb"/Pages \d+ 0 R", b"", data))
    return path


def _damaged_xref(path: Path) -> Path:
    data = sound(path).read_bytes()
    path.write_bytes(re.sub(rb"\n00000(\d)", rb"\n00091\1", data))
    return path


FAULTS: dict[str, Maker] = {
    "xref: offsets wrong": _damaged_xref,
    "xref: no startxref": _spoilt((rb"startxref\n\d+", b"")),
    "xref: startxref far outside": _spoilt((rb"startxref\n\d+", b"startxref\n999999999999")),
    "xref: Prev points at itself": _spoilt((rb"trailer\n<<", b"trailer\n<< /Prev 999")),
    "xref: Size a thousand million": _spoilt((rb"/Size \d+", b"/Size 1000000000")),
    "xref: no trailer": _spoilt((rb"trailer\n<<.*?>>", b"")),
    **{f"cut short in its {part + 1}. tenth": _truncated(part) for part in range(10)},
    "zero pages": _tree(lambda raw, tree, kids: b"<< /Type /Pages /Count 0 /Kids [] >>"),
    "no page tree": _no_pages_key,
    "page tree: runs in a circle": _tree(_loop),
    "page tree: a node its own kid": _tree(_own_kid),
    "page tree: Kids a number": _tree(lambda raw, tree, kids: b"<< /Type /Pages /Count 8 /Kids 7 >>"),
    "page tree: Kids of wrong types": _tree(
        lambda raw, tree, kids: b"<< /Type /Pages /Count 8 /Kids [%s (a) /b 3 true [1] ] >>" % references(kids)
    ),
    "page tree: a page that is null": _tree(
        lambda raw, tree, kids: b"<< /Type /Pages /Count 9 /Kids [%s null] >>" % references(kids)
    ),
    "page tree: a page that is not there": _tree(
        lambda raw, tree, kids: b"<< /Type /Pages /Count 9 /Kids [%s 9999 0 R] >>" % references(kids)
    ),
    "page tree: Count huge": _counting(b"2147483647"),
    "page tree: Count beyond 64 bits": _counting(b"99999999999999999999"),
    "page tree: Count negative": _counting(b"-8"),
    "page tree: 20,000 levels": _tree(_deep_tree),
    "page tree: every node twice": _tree(_doubling),
    "pages: one object 4,000 times": lambda path: one_page_often(path, 4_000),
    "pages: 4,000 tiny ones": lambda path: tiny_pages(path, 4_000),
    "boxes: 200 inches": _paged(b"/MediaBox [0 0 14400 14400]", all_pages=True),
    "boxes: miles, by UserUnit": _paged(MEDIA, b"/UserUnit 75000", all_pages=True),
    "boxes: one page of miles": _paged(b"/MediaBox [0 0 14400 14400]", b"/UserUnit 75000"),
    "boxes: UserUnit beyond all numbers": _paged(MEDIA, b"/UserUnit 1" + b"0" * 400),
    "boxes: no area": _paged(b"/MediaBox [0 0 0 612]", all_pages=True),
    "boxes: a hair of an area": _paged(b"/MediaBox [0 0 0.0000001 0.0000001]", all_pages=True),
    "boxes: corners the wrong way round": _paged(b"/MediaBox [%g %g 0 0]" % (WIDE_PT, HIGH_PT), all_pages=True),
    "boxes: no numbers": _paged(b"/MediaBox [nan inf -inf 1e5]"),
    "boxes: strings": _paged(b"/MediaBox [(0) (0) (396) (612)]"),
    "boxes: 1e38": _paged(b"/MediaBox [-1%s -1%s 1%s 1%s]" % ((b"0" * 38,) * 4), all_pages=True),
    "boxes: one page of 1e38": _paged(b"/MediaBox [0 0 1%s 1%s]" % ((b"0" * 38,) * 2)),
    "boxes: trim far off the page": _paged(SHEET, b"/TrimBox [90000 90000 90100 90100]"),
    "boxes: trim of 1e300": _paged(SHEET, b"/TrimBox [0 0 1%s 1%s]" % ((b"0" * 300,) * 2)),
    "boxes: turned by a huge number": _paged(MEDIA, b"/Rotate 1" + b"0" * 300),
}
