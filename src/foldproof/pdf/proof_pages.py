# SPDX-License-Identifier: AGPL-3.0-or-later
"""The proof's own reading of manuscript pages: digest, trim, bleed, turning.

Boxes are in the media frame as written (units of the page's default user space); ``upright`` maps that frame to points
of paper, the page upright as a reader sees it, the centre of its trim at the origin.
"""

from __future__ import annotations

import gc
from pathlib import Path
from typing import Any

from foldproof.pdf.memory import LARGE_BYTES
from foldproof.pdf.proof_affine import Box, box_round, chain, common, middle, quarter, shift, stretch
from foldproof.pdf.proof_objects import (
    Digester,
    OpenFile,
    Reader,
    content_of,
    get,
    numbers,
    open_file,
    reading,
    resolve,
)
from foldproof.pdf.proof_read import PageRead, PagesJob

#: a page without any MediaBox is taken for Letter, as readers do
_LETTER: Box = (0.0, 0.0, 612.0, 792.0)


def read_pages(job: PagesJob) -> tuple[PageRead, ...]:
    """Read a run of pages.

    Raises:
        Unreadable: pypdf cannot read the file.
    """
    held = opened(job.path, job.password)
    digester = Digester(held.memo)
    with reading(job.path):
        return tuple(
            _page(held.pages[i], i + 1, digester, held.reader) for i in range(job.start, min(job.stop, len(held.pages)))
        )


def count_pages(job: PagesJob) -> int:
    """How many pages pypdf finds.

    Raises:
        Unreadable: pypdf cannot read the file.
    """
    return len(opened(job.path, job.password).pages)


_OPEN: list[tuple[tuple[str, int, int], OpenFile]] = []


def opened(path: Path, password: str | None) -> OpenFile:
    """The file, kept open for the next job of this process; the two last ones are kept."""
    stat = path.stat()
    key = (str(path), stat.st_mtime_ns, stat.st_size)
    for known, held in _OPEN:
        if known == key:
            return held
    held = open_file(path, password)
    _OPEN.append((key, held))
    del _OPEN[:-2]
    return held


def forget() -> None:
    """Let go of the files kept open; what pypdf holds of a book is as much as the book."""
    if _OPEN:
        largest = max(size for (_, _, size), _ in _OPEN)
        for _, held in _OPEN:
            held.reader.resolved_objects.clear()  # what pypdf read refers to its reader and back
        _OPEN.clear()
        if largest >= LARGE_BYTES:
            gc.collect()


def _page(page: dict[str, Any], number: int, digester: Digester, reader: Reader) -> PageRead:
    content = content_of(page)
    trim, medium = _boxes(page)
    turned = get(page, "/Rotate")
    rotate = round(float(turned) / 90) % 4 if isinstance(turned, int | float) else 0
    unit = get(page, "/UserUnit")
    unit = float(unit) if isinstance(unit, int | float) and float(unit) > 0 else 1.0
    cx, cy = middle(trim)
    # /Rotate turns clockwise (ISO 32000-1, table 30)
    upright = chain(shift(-cx, -cy), stretch(unit), quarter(-rotate))
    annotations = get(page, "/Annots")
    return PageRead(
        number=number,
        digest=digester.painted(content, page.get("/Resources")),
        empty=not content.strip() and not annotations,
        upright=upright,
        trim=box_round(upright, trim),
        medium=medium,
        annotated=any_prints(annotations, reader),
    )


def any_prints(annotations: Any, reader: Reader) -> bool:
    """Whether any annotation of a page's /Annots would be printed."""
    if not isinstance(annotations, list):
        return False
    # most annotations are links without an appearance, thousands of them: these are not even parsed
    return any(not reader.surely_lacks(each, b"/AP") and _prints(resolve(each)) for each in list.__iter__(annotations))


def _prints(annotation: Any) -> bool:
    """ISO 32000-1, tables 164 and 165: the Print flag (bit 3), not Hidden (bit 2); nothing is drawn without /AP."""
    flags = get(annotation, "/F")
    flags = int(flags) if isinstance(flags, int) else 0
    shown = get(get(annotation, "/AP"), "/N") is not None and get(annotation, "/Subtype") != "/Popup"
    return bool(flags & 4) and not flags & 2 and shown


def _boxes(page: dict[str, Any]) -> tuple[Box, Box]:
    """Trim and medium (ISO 32000-1, 14.11.2; corners in any order, 7.9.5).

    Boxes reach no further than the medium.  The CropBox is for screens: it stands in for a TrimBox that is missing and
    hides nothing of what is printed.
    """
    media = ordered(page.get("/MediaBox")) or _LETTER
    crop = _inside(ordered(page.get("/CropBox")), media) or media
    return _inside(ordered(page.get("/TrimBox")), media) or crop, media


def ordered(value: Any) -> Box | None:
    """A box with its corners in order; ``None`` for none and for one without extent."""
    four = numbers(resolve(value), 4)
    if four is None:
        return None
    x0, x1 = sorted((four[0], four[2]))
    y0, y1 = sorted((four[1], four[3]))
    return (x0, y0, x1, y1) if x1 > x0 and y1 > y0 else None


def _inside(box: Box | None, media: Box) -> Box | None:
    if box is None:
        return None
    both = common(box, media)
    return both if both[2] > both[0] and both[3] > both[1] else None
