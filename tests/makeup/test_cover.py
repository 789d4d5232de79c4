# SPDX-License-Identifier: AGPL-3.0-or-later
"""The cheapest cover against every bag of sheets written out one by one, which knows no recurrence."""

from __future__ import annotations

from itertools import combinations_with_replacement
from unittest import mock

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from foldproof.makeup import cover
from foldproof.makeup.cover import Pattern, Solution, TooMany, _Table, cheapest


def written_out(counts: tuple[int, ...], patterns: list[Pattern]) -> Solution | None:
    """Every bag of patterns up to as many sheets as there are sections (each carries one at least)."""
    ordered = sorted(patterns, key=lambda pattern: pattern.ref)
    length = len(patterns[0].cost) if patterns else 0
    best: tuple[tuple[int, ...], int, tuple[int, ...]] | None = None
    for sheets in range(sum(counts) + 1):
        for bag in combinations_with_replacement(ordered, sheets):
            if any(sum(p.content[n] for p in bag) != count for n, count in enumerate(counts)):
                continue
            cost = tuple(sum(p.cost[n] for p in bag) for n in range(length))
            one = cost, sheets, tuple(p.ref for p in bag)
            best = one if best is None else min(best, one)
    if best is None:
        return None
    return Solution(best[0], tuple((ref, best[2].count(ref)) for ref in sorted(set(best[2]))))


@st.composite
def tasks(draw: st.DrawFn) -> tuple[tuple[int, ...], list[Pattern]]:
    classes = draw(st.integers(1, 3))
    most = {1: 7, 2: 3, 3: 2}[classes]
    counts = tuple(draw(st.lists(st.integers(0, most), min_size=classes, max_size=classes)))
    digits = draw(st.integers(0, 4))
    # small figures for ties; wide ones for costs of two, three and more machine words
    widths = draw(st.lists(st.sampled_from([1, 3, 2**30, 2**44, 2**57, 2**70]), min_size=digits, max_size=digits))
    contents = draw(
        st.lists(st.tuples(*[st.integers(0, 3)] * classes).filter(any), min_size=0 if not digits else 1, max_size=6)
    )
    refs = draw(st.permutations(range(len(contents))))
    costs = [tuple(draw(st.sampled_from([0, 1, width])) for width in widths) for _ in contents]
    return counts, [Pattern(*one) for one in zip(contents, costs, refs, strict=True)]


@pytest.mark.parametrize("call", [cover._CALL, 0], ids=["doubled", "in slabs"])
@settings(max_examples=400, deadline=None)
@given(task=tasks())
# whoever takes the fullest sheet first is left with two sections that nothing carries
@example(task=((6,), [Pattern((4,), (4,), 0), Pattern((3,), (4,), 1)]))
def test_the_cover_is_the_best_of_all_that_there_are(call: int, task: tuple[tuple[int, ...], list[Pattern]]) -> None:
    counts, patterns = task
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(cover, "_CALL", call)
        assert cheapest(counts, patterns) == written_out(counts, patterns)


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.tuples(*[st.integers(0, 4)] * 3).filter(any), st.integers(0, 12)), min_size=1, max_size=12),
    st.data(),
)
def test_many_sections_are_covered_exactly_and_no_dearer_than_by_one_known_way(
    kinds: list[tuple[tuple[int, ...], int]], data: st.DataObject
) -> None:
    patterns = [
        Pattern(content, (data.draw(st.integers(1, 9)), data.draw(st.integers(0, 10**12))), ref)
        for ref, (content, _) in enumerate(kinds)
    ]
    counts = tuple(sum(content[n] * often for content, often in kinds) for n in range(3))
    if (counts[0] + 1) * (counts[1] + 1) * (counts[2] + 1) > 60_000:
        return
    found = cheapest(counts, patterns)
    assert found is not None
    for n in range(3):
        assert sum(patterns[ref].content[n] * often for ref, often in found.chosen) == counts[n]
    for n in range(2):
        assert sum(patterns[ref].cost[n] * often for ref, often in found.chosen) == found.cost[n]
    assert found.cost <= tuple(
        sum(patterns[ref].cost[n] * often for ref, (_, often) in enumerate(kinds)) for n in (0, 1)
    )


def test_of_one_content_the_cheapest_stays_and_then_the_lowest_ref() -> None:
    dear, first, second = Pattern((2,), (9,), 0), Pattern((2,), (5,), 1), Pattern((2,), (5,), 2)
    assert cheapest((8,), [second, dear, first]) == Solution((20,), ((1, 4),))


def test_at_the_same_cost_fewer_sheets_then_lower_refs() -> None:
    # 4 sections for 8: four singles, two pairs, or one of four
    singles, pairs, whole = Pattern((1,), (2,), 0), Pattern((2,), (4,), 1), Pattern((4,), (8,), 2)
    assert cheapest((4,), [singles, pairs, whole]) == Solution((8,), ((2, 1),))
    # 3 + 1 and 2 + 2: two sheets and 4 either way; (0, 3) comes before (1, 1)
    assert cheapest((4,), [Pattern((3,), (2,), 3), Pattern((2,), (2,), 1), Pattern((1,), (2,), 0)]) == Solution(
        (4,), ((0, 1), (3, 1))
    )


@pytest.mark.parametrize("much", [1, 2**30, 2**44, 2**57, 2**70])
def test_a_later_figure_of_the_cost_decides_where_the_earlier_are_alike(much: int) -> None:
    """Figures so wide that they do not share a machine word, nor some of them fit into one."""
    dear, cheap = (much, much, 1, much), (much, much, 1, much - 1)
    for order in ((dear, cheap), (cheap, dear)):
        found = cheapest((6,), [Pattern((3,), order[0], 0), Pattern((2,), order[1], 1), Pattern((1,), dear, 2)])
        # two triples against three pairs: the first figure is 2 x much or 3 x much
        assert found == Solution(tuple(2 * one for one in order[0]), ((0, 2),))
    pairs = [Pattern((2, 0), dear, 0), Pattern((0, 2), cheap, 1), Pattern((1, 1), cheap, 2), Pattern((2, 1), dear, 3)]
    # a pair of each, or twice one of each: alike but for the last figure
    assert cheapest((2, 2), pairs) == Solution((2 * much, 2 * much, 2, 2 * much - 2), ((2, 2),))
    other = [Pattern((2, 0), cheap, 0), Pattern((0, 2), cheap, 1), Pattern((1, 1), dear, 2)]
    assert cheapest((2, 2), other) == Solution((2 * much, 2 * much, 2, 2 * much - 2), ((0, 1), (1, 1)))


@pytest.mark.parametrize("much", [1, 3, 1000, 2**44, 2**57, 2**70])
def test_no_sum_of_a_later_figure_outweighs_an_earlier_one(much: int) -> None:
    singles, whole = Pattern((1,), (0, much), 0), Pattern((7,), (1, 0), 1)
    assert cheapest((7,), [singles, whole]) == Solution((0, 7 * much), ((0, 7),))
    # nor does the number of sheets outweigh the last figure
    assert cheapest((7,), [Pattern((1,), (0,), 0), Pattern((7,), (1,), 1)]) == Solution((0,), ((0, 7),))


def test_nothing_is_carried_over() -> None:
    assert cheapest((5,), [Pattern((2,), (1,), 0)]) is None
    assert cheapest((2, 1), [Pattern((1, 1), (1,), 0)]) is None
    assert cheapest((3,), []) is None
    assert cheapest((0, 0), [Pattern((1, 1), (1, 2), 0)]) == Solution((0, 0), ())


def test_too_many_sets_of_counts_are_refused_with_their_number() -> None:
    with pytest.raises(TooMany, match="1000000 sets"):
        cheapest((99, 99, 99), [Pattern((1, 1, 1), (1,), 0)])
    assert cheapest((99,), [Pattern((1,), (1,), 0)], limit_states=100) is not None
    with pytest.raises(TooMany):
        cheapest((100,), [Pattern((1,), (1,), 0)], limit_states=100)


@pytest.mark.parametrize(
    "patterns",
    [
        [Pattern((0,), (1,), 0)],
        [Pattern((-1,), (1,), 0)],
        [Pattern((1, 1), (1,), 0)],
        [Pattern((1,), (-1,), 0)],
        [Pattern((1,), (1,), 0), Pattern((2,), (1, 1), 1)],
    ],
)
def test_what_is_no_pattern_is_refused(patterns: list[Pattern]) -> None:
    with pytest.raises(ValueError, match="pattern"):
        cheapest((3,), patterns)


def test_a_long_book_is_covered_in_few_steps() -> None:
    """Steps are calls on whole tables: what n sheets of a kind make up is reached by doubling, not sheet by sheet."""
    one = [Pattern((n,), (7 + 3 * n, 10**10 + n), n) for n in range(1, 31)]
    three = [
        Pattern((n % 5, n // 5 % 5, n // 25), (3 + n % 7, 10**9 * (n * 31 % 17), 10**10 + n), n) for n in range(1, 201)
    ]

    def steps(counts: tuple[int, ...], patterns: list[Pattern]) -> int:
        with mock.patch.object(_Table, "_better", autospec=True, side_effect=_Table._better) as asked:
            assert cheapest(counts, patterns)
        return int(asked.call_count)

    # one class: what goes in 600 times is reached in 10 doublings (2 to the 10 is 1,024)
    assert 0 < steps((600,), one) <= 10 * len(one)
    # several: a slab for each time that the pattern goes along the class it fills first, never a step for each place
    slabs = [min(most // held for most, held in zip((60, 50, 40), p.content, strict=True) if held) for p in three]
    assert 0 < steps((60, 50, 40), three) <= sum(slabs)
