# SPDX-License-Identifier: AGPL-3.0-or-later
"""Data and a layout of ours become a PDF, set by Typst inside this process.

Every string travels as data (JSON in ``sys.inputs``), never as source, so a title cannot become a command.  Fonts are
those that Typst carries with it; the system's are left aside and no date is written, so the same data give the same
bytes on every machine.
"""

from __future__ import annotations

import json
from importlib import resources
from typing import Any

import typst

from foldproof.errors import OurFault


def pdf(sources: tuple[tuple[str, str], ...], data: dict[str, Any]) -> bytes:
    """The PDF that ``sources`` (package, file name), read one after the other, make of ``data``.

    Raises:
        OurFault: the layout does not take the data.
    """
    source = "\n".join(resources.files(package).joinpath(name).read_text("utf-8") for package, name in sources)
    try:
        made = typst.compile(
            source.encode("utf-8"),
            sys_inputs={"data": json.dumps(data, ensure_ascii=True)},
            ignore_system_fonts=True,
            format="pdf",
        )
    except RuntimeError as wrong:
        raise OurFault(f"The layout {sources[-1][1]} could not be set: {wrong}") from wrong
    assert isinstance(made, bytes)
    return made
