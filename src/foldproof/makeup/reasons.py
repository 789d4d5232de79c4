# SPDX-License-Identifier: AGPL-3.0-or-later
"""Why a plan won, and what would beat it.  Pure."""

from __future__ import annotations

from collections.abc import Sequence

from foldproof.makeup.outlines import Outline, Request


def reasons(request: Request, one: Outline, ranked: Sequence[Outline]) -> tuple[str, ...]:
    return ()
