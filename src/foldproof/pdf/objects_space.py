# SPDX-License-Identifier: AGPL-3.0-or-later
"""Colour spaces in words, each asked of MuPDF once a page."""

from __future__ import annotations

from typing import Any, NamedTuple

from pymupdf import mupdf

_mu: Any = mupdf


class Space(NamedTuple):
    """A colour space."""

    name: str  #: as ``PictureUse.space``
    components: int
    held: Any  #: keeps it alive, so that no other comes to lie at its address


class Spaces(dict[int, Space]):
    """The colour spaces of one page, by address."""

    def of(self, space: Any) -> tuple[int, Space]:
        """Where a space lies, and what it is; ``None`` is the space of what has no colour of its own."""
        place = 0 if space is None else int(space.this)
        known = self.get(place)
        if known is None:
            held = _mu.FzColorspace(_mu.ll_fz_keep_colorspace(space)) if place else None
            known = self[place] = Space(space_name(space), space.n if place else 0, held)
        return place, known


def space_name(space: Any) -> str:
    """A colour space in words (see ``PictureUse.space``)."""
    if space is None:
        return "none"
    if space.flags & _mu.FZ_COLORSPACE_IS_DEVICE:
        return str(space.name)
    if _mu.ll_fz_colorspace_is_indexed(space):
        return f"Indexed({space_name(_mu.ll_fz_base_colorspace(space))})"
    if _mu.ll_fz_colorspace_is_device_n(space):
        return _colorants(space)
    name = str(space.name)
    return name if name in ("CalGray", "CalRGB", "Lab") else f"ICCBased({space.n})"


def _colorants(space: Any) -> str:
    names = [_mu.ll_fz_colorspace_colorant(space, i) or "" for i in range(space.n)]
    whole = str(space.name)
    if len(names) == 1 and not whole.startswith("DeviceN"):
        return f"Separation({names[0]})"
    return f"DeviceN({', '.join(names)})"
