# SPDX-License-Identifier: AGPL-3.0-or-later
"""Data and a layout of ours become a PDF, set by Typst inside this process.

Every string travels as data (JSON in ``sys.inputs``), never as source, so a title cannot become a command.  Fonts are
those that Typst carries with it; the system's are left aside and no date is written, so the same data give the same
bytes on every machine.
"""

from __future__ import annotations

import json
import re
import unicodedata
from importlib import resources
from typing import Any

import typst

from foldproof.errors import OurFault

# Writing that Typst's own fonts (Latin, Greek, Cyrillic, signs) do not cover: empty boxes would stand there.
_UNCOVERED = re.compile("[^\x00-\u052f\u1d00-\u2bff\ufb00-\ufb06\ufffd]+")


def pdf(sources: tuple[tuple[str, str], ...], data: dict[str, Any]) -> bytes:
    """The PDF that ``sources`` (package, file name), read one after the other, make of ``data``.

    Raises:
        OurFault: the layout does not take the data.
    """
    source = "\n".join(resources.files(package).joinpath(name).read_text("utf-8") for package, name in sources)
    try:
        made = typst.compile(
            source.encode("utf-8"),
            sys_inputs={"data": json.dumps(_covered(data), ensure_ascii=True)},
            ignore_system_fonts=True,
            format="pdf",
        )
    except RuntimeError as wrong:
        raise OurFault(f"The layout {sources[-1][1]} could not be set: {wrong}") from wrong
    assert isinstance(made, bytes)
    return made


def _covered(value: Any) -> Any:
    """The same data, with an ellipsis for writing that no font here can set; report.html shows it whole."""
    if isinstance(value, str):
        return _UNCOVERED.sub("[…]", unicodedata.normalize("NFC", value))
    if isinstance(value, dict):
        return {key: _covered(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_covered(inner) for inner in value]
    return value
