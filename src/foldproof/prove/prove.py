# SPDX-License-Identifier: AGPL-3.0-or-later
"""Fold what was written, and compare it with the manuscript leaf by leaf.

Three legs, each with a reader of its own, because each alone is blind somewhere: which page (pypdf, digests), where
(the maps of the forms, composed with the folding), look (MuPDF, pixels).  Nothing is taken from make-up but what the
bindery is told.
"""

from __future__ import annotations

import tempfile
from collections import defaultdict
from collections.abc import Callable, Sequence
from pathlib import Path

from attrs import evolve, frozen

from foldproof.errors import Unreadable
from foldproof.files import sha256_of
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.pdf.proof_read import PageRead, identity_of
from foldproof.prove import alone, faults
from foldproof.prove.book import Book, Place
from foldproof.prove.gathering import bind
from foldproof.prove.look import LeafSeen, LookJob, SheetSeen, look_at
from foldproof.prove.looking import jobs_of, of_leaf, with_picture, without_shunned
from foldproof.prove.model import Fault, Leg, PageProof, Proof, Verdict
from foldproof.prove.painted import foreign
from foldproof.prove.sources import Source, as_it_is, mended_source, pages_of, sides_of
from foldproof.prove.strips import StripSeen, marks_read, of_strip, untold
from foldproof.prove.told import refuse_nonsense
from foldproof.prove.which import Assigned, Expectation, assign, by_digest, expect
from foldproof.workers import Lost, Workers

#: pictures of pages that differ, at most, in one proof
MOST_PICTURES = 12
#: seconds that looking at a sheet may take: a hundred times what it does take
_LOOKING_S = 300.0


@frozen
class _Seen:
    leaves: dict[int, LeafSeen]
    strips: tuple[StripSeen, ...]


def prove(
    sheets: Path,
    instructions: FoldingInstructions,
    manuscript: Path | None,
    *,
    workers: Workers,
    advance: Callable[[int], None],
    pictures: bool = True,
    password: str | None = None,
    shunned: frozenset[int] = frozenset(),
) -> Proof:
    """Fold a written file by its folding instructions and say page by page what came where.

    Args:
        sheets: the written file; pages 2n-1 and 2n are front and back of sheet n.
        instructions: what the bindery is told.
        manuscript: the book as received; without it the proof says only whether the sheets fold into a book.
        workers: processes that read and look.
        advance: told how many places of the book were looked at since it was last called; other copies are not counted.
        pictures: keep small pictures of pages that differ.
        password: of the manuscript.
        shunned: pages (0-based) that brought down, or held up, whoever drew them: neither they nor the sides that they
            stand on are drawn again, and nothing is claimed for them.

    Raises:
        AskedWrong: the instructions hold something that is none.
        Unreadable: the sheets or the manuscript cannot be read (``NeedsPassword`` where it is locked).
    """
    refuse_nonsense(instructions)
    book = bind(instructions)
    if manuscript is None:
        return _without(sheets, book, instructions, workers, advance, pictures)
    asked = _Asked(sheets, manuscript, instructions, book, pictures, shunned)
    with tempfile.TemporaryDirectory(prefix="foldproof-") as folder:
        mended = Path(folder) / "manuscript.pdf"
        source = as_it_is(manuscript, password, workers)
        if source is None:
            return _with(asked, mended_source(manuscript, mended, password, workers), workers, advance)
        proof = _with(asked, source, workers, advance)
        if not any(fault.leg is Leg.WHICH and faults.NO_PAGE in fault.says for fault in proof.faults):
            return proof
        # A damaged file may be read in more than one way: perhaps the form is the page as another reader sees it.
        try:
            again = _with(asked, mended_source(manuscript, mended, password, workers), workers, lambda done: None)
        except Unreadable:
            return proof
        return again if len(again.faults) < len(proof.faults) else proof


@frozen
class _Asked:
    sheets: Path
    manuscript: Path
    told: FoldingInstructions
    book: Book
    pictures: bool
    shunned: frozenset[int]


def _with(asked: _Asked, source: Source, workers: Workers, advance: Callable[[int], None]) -> Proof:
    """The three legs, against one reading of the manuscript."""
    book, told = asked.book, asked.told
    pages = pages_of(source, workers)
    sides = sides_of(asked.sheets, frozenset(page.digest for page in pages), workers)
    found = faults.of_sheets(sides, told) + faults.of_instructions(book.troubles, sides, pages, told)
    assigned = assign(book, sides, pages)
    expectation = expect(book, assigned, pages)
    slack_mm = max((place.push_mm for place in book.places if place), default=0.0) / 2
    jobs = jobs_of(
        asked.sheets, source.path, source.password, book, expectation.pages, pages, sides, told,
        slack_mm=slack_mm, pictures=asked.pictures,
    )  # fmt: skip
    jobs, unseen = without_shunned(jobs, asked.shunned)
    seen = _looked(jobs, book, workers, advance, unseen)
    compared = _compared(book, assigned, expectation, pages, told, slack_mm)
    by_place = {p: list(c.faults) for p, c in compared.items()}
    found += faults.of_order(expectation, book.length, len(pages)) + faults.of_strays(assigned)
    found += _of_seen(seen, book, expectation.pages, told, by_place)
    found += foreign(book, sides, expectation.pages, told, {fault.position for fault in found})
    proofs = _proofs(book, expectation, compared, seen, pages)
    notes = ([source.note] if source.note else []) + faults.of_trim(pages, told)
    bars = {bar.position: bar for bar in book.bars}
    notes += [untold(bars[strip.position], book) for strip in seen.strips if strip.there and not strip.can_tell]
    alike = tuple(numbers for numbers in by_digest(pages).values() if len(numbers) > 1)
    proof = _ended(Verdict.PROVED, book, proofs, found, alike, asked.sheets, asked.manuscript, notes)
    digests = tuple(identity_of(page) for page in pages)
    return evolve(proof, page_digests=digests, marks=marks_read(seen.strips, book))


def _without(
    sheets: Path,
    book: Book,
    told: FoldingInstructions,
    workers: Workers,
    advance: Callable[[int], None],
    pictures: bool,
) -> Proof:
    """What can be said without the manuscript."""
    sides = sides_of(sheets, frozenset(), workers)
    found = faults.of_sheets(sides, told) + faults.of_instructions(book.troubles, sides, (), told)
    forms = alone.placed(book, sides)
    # leaves that carry a page are not looked at: there is nothing to hold them against
    expected = [0 if forms.get(p) else None for p in range(len(book.places))]
    jobs = jobs_of(sheets, None, None, book, expected, (), sides, told, slack_mm=0.0, pictures=pictures)
    seen = _looked(jobs, book, workers, advance)
    found += alone.faults(book, forms, told) + _of_seen(seen, book, [None] * len(expected), told, {})
    proofs = alone.proofs(book, forms, seen.leaves)
    proof = _ended(Verdict.NOT_COMPARED, book, proofs, found, (), sheets, None, alone.notes(book, forms))
    return evolve(proof, marks=marks_read(seen.strips, book))


def _ended(
    verdict: Verdict,
    book: Book,
    proofs: Sequence[PageProof],
    found: Sequence[Fault],
    alike: tuple[tuple[int, ...], ...],
    sheets: Path,
    manuscript: Path | None,
    notes: Sequence[str],
) -> Proof:
    legs = list(Leg)
    last = len(book.places) + 1
    ordered = sorted(
        found,
        key=lambda f: (f.leg is not Leg.FOLD, last if f.position is None else f.position, legs.index(f.leg), f.says),
    )
    shown = 0
    capped = []
    for fault in ordered:
        shown += fault.picture is not None
        capped.append(_for_people(fault, book, pictured=shown <= MOST_PICTURES))
    pages = [proof for proof in proofs if proof.position < book.length]
    copies = [_of_twin(proof, book) for proof in proofs if proof.position >= book.length]
    return Proof(
        verdict=Verdict.FAILED if capped else verdict,
        pages=tuple(pages),
        faults=tuple(capped),
        blanks=tuple(p.position for p in pages if p.expected is None and p.found is None and p.look == "blank"),
        alike=alike,
        sheets_sha256=sha256_of(sheets),
        manuscript_sha256=sha256_of(manuscript) if manuscript else None,
        notes=tuple(notes),
        copies=tuple(copies),
    )


def _for_people(fault: Fault, book: Book, *, pictured: bool) -> Fault:
    """Positions past the end of the book, which stand for other copies, as places of the book."""
    place = book.places[fault.position] if fault.position is not None and fault.position < len(book.places) else None
    position = place.of_book if place else fault.position
    return evolve(fault, position=position, picture=fault.picture if pictured else None)


def _of_twin(proof: PageProof, book: Book) -> PageProof:
    place = book.places[proof.position]
    return evolve(proof, position=place.of_book) if place else proof


# --- looking and comparing ---


def _looked(
    jobs: Sequence[LookJob],
    book: Book,
    workers: Workers,
    advance: Callable[[int], None],
    unseen: Sequence[LeafSeen] = (),
) -> _Seen:
    leaves: dict[int, LeafSeen] = {leaf.position: leaf for leaf in unseen}
    strips: dict[int, StripSeen] = {}
    for index, result in workers.map(look_at, jobs, seconds=_LOOKING_S):
        wanted = [leaf.position for side in jobs[index].sides for leaf in side.leaves]
        if isinstance(result, Lost):
            result = SheetSeen(tuple(LeafSeen(p, "not compared", f"{result.reason}.") for p in wanted), ())
        leaves |= {leaf.position: leaf for leaf in result.leaves}
        strips |= {strip.position: strip for strip in result.strips}
        advance(sum(position < book.length for position in wanted))
    return _Seen(leaves, tuple(strips[position] for position in sorted(strips)))


def _compared(
    book: Book,
    assigned: Assigned,
    expectation: Expectation,
    pages: Sequence[PageRead],
    told: FoldingInstructions,
    slack_mm: float,
) -> dict[int, faults.Compared]:
    homes: dict[int, list[Place]] = defaultdict(list)
    for position, found in sorted(assigned.at.items()):
        place = book.places[position]
        for each in found:
            # Pages alike in every byte have no home of their own; and where another copy has the page is no news.
            if place and len(each.pages) == 1 and each.pages[0] != expectation.pages[position]:
                homes[each.pages[0]].append(place)
    return {
        place.position: faults.compare(place, expectation.pages[place.position], assigned, pages, homes, told, slack_mm)
        for place in book.places
        if place
    }


def _of_seen(
    seen: _Seen,
    book: Book,
    expected: Sequence[int | None],
    told: FoldingInstructions,
    by_place: dict[int, list[Fault]],
) -> list[Fault]:
    """Faults of all places: those of the other legs, shown where there is a picture, and those of the look alone."""
    out: list[Fault] = []
    marked: dict[int, float] = {}
    bars = {bar.position: bar for bar in book.bars}
    for strip in seen.strips:
        bar = bars[strip.position]
        wrong = of_strip(strip, bar, book, expected, told.collation.steps if told.collation else 0)
        if wrong:
            out.append(wrong)
            marked[bar.position] = marked[bar.last] = bar.box[2]
    for place in book.places:
        if place is None:
            continue
        already = by_place.get(place.position, [])
        leaf = seen.leaves.get(place.position)
        if leaf is None:
            out += already
            continue
        if already:
            out += [with_picture(already[0], leaf), *already[1:]]
            continue
        if leaf.where and max(abs(leaf.where[0]), abs(leaf.where[2])) < marked.get(place.position, -1.0) + 0.5:
            continue  # told as a fault of the collation mark
        alone_wrong = of_leaf(leaf, place, expected[place.position])
        if alone_wrong:
            out.append(alone_wrong)
    return out


def _proofs(
    book: Book,
    expectation: Expectation,
    compared: dict[int, faults.Compared],
    seen: _Seen,
    pages: Sequence[PageRead],
) -> list[PageProof]:
    named = by_digest(pages)
    out = []
    for place in book.places:
        if place is None:
            continue
        expected = expectation.pages[place.position]
        leaf = seen.leaves.get(place.position)
        one = compared[place.position]
        out.append(
            PageProof(
                position=place.position,
                expected=expected,
                found=one.found,
                sheet=place.sheet,
                side=place.side,
                section=place.section,
                shift_mm=one.shift_mm,
                look=leaf.look if leaf else "not compared",
                claimed=expected is not None and one.found is not None and len(named[pages[expected - 1].digest]) == 1,
            )
        )
    return out
