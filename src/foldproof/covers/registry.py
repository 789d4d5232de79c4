# SPDX-License-Identifier: AGPL-3.0-or-later
"""The checks of a cover: those of its own, and those of the book's pages that a cover has to keep as well."""

from __future__ import annotations

import importlib
import pkgutil

from foldproof.case.die_checks import DIE_CHECKS
from foldproof.covers import checks
from foldproof.errors import AskedWrong
from foldproof.job.toml_file import meant
from foldproof.preflight.model import Check
from foldproof.preflight.registry import CHECKS, check_named


def _found() -> tuple[Check, ...]:
    names = sorted(module.name for module in pkgutil.iter_modules(checks.__path__))
    found = [check for name in names for check in importlib.import_module(f"{checks.__name__}.{name}").CHECKS]
    return tuple(sorted(found, key=lambda check: check.id))


#: checks of a cover alone, sorted by id
COVER_CHECKS: tuple[Check, ...] = _found()

#: what a page of the book and a cover have to keep alike; the others speak of pages among pages
_BORROWED = (
    "all-plates", "alternate-images", "annotations", "bitmap-type", "black-knocks-out", "broken-content",
    "damaged-fonts", "device-states", "encryption", "fonts-embedded", "form-fields", "four-colour-grey", "jbig2",
    "jpeg-quality", "layers", "light-plate", "lost-pages", "missing-glyphs", "multimedia", "opi", "picture-colour",
    "picture-depth", "picture-distortion", "picture-resolution", "postscript-objects", "reader-mends",
    "reference-forms", "rgb-matter", "rich-black-type", "scripts", "small-type", "spot-colours", "spot-names",
    "thin-lines", "total-ink", "transparency", "type3-fonts", "white-overprints",
)  # fmt: skip

#: every check that a cover is held against, sorted by id
ALL: tuple[Check, ...] = tuple(
    sorted((*COVER_CHECKS, *(check_named(name) for name in _BORROWED)), key=lambda check: check.id)
)

#: every check that a spec may speak of: of books and of covers, sorted by id
BY_SPEC: tuple[Check, ...] = tuple(sorted((*CHECKS, *COVER_CHECKS), key=lambda check: check.id))

#: every check that can be explained: of books, covers and dies, sorted by id
EXPLAINED: tuple[Check, ...] = tuple(sorted((*BY_SPEC, *DIE_CHECKS), key=lambda check: check.id))


def explained_check(name: str) -> Check:
    """One check of books, covers or dies by its id.

    Raises:
        AskedWrong: there is none of that name; the message names the nearest.
    """
    for check in EXPLAINED:
        if check.id == name:
            return check
    raise AskedWrong(f'There is no check "{name}"; {meant(name, [check.id for check in EXPLAINED])}')
