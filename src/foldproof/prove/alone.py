# SPDX-License-Identifier: AGPL-3.0-or-later
"""What can be said of sheets without the manuscript: that they fold into a book, each leaf carrying one upright page.

Which page it is, and whether it stands where the page wants to stand, is not claimed.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from foldproof.makeup.instructions import FoldingInstructions
from foldproof.pdf.proof_affine import Box, Map, back, box_round, chain, holds, middle
from foldproof.pdf.proof_read import Placed, SideRead
from foldproof.prove.book import Book, Place
from foldproof.prove.faults import numbers, where_from
from foldproof.prove.look import LeafSeen
from foldproof.prove.model import Fault, Leg, PageProof
from foldproof.prove.which import SCALE, SHIFT_MM, TO_MM, fills, form_to_leaf, nearest, side_of

#: a page that stands less than this beside the others may have slipped; one that is farther off is of another size
_BESIDE_MM = 2.0

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
        name = f"What stands at place {place.of_book + 1} of the book, on {where_from(place)},"
        first = here[0]
        # Appearances of annotations stand over their page; two forms that both fill the leaf are two pages.
        whole = [form for form in here if _covers(form, place, _middle_part(place))]
        if len(whole) > 1:
            says = f"{len(whole)} pages stand at place {place.of_book + 1} of the book, on {where_from(place)}."
            out.append(_fault(place, says))
        six = _on_leaf(first, place)
        size = abs(six[0] * six[3] - six[1] * six[2]) ** 0.5
        if usual and max(abs(a - b) for a, b in zip(six[:4], usual[:4], strict=True)) > SCALE:
            if abs(six[0] + usual[0]) + abs(six[3] + usual[3]) + abs(six[1] + usual[1]) + abs(six[2] + usual[2]) < 0.01:
                out.append(_fault(place, f"{name} stands on its head, as the other pages go."))
            elif abs(size - abs(usual[0] * usual[3] - usual[1] * usual[2]) ** 0.5) > SCALE:
                out.append(_fault(place, f"{name} is drawn at {100 * size:.2f} % of its size."))
        if not whole and not _in_the_middle(first, place):
            out.append(_fault(place, f"{name} has part of its trimmed page cut by its clip."))
    return out + _copies(book, forms)


def _copies(book: Book, forms: Forms) -> list[Fault]:
    """What is printed again for another copy of the book is the same matter, and lies on its leaf in the same way."""
    out = []
    for place in book.places[book.length :]:
        twin = book.places[place.of_book] if place else None
        if place is None or twin is None:
            continue
        here, there = forms.get(place.position, []), forms.get(twin.position, [])
        name = f"What stands at place {place.of_book + 1} of the book, on {where_from(place)},"
        if [form.digest for form in here] != [form.digest for form in there]:
            out.append(_fault(place, f"{name} is not what stands there on {where_from(twin)}."))
        elif here:
            one, other = _on_leaf(here[0], place), _on_leaf(there[0], twin)
            off = ((one[4] - other[4]) ** 2 + (one[5] - other[5]) ** 2) ** 0.5
            if off > SHIFT_MM:
                out.append(_fault(place, f"{name} stands {off:.2f} mm beside where it stands on {where_from(twin)}."))
    return out


def notes(book: Book, forms: Forms) -> list[str]:
    """What looks odd, but may be meant: pages a little beside the others, the same matter in several places."""
    out = []
    usual = _usual(book, forms)
    for position, here in sorted(forms.items()):
        place = book.places[position]
        if place is None or not here or usual is None:
            continue
        six = _on_leaf(here[0], place)
        off = ((six[4] - usual[4]) ** 2 + (six[5] - usual[5]) ** 2) ** 0.5
        if max(abs(a - b) for a, b in zip(six[:4], usual[:4], strict=True)) <= SCALE and SHIFT_MM < off < _BESIDE_MM:
            out.append(
                f"What stands at place {place.of_book + 1} of the book, on {where_from(place)}, "
                f"stands {off:.2f} mm beside where most pages stand."
            )
    by_digest: dict[bytes, list[int]] = defaultdict(list)
    for position, here in sorted(forms.items()):
        if here and position < book.length:
            by_digest[here[0].digest].append(position + 1)
    return out + [
        f"The same matter stands at {numbers(same).replace('page', 'place')} of the book."
        for same in by_digest.values()
        if len(same) > 1
    ]


def _in_the_middle(form: Placed, place: Place) -> bool:
    """A page smaller than the leaf lies in its middle and is not cut for that."""
    x, y = middle(box_round(chain(TO_MM, back(place.to_side)), form.clip))
    return abs(x - place.centre[0]) < 1 and abs(y - place.centre[1]) < 1


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
    """Form frame → the frame of a page, mm, as it would be had it been laid as a page is to lie on this leaf."""
    return chain(form_to_leaf(form, place), back(place.lays))


def _usual(book: Book, forms: Forms) -> Map | None:
    """How most forms lie on their leaf."""
    votes: Counter[tuple[float, ...]] = Counter()
    kept: dict[tuple[float, ...], Map] = {}
    for position, here in sorted(forms.items()):
        place = book.places[position]
        if place and here:
            six = _on_leaf(here[0], place)
            key = tuple(round(v, 2) + 0.0 for v in six)
            votes[key] += 1
            kept.setdefault(key, six)
    return kept[votes.most_common(1)[0][0]] if votes else None


def _covers(form: Placed, place: Place, part: Box) -> bool:
    return holds(box_round(chain(TO_MM, back(place.to_side)), form.clip), part, SHIFT_MM)


def _middle_part(place: Place) -> Box:
    """The trimmed page without its outermost tenth, which a smaller page leaves empty."""
    x0, y0, x1, y1 = place.seen
    dx, dy = (x1 - x0) / 10, (y1 - y0) / 10
    return x0 + dx, y0 + dy, x1 - dx, y1 - dy


def _fault(place: Place, says: str) -> Fault:
    return Fault(Leg.WHERE, place.position, None, place.sheet, place.side, says)
