# SPDX-License-Identifier: AGPL-3.0-or-later
"""What several checks measure alike: sizes of pages, edges by their bookbinder's names, colours by family.

Lengths are millimetres; places are in the trim frame of their page.
"""

from __future__ import annotations

import re
from enum import StrEnum
from functools import cache

from foldproof.geometry import Rect
from foldproof.manuscript.model import PageFact, PageInk, PageObjects, TrimSource
from foldproof.preflight.model import Facts, NotJudged
from foldproof.units import pt_to_mm

_PT_IN_MM = pt_to_mm(1.0)

Size = tuple[float, float]


def size_mm(page: PageFact) -> Size:
    """Width and height of a page's trim as a reader sees it."""
    width_pt, height_pt = page.trim_size_pt
    return width_pt * _PT_IN_MM, height_pt * _PT_IN_MM


def page_mm(page: PageFact) -> Size:
    """Width and height of what the file itself calls the page.

    Its trim; but where that was taken from the job, the CropBox in whose middle it was set.
    """
    if page.boxes.trim_source is not TrimSource.JOB:
        return size_mm(page)
    width, height = (side * page.user_unit * _PT_IN_MM for side in (page.boxes.crop.width, page.boxes.crop.height))
    return (height, width) if page.rotate in (90, 270) else (width, height)


def alike(one: Size, other: Size, slack_mm: float) -> bool:
    """Whether two sizes agree both ways, give or take ``slack_mm``."""
    return abs(one[0] - other[0]) <= slack_mm and abs(one[1] - other[1]) <= slack_mm


class Shape(StrEnum):
    """What a page is, seen against the trim of the book."""

    SINGLE = "single page"
    SPREAD = "spread"  #: two pages side by side
    COVER = "cover"  #: first or last, two pages and a spine between them
    TURNED = "turned"  #: the trim, lying across
    OTHER = "other size"


#: a page without boxes carries its bleed and a little air with it
SPREAD_SLACK_MM = 10.0
#: ... but never more than a small part of the page
_SPREAD_PART = 0.1
#: thickest spine that is looked for: about 1,000 leaves of book paper; common practice, no source
SPINE_MOST_MM = 100.0


def spread_slack_mm(trim_mm: Size) -> float:
    """How far a spread may be off twice the trim, each way."""
    return min(SPREAD_SLACK_MM, _SPREAD_PART * trim_mm[0])


def shape(facts: Facts, index: int, slack_mm: float) -> Shape:
    """What the page at ``index`` is; equal to the trim within ``slack_mm`` counts as a single page.

    A page on which the trim of the job was set may have any amount of air round it and is a single page still.
    """
    page = facts.manuscript.pages[index]
    width, height = size = page_mm(page)
    trim_width, trim_height = facts.trim_mm
    if alike(size, facts.trim_mm, slack_mm):
        return Shape.SINGLE
    spread_slack = spread_slack_mm(facts.trim_mm)
    if abs(height - trim_height) <= spread_slack:
        beyond = width - 2 * trim_width
        at_an_end = index in (0, len(facts.manuscript.pages) - 1)
        if at_an_end and 1.0 < beyond <= SPINE_MOST_MM:
            return Shape.COVER
        if abs(beyond) <= spread_slack:
            return Shape.SPREAD
    if page.boxes.trim_source is TrimSource.JOB and width >= trim_width - slack_mm and height >= trim_height - slack_mm:
        return Shape.SINGLE
    return Shape.TURNED if alike((height, width), facts.trim_mm, slack_mm) else Shape.OTHER


def spine_edge(facts: Facts, index: int) -> str:
    """``"left"`` or ``"right"``: where a page (0-based) meets its neighbour.

    Front blanks come as whole leaves, so the parity of the manuscript's own count holds: its first page is a recto.
    """
    recto = index % 2 == 0
    return "left" if recto == (facts.job.book.reading == "left to right") else "right"


def edge_name(facts: Facts, index: int, edge: str) -> str:
    """``"head"``, ``"foot"``, ``"spine"`` or ``"fore-edge"`` for an edge of the trim frame."""
    if edge in ("head", "foot"):
        return edge
    return "spine" if edge == spine_edge(facts, index) else "fore-edge"


def ink_of(facts: Facts) -> tuple[PageInk | None, ...]:
    """The ink facts page by page; ``None`` for a page that was lost.

    Raises:
        NotJudged: the ink pass did not run.
    """
    seen = facts.observations.ink
    if not any(seen) and len(facts.observations.lost) < len(facts.manuscript.pages):
        raise NotJudged("The ink of the pages was not looked at.")
    return seen


def objects_of(facts: Facts) -> tuple[PageObjects | None, ...]:
    """The object facts page by page; ``None`` for a page that was lost.

    Raises:
        NotJudged: the object pass did not run.
    """
    seen = facts.observations.objects
    if not any(seen) and len(facts.observations.lost) < len(facts.manuscript.pages):
        raise NotJudged("The matter on the pages was not looked at.")
    return seen


def room_mm(page: PageFact) -> dict[str, float]:
    """How far the page itself (its MediaBox) goes on beyond the trim, by edge."""
    media, (width_pt, height_pt) = page.to_trim.rect(page.boxes.media), page.trim_size_pt
    return {
        "left": -media.x0 * _PT_IN_MM,
        "right": (media.x1 - width_pt) * _PT_IN_MM,
        "foot": -media.y0 * _PT_IN_MM,
        "head": (media.y1 - height_pt) * _PT_IN_MM,
    }


def around(places: list[Rect]) -> Rect | None:
    """The rectangle round all places, ``None`` for none."""
    if not places:
        return None
    return Rect(
        min(p.x0 for p in places),
        min(p.y0 for p in places),
        max(p.x1 for p in places),
        max(p.y1 for p in places),
    )


_WRAPPED = re.compile(r"^(?:(?:Indexed|Pattern)\()*(\w+)(?:\((\d+))?")


@cache
def family(space: str) -> str:
    """``"RGB"``, ``"Lab"``, ``"CMYK"``, ``"grey"``, ``"spot"`` or ``"other"`` for a colour space as facts name it."""
    found = _WRAPPED.match(space)
    if not found:
        return "other"
    name, channels = found[1], found[2]
    if name == "ICCBased":
        return {"1": "grey", "3": "RGB", "4": "CMYK"}.get(channels, "other")
    return {
        "DeviceRGB": "RGB",
        "CalRGB": "RGB",
        "Lab": "Lab",
        "DeviceCMYK": "CMYK",
        "DeviceGray": "grey",
        "CalGray": "grey",
        "Separation": "spot",
        "DeviceN": "spot",
    }.get(name, "other")
