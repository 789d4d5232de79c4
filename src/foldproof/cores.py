# SPDX-License-Identifier: AGPL-3.0-or-later
"""How many processes are worth starting."""

from __future__ import annotations

import os
from pathlib import Path

#: processors that this process may use
CORES = max(1, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1)
#: A process takes most of a second to start; a file of less has been read and compared by then, unless it is built
#: to take long.
_SMALL_BYTES = 100_000


def hands_for(path: Path) -> int:
    """Processes worth starting for a file that nobody has opened yet: one for a small file, else one a processor.

    A file that is not there counts as small; whoever opens it tells.
    """
    try:
        return CORES if path.stat().st_size >= _SMALL_BYTES else 1
    except OSError:
        return 1
