# SPDX-License-Identifier: AGPL-3.0-or-later
"""Folding against a folder of another kind: paper as points in space, turned half round about each crease."""

from __future__ import annotations

import pytest
from attrs import frozen
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from foldproof.errors import AskedWrong, NoPlan
from foldproof.job.load import load_house
from foldproof.job.model import HouseScheme, Job
from foldproof.makeup.binding import Panel, nests, refusal
from foldproof.makeup.choose import plans
from foldproof.makeup.folding import LEFT_TO_RIGHT, RIGHT_TO_LEFT, Edge, FoldError, Scheme, fold, forme, read
from foldproof.prove.gathering import bind
from foldproof.units import PT_PER_MM

Point = tuple[float, float, float]


@frozen
class Paper:
    """One panel as six points in space: the middles of its edges as printed, its centre, and a nose on its front."""

    name: tuple[int, int]
    points: dict[str, Point]


def _half_turn(point: Point, axis: str, at: float, level: float) -> Point:
    """Half a turn about the line x = at (or y = at) at height ``level``."""
    x, y, z = point
    return (2 * at - x, y, 2 * level - z) if axis == "x" else (x, 2 * at - y, 2 * level - z)


def _fold_in_space(scheme: Scheme) -> tuple[list[Paper], list[tuple[str, float]]]:
    """Panels after all folds, and the axis and place of each crease.  y runs up."""
    papers = []
    for row in range(scheme.rows):
        for column in range(scheme.columns):
            x, y = column + 0.5, scheme.rows - row - 0.5
            around = {"top": (x, y + 0.5), "bottom": (x, y - 0.5), "left": (x - 0.5, y), "right": (x + 0.5, y)}
            points = {edge: (*place, 0.0) for edge, place in around.items()}
            papers.append(Paper((column, row), points | {"centre": (x, y, 0.0), "nose": (x, y, 0.1)}))
    creases = []
    for words in scheme.folds:
        side, *count, way = words.split()
        axis = "x" if side in ("left", "right") else "y"
        index = "xy".index(axis)
        places = [paper.points["centre"][index] for paper in papers]
        low, high = min(places) - 0.5, max(places) + 0.5
        moving = int(count[0]) if count else round(high - low) / 2
        at = high - moving if side in ("right", "top") else low + moving
        heights = [paper.points["centre"][2] for paper in papers]
        level = max(heights) + 0.5 if way == "over" else min(heights) - 0.5
        turned = []
        for paper in papers:
            beyond = paper.points["centre"][index] > at
            if beyond == (side in ("right", "top")):
                moved = {name: _half_turn(point, axis, at, level) for name, point in paper.points.items()}
                paper = Paper(paper.name, moved)
            turned.append(paper)
        papers = turned
        creases.append((axis, at))
    return papers, creases


def _read_in_space(scheme: Scheme, reading: str) -> list[tuple[tuple[int, int], bool, str, str]]:
    """Leaves in order: panel, whether its front is the recto, its edges at head and spine."""
    papers, creases = _fold_in_space(scheme)
    cx, cy, _ = papers[0].points["centre"]

    def towards(axis: str) -> tuple[float, float] | None:
        last = [at for kind, at in creases if kind == axis]
        if not last:
            return None
        return (2 * (last[-1] - cx), 0.0) if axis == "x" else (0.0, 2 * (last[-1] - cy))

    named = {"top": (0.0, 1.0), "bottom": (0.0, -1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0), None: None}[
        scheme.head
    ]
    spine_axis = creases[-1][0] if named is None else ("x" if named[0] == 0 else "y")
    spine = towards(spine_axis)
    assert spine is not None
    head = named or towards("y" if spine_axis == "x" else "x") or (0.0, 1.0)
    # with the head away from the reader, what lies at the left from above lies at the right from below
    spine_at_left_from_above = head[0] * spine[1] - head[1] * spine[0] > 0
    from_above = spine_at_left_from_above == (reading == LEFT_TO_RIGHT)
    ordered = sorted(papers, key=lambda paper: paper.points["centre"][2], reverse=from_above)

    def edge_towards(paper: Paper, direction: tuple[float, float]) -> str:
        return max(
            ("top", "bottom", "left", "right"),
            key=lambda edge: paper.points[edge][0] * direction[0] + paper.points[edge][1] * direction[1],
        )

    return [
        (
            paper.name,
            (paper.points["nose"][2] > paper.points["centre"][2]) == from_above,
            edge_towards(paper, head),
            edge_towards(paper, spine),
        )
        for paper in ordered
    ]


@st.composite
def schemes(draw: st.DrawFn) -> Scheme:
    """Any scheme that ends in one pile, with moves wider than what stays and every mixture of directions."""
    columns, rows = draw(st.integers(1, 9)), draw(st.integers(1, 5))
    words, left = [], [columns, rows]
    while left != [1, 1]:
        axis = draw(st.sampled_from([i for i in (0, 1) if left[i] > 1]))
        side = draw(st.sampled_from((("left", "right"), ("top", "bottom"))[axis]))
        count = draw(st.integers(1, left[axis] - 1))
        half = 2 * count == left[axis] and draw(st.booleans())
        way = draw(st.sampled_from(("over", "under")))
        words.append(f"{side} {way}" if half else f"{side} {count} {way}")
        left[axis] = max(count, left[axis] - count)
    heads: list[str | None] = []
    if any(w.startswith(("left", "right")) for w in words):
        heads += ["top", "bottom"]
    if any(w.startswith(("top", "bottom")) for w in words):
        heads += ["left", "right"]
    if words and (words[-1].startswith(("left", "right")) or any(w.startswith(("left", "right")) for w in words)):
        heads.append(None)
    if not words:
        columns, words, heads = 2, ["left under"], [None]
    return Scheme("any", columns, rows, tuple(words), draw(st.sampled_from(heads)))


@settings(max_examples=300, deadline=None)
@given(schemes(), st.sampled_from([LEFT_TO_RIGHT, RIGHT_TO_LEFT]))
def test_every_scheme_reads_as_paper_folded_in_space(scheme: Scheme, reading: str) -> None:
    ours = [
        (
            (leaf.column, leaf.row),
            leaf.recto_on_front,
            ("top", "left", "bottom", "right")[leaf.head_turns],
            leaf.spine_edge,
        )
        for leaf in read(scheme, reading)
    ]
    assert ours == _read_in_space(scheme, reading)


@settings(max_examples=100, deadline=None)
@given(schemes())
def test_reading_the_other_way_turns_the_book_round(scheme: Scheme) -> None:
    one, other = read(scheme, LEFT_TO_RIGHT), read(scheme, RIGHT_TO_LEFT)
    assert [(a.column, a.row) for a in one] == [(b.column, b.row) for b in reversed(other)]
    assert all(a.recto_on_front != b.recto_on_front for a, b in zip(one, reversed(other), strict=True))


@pytest.mark.parametrize(
    ("columns", "rows", "words", "head", "says"),
    [
        (4, 2, ("right under", "sideways", "left over"), None, "'sideways' is no fold"),
        (4, 2, ("right beneath",), None, "is no fold"),
        (3, 1, ("right over", "left over"), None, "says half, but 3 panels lie there"),
        (4, 2, ("right under", "top over"), None, "leaves 2 piles"),
        (3, 1, ("right 3 over",), None, "moves 3 of 3 panels"),
        (3, 1, ("right 0 over",), None, "moves 0 of 3 panels"),
        (1, 2, ("top over",), "top", "no crease beside it for a spine"),
        (1, 2, ("top over",), None, "name the head"),
        (1, 1, (), None, "no fold"),
        (2, 1, ("left under",), "front", "the head is top, bottom, left or right"),
        (2, 1, ("top under",), None, "1 panels"),
    ],
)
def test_nonsense_is_refused_in_words(
    columns: int, rows: int, words: tuple[str, ...], head: str | None, says: str
) -> None:
    with pytest.raises(FoldError, match=says) as refused:
        fold(Scheme("odd", columns, rows, words, head))
    assert isinstance(refused.value, AskedWrong)


def test_heads_that_stand_sideways_are_mirrored_on_the_back() -> None:
    """A sheet with its spine folds level, worked by hand with a scrap of paper turned side to side."""
    level = Scheme("8 level", 2, 2, ("left under", "top under"))
    up, left, down, right = range(4)
    assert {head for row in forme(level, LEFT_TO_RIGHT) for _, head in row} == {left, right}
    for leaf in read(level, LEFT_TO_RIGHT):
        assert (leaf.head_turns, leaf.back_head_turns) in ((left, right), (right, left))
    for leaf in read(Scheme("8", 2, 2, ("top under", "left under")), LEFT_TO_RIGHT):
        assert leaf.head_turns == leaf.back_head_turns and leaf.head_turns in (up, down)


HOUSE = load_house(None)


@settings(max_examples=60, deadline=None)
@given(schemes(), st.sampled_from([LEFT_TO_RIGHT, RIGHT_TO_LEFT]), st.sampled_from(["sewn", "glued"]))
def test_sheets_of_any_scheme_fold_into_the_book_by_the_proofs_reckoning(
    scheme: Scheme, reading: str, binding: str
) -> None:
    """The proof folds from the instructions alone, in millimetres, and shares no code with the make-up."""
    assume(scheme.panels <= 32)
    told = HouseScheme(
        name="any",
        columns=scheme.columns,
        rows=scheme.rows,
        folds=scheme.folds,
        head=scheme.head,  # type: ignore[arg-type]
    )
    limits = {"schemes": ("any",), "sheet_max": (9e3, 9e3), "sheet_min": (1.0, 1.0), "grammage_max": {}}
    limits |= dict.fromkeys(("panel_min", "panel_max", "thickest"))  # the fold is the matter here, not the folder
    folder = HOUSE.folders[0].model_copy(update=limits)
    house = HOUSE.model_copy(update={"schemes": (told,), "folders": (folder,), "lines": ()})
    job = Job.model_validate({"sections": {"fold": "any"}, "book": {"binding": binding, "reading": reading}})
    try:
        plan = plans(2 * scheme.pages, (60.0, 90.0), job, house, title="A book", most=1)[0]
    except NoPlan:
        assume(False)
    book = bind(plan.instructions)
    assert book.troubles == ()
    assert len(book.places) == len(plan.places) + len(plan.again)  # copies on the same sheet come behind
    for ours, theirs in zip(plan.places, book.places[: len(plan.places)], strict=True):
        assert theirs is not None and ours.side.value == theirs.side
        a, b, c, d, e, f = theirs.to_side
        x, y = theirs.centre
        centre = ((a * x + c * y + e) * PT_PER_MM, (b * x + d * y + f) * PT_PER_MM)
        assert centre == pytest.approx((ours.matrix.e, ours.matrix.f), abs=1e-6)


def test_a_fold_across_a_finished_spine_makes_two_sections_not_one() -> None:
    why = refusal(Scheme("late", 2, 2, ("left under", "bottom over"), "bottom"), LEFT_TO_RIGHT, "sewn", PANEL, 3.0)
    assert why and "2 sections lie one behind the other" in why


ROLL = Scheme("6 roll", 3, 1, ("left 1 under", "right 1 under"))
ZIGZAG = Scheme("6 concertina", 3, 1, ("left 1 under", "right 1 over"))
PANEL = Panel(140, 216, 0, 4, 5, 5)


@pytest.mark.parametrize("scheme", [ROLL, ZIGZAG])
@pytest.mark.parametrize("binding", ["sewn", "stitched"])
def test_a_leaf_that_hangs_by_a_bolt_is_not_sewn(scheme: Scheme, binding: str) -> None:
    why = refusal(scheme, LEFT_TO_RIGHT, binding, PANEL, 3.0)
    assert why and "no other half across the spine crease" in why


@pytest.mark.parametrize("scheme", [ROLL, ZIGZAG])
def test_a_six_can_be_glued_and_starts_on_the_front(scheme: Scheme) -> None:
    ground = Panel(140, 216, 3, 4, 5, 5)
    assert refusal(scheme, LEFT_TO_RIGHT, "glued", ground, 3.0) is None
    assert 1 in {page for row in forme(scheme, LEFT_TO_RIGHT) for page, _ in row}
    assert not nests(scheme, LEFT_TO_RIGHT)


def test_two_folios_of_a_concertina_are_not_one_section() -> None:
    """Four panels in a zigzag: every leaf has a neighbour at the spine edge, but the thread would find two middles."""
    zigzag = Scheme("8 concertina", 4, 1, ("left 1 over", "left 1 under", "left 1 over"))
    why = refusal(zigzag, LEFT_TO_RIGHT, "sewn", PANEL, 3.0)
    assert why and "2 of its 4 leaves have no other half" in why


def test_bolts_want_matter_that_the_knife_takes_off() -> None:
    octavo = Scheme("16", 4, 2, ("right under", "top over", "left over"))
    assert refusal(octavo, LEFT_TO_RIGHT, "sewn", PANEL, 3.0) is None
    thin_head = Panel(140, 216, 0, 4, 2.9, 5)
    assert "bolts at the head, where only 2.9 mm" in (refusal(octavo, LEFT_TO_RIGHT, "sewn", thin_head, 3.0) or "")
    # no bolt lies at the foot, so a foot that is trimmed by less does no harm
    assert refusal(octavo, LEFT_TO_RIGHT, "sewn", Panel(140, 216, 0, 4, 5, 1), 3.0) is None


def test_edges_of_the_octavo() -> None:
    """All heads and half the fore-edges are closed (common practice, no source: an unopened octavo)."""
    leaves = read(Scheme("16", 4, 2, ("right under", "top over", "left over")), LEFT_TO_RIGHT)
    assert all(Edge.HEAD in leaf.bolts for leaf in leaves)
    assert sum(Edge.FORE_EDGE in leaf.bolts for leaf in leaves) == 4
    assert not any(Edge.FOOT in leaf.bolts for leaf in leaves)
    assert [leaf.depth for leaf in leaves] == [0, 1, 2, 3, 3, 2, 1, 0]
