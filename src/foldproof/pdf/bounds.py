# SPDX-License-Identifier: AGPL-3.0-or-later
"""How much a stream may unpack to.

A few kilobytes of a file can be made to unpack to any length.  What is read here (content, fonts, profiles, lists of
objects) is never as long as this; pictures may be, and are not unpacked here.
"""

from __future__ import annotations

import zlib

from pikepdf import settings

#: bytes of one stream, unpacked
MOST_UNPACKED = 256_000_000


def hold_qpdf() -> None:
    """Have qpdf refuse streams that unpack to more, its own cross-references and packed objects among them.

    Old versions of pikepdf know no such bound; there the one of the process holds.
    """
    if hasattr(settings, "set_qpdf_limits"):
        settings.set_qpdf_limits(
            flate_max_memory=MOST_UNPACKED, run_length_max_memory=MOST_UNPACKED, png_max_memory=MOST_UNPACKED,
            tiff_max_memory=MOST_UNPACKED,
        )  # fmt: skip


def inflated(data: bytes, most: int = MOST_UNPACKED) -> bytes | None:
    """Inflated, as far as it goes; ``None`` where it does not begin well, or comes to more than ``most``."""
    machine = zlib.decompressobj()
    try:
        made = machine.decompress(data, most)
        if machine.unconsumed_tail:
            return None
        return made + machine.flush()
    except zlib.error:
        return None
