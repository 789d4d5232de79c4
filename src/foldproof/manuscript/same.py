# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whether a manuscript is still the file that was read."""

from __future__ import annotations

from foldproof.errors import Unreadable
from foldproof.files import sha256_of
from foldproof.manuscript.model import Manuscript


def hold_same(manuscript: Manuscript) -> None:
    """Read the file's bytes once more; what was found would else be told of another version.

    Raises:
        Unreadable: it was replaced, changed or removed since it was read.
    """
    name = manuscript.path.name
    try:
        same = sha256_of(manuscript.path) == manuscript.sha256
    except OSError as gone:
        reason = (gone.strerror or str(gone)).lower()
        raise Unreadable(f"{name} was taken away while it was worked on: {reason}. Run the command again.") from gone
    if not same:
        raise Unreadable(f"{name} was changed while it was worked on. Run the command again.")
