# SPDX-License-Identifier: AGPL-3.0-or-later
"""How much memory a file may take in a process, and what it leaves behind when it is closed."""

from __future__ import annotations

import contextlib
import ctypes
import gc
import re
from pathlib import Path

try:
    import resource
except ImportError:  # not on every system
    resource = None  # type: ignore[assignment,unused-ignore]

#: what a smaller file leaves behind is not worth the search for it, which goes through everything that the process
#: holds and takes longer than reading a small book
LARGE_BYTES = 1_000_000
#: what MuPDF says when it is refused memory
_REFUSED = re.compile(r"(?:[mc]|re)alloc.*failed", re.DOTALL)
#: a reader may hold a file whole, and parts of it twice
_TIMES_A_FILE = 4
#: the bound that this process had before it opened anything
_FIRST: list[int] = []


def room_for(path: Path) -> None:
    """Let a process that is held to so much memory have more for a file that is large itself.

    Other processes are left as they are.
    """
    if resource is None:
        return
    room, most = resource.getrlimit(resource.RLIMIT_DATA)
    if room == resource.RLIM_INFINITY:
        return
    if not _FIRST:
        _FIRST.append(room)
    with contextlib.suppress(OSError, ValueError):
        wanted = _FIRST[0] + _TIMES_A_FILE * path.stat().st_size
        if most != resource.RLIM_INFINITY:
            wanted = min(wanted, most)
        if wanted > room:
            resource.setrlimit(resource.RLIMIT_DATA, (wanted, most))


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


def in_words(failure: BaseException) -> str:
    """What a library gave up with: without the number of the error, and a want of memory in words of ours."""
    said = re.sub(r"^code=\d+: ", "", str(failure).strip())
    if isinstance(failure, MemoryError) or _REFUSED.match(said):
        return "it asks for more memory than a page may take"
    return said.rstrip(".") or type(failure).__name__
