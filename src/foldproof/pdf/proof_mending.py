# SPDX-License-Identifier: AGPL-3.0-or-later
"""A manuscript put right by another library, for the proof's own reader."""

from __future__ import annotations

import warnings
from pathlib import Path

import pikepdf

from foldproof.errors import NeedsPassword
from foldproof.pdf.bounds import hold_qpdf
from foldproof.pdf.proof_objects import unread


def mended_copy(path: Path, target: Path, password: str | None) -> None:
    """Write the file anew, unlocked and with its structure put right, where pypdf cannot read it as it is.

    Raises:
        NeedsPassword: it is locked.
        Unreadable: it cannot be mended.
    """
    try:
        hold_qpdf()
        with pikepdf.open(path, password=password or "", suppress_warnings=True) as pdf, warnings.catch_warnings():
            # about fields that stand in no form, as they did before
            warnings.simplefilter("ignore")
            pdf.save(target, encryption=False, deterministic_id=True, fix_metadata_version=False)
    except pikepdf.PasswordError as locked:
        raise NeedsPassword(f"{path.name} is locked by a password. Give it with --password-file.") from locked
    except (pikepdf.PdfError, RuntimeError, ValueError, OSError) as odd:
        raise unread(path.name, odd) from odd
