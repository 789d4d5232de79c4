# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures of which most lies behind the clip, and travels along all the same; and those that run off the page."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.manuscript.file_facts import ImageFact
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import LEAST_SIDE_MM, LEAST_SIDE_SOURCE, Placed, of_images, placed, weight
from foldproof.preflight.words import counted, on_page


@frozen
class _Hidden:
    image: ImageFact
    first: Placed
    share: float  #: 0 to 1: part of the picture that is seen nowhere

    @property
    def stored_bytes(self) -> float:
        return self.share * self.image.stored_bytes


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    paintings = placed(facts)
    off = _off_page(paintings, limits)
    told = {id(one) for several in off.values() for one in several}
    yield from _run_off(facts, off, limits)
    yield from _clipped(facts, [one for one in paintings if id(one) not in told], limits)


def _off_page(paintings: Iterable[Placed], limits: Limits) -> dict[int, list[Placed]]:
    """Pictures that the edge of the page cuts down to a strip, by page.

    Not those that go on on another page: they may run over a spread or a folding plate.
    """
    least, least_mm = limits.number("least_percent") / 100, limits.number("least_side_mm")
    pages: dict[str, set[int]] = defaultdict(set)
    cut: list[Placed] = []
    for one in paintings:
        for image in one.images:
            pages[image.key].add(one.index)
        if _runs_off(one) and 1 - _seen_share(one) >= least and not one.is_small(least_mm):
            cut.append(one)
    found: dict[int, list[Placed]] = defaultdict(list)
    for one in cut:
        if all(pages[image.key] == {one.index} for image in one.images):
            found[one.index].append(one)
    return found


def _run_off(facts: Facts, off: dict[int, list[Placed]], limits: Limits) -> Iterator[Finding]:
    for index, several in off.items():
        worst = min(several, key=_seen_share)
        seen = _seen_share(worst) * 100
        which = "a picture" if len(several) == 1 else f"the worst of {counted(len(several), 'picture')}"
        yield on_page(
            facts,
            index,
            "hidden-picture-matter/off-page",
            Severity.QUERY,
            f"{max(1, round(seen))} % of {which} is seen ({worst.size}); the rest runs off the page.",
            "Look whether the picture stands where it should; if it does, crop it to its frame when exporting.",
            place_mm=worst.seen_mm,
            measured=100 - seen,
            limit=limits.number("least_percent"),
            unit="%",
            count=len(several),
        )


def _clipped(facts: Facts, paintings: Iterable[Placed], limits: Limits) -> Iterator[Finding]:
    least, least_bytes = limits.number("least_percent") / 100, limits.number("least_kb") * 1000
    found: dict[int, list[_Hidden]] = defaultdict(list)
    for image, uses in of_images(paintings):
        # parts seen in several places may be the same part or not: taken for different ones, so that nothing is accused
        hidden = _Hidden(image, uses[0], 1 - min(1.0, sum(map(_seen_share, uses))))
        if hidden.share >= least and hidden.stored_bytes >= least_bytes:
            found[uses[0].index].append(hidden)
    for index, several in sorted(found.items()):
        worst = max(several, key=lambda one: one.stored_bytes)
        seen = "nothing" if worst.share >= 1 else f"{max(1, round(100 - worst.share * 100))} %"
        which = "a picture" if len(several) == 1 else f"the heaviest of {counted(len(several), 'picture')}"
        yield on_page(
            facts,
            index,
            "hidden-picture-matter/clipped",
            Severity.NOTE,
            f"{seen} of {which} is seen; what lies behind its frame or off the page is still in the file (about "
            f"{weight(sum(one.stored_bytes for one in several))}).",
            "If nobody is to see the rest, or the file is to be lighter, crop the picture itself, or have it cropped "
            "to its frame when exporting.",
            place_mm=worst.first.seen_mm or worst.first.use.place_mm,
            measured=worst.share * 100,
            limit=limits.number("least_percent"),
            unit="%",
            count=len(several),
        )


def _runs_off(one: Placed) -> bool:
    """Whether it is the page that cuts it off, and no clip."""
    if one.seen_mm is None or one.on_paper_mm is None:
        return False
    return _area(one.seen_mm) >= 0.95 * _area(one.on_paper_mm)


def _seen_share(one: Placed) -> float:
    place, seen = one.use.place_mm, one.seen_mm
    if seen is None:
        return 0.0
    return min(1.0, _area(seen) / _area(place)) if _area(place) > 0 else 1.0


def _area(rect: Rect) -> float:
    return rect.width * rect.height


CHECK = Check(
    id="hidden-picture-matter",
    title="Hidden picture matter",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="How much of a picture lies behind its clip or beyond the bleed wherever it is placed, and about what "
    "that part weighs. Of a clip the upright box counts, so that rather too little is told.",
    why="Whoever gets the file can bring to light what was cropped away, and it makes the file heavy; a picture that "
    "runs off the page may stand in the wrong place.",
    remedy="Crop the picture itself, or have it cropped to its frame when exporting.",
    source="common practice, no source",
    run=_run,
    limits={"least_percent": 60, "least_kb": 50, "least_side_mm": LEAST_SIDE_MM},
    limit_sources={
        "least_percent": "more than lies on the other page of a spread; common practice, no source",
        "least_kb": "less is not worth a word, unless the picture runs off the page; common practice, no source",
        "least_side_mm": LEAST_SIDE_SOURCE,
    },
    severity=Severity.QUERY,
)
