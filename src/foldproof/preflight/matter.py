# SPDX-License-Identifier: AGPL-3.0-or-later
"""Type and paint that come on the finished page: what lies wholly outside the trim or is not painted is left out."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet

from foldproof.geometry import Rect
from foldproof.manuscript.model import PageObjects
from foldproof.manuscript.seen import PaintUse, TextUse
from foldproof.preflight.inks import printing
from foldproof.preflight.measures import objects_of, size_mm
from foldproof.preflight.model import Facts

#: six upper-case letters and a plus sign before the name of a font of which a part is embedded (ISO 32000-1, 9.6.4)
_SUBSET = re.compile(r"^[A-Z]{6}\+")

#: so many colours of the same inks on a page are steps of a gradation, and three times as many of one colour space;
#: common practice, no source
_STEPS = 6


def paper_mm(facts: Facts, index: int, beyond_mm: float | None = None) -> Rect:
    """The trim of a page (0-based), grown by ``beyond_mm``: by the bleed without it."""
    return Rect(0, 0, *size_mm(facts.manuscript.pages[index])).grown(facts.bleed_mm if beyond_mm is None else beyond_mm)


def painted_type(facts: Facts) -> Iterator[tuple[PageObjects, list[TextUse]]]:
    """The type of every page that has some, clips and invisible text left out.

    Raises:
        NotJudged: the object pass did not run.
    """
    for seen in objects_of(facts):
        if seen is None or not seen.texts:
            continue
        shown = [use for use in seen.texts if use.in_trim and use.alpha > 0 and use.how in ("fill", "stroke")]
        if shown:
            yield seen, shown


def painted_matter(facts: Facts) -> Iterator[tuple[PageObjects, list[PaintUse]]]:
    """Fills, strokes, stencils and shadings of every page that has some.

    Raises:
        NotJudged: the object pass did not run.
    """
    for seen in objects_of(facts):
        if seen is None or not seen.paints:
            continue
        shown = [use for use in seen.paints if use.in_trim and use.alpha > 0]
        if shown:
            yield seen, shown


def without_gradations(paints: Sequence[PaintUse]) -> list[PaintUse]:
    """The paints that are no steps of a gradation: many colours of the same inks, as shaded surfaces are drawn.

    Such steps run down to nothing or up to the solid by their nature.
    """
    by_inks: dict[tuple[str, frozenset[str]], set[tuple[float, ...]]] = {}
    by_space: dict[tuple[str, str], set[tuple[float, ...]]] = {}
    inks = [(paint.what, frozenset(printing(paint.space, paint.values) or {})) for paint in paints]
    for paint, key in zip(paints, inks, strict=True):
        by_inks.setdefault(key, set()).add(paint.values)
        by_space.setdefault((paint.what, paint.space), set()).add(paint.values)
    return [
        paint
        for paint, key in zip(paints, inks, strict=True)
        if len(by_inks[key]) < _STEPS and len(by_space[paint.what, paint.space]) < 3 * _STEPS
    ]


def type3_place(facts: Facts, index: int) -> Rect | None:
    """Where text of a Type 3 font stands first on a page (0-based), as far as the page was looked at."""
    pages = facts.observations.objects
    seen = pages[index] if index < len(pages) else None
    return next((use.first_mm for use in seen.texts if use.type3 and use.in_trim), None) if seen else None


def surely_unused(facts: Facts, index: int, names: AbstractSet[str]) -> AbstractSet[str]:
    """Those of some fonts (names without subset marks) of a page (0-based) in which nothing is set on it.

    Resources may list fonts that the page never calls for.  Said only where all type that the page paints is accounted
    for by fonts that it lists, and none can be out of sight: in a mask, on a layer, or behind an interpreter that gave
    up.
    """
    texts = _all_texts(facts, index)
    shown = {face(use.font) for use in texts if not use.type3}
    book = facts.manuscript
    if not texts or not shown <= {face(book.fonts[key].name) for key in book.pages[index].fonts}:
        return frozenset()
    return names - shown


def surely_no_type3(facts: Facts, index: int) -> bool:
    """Whether nothing on a page (0-based) is set in a font of Type 3, as :func:`surely_unused` tells it."""
    texts = _all_texts(facts, index)
    return bool(texts) and not any(use.type3 for use in texts)


def _all_texts(facts: Facts, index: int) -> tuple[TextUse, ...]:
    """The type of a page; none where some of it may be out of sight."""
    pages, book = facts.observations.objects, facts.manuscript
    seen = pages[index] if index < len(pages) else None
    if seen is None or seen.cut_short or seen.transparency.soft_masks or book.layers or seen.remarks:
        return ()
    return seen.texts


def face(font: str) -> str:
    """The name of a font without the mark of a subset; in words where it has none."""
    return _SUBSET.sub("", font) or "a font without a name"
