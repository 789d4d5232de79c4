# SPDX-License-Identifier: AGPL-3.0-or-later
"""One file a sheet, from a sheets.pdf that was proved; one file a part, from a file with bookmarks."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import pikepdf

from foldproof.errors import OurFault
from foldproof.files import patient, placed


def split_sheets(sheets: Path, folder: Path) -> int:
    """Write ``sheet-001.pdf`` … with two sides each into ``folder``; answers how many.

    Raises:
        NotWritten: the folder does not take a file.
        OurFault: the sheets cannot be opened.
    """
    with _open(sheets) as pdf:
        count = (len(pdf.pages) + 1) // 2
        digits = max(3, len(str(count)))
        for number in range(count):
            target = folder / f"sheet-{number + 1:0{digits}}.pdf"
            _write(pdf, range(2 * number, min(2 * number + 2, len(pdf.pages))), target)
        return count


def some_sides(sheets: Path, target: Path, sides: Sequence[tuple[int, bool]]) -> None:
    """Write some sides of a sheets.pdf into one file, in the order given: number of the sheet, and whether its back.

    Raises:
        NotWritten: the folder does not take the file.
        OurFault: the sheets cannot be opened.
    """
    with _open(sheets) as pdf:
        _write(pdf, [2 * (number - 1) + back for number, back in sides], target)


def split_at_bookmarks(whole: Path, folder: Path, names: Sequence[str]) -> None:
    """Write the pages from each uppermost bookmark to the next into a file of their own.

    Args:
        names: of the files, in order; as many as there are such bookmarks.

    Raises:
        NotWritten: the folder does not take a file.
        OurFault: the file cannot be opened, or has other bookmarks.
    """
    with _open(whole) as pdf, pdf.open_outline() as outline:
        order = {page.obj.objgen: index for index, page in enumerate(pdf.pages)}
        starts = [order[item.to_dictionary_object(pdf).Dest[0].objgen] for item in outline.root]
        if len(starts) != len(names) or starts != sorted(set(starts)):
            raise OurFault(f"{whole.name} has {len(starts)} bookmarks for {len(names)} parts")
        for name, start, end in zip(names, starts, [*starts[1:], len(pdf.pages)], strict=True):
            _write(pdf, range(start, end), folder / name)


@contextlib.contextmanager
def _open(sheets: Path) -> Iterator[pikepdf.Pdf]:
    try:
        with pikepdf.open(sheets) as pdf:
            yield pdf
    except pikepdf.PdfError as odd:
        raise OurFault(f"the written sheets cannot be opened: {odd}") from odd


def _write(pdf: pikepdf.Pdf, pages: Iterable[int], target: Path) -> None:
    with pikepdf.new() as one, placed(target) as beside:
        # Root keys that belong to the whole (output intents, layers) go with each sheet.  The metadata do not: they
        # tell of a manuscript, and a sheet whose matter stays is to stay the same to the byte when another changes.
        for key in ("/OutputIntents", "/OCProperties"):
            if key in pdf.Root:
                one.Root[key] = one.copy_foreign(_indirect(pdf, pdf.Root[key]))
        for index in pages:
            one.pages.append(pdf.pages[index])
        with patient(beside) as stream:
            one.save(stream, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)


def _indirect(pdf: pikepdf.Pdf, value: pikepdf.Object) -> pikepdf.Object:
    return value if value.is_indirect else pdf.make_indirect(value)
