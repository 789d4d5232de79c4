# SPDX-License-Identifier: AGPL-3.0-or-later
"""How many processes are worth starting."""

from __future__ import annotations

import os

#: processors that this process may use
CORES = max(1, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1)
