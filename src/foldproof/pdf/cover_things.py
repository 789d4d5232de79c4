# SPDX-License-Identifier: AGPL-3.0-or-later
"""What stands on a cover, thing by thing: plain facts, which load no library.  Places are in the trim frame, mm."""

from __future__ import annotations

from attrs import frozen

from foldproof.geometry import Rect


@frozen
class Mark:
    """One painted thing that is no type."""

    what: str  #: ``"fill"``, ``"stroke"``, ``"shading"``, ``"picture"``, ``"stencil"``
    box_mm: Rect
    space: str  #: as ``PictureUse.space``
    values: tuple[float, ...]  #: native; empty for shadings and pictures


@frozen
class Line:
    """One line of type, or what stands on its base line without a wide gap."""

    text: str
    box_mm: Rect  #: round its glyphs as they are drawn
    angle: float  #: of the base line, degrees counter-clockwise, 0 to 360
    size_pt: float  #: em on paper, of its largest glyph


@frozen
class Drawn:
    """A cover, thing by thing."""

    marks: tuple[Mark, ...]
    lines: tuple[Line, ...]
    #: more than is kept: the facts are of the first things only
    cut_short: bool = False
