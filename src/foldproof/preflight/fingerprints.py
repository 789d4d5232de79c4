# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a finding is known by to programs of others that follow findings from run to run.

Check, cause, what is on its page, and which of several it is: no page number, no measure, no word of ours.  Whether a
finding is new is decided by more than this (:mod:`foldproof.preflight.known`).
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable, Sequence

from foldproof.preflight.model import Finding
from foldproof.preflight.page_digests import without_subset


def fingerprints(findings: Iterable[Finding], digests: Sequence[str]) -> tuple[str, ...]:
    """One a finding, no two alike; the same for the same fault on the same page wherever the page stands.

    Args:
        digests: of the pages (:mod:`foldproof.preflight.page_digests`); a page without one is known by its number.
    """
    told: Counter[str] = Counter()
    made = []
    for found in findings:
        page = ""
        if found.page is not None:
            page = (digests[found.page - 1] if found.page <= len(digests) else "") or f"page {found.page}"
        name = f"{found.check}|{without_subset(found.cause)}|{page}"
        made.append(hashlib.sha256(f"{name}|{told[name]}".encode("utf-8", "replace")).hexdigest()[:32])
        told[name] += 1
    return tuple(made)
