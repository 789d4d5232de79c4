# SPDX-License-Identifier: AGPL-3.0-or-later
"""From a book's PDF to press sheets that are proved to fold into the book.

For programs: :func:`check` and :func:`make`, what they give back and the errors that they raise.  They are found when
they are asked for, so that the package itself costs nothing to import; every worker process imports it.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from foldproof.desk import Watch
    from foldproof.errors import (
        AskedWrong,
        ExitCode,
        FoldproofError,
        InUse,
        NeedsPassword,
        NoPlan,
        NotWritten,
        OurFault,
        OverLimit,
        Unreadable,
    )
    from foldproof.library import Checked, Made, check, make
    from foldproof.preflight.model import Finding, Severity
    from foldproof.prove.model import Verdict

__version__ = "0.1.0"

#: where each name of the library is defined
_HOMES = {
    "library": ("Checked", "Made", "check", "make"),
    "errors": (
        "AskedWrong", "ExitCode", "FoldproofError", "InUse", "NeedsPassword", "NoPlan", "NotWritten", "OurFault",
        "OverLimit", "Unreadable",
    ),
    "preflight.model": ("Finding", "Severity"),
    "prove.model": ("Verdict",),
    "desk": ("Watch",),
}  # fmt: skip

__all__ = [
    "AskedWrong",
    "Checked",
    "ExitCode",
    "Finding",
    "FoldproofError",
    "InUse",
    "Made",
    "NeedsPassword",
    "NoPlan",
    "NotWritten",
    "OurFault",
    "OverLimit",
    "Severity",
    "Unreadable",
    "Verdict",
    "Watch",
    "__version__",
    "check",
    "make",
]


def __getattr__(name: str) -> Any:
    for home, names in _HOMES.items():
        if name in names:
            return getattr(importlib.import_module(f"foldproof.{home}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
