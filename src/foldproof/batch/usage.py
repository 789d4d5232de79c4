# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a book's processes hold and have written, seen from outside them."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from foldproof.files import BENCH

_PAGE_BYTES = os.sysconf("SC_PAGE_SIZE") if hasattr(os, "sysconf") else 4096


def group_resident_mb(pid: int) -> float:
    """Resident memory of a process and all that descend from it, in millions of bytes; 0 where the system does not
    tell (it has no ``/proc``)."""
    total, todo = 0, [pid]
    while todo:
        process = Path("/proc", str(todo.pop()))
        # any of them may end between two lines
        with contextlib.suppress(OSError, ValueError, IndexError):
            total += int((process / "statm").read_text().split()[1]) * _PAGE_BYTES
            for thread in (process / "task").iterdir():
                with contextlib.suppress(OSError):
                    todo += [int(child) for child in (thread / "children").read_text().split()]
    return total / 1e6


def written_mb(out: Path) -> float:
    """Size of what lies on the benches in a folder of outputs, in millions of bytes."""
    total = 0
    with contextlib.suppress(OSError):
        for bench in out.glob(f"{BENCH}*"):
            for folder, _, names in os.walk(bench):
                for name in names:
                    with contextlib.suppress(OSError):
                        total += Path(folder, name).stat().st_size
    return total / 1e6
