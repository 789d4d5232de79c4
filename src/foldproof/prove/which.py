# SPDX-License-Identifier: AGPL-3.0-or-later
"""The first two legs: which page stands at each place of the folded book, and where exactly.

Forms are assigned to places by where the centre of their page falls; a digest names the page; the map of the form,
composed with the folding, is held against the leaf.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from attrs import field, frozen, mutable

from foldproof.pdf.proof_affine import (
    Box,
    Map,
    at,
    back,
    box_round,
    chain,
    common,
    holds,
    middle,
    shift,
    stretch,
)
from foldproof.pdf.proof_read import PageRead, Placed, SideRead
from foldproof.prove.book import Book, Place
from foldproof.units import PT_PER_MM

#: how far a page's centre may be from the leaf's, mm
SHIFT_MM = 0.05
#: how far the linear part of a map may be from upright and unscaled
SCALE = 1e-4
#: how much a clip may take, mm
CLIP_MM = 0.05

TO_MM = stretch(1 / PT_PER_MM)
TO_PT = stretch(PT_PER_MM)


@frozen
class Found:
    """A form on a place."""

    placed: Placed
    pages: tuple[int, ...]  #: 1-based pages with this digest; empty: no page of the manuscript


@mutable
class Assigned:
    """What stands where."""

    at: dict[int, list[Found]] = field(factory=lambda: defaultdict(list))  #: by position
    stray: list[tuple[int, str, Found]] = field(factory=list)  #: pages that no leaf takes: sheet, side


@frozen
class Expectation:
    """Which page belongs at which place, and what is alike."""

    pages: tuple[int | None, ...]  #: by position, of other copies too: 1-based page, ``None`` for a blank
    missing: tuple[int, ...]  #: pages for which the book has no place
    offset: int  #: blanks in front


def side_of(book_side: SideRead) -> tuple[int, str]:
    """Sheet and side that a page of the sheets' file is (pages 2n-1 and 2n are front and back of sheet n)."""
    return book_side.index // 2 + 1, "front" if book_side.index % 2 == 0 else "back"


def by_digest(pages: Sequence[PageRead]) -> dict[bytes, tuple[int, ...]]:
    """Pages of each digest, in order."""
    out: dict[bytes, list[int]] = defaultdict(list)
    for page in pages:
        out[page.digest].append(page.number)
    return {digest: tuple(numbers) for digest, numbers in out.items()}


def assign(book: Book, sides: Sequence[SideRead], pages: Sequence[PageRead]) -> Assigned:
    """Give every page form to the place on which its centre falls."""
    named = by_digest(pages)
    places: dict[tuple[int, str], list[Place]] = defaultdict(list)
    for place in book.places:
        if place:
            places[place.sheet, place.side].append(place)
    out = Assigned()
    for side in sides:
        here = places[side_of(side)]
        boxes = [(place, place.on_side) for place in here]
        for placed in _flat(side.placed, named):
            numbers = named.get(placed.digest, ())
            if numbers:
                # A page's form keeps the page's own coordinates, so its map carries the page's trim centre.
                x, y = at(chain(back(pages[numbers[0] - 1].upright), placed.form, TO_MM), 0.0, 0.0)
                place = nearest(boxes, x, y)
                if place is None:
                    out.stray.append((*side_of(side), Found(placed, numbers)))
                else:
                    out.at[place.position].append(Found(placed, numbers))
                continue
            shows = box_round(TO_MM, placed.clip)
            if shows[0] >= shows[2] or shows[1] >= shows[3]:
                continue
            place = nearest(boxes, *middle(shows))
            if place is not None and fills(shows, place):
                out.at[place.position].append(Found(placed, ()))
    for position, found in out.at.items():
        # Appearances of annotations stand on their page; a form that is no page counts only where no page stands.
        known = [each for each in found if each.pages]
        out.at[position] = known or found[:1]
    return out


def _flat(placed: Sequence[Placed], named: dict[bytes, tuple[int, ...]]) -> list[Placed]:
    """Forms, with those that only hold page forms replaced by these."""
    out: list[Placed] = []
    for each in placed:
        inner = [] if each.digest in named else _flat(each.inside, named)
        pages = [one for one in inner if one.digest in named]
        out += pages or [each]
    return out


def nearest(boxes: list[tuple[Place, Box]], x: float, y: float) -> Place | None:
    """The place whose leaf holds the point."""
    best: tuple[float, Place] | None = None
    for place, box in boxes:
        if box[0] - 1 <= x <= box[2] + 1 and box[1] - 1 <= y <= box[3] + 1:
            cx, cy = middle(box)
            far = (x - cx) ** 2 + (y - cy) ** 2
            if best is None or far < best[0]:
                best = far, place
    return best[1] if best else None


def fills(shows: Box, place: Place) -> bool:
    """Whether something about as large as a page shows: half the leaf or more, and not the sheet."""
    leaf = place.on_side
    both = common(shows, leaf)
    if both[0] >= both[2] or both[1] >= both[3]:
        return False
    area = (both[2] - both[0]) * (both[3] - both[1])
    whole = (leaf[2] - leaf[0]) * (leaf[3] - leaf[1])
    return area >= whole / 2 and (shows[2] - shows[0]) * (shows[3] - shows[1]) < 2.2 * whole


def expect(book: Book, assigned: Assigned, pages: Sequence[PageRead]) -> Expectation:
    """Blanks, then page 1 to the last in order, then blanks; how many in front is what most pages say.

    The other copies have no say in it (their positions lie past the end, so no number of blanks in front fits them): on
    each of their places belongs what belongs on its twin in the book.
    """
    count = book.length
    total = len(pages)
    most = max(count - total, 0)
    votes: Counter[int] = Counter()
    for position, found in assigned.at.items():
        for each in found:
            if len(each.pages) == 1 and 0 <= position - (each.pages[0] - 1) <= most:
                votes[position - (each.pages[0] - 1)] += 1
    if not votes:
        front = next((p for p in range(count) if assigned.at.get(p)), 0)
        votes[min(front, most)] = 1
    offset = min(votes, key=lambda o: (-votes[o], o))
    expected = tuple(p - offset + 1 if 0 <= p - offset < total else None for p in range(count))
    missing = tuple(range(max(count - offset, 0) + 1, total + 1))
    twins = tuple(expected[place.of_book] if place else None for place in book.places[count:])
    return Expectation(expected + twins, missing, offset)


# --- where ---


def page_to_leaf(page: PageRead, place: Place) -> Map:
    """Where the page belongs: its user space → leaf frame, mm."""
    return chain(page.upright, TO_MM, place.lays)


def form_to_leaf(placed: Placed, place: Place) -> Map:
    """Where it stands: form frame → leaf frame, mm."""
    return chain(placed.form, TO_MM, back(place.to_side))


def window_of(page: PageRead | None, place: Place, bleed_mm: float, slack_mm: float) -> tuple[Box, Box | None]:
    """What must show: the trim and the bleed that the page has, as far as the leaf's paper goes.

    Returns:
        The window, and what may print of the page, both in the leaf frame, mm: its own trim and the bleed asked for,
        as far as its medium goes.
    """
    seen = place.seen
    if page is None:
        return seen, None
    to_leaf = chain(TO_MM, place.lays)
    own = box_round(to_leaf, page.trim)
    own = (own[0] - bleed_mm, own[1] - bleed_mm, own[2] + bleed_mm, own[3] + bleed_mm)
    visible = common(own, box_round(chain(page.upright, to_leaf), page.medium))
    trim, panel = place.trim, place.panel
    wide = (trim[0] - bleed_mm, trim[1] - bleed_mm, trim[2] + bleed_mm, trim[3] + bleed_mm)
    inner = (panel[0] + slack_mm, panel[1], panel[2] - slack_mm, panel[3])
    # At the spine the page runs to the crease (x = 0) and never past it, nor past a leaf that ends before it.
    if place.outward > 0:
        inner = (max(0.0, panel[0]), inner[1], inner[2], inner[3])
    else:
        inner = (inner[0], inner[1], min(0.0, panel[2]), inner[3])
    both = common(common(wide, inner), visible)
    window = (min(both[0], seen[0]), min(both[1], seen[1]), max(both[2], seen[2]), max(both[3], seen[3]))
    return window, visible


def deviation(page: PageRead, placed: Placed, place: Place) -> Map:
    """Leaf frame as it should be → leaf frame as it is, about the page's centre; the identity where all is well."""
    home = shift(*place.centre)
    return chain(home, back(page_to_leaf(page, place)), form_to_leaf(placed, place), back(home))


def off_by(off: Map) -> float:
    """How far the centre of the page is from where it belongs, mm."""
    return float((off[4] ** 2 + off[5] ** 2) ** 0.5)


def stands_wrong(off: Map) -> str | None:
    """In what a page does not stand as it should, as the end of a sentence; ``None`` where it does."""
    a, b, c, d, e, f = off
    out = []
    size = abs(a * d - b * c) ** 0.5
    if max(abs(a - 1), abs(b), abs(c), abs(d - 1)) > SCALE:
        if a * d - b * c < 0:
            out.append("is mirrored")
        elif size > 0 and max(abs(a + size), abs(d + size), abs(b), abs(c)) < 0.01:
            out.append("stands on its head")
        elif size > 0 and max(abs(a), abs(d)) < 0.01:
            out.append("lies on its side")
        elif max(abs(b), abs(c)) > SCALE:
            out.append("is askew")
        wide, high = (a * a + b * b) ** 0.5, (c * c + d * d) ** 0.5
        if abs(wide - high) > SCALE:
            out.append(f"is drawn at {100 * wide:.2f} % of its width and {100 * high:.2f} % of its height")
        elif abs(size - 1) > SCALE:
            out.append(f"is drawn at {100 * size:.2f} % of its size")
        elif not out:
            out.append("is stretched")
    if off_by(off) > SHIFT_MM:
        ways = []
        if abs(e) > 0.005:
            ways.append(f"{abs(e):.2f} mm too far {'right' if e > 0 else 'left'}")
        if abs(f) > 0.005:
            ways.append(f"{abs(f):.2f} mm too {'high' if f > 0 else 'low'}")
        out.append("stands " + " and ".join(ways))
    return " and ".join(out) or None


def cut_by_clip(placed: Placed, place: Place, window: Box, visible: Box | None) -> str | None:
    """What the clip takes of what must show, as the end of a sentence."""
    clip = box_round(chain(TO_MM, back(place.to_side)), placed.clip)
    window = window if visible is None else common(window, visible)
    if holds(clip, window, CLIP_MM):
        return None
    names = ("at the left", "at the foot", "at the right", "at the head")
    losses = (clip[0] - window[0], clip[1] - window[1], window[2] - clip[2], window[3] - clip[3])
    lost = [f"{loss:.2f} mm {name}" for loss, name in zip(losses, names, strict=True) if loss > CLIP_MM]
    part = "" if holds(clip, place.seen, CLIP_MM) else "trimmed page and its "
    return f"has its {part}bleed cut by its clip: {', '.join(lost)}"
