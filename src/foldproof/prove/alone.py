# SPDX-License-Identifier: AGPL-3.0-or-later
"""What can be said of sheets without the manuscript: that they fold into a book, each leaf carrying one upright page.

Which page it is, and whether it stands where the page wants to stand, is not claimed.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from foldproof.makeup.instructions import FoldingInstructions
from foldproof.pdf.proof_affine import Box, Map, back, box_round, chain, holds, middle, shift
from foldproof.pdf.proof_sheets import Placed, SideRead
from foldproof.prove.faults import numbers, where_from
from foldproof.prove.gathering import Book, Place
from foldproof.prove.look import LeafSeen
from foldproof.prove.model import Fault, Leg, PageProof
from foldproof.prove.which import SCALE, SHIFT_MM, TO_MM, fills, form_to_leaf, nearest, side_of

Forms = dict[int, list[Placed]]


def placed(book: Book, sides: Sequence[SideRead]) -> Forms:
    """The forms that look like pages, by position: about as large as a leaf, and on one."""
    places: dict[tuple[int, str], list[tuple[Place, Box]]] = defaultdict(list)
    for place in book.places:
        if place:
            places[place.sheet, place.side].append((place, place.on_side))
    out: Forms = defaultdict(list)
    for side in sides:
        for form in side.placed:
            shows = box_round(TO_MM, form.clip)
            if shows[0] >= shows[2] or shows[1] >= shows[3]:
                continue
            place = nearest(places[side_of(side)], *middle(shows))
            if place and fills(shows, place):
                out[place.position].append(form)
    return out


def faults(book: Book, forms: Forms, told: FoldingInstructions) -> list[Fault]:
    """One page a leaf, upright, of its own size, its trim not cut, and standing as the others of its size do."""
    out = []
    usual = _usual(book, forms)
    for place in book.places:
        here = forms.get(place.position, []) if place else []
        if place is None or not here:
            continue
        name = f"What stands at place {place.position + 1} of the book, on {where_from(place)},"
        first = here[0]
        if len({form.digest for form in here if _whole(form, here)}) > 1 and _different(here, place):
            out.append(_fault(place, f"{len(here)} pages stand at place {place.position + 1}, on {where_from(place)}."))
        six = _on_leaf(first, place)
        size = abs(six[0] * six[3] - six[1] * six[2]) ** 0.5
        if usual and max(abs(a - b) for a, b in zip(six[:4], usual[:4], strict=True)) > SCALE:
            if abs(six[0] + usual[0]) + abs(six[3] + usual[3]) + abs(six[1] + usual[1]) + abs(six[2] + usual[2]) < 0.01:
                out.append(_fault(place, f"{name} stands on its head, as the other pages go."))
            elif abs(size - abs(usual[0] * usual[3] - usual[1] * usual[2]) ** 0.5) > SCALE:
                out.append(_fault(place, f"{name} is drawn at {100 * size:.2f} % of its size."))
        if not holds(box_round(chain(TO_MM, back(place.to_side)), first.clip), _middle_part(place), SHIFT_MM):
            out.append(_fault(place, f"{name} has part of its trimmed page cut by its clip."))
    return out


def notes(forms: Forms) -> list[str]:
    """Places that carry the same matter, which without the manuscript may be meant."""
    by_digest: dict[bytes, list[int]] = defaultdict(list)
    for position, here in sorted(forms.items()):
        if here:
            by_digest[here[0].digest].append(position + 1)
    return [
        f"The same matter stands at {numbers(same).replace('page', 'place')} of the book."
        for same in by_digest.values()
        if len(same) > 1
    ]


def proofs(book: Book, forms: Forms, seen: dict[int, LeafSeen]) -> list[PageProof]:
    """What came where, as far as it can be told."""
    out = []
    for place in book.places:
        if place:
            leaf = seen.get(place.position)
            out.append(
                PageProof(
                    position=place.position, expected=None, found=None, sheet=place.sheet, side=place.side,
                    section=place.section, shift_mm=None, look=leaf.look if leaf else "not compared", claimed=False,
                )
            )  # fmt: skip
    return out


def _on_leaf(form: Placed, place: Place) -> Map:
    """Form frame → leaf frame, mm, about the centre of the leaf's trim."""
    x, y = place.centre
    return chain(form_to_leaf(form, place), shift(-x, -y))


def _usual(book: Book, forms: Forms) -> Map | None:
    """How most forms lie on their leaf."""
    votes: Counter[tuple[float, ...]] = Counter()
    kept: dict[tuple[float, ...], Map] = {}
    for position, here in sorted(forms.items()):
        place = book.places[position]
        if place and here:
            six = _on_leaf(here[0], place)
            key = tuple(round(v, 3) + 0.0 for v in six[:4])
            votes[key] += 1
            kept.setdefault(key, six)
    return kept[votes.most_common(1)[0][0]] if votes else None


def _whole(form: Placed, here: Sequence[Placed]) -> bool:
    return form.clip == here[0].clip or form.digest != here[0].digest


def _different(here: Sequence[Placed], place: Place) -> bool:
    """Two pages have two clips; an appearance of an annotation shares the clip of its page."""
    return (
        len({tuple(round(v, 2) for v in _on_leaf(form, place)) for form in here}) == 1
        or len({tuple(round(v, 2) for v in form.clip) for form in here}) > 1
    )


def _middle_part(place: Place) -> Box:
    """The trimmed page without its outermost tenth, which a smaller page leaves empty."""
    x0, y0, x1, y1 = place.seen
    dx, dy = (x1 - x0) / 10, (y1 - y0) / 10
    return x0 + dx, y0 + dy, x1 - dx, y1 - dy


def _fault(place: Place, says: str) -> Fault:
    return Fault(Leg.WHERE, place.position, None, place.sheet, place.side, says)
