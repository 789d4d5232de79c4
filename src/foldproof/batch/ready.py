# SPDX-License-Identifier: AGPL-3.0-or-later
"""What is done before the first book: the fork server imports this module, and every book's process begins with it.

Everything here is the same for every book and is part of what a small book takes.  No document is opened.
"""

from __future__ import annotations

import contextlib
import gc

import foldproof.batch.making  # noqa: F401 - with all the stages
from foldproof.desk import versions
from foldproof.job.load import load_house
from foldproof.report.html import template


def _make_ready() -> None:
    for prepare in (load_house, template, versions):
        # what fails here fails again in the book that wants it, which then says so
        with contextlib.suppress(Exception):
            prepare()
    # all this lives as long as the process: no search for circles of dead objects need go through it
    gc.freeze()


_make_ready()
