# SPDX-License-Identifier: AGPL-3.0-or-later
"""One file a sheet, from a sheets.pdf that was proved."""

from __future__ import annotations

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
    try:
        with pikepdf.open(sheets) as pdf:
            count = (len(pdf.pages) + 1) // 2
            digits = max(3, len(str(count)))
            for number in range(count):
                with pikepdf.new() as one, placed(folder / f"sheet-{number + 1:0{digits}}.pdf") as beside:
                    # Root keys that belong to the whole (output intents, layers, metadata) go with each sheet.
                    for key in ("/OutputIntents", "/OCProperties", "/Metadata"):
                        if key in pdf.Root:
                            one.Root[key] = one.copy_foreign(_indirect(pdf, pdf.Root[key]))
                    one.pages.extend(pdf.pages[2 * number : 2 * number + 2])
                    with patient(beside) as stream:
                        one.save(stream, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
            return count
    except pikepdf.PdfError as odd:
        raise OurFault(f"the written sheets cannot be opened: {odd}") from odd


def _indirect(pdf: pikepdf.Pdf, value: pikepdf.Object) -> pikepdf.Object:
    return value if value.is_indirect else pdf.make_indirect(value)
