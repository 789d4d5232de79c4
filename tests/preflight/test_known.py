# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which findings are new beside an earlier run.

What is expected follows from what a gate promises its users (README, "Only what is new"): no case is read off the
program's own answer.
"""

from __future__ import annotations

import random
import time
from collections.abc import Sequence

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from foldproof.geometry import Rect
from foldproof.manuscript.model import Observations, PageObjects, PictureKind, PictureUse
from foldproof.manuscript.seen import TextUse
from foldproof.preflight.fingerprints import fingerprints
from foldproof.preflight.known import Compared, Earlier, compared
from foldproof.preflight.model import Finding, Findings, Severity
from foldproof.preflight.page_digests import page_digest, page_digests
from foldproof.preflight.pairing import paired

PLACE = Rect(20, 30, 80, 70)


def found(
    page: int | None = 7,
    *,
    check: str = "picture-resolution",
    cause: str = "picture-resolution/contone",
    severity: Severity = Severity.STOP,
    measured: float | str | None = 90.0,
    limit: float | str | None = 150.0,
    unit: str = "ppi",
    place_mm: Rect | None = PLACE,
    count: int = 1,
) -> Finding:
    return Finding(
        check, severity, f"Page {page}: it is wrong.", "Put it right.", page=page, place_mm=place_mm,
        measured=measured, limit=limit, unit=unit, cause=cause, count=count,
    )  # fmt: skip


def digests(*pages: object) -> tuple[str, ...]:
    """One a page, named by what stands on it; a name beginning with ``=`` is the digest itself."""
    return tuple(f"{page}" for page in pages)


BOOK = digests(*"abcdefghij")


def held(
    now: Sequence[Finding],
    before: Sequence[Finding],
    pages: Sequence[str] = BOOK,
    earlier: Sequence[str] = BOOK,
    waived: Sequence[Finding] = (),
) -> Compared:
    findings = Findings(tuple(now), "any-book", (), tuple((one, "agreed", "M. Wick") for one in waived))
    was = Earlier("findings.json", "book.pdf", "any-book", "0.1.0", len(earlier), tuple(earlier), tuple(before))
    return compared(findings, tuple(pages), was)


def known(result: Compared) -> list[bool]:
    return [result.is_known(index) for index in range(len(result.was))]


# --- pages --------------------------------------------------------------------------------------------------------


def test_pages_put_in_and_taken_out_leave_the_others_paired() -> None:
    assert paired("abcdef", "abXcdef").pairs == {0: 0, 1: 1, 3: 2, 4: 3, 5: 4, 6: 5}
    assert paired("abcdef", "abef").pairs == {0: 0, 1: 1, 2: 4, 3: 5}
    # a page changed in place is still that page, but not as it was
    changed = paired("abcdef", "abXdef")
    assert changed.pairs[2] == 2 and 2 not in changed.alike
    # blanks between chapters are all alike; their places among the others tell them apart
    blanks = paired(["a", "-", "b", "-", "c", "-"], ["a", "-", "N", "-", "b", "-", "c", "-"])
    assert blanks.pairs[4] == 2 and blanks.pairs[6] == 4 and blanks.pairs[7] == 5


def test_a_page_that_could_not_be_read_is_like_no_other() -> None:
    lost = paired(["a", "", "c"], ["a", "", "c"])
    assert lost.alike == {0, 2} and lost.pairs[1] == 1


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from("abcdefgh"), max_size=14), st.lists(st.sampled_from("abcdefgh"), max_size=14))
def test_pairs_keep_the_order_of_both_versions(old: list[str], new: list[str]) -> None:
    pairing = paired(old, new)
    row = [pairing.pairs[page] for page in sorted(pairing.pairs)]
    assert row == sorted(set(row)), "no old page twice, none out of order"
    assert all(old[pairing.pairs[page]] == new[page] for page in pairing.alike)
    assert len(paired(old, old).alike) == len(old)


def test_a_book_of_pages_that_are_all_alike_is_paired_in_no_time() -> None:
    start = time.process_time()
    assert len(paired(["-"] * 20_000, ["-"] * 20_001).pairs) == 20_000
    shuffled = [f"{n}" for n in range(20_000)]
    random.Random(1).shuffle(shuffled)
    paired([f"{n}" for n in range(20_000)], shuffled)
    assert time.process_time() - start < 10


# --- digests ------------------------------------------------------------------------------------------------------


def text(glyphs: int, font: str = "ABCDEF+Wharf", size: float = 10.0) -> TextUse:
    return TextUse(
        font, size, "fill", "DeviceGray", (0.0,), False, 0, 1.0, "Normal", glyphs, 0, 30, Rect(20, 20, 120, 200)
    )


def page(*texts: TextUse, pictures: tuple[PictureUse, ...] = (), paths: int = 0) -> PageObjects:
    return PageObjects(0, pictures, (), len(texts), paths, None, texts=texts)


def test_a_page_is_known_without_its_folio_its_side_and_the_name_of_its_subset() -> None:
    body = page(text(1812), text(22, size=8.0))
    assert page_digest(body) == page_digest(page(text(1812, font="GHIJKL+Wharf"), text(23, size=8.0)))
    assert page_digest(body) == page_digest(page(evolve(text(1812), first_mm=Rect(12, 20, 112, 200))))
    assert page_digest(body) != page_digest(page(text(1813), text(22, size=8.0)))
    # where there is little on a page, all of it counts
    assert page_digest(page(text(8))) != page_digest(page(text(9)))


def test_a_picture_is_known_by_its_samples_wherever_it_stands() -> None:
    one = PictureUse(PictureKind.CONTONE, 600, 400, 8, "DeviceGray", 200.0, 200.0, PLACE)
    body = page(text(900), pictures=(one,))
    assert page_digest(body) == page_digest(page(text(900), pictures=(evolve(one, place_mm=PLACE.moved(8, 0)),)))
    assert page_digest(body) != page_digest(page(text(900), pictures=(evolve(one, width_px=601),)))
    assert page_digests(Observations((body, None), (None, None))) == (page_digest(body), "")


# --- findings -----------------------------------------------------------------------------------------------------


def test_what_was_there_before_is_known_and_what_was_not_is_new() -> None:
    result = held([found(3), found(7)], [found(7)])
    assert known(result) == [False, True] and not result.gone


def test_a_page_put_in_earlier_makes_nothing_new() -> None:
    moved = digests(*"abXcdefghij")
    result = held([found(8)], [found(7)], moved)
    assert known(result) == [True] and not result.gone
    # on the page that was put in it is new, although the one before it had the same
    result = held([found(3), found(8)], [found(7)], moved)
    assert known(result) == [False, True]


def test_the_same_fault_on_another_page_is_new_and_the_old_one_gone() -> None:
    result = held([found(4)], [found(7)])
    assert known(result) == [False] and [one.page for one in result.gone] == [7]


def test_the_same_fault_twice_on_a_page_answers_once() -> None:
    below = PLACE.moved(0, 90)
    result = held([found(7), found(7, place_mm=below)], [found(7)])
    assert known(result) == [True, False]
    # whichever comes first: the one that lies where the old one lay is the old one
    result = held([found(7, place_mm=below), found(7)], [found(7)])
    assert known(result) == [False, True]


@pytest.mark.parametrize(
    ("was", "now", "is_known"),
    [
        (found(), found(), True),
        (found(severity=Severity.QUERY), found(), False),  # a stop instead of a query
        (found(), found(severity=Severity.QUERY), True),
        (found(count=2), found(count=3), False),
        (found(count=3), found(count=2, measured=95.0, place_mm=PLACE.moved(0, 90)), True),
        (found(measured=90.0), found(measured=90.4), True),  # rounding
        (found(measured=90.0), found(measured=89.6), True),
        (found(measured=90.0), found(measured=60.0), False),  # farther from the limit
        (found(measured=90.0), found(measured=120.0), True),  # nearer, and still wrong
        (found(measured=310.0, limit=300.0, unit="%"), found(measured=330.0, limit=300.0, unit="%"), False),
        (found(measured=2, limit=None, unit=""), found(measured=3, limit=None, unit=""), False),
        (found(measured=3, limit=None, unit=""), found(measured=2, limit=None, unit=""), True),
        (found(measured=1.42, limit=3.0, unit="mm"), found(measured=1.46, limit=3.0, unit="mm"), True),
        (found(measured=1.4, limit=3.0, unit="mm"), found(measured=0.4, limit=3.0, unit="mm"), False),
        (found(measured=1.33, limit=1.25, unit=""), found(measured=1.34, limit=1.25, unit=""), True),
        (found(measured=1.33, limit=1.25, unit=""), found(measured=1.50, limit=1.25, unit=""), False),
        (found(measured=0.42, limit=0.2, unit="degrees"), found(measured=0.45, limit=0.2, unit="degrees"), True),
        (found(measured="DeviceRGB", limit=None), found(measured="DeviceRGB", limit=None), True),
        (found(measured="DeviceRGB", limit=None), found(measured="DeviceRGB and Lab", limit=None), False),
        (found(measured="DeviceRGB and Lab", limit=None), found(measured="Lab", limit=None), True),
        (found(measured=None), found(measured=float("inf")), True),  # JSON writes none for it
        (found(measured="none"), found(measured=3.0), False),
        (found(cause="fonts-embedded/ABCDEF+Wharf"), found(cause="fonts-embedded/GHIJKL+Wharf"), True),
        (found(cause="fonts-embedded/Wharf"), found(cause="fonts-embedded/Ferry"), False),
        (found(check="bleed"), found(), False),
    ],
)
def test_worse_is_new_and_no_worse_is_known(was: Finding, now: Finding, is_known: bool) -> None:
    assert known(held([now], [was])) == [is_known]


def test_what_got_worse_says_what_it_was_and_is_not_gone() -> None:
    result = held([found(measured=60.0)], [found(measured=90.0)])
    assert result.worse == ("it was 90 ppi before",) and not result.gone


def test_another_thing_on_a_page_that_was_changed_is_new() -> None:
    edited = digests(*"abcdefXhij")
    assert known(held([found(7)], [found(7)], edited)) == [True]
    elsewhere = found(7, place_mm=Rect(30, 120, 50, 140))
    assert known(held([elsewhere], [found(7)], edited)) == [False]
    # moved as it is, to the other side of the spine
    assert known(held([found(7, place_mm=PLACE.moved(8, 0))], [found(7)], edited)) == [True]


def test_a_picture_that_the_text_pushes_over_the_page_is_known_by_its_size_and_measure() -> None:
    reset = digests(*"abcdPQRSij")  # pages 5 to 8 were set anew
    assert known(held([found(8)], [found(7)], reset)) == [True]
    assert known(held([found(8, measured=80.0)], [found(7)], reset)) == [False]
    assert known(held([found(6), found(8)], [found(7)], reset)).count(True) == 1, "one answers for one"
    # a fault without a measure has nothing to be known by
    bare = found(7, measured=None, limit=None, unit="", place_mm=None)
    assert known(held([evolve(bare, page=8)], [bare], reset)) == [False]


def test_findings_of_the_whole_book() -> None:
    book = found(None, measured=4, limit=None, unit="", place_mm=None, check="layers", cause="layers")
    assert known(held([book], [book])) == [True]
    assert known(held([evolve(book, measured=5)], [book])) == [False]
    # of every page then, of every page now
    every = found(None, measured=10, limit=None, unit="", place_mm=None, check="trim-box", cause="trim-box/media-box")
    assert known(held([evolve(every, measured=11)], [every], (*BOOK, "k"))) == [True]
    assert known(held([evolve(every, measured=11, unit="pages")], [evolve(every, unit="pages")], (*BOOK, "k"))) == [
        True
    ]
    assert known(held([evolve(every, measured=10)], [evolve(every, measured=9)])) == [False]


def test_a_finding_that_points_to_a_page_points_to_it_wherever_it_stands() -> None:
    twin = found(7, check="twin-pages", cause="twin-pages", measured=3, limit=None, unit="page", place_mm=None)
    moved = digests(*"aXbcdefghij")
    assert known(held([evolve(twin, page=8, measured=4)], [twin], moved)) == [True]
    assert known(held([evolve(twin, page=8, measured=3)], [twin], moved)) == [False]


def test_what_is_waived_now_is_not_gone() -> None:
    assert not held([], [found(7)], waived=[found(7)]).gone


def test_a_baseline_without_digests_holds_page_for_page_as_long_as_their_number_is_the_same() -> None:
    was = Earlier("old.json", "book.pdf", "any-book", "0.1.0", 10, (), (found(7), found(9)))
    now = Findings((found(7), found(8, measured=70.0)), "any-book", ())
    assert known(compared(now, BOOK, was)) == [True, False]
    assert known(compared(now, (*BOOK, "k"), was)) == [False, False], "in doubt it is new"


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_book_beside_itself_has_nothing_new_wherever_pages_are_put_in(data: st.DataObject) -> None:
    pages = data.draw(st.lists(st.sampled_from("abcdefghijklmnop"), min_size=1, max_size=12, unique=True))
    finding = st.builds(
        found,
        st.integers(1, len(pages)),
        cause=st.sampled_from(["x/one", "x/two"]),
        severity=st.sampled_from(list(Severity)),
        measured=st.one_of(st.none(), st.floats(0, 400).map(lambda v: round(v, 2)), st.sampled_from(["RGB", "Lab"])),
        place_mm=st.sampled_from([None, PLACE, PLACE.moved(20, 30)]),
        count=st.integers(1, 3),
    )
    before = sorted(data.draw(st.lists(finding, max_size=8)), key=lambda f: f.page or 0)
    at = data.draw(st.integers(0, len(pages)))
    new = [*pages[:at], "Y", "Z", *pages[at:]]
    now = [evolve(one, page=one.page + 2 if (one.page or 0) > at else one.page) for one in before]
    result = held(now, before, new, pages)
    assert all(known(result)) and not result.gone
    assert result.was == tuple(before), "each is itself, not a like one"


def test_fingerprints_keep_to_the_page_and_are_all_different() -> None:
    before = [found(7), found(7, place_mm=PLACE.moved(0, 90)), found(9), found(None, place_mm=None)]
    first = fingerprints(before, BOOK)
    assert len(set(first)) == 4
    moved = [evolve(one, page=one.page + 1 if one.page else None, measured=12.0) for one in before]
    assert fingerprints(moved, digests(*"Xabcdefghij")) == first
    assert fingerprints([found(7)], ("",) * 10) != fingerprints([found(8)], ("",) * 10)
