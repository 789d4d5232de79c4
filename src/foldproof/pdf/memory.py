# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a closed file leaves behind in the process."""

from __future__ import annotations

import contextlib
import ctypes
import gc
from pathlib import Path

#: what a smaller file leaves behind is not worth the search for it, which goes through everything that the process
#: holds and takes longer than reading a small book
LARGE_BYTES = 1_000_000


def give_back(path: Path) -> None:
    """Hand freed memory back to the system: after a large file the C library would keep a hundred megabytes of it.

    Objects of a file hold one another in circles, which have to be looked for first.  A small file is let be.

    Where there is no such call (it is glibc's own) nothing is lost but memory.
    """
    with contextlib.suppress(OSError):
        if path.stat().st_size < LARGE_BYTES:
            return
    gc.collect()
    with contextlib.suppress(OSError, AttributeError, TypeError):
        ctypes.CDLL(None).malloc_trim(0)
