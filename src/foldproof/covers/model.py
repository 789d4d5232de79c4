# SPDX-License-Identifier: AGPL-3.0-or-later
"""The nouns of the cover checks: what was seen of a supplied cover, and what its checks may look at.

Places are in the trim frame of the cover: lower left of its trim, y up, printed side up, lying open, mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Unpack

from attrs import frozen

from foldproof.case.model import CoverSizes
from foldproof.geometry import Rect
from foldproof.manuscript.model import PageFact, TrimSource
from foldproof.pdf.cover_things import Line, Mark
from foldproof.preflight.measures import Size, page_mm, size_mm
from foldproof.preflight.model import Facts, Finding, Limits, NotJudged, Severity
from foldproof.preflight.words import Figures, finding

#: what a written trim may be off: sizes in whole points are up to 0.18 mm off; as for the pages of the book
SIZE_SLACK_MM = 0.5
#: a spine that is off by more than this is no slip of the spine any more: the cover is another one
_ANOTHER_MM = 25.0


@frozen
class Bars:
    """A code of bars, as it was measured in the raster."""

    digits: str  #: thirteen; what it reads as, right or wrong
    #: the check digit holds; what reads with a wrong one is refused by every scanner
    valid: bool
    box_mm: Rect  #: from the first bar to the last, upright rectangle
    #: it stands at right angles to the trim; where not, nothing below was measured
    upright: bool = True
    module_mm: float = 0.0  #: width of the thinnest bar: the 95th part of the whole
    height_mm: float = 0.0  #: of the shorter bars
    #: free of ink before the first and after the last bar, as they are read; no farther than was looked
    quiet_mm: tuple[float, float] = (0.0, 0.0)
    #: reflectance in red light, 0 to 1, of spaces and of bars
    light: float = 1.0
    dark: float = 0.0
    inverted: bool = False  #: light bars on a dark ground
    #: inks that the bars are printed with, and how full, 0 to 1
    inks: tuple[tuple[str, float], ...] = ()


@frozen
class CoverSeen:
    """What was seen of the one page, thing by thing, and what was read in the raster."""

    marks: tuple[Mark, ...]
    lines: tuple[Line, ...]
    cut_short: bool
    bars: Bars | None  #: ``None``: none could be read
    #: where something looks like bars and could not be read
    unread_mm: Rect | None = None
    #: resolution at which the back was looked at
    dpi: float = 0.0


@frozen
class Folds:
    """Where the cover is folded, as far as the file can tell: from the left trim, mm."""

    width_mm: float
    height_mm: float
    spine: tuple[float, float]
    flaps: tuple[float, ...]  #: the two flap folds; none without flaps
    back: Rect
    front: Rect

    @property
    def spine_panel(self) -> Rect:
        return Rect(self.spine[0], 0.0, self.spine[1], self.height_mm)


@frozen(kw_only=True)
class CoverFacts(Facts):
    """What a cover check may look at: what every check may, the sizes asked for, and what was seen."""

    sizes: CoverSizes
    seen: CoverSeen | None  #: ``None``: it could not be looked at
    why_unseen: str = ""

    @property
    def page(self) -> PageFact:
        """The one page.

        Raises:
            NotJudged: there are several, or none.
        """
        pages = self.manuscript.pages
        if len(pages) != 1:
            raise NotJudged(f"The file has {len(pages):,} pages, and a cover is one.")
        return pages[0]

    @property
    def looked(self) -> CoverSeen:
        """What was seen.

        Raises:
            NotJudged: it could not be looked at.
        """
        _ = self.page
        if self.seen is None:
            raise NotJudged(f"The cover could not be looked at: {self.why_unseen or 'no reason was told'}.")
        return self.seen

    @property
    def measured_mm(self) -> Size:
        """Width and height of the trimmed cover: its TrimBox; without one the page, or the page less the bleed.

        Of the last two whichever comes nearer to what is asked for.
        """
        size = page_mm(self.page)
        if self.page.boxes.trim_source is not TrimSource.JOB:
            return size
        bare = size[0] - 2 * self.bleed_mm, size[1] - 2 * self.bleed_mm
        asked = self.sizes.trimmed_mm
        return min((size, bare), key=lambda one: max(abs(one[0] - asked[0]), abs(one[1] - asked[1])))

    @property
    def implied_spine_mm(self) -> float:
        """What the width of the cover leaves for the spine, once panels and flaps are taken off."""
        return self.measured_mm[0] - (self.sizes.trimmed_mm[0] - self.sizes.spine_mm)

    @property
    def height_is_right(self) -> bool:
        return abs(self.measured_mm[1] - self.sizes.trimmed_mm[1]) <= SIZE_SLACK_MM

    @property
    def is_ours(self) -> bool:
        """Whether the cover is of this kind at all: the height is right, and the width within what a spine may be."""
        implied = self.implied_spine_mm
        off = abs(implied - self.sizes.spine_mm)
        return self.height_is_right and off <= _ANOTHER_MM and implied >= -self.house.finishing.spine_tolerance

    @property
    def folds(self) -> Folds:
        """Where it would be folded: the spine that its width leaves, about its middle.

        Raises:
            NotJudged: the cover is of another size, so that nobody knows where its folds are.
        """
        if not self.is_ours:
            raise NotJudged("The cover is of another size, so that its folds are not where they should be.")
        width, height = size_mm(self.page)
        half = max(0.0, self.implied_spine_mm) / 2
        left, right = width / 2 - half, width / 2 + half
        outer = self.sizes.panel_mm[0] + self.sizes.wrap_mm
        here, there = Rect(left - outer, 0.0, left, height), Rect(right, 0.0, right + outer, height)
        back, front = (here, there) if self.sizes.reading == "left to right" else (there, here)
        flaps = (left - outer, right + outer) if self.sizes.flap_mm else ()
        return Folds(width, height, (left, right), flaps, back, front)


def over_cover(
    judge: Callable[[CoverFacts, Limits], Iterable[Finding]],
) -> Callable[[Facts, Limits], Iterable[Finding]]:
    """A check of covers as the registry holds checks; of anything else it says nothing."""

    def run(facts: Facts, limits: Limits) -> Iterable[Finding]:
        if not isinstance(facts, CoverFacts):
            raise NotJudged("This is no cover.")
        return judge(facts, limits)

    run.__module__ = judge.__module__
    return run


def told(cause: str, severity: Severity, problem: str, remedy: str, **figures: Unpack[Figures]) -> Finding:
    """A finding on the cover, which is a page; limits that were reckoned are told to two places, as measures are."""
    limit = figures.get("limit")
    if isinstance(limit, float):
        figures["limit"] = round(limit, 2)
    return finding(cause, severity, problem, remedy, page=1, **figures)
