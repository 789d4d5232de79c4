# SPDX-License-Identifier: AGPL-3.0-or-later
"""All checks, by id."""

from __future__ import annotations

from foldproof.errors import AskedWrong
from foldproof.job.toml_file import meant
from foldproof.preflight.checks import annotations as annotations_check  # the plain name is taken by __future__
from foldproof.preflight.checks import (
    blank_pages,
    bleed,
    box_order,
    cover_among_pages,
    encryption,
    extra_inks,
    fonts_embedded,
    grain,
    live_margin,
    lost_pages,
    page_count,
    page_turn,
    picture_resolution,
    reader_mends,
    rgb_matter,
    spot_colours,
    spreads,
    trim_box,
    trim_marks,
    trim_size,
    type3_fonts,
    user_unit,
)
from foldproof.preflight.model import Check

#: every check there is, sorted by id
CHECKS: tuple[Check, ...] = (
    annotations_check.CHECK,
    blank_pages.CHECK,
    bleed.CHECK,
    box_order.CHECK,
    cover_among_pages.CHECK,
    encryption.CHECK,
    extra_inks.CHECK,
    fonts_embedded.CHECK,
    grain.CHECK,
    live_margin.CHECK,
    lost_pages.CHECK,
    page_count.CHECK,
    page_turn.CHECK,
    picture_resolution.CHECK,
    reader_mends.CHECK,
    rgb_matter.CHECK,
    spot_colours.CHECK,
    spreads.CHECK,
    trim_box.CHECK,
    trim_marks.CHECK,
    trim_size.CHECK,
    type3_fonts.CHECK,
    user_unit.CHECK,
)


def check_named(name: str) -> Check:
    """One check by its id.

    Raises:
        AskedWrong: there is none of that name; the message names the nearest.
    """
    for check in CHECKS:
        if check.id == name:
            return check
    raise AskedWrong(f'There is no check "{name}"; {meant(name, [check.id for check in CHECKS])}')
