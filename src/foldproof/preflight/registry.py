# SPDX-License-Identifier: AGPL-3.0-or-later
"""All checks, by id."""

from __future__ import annotations

import importlib
import pkgutil

from foldproof.errors import AskedWrong
from foldproof.job.toml_file import meant
from foldproof.preflight import checks
from foldproof.preflight.model import Check


def _found() -> tuple[Check, ...]:
    """The ``CHECK`` of every module of the folder: what lies there counts, and nothing has to be listed twice."""
    names = sorted(module.name for module in pkgutil.iter_modules(checks.__path__))
    found: list[Check] = [importlib.import_module(f"{checks.__name__}.{name}").CHECK for name in names]
    return tuple(sorted(found, key=lambda check: check.id))


#: every check there is, sorted by id
CHECKS: tuple[Check, ...] = _found()


def check_named(name: str) -> Check:
    """One check by its id.

    Raises:
        AskedWrong: there is none of that name; the message names the nearest.
    """
    for check in CHECKS:
        if check.id == name:
            return check
    raise AskedWrong(f'There is no check "{name}"; {meant(name, [check.id for check in CHECKS])}')
