# SPDX-License-Identifier: AGPL-3.0-or-later
"""What workers of the tests of ink do, at the top level of a module that they can import."""

from __future__ import annotations

import os
import signal

from foldproof.pdf.plate_cover import SideCover, SideJob, measure


def dies_of_the_second_side(job: SideJob) -> SideCover:
    """As the measuring, but the page of index 1 takes its process down."""
    if job.index == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    return measure(job)
