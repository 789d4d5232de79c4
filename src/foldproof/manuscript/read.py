# SPDX-License-Identifier: AGPL-3.0-or-later
"""The read stage: from a path to a :class:`Manuscript`."""

from __future__ import annotations

import math
from pathlib import Path

from attrs import evolve, field, frozen

from foldproof.errors import Unreadable
from foldproof.files import sha256_of
from foldproof.geometry import Matrix, Rect
from foldproof.manuscript.boxes import resolved, turned
from foldproof.manuscript.fonts import fact_of
from foldproof.manuscript.labels import label_of
from foldproof.manuscript.model import AnnotationFact, Manuscript, OutputIntentFact, PageFact
from foldproof.pdf.structure import written_file
from foldproof.pdf.structure_model import WrittenAnnotation, WrittenFile, WrittenPage
from foldproof.units import pt_to_mm
from foldproof.workers import Lost, Workers

# annotation flags: bit positions of ISO 32000-1, table 165
_HIDDEN, _PRINT, _NO_VIEW = 1 << 1, 1 << 2, 1 << 5
_MM_PER_PT = pt_to_mm(1.0)
#: seconds that reading may take: some, and some for every megabyte.  The books that were tried take 1 s a megabyte
_SECONDS, _SECONDS_A_MB = 30.0, 10.0


@frozen
class _Job:
    path: Path
    trim_mm: tuple[float, float] | None
    password: str | None = field(repr=False)


def read(
    path: Path,
    *,
    trim_mm: tuple[float, float] | None = None,
    password: str | None = None,
    workers: Workers | None = None,
) -> Manuscript:
    """What a PDF says, page by page.  The file is read, never written to, and closed again.

    Args:
        trim_mm: the job's trim, for pages that state no TrimBox.
        workers: read in one of these processes, which can be ended when the file has no end; without, in this one.

    Raises:
        NeedsPassword: it is locked, and the password is missing or wrong.
        Unreadable: there is no such file, or it is no PDF, or too damaged for one, or reading it has no end.
    """
    if workers is None:
        return _read(_Job(path, trim_mm, password))
    whole = path.absolute()  # a process may have begun in another folder
    try:
        seconds = _SECONDS + _SECONDS_A_MB * math.ceil(whole.stat().st_size / 1e6)
    except (OSError, ValueError):
        seconds = _SECONDS
    try:
        found = workers.alone(_read, _Job(whole, trim_mm, password), seconds=seconds)
    except Unreadable as odd:
        raise type(odd)(str(odd).replace(str(whole), str(path))) from None
    if isinstance(found, Lost):
        raise Unreadable(f"{path} cannot be read: {found.reason}. Ask for a fresh export from the layout program.")
    return evolve(found, path=path)


def _read(job: _Job) -> Manuscript:
    path, trim_mm = job.path, job.trim_mm
    written = written_file(path, job.password)
    try:
        digest, size = sha256_of(path), path.stat().st_size
    except OSError as refused:
        raise Unreadable(f"{path} cannot be read: {(refused.strerror or str(refused)).lower()}.") from None
    remarks: dict[str, list[int]] = {}
    pages = tuple(_page(index, page, written, trim_mm, remarks) for index, page in enumerate(written.pages))
    return Manuscript(
        path=path,
        sha256=digest,
        size_bytes=size,
        title=written.title,
        author=written.author,
        pdf_version=written.version,
        pages=pages,
        fonts={font.key: fact_of(font) for font in written.fonts},
        spots=written.spots,
        output_intents=tuple(OutputIntentFact(i.subtype, i.condition, i.components) for i in written.intents),
        layers=written.layers,
        encrypted=written.encrypted,
        has_form=written.has_form,
        reader_warnings=(*(f"{_pages(indices)}: {what}." for what, indices in remarks.items()), *written.warnings),
        mod_date=written.mod_date,
        facts=written.facts,
    )


def _page(
    index: int,
    page: WrittenPage,
    written: WrittenFile,
    trim_mm: tuple[float, float] | None,
    remarks: dict[str, list[int]],
) -> PageFact:
    """One page; what had to be put right is added to ``remarks``, which keeps the indices of the pages for each."""
    rotate, wrong = turned(page.rotate)
    boxes, mended = resolved(page, rotate, trim_mm)
    said = [*(f"/{key} makes no sense as written; left out" for key in page.odd), *([wrong] if wrong else []), *mended]
    for what in said:
        remarks.setdefault(what, []).append(index)
    fact = PageFact(
        index=index,
        boxes=boxes,
        rotate=rotate,
        user_unit=page.user_unit or 1.0,
        label=label_of(index, written.labels),
        fonts=page.fonts,
        annotations=(),
        has_content=page.has_content,
        group_space=page.group_space,
    )
    if not page.annotations:
        return fact
    to_mm = fact.to_trim.then(Matrix.scaling(_MM_PER_PT, _MM_PER_PT))
    annotations = []
    for one in page.annotations:
        x0, y0, x1, y1 = one.corners or (0.0, 0.0, 0.0, 0.0)
        # quarter turns keep a rectangle upright: two corners tell the whole, and an empty one stays empty
        place = Rect.from_corners(*to_mm.point(x0, y0), *to_mm.point(x1, y1))
        annotations.append(
            AnnotationFact(
                subtype=one.subtype,
                prints=prints(one, place),
                shows=shows(one, place, needs_appearances=written.needs_appearances),
                place_mm=place,
            )
        )
    return evolve(fact, annotations=tuple(annotations))


def prints(one: WrittenAnnotation, place: Rect) -> bool:
    """Whether an annotation goes on paper (ISO 32000-1, 12.5.3): Print, not Hidden, and something to draw.

    A rectangle without area scales any appearance to nothing (12.5.5, algorithm 8.1).
    """
    return bool(one.flags & _PRINT) and not one.flags & _HIDDEN and one.draws and not place.is_empty


def shows(one: WrittenAnnotation, place: Rect, *, needs_appearances: bool) -> bool:
    """Whether an annotation is seen on screen: neither Hidden nor NoView, and with something to draw.

    Without an appearance viewers draw most kinds themselves: of a link the border, of a form field its ground, border
    and value where the form asks for it (12.7.2, NeedAppearances); pop-ups and the rest of the page are left to the
    viewer's own windows.
    """
    if one.flags & (_HIDDEN | _NO_VIEW) or place.is_empty or one.subtype == "Popup":
        return False
    if one.draws:
        return True
    match one.subtype:
        case "Link":
            return one.bordered
        case "Widget":
            return needs_appearances and one.filled
    return True


def _pages(indices: list[int]) -> str:
    """``"Page 3"``, ``"Pages 1, 3-7 and 12"`` from 0-based indices in order."""
    runs: list[list[int]] = []
    for number in (index + 1 for index in indices):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    parts = [str(first) if first == last else f"{first}-{last}" for first, last in runs]
    if len(parts) > 12:
        parts = [*parts[:11], f"{len(indices) - sum(last - first + 1 for first, last in runs[:11])} more"]
    listed = parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
    return f"{'Page' if len(indices) == 1 else 'Pages'} {listed}"
