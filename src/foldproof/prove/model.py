# SPDX-License-Identifier: AGPL-3.0-or-later
"""The noun of the prove stage: the folded, trimmed book, compared leaf by leaf."""

from __future__ import annotations

from enum import StrEnum

from attrs import frozen


class Verdict(StrEnum):
    """What the proof can say of a whole book."""

    PROVED = "proved"  #: every page that can be told apart is where it belongs
    NOT_COMPARED = "folds into a book; not proved against content"  #: no manuscript was given
    FAILED = "failed"


class Leg(StrEnum):
    """The three readers; each alone is blind somewhere."""

    FOLD = "fold"  #: the instructions themselves do not make a book
    WHICH = "which page"
    WHERE = "where"
    LOOK = "look"
    COLLATION = "collation"


@frozen
class Fault:
    """One thing that came out wrong."""

    leg: Leg
    position: int | None  #: 0-based place in the folded book
    page: int | None  #: 1-based PDF page of the manuscript that belongs there
    sheet: int | None
    side: str | None
    says: str  #: a sentence that names the page and what came instead
    picture: str | None = None  #: file name or data URI of a picture that shows it


@frozen
class PageProof:
    """What came where: one page of the folded book."""

    position: int  #: 0-based place in the folded book
    expected: int | None  #: 1-based PDF page, ``None`` for a blank
    found: int | None  #: 1-based PDF page that the digest names, ``None`` for a blank or unknown
    sheet: int
    side: str
    section: str
    shift_mm: float | None  #: distance of the page from where the leaf wants it
    look: str  #: ``"same"``, ``"same within the pixel rule"``, ``"differs"``, ``"blank"``, ``"not compared"``
    claimed: bool  #: false for blanks and for pages alike in every byte


@frozen
class MarkRead:
    """What was seen on the back of one gathered section, where the collation marks step down."""

    unit: int  #: 0-based, as gathered
    position: int  #: 0-based place in the book of its first page
    sheet: int
    side: str
    section: str  #: its outermost piece
    #: head end and foot end of every black part, mm below the head of the trimmed book, the uppermost first
    spans_mm: tuple[tuple[float, float], ...]
    there: bool  #: the mark that belongs there was seen
    can_tell: bool  #: false where page matter under the mark is as dark as the mark


@frozen
class Proof:
    """The result of folding a written file."""

    verdict: Verdict
    pages: tuple[PageProof, ...]
    faults: tuple[Fault, ...]
    blanks: tuple[int, ...]  #: positions of empty pages: listed, not claimed
    alike: tuple[tuple[int, ...], ...]  #: groups of 1-based PDF pages that are alike in every byte: not told apart
    sheets_sha256: str
    manuscript_sha256: str | None
    notes: tuple[str, ...] = ()
    #: what came where in the other copies of the book that the sheets carry; ``position`` is the place in the book
    copies: tuple[PageProof, ...] = ()
    #: of every page of the manuscript, in order, a digest of its content, of what that uses and of its boxes; empty
    #: without the manuscript
    page_digests: tuple[str, ...] = ()
    #: what was seen of the collation marks, in the order of the gathering; empty where the sheets carry none
    marks: tuple[MarkRead, ...] = ()
