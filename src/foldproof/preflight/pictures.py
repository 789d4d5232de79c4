# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures as they are painted, joined with what the file says of them.

The object pass sees a painting and not which object of the file it is; the structure knows the objects and not where
they are painted.  The two are joined by page, pixels, depth, and stencil or not.  Where several objects of a page agree
in all that, each of them may be the one: what is said then has to be true of all, or is said of "one of" them.
"""

from __future__ import annotations

import weakref
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.manuscript.file_facts import ImageFact
from foldproof.manuscript.model import PageFact, PictureKind, PictureUse
from foldproof.preflight.measures import around, objects_of, room_mm, size_mm
from foldproof.preflight.model import Facts
from foldproof.units import format_size_mm, inch_to_mm

#: limit shared by the checks: ornaments, rules and dots are smaller
LEAST_SIDE_MM = 3.0
#: a picture no wider or higher than this is a rule, a tint or a gradient
STRIP_PIXELS = 4
LEAST_SIDE_SOURCE = "smaller ones are ornaments and rules; common practice, no source"


@frozen
class Placed:
    """One painting of a picture on paper; soft masks are part of the picture that they belong to and stand nowhere."""

    index: int  #: page, 0-based
    use: PictureUse
    #: the objects of the file that it may be, in the order of the file; none for an inline picture
    images: tuple[ImageFact, ...]
    #: what of ``use.place_mm`` lies on paper: inside the page, and inside the trim with its bleed; ``None`` for nothing
    on_paper_mm: Rect | None
    #: of that what is seen: inside the clip
    seen_mm: Rect | None

    @property
    def ppi(self) -> float:
        """The lower of its two resolutions."""
        return min(self.use.ppi_x, self.use.ppi_y)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height on paper along the picture's own sides (its place is the upright box round it)."""
        use = self.use
        if use.ppi_x <= 0 or use.ppi_y <= 0:
            return use.place_mm.width, use.place_mm.height
        return inch_to_mm(use.width_px / use.ppi_x), inch_to_mm(use.height_px / use.ppi_y)

    @property
    def size(self) -> str:
        """``"600 x 400 pixels on 50.8 x 33.9 mm"``"""
        return f"{self.use.width_px} x {self.use.height_px} pixels on {format_size_mm(*self.size_mm)}"

    def is_small(self, least_side_mm: float) -> bool:
        """Ornaments and rules, and the tints and gradients that programs write as a picture a few pixels wide."""
        # its own size: of one in a pattern the place is that of the whole pattern
        return min(self.use.width_px, self.use.height_px) <= STRIP_PIXELS or max(self.size_mm) < least_side_mm


#: the join of the facts that were asked about last: a dozen checks want it one after the other
_LAST: list[tuple[weakref.ref[Facts], tuple[Placed, ...]]] = []


def placed(facts: Facts) -> tuple[Placed, ...]:
    """Every painting of a picture, page by page, those that nobody sees among them.

    Raises:
        NotJudged: the object pass did not run.
    """
    if not _LAST or _LAST[0][0]() is not facts:
        joined = _joined(facts)
        _LAST[:] = [(weakref.ref(facts, lambda _: _LAST.clear()), joined)]
    return _LAST[0][1]


def _joined(facts: Facts) -> tuple[Placed, ...]:
    found = []
    candidates = _by_look(facts.manuscript.facts.images)
    for seen in objects_of(facts):
        if seen is None or not seen.pictures:
            continue
        paper = _paper_mm(facts.manuscript.pages[seen.index], facts.bleed_mm)
        for use in seen.pictures:
            if use.kind is not PictureKind.SOFT_MASK:
                images = () if use.inline else _fitting(use, candidates.get((seen.index, *_look(use)), ()))
                found.append(Placed(seen.index, use, images, use.place_mm.common(paper), _seen(use, paper)))
    return tuple(found)


def _paper_mm(page: PageFact, bleed_mm: float) -> Rect:
    """The trim with its bleed, as far as the page itself goes (trim frame)."""
    (width, height), room = size_mm(page), room_mm(page)
    return Rect(
        -min(room["left"], bleed_mm),
        -min(room["foot"], bleed_mm),
        width + min(room["right"], bleed_mm),
        height + min(room["head"], bleed_mm),
    )


def _seen(use: PictureUse, paper: Rect) -> Rect | None:
    if use.shown_mm is None:
        return use.place_mm.common(paper)
    return None if use.shown_mm.is_empty else use.shown_mm.common(paper)


def _look(use: PictureUse) -> tuple[int, int, bool]:
    return use.width_px, use.height_px, use.kind is PictureKind.STENCIL


def _by_look(images: Iterable[ImageFact]) -> dict[tuple[int, int, int, bool], list[ImageFact]]:
    """The pictures of the file by page, pixels, and stencil or not."""
    found: dict[tuple[int, int, int, bool], list[ImageFact]] = defaultdict(list)
    for image in images:
        if image.role == "picture":
            for page in image.pages:
                found[page, image.width_px, image.height_px, image.mask].append(image)
    return found


def _fitting(use: PictureUse, images: Iterable[ImageFact]) -> tuple[ImageFact, ...]:
    """Those that agree in depth too; of these those in the same space, if any are."""
    # JPEG 2000 is handed to the object pass in 8 bits, however deep it is
    deep = tuple(one for one in images if one.bits == use.bits or not one.bits or "JPXDecode" in one.filters)
    return tuple(one for one in deep if one.space == use.space) or deep


@frozen
class Told:
    """A picture of which something is true."""

    index: int
    image: ImageFact
    place_mm: Rect | None
    among: int  #: 1: this one; more: one of so many paintings that cannot be told apart
    placed: Placed  #: the painting, or the first of those that cannot be told apart


def true_of(paintings: Iterable[Placed], holds: Callable[[ImageFact], bool]) -> dict[int, list[Told]]:
    """Of which paintings something is true that the file says of a picture, by page.

    Where it is true of some of the objects that a painting may be, it is told of one of the paintings alone, and only
    when there are as many of these as objects: a resource that is named and never painted says nothing.
    """
    found: dict[int, list[Told]] = defaultdict(list)
    for alike in _alike(paintings):
        images = alike[0].images
        true = [image for image in images if holds(image)]
        if not true:
            continue
        index = alike[0].index
        if len(true) == len(images):
            for number, one in enumerate(alike):
                found[index].append(Told(index, true[min(number, len(true) - 1)], one.use.place_mm, 1, one))
        elif len(alike) >= len(images):
            place = around([one.use.place_mm for one in alike])
            found[index] += [Told(index, image, place, len(alike), alike[0]) for image in true]
    return found


def _alike(paintings: Iterable[Placed]) -> Iterator[list[Placed]]:
    """Paintings on one page that may be the same objects."""
    groups: dict[tuple[int, tuple[str, ...]], list[Placed]] = defaultdict(list)
    for one in paintings:
        if one.images:
            groups[one.index, tuple(image.key for image in one.images)].append(one)
    yield from groups.values()


def of_images(paintings: Iterable[Placed]) -> list[tuple[ImageFact, list[Placed]]]:
    """Every picture object with all paintings that may be of it, in the order in which they are first painted."""
    images: dict[str, tuple[ImageFact, list[Placed]]] = {}
    for one in paintings:
        for image in one.images:
            images.setdefault(image.key, (image, []))[1].append(one)
    return list(images.values())


def count_in_words(told: list[Told], what: str = "picture") -> str:
    """``"a picture"``, ``"3 pictures"``, ``"one of 2 pictures"``."""
    if len(told) == 1:
        article = "an" if what[0] in "aeiou" else "a"
        return f"{article} {what}" if told[0].among == 1 else f"one of {told[0].among} {what}s"
    return f"{len(told)} {what}s"


def ppi_in_words(ppi: float) -> str:
    """``"150"``, ``"0.5"``"""
    return f"{ppi:.0f}" if ppi >= 10 else f"{ppi:.2g}"


def weight(stored_bytes: float) -> str:
    """``"40 KB"``, ``"1.2 MB"``."""
    if stored_bytes >= 999_500:
        return f"{stored_bytes / 1_000_000:.3g} MB"
    return f"{max(1, round(stored_bytes / 1000))} KB"
