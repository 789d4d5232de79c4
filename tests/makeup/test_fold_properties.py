# SPDX-License-Identifier: AGPL-3.0-or-later
"""Random schemes: the fold model, the bindings and the proof's own folding against folding by brute force.

Every scheme is either folded alike by all three, or refused by all three for the same class of reason.
"""

from __future__ import annotations

import re

import pytest
from attrs import frozen
from hypothesis import example, given, settings
from hypothesis import strategies as st

from foldproof.makeup.binding import Panel, nests, refusal
from foldproof.makeup.folding import LEFT_TO_RIGHT, RIGHT_TO_LEFT, FoldError, Scheme, fold, forme, read
from foldproof.makeup.instructions import Fold, FoldingInstructions, Section, Sheet
from foldproof.prove import reading as proof
from foldproof.prove.folding import CannotFold
from tests.makeup import brute_folding as brute

READINGS = st.sampled_from([LEFT_TO_RIGHT, RIGHT_TO_LEFT])
_SIDES = (("left", "right"), ("top", "bottom"))

#: what each class of refusal is called in the model's sentences and in the proof's
MODEL_SAYS = {
    "no words": "is no fold; say which side moves",
    "half of an odd count": "says half, but",
    "moves too many": r"moves \d+ of \d+ panels",
    "not one pile": r"leaves \d+ piles side by side",
    "no spine": "has no fold, so it has no spine|no crease beside it for a spine",
    "head cannot be": "the head is top, bottom, left or right, not|name the head",
}
PROOF_SAYS = {
    "no words": "is not understood",
    "half of an odd count": "would halve|finds no second panel",
    "moves too many": r"would move \d+ of \d+ panels|finds no second panel",
    "not one pile": "not folded down to single leaves",
    "no spine": "it has no fold, so it has no spine|no fold closes a spine square to its head",
    "head cannot be": "which is no edge|cannot be its head, and none is named",
}


@st.composite
def any_words(draw: st.DrawFn) -> Scheme:
    """A grid and folds that need not fit it at all."""
    columns, rows = draw(st.integers(1, 8)), draw(st.integers(1, 4))
    sides = ("left", "right", "top", "bottom")
    folds = []
    for _ in range(draw(st.integers(0, 5))):
        if draw(st.integers(0, 24)) == 24:
            folds.append(draw(st.sampled_from(("middle over", "left", "right half under", "left -1 over", ""))))
            continue
        count = draw(st.sampled_from(("", "", "", " 0", " 1", " 1", " 2", " 3", " 7")))
        folds.append(f"{draw(st.sampled_from(sides))}{count} {draw(st.sampled_from(('over', 'under')))}")
    return Scheme("any", columns, rows, tuple(folds), draw(_HEADS))


_HEADS = st.sampled_from([None, None, None, "top", "bottom", "left", "right", "front"])


@st.composite
def down_to_one_pile(draw: st.DrawFn) -> Scheme:
    """Folds in any order and of any count that end in one pile; now and then one is left out, added or miscounted."""
    columns, rows = draw(st.integers(1, 8)), draw(st.integers(1, 4))
    left, words = [columns, rows], []
    while left != [1, 1]:
        axis = draw(st.sampled_from([i for i in (0, 1) if left[i] > 1]))
        half = left[axis] // 2 if left[axis] % 2 == 0 else None
        count = half if half and draw(st.booleans()) else draw(st.integers(1, left[axis] - 1))
        said = "" if count == half and draw(st.booleans()) else f" {count}"
        words.append(f"{draw(st.sampled_from(_SIDES[axis]))}{said} {draw(st.sampled_from(('over', 'under')))}")
        left[axis] = max(count, left[axis] - count)
    if words and draw(st.integers(0, 5)) == 5:
        at = draw(st.integers(0, len(words) - 1))
        wrong = [[], ["left over"], ["bottom under"], ["left 2 under"], ["top 3 over"]]
        words[at : at + draw(st.integers(0, 1))] = draw(st.sampled_from(wrong))
    return Scheme("any", columns, rows, tuple(words), draw(_HEADS))


@st.composite
def by_halves(draw: st.DrawFn) -> Scheme:
    """Sections as they are sewn: halves, and thirds in and out, in any order."""
    across, down = draw(st.integers(1, 3)), draw(st.integers(0, 2))
    thirds = draw(st.integers(0, 1)) if down < 2 else 0
    ways = draw(st.permutations(["x"] * across + ["y"] * down + ["z"] * thirds))
    words: list[str] = []
    for way in ways:
        one, other = (draw(st.sampled_from(("over", "under"))) for _ in range(2))
        if way == "z":
            panels = 2 ** ways[ways.index("z") + 1 :].count("y")
            words += [f"top {panels} {one}", f"bottom {panels} {other}"]
        else:
            words.append(f"{draw(st.sampled_from(_SIDES['xy'.index(way)]))} {one}")
    head = draw(st.sampled_from([None, "top", "bottom"]))
    return Scheme("any", 2**across, 2**down * 3**thirds, tuple(words), head)


@st.composite
def rolled(draw: st.DrawFn) -> Scheme:
    """One panel after the other from one side, each over or under: rolls, concertinas and mixtures of both."""
    columns = draw(st.integers(2, 8))
    side = draw(st.sampled_from(("left", "right")))
    ways = draw(st.one_of(st.just(["over"] * 7), st.lists(st.sampled_from(("over", "under")), min_size=7, max_size=7)))
    halved = draw(st.sampled_from([(), ("top under",), ("bottom over",)]))
    rolls = tuple(f"{side} 1 {way}" for way in ways[: columns - 1])
    return Scheme("any", columns, 2 ** len(halved), halved + rolls, draw(st.sampled_from([None, "top", "bottom"])))


bindable = st.one_of(down_to_one_pile(), by_halves(), rolled())
schemes = st.one_of(down_to_one_pile(), by_halves(), rolled(), any_words())

EXAMPLES = (
    Scheme("4 gate, closed", 4, 1, ("left 1 over", "right 1 over", "right over")),
    Scheme("4 roll", 4, 1, ("left 1 over", "left 1 over", "left over")),
    Scheme("4 concertina", 4, 1, ("left 1 over", "left 1 under", "left 1 over")),
    Scheme("late", 2, 2, ("left under", "bottom over"), "bottom"),
    Scheme("level", 1, 2, ("top over",), "left"),
)


def _by_brute(scheme: Scheme, reading: str) -> brute.Folded | str:
    """The folded pile, or the class of the reason why there is none."""
    try:
        return brute.fold(scheme.columns, scheme.rows, scheme.folds, scheme.head, spine_left=reading == LEFT_TO_RIGHT)
    except brute.NoFold as no:
        return no.reason


def _before_the_nonsense(scheme: Scheme, reading: str) -> str:
    """The class of refusal of somebody who folds before having read all the words."""
    for count in range(1, len(scheme.folds) + 1):
        shorter = Scheme(scheme.name, scheme.columns, scheme.rows, scheme.folds[:count], scheme.head)
        found = _by_brute(shorter, reading)
        if found in ("no words", "half of an odd count", "moves too many"):
            return str(found)
    raise AssertionError("every word is a fold")


def _examples(test):  # type: ignore[no-untyped-def]
    for scheme in EXAMPLES:
        for reading in (LEFT_TO_RIGHT, RIGHT_TO_LEFT):
            test = example(scheme, reading)(test)
    return test


@_examples
@settings(max_examples=300, deadline=None)
@given(schemes, READINGS)
def test_the_model_folds_or_refuses_as_brute_force_does(scheme: Scheme, reading: str) -> None:
    expected = _by_brute(scheme, reading)
    if isinstance(expected, str):
        with pytest.raises(FoldError, match=MODEL_SAYS[expected]):
            read(scheme, reading)
        return
    leaves = read(scheme, reading)
    assert [(leaf.column, leaf.row) for leaf in leaves] == [leaf.panel for leaf in expected.leaves]
    assert [leaf.recto_on_front for leaf in leaves] == [leaf.recto_on_front for leaf in expected.leaves]
    assert [leaf.head_turns for leaf in leaves] == [leaf.head_turns for leaf in expected.leaves]
    assert [leaf.spine_edge for leaf in leaves] == [leaf.spine_edge for leaf in expected.leaves]
    every = range(len(leaves))
    assert [leaf.mate for leaf in leaves] == [expected.mate(i) for i in every]
    assert [leaf.depth for leaf in leaves] == [expected.outside(i) for i in every]
    assert [{edge.value for edge in leaf.bolts} for leaf in leaves] == [expected.bolts(i) for i in every]
    assert nests(scheme, reading) == (expected.sewn is None)
    for back in (False, True):
        assert forme(scheme, reading, back=back) == expected.forme(back=back)
    pile = fold(scheme)
    assert [(line.upright, line.at, line.start, line.end) for line in pile.lines] == list(expected.lines)
    assert pile.spine_fold == expected.spine_fold
    assert set(pile.creases.values()) == set(range(len(scheme.folds)))


# --- bindings ---------------------------------------------------------------------------------------------------------

BOLT_MIN_MM = 3.0


@frozen
class Cut:
    """What knife and grinder take off, mm."""

    head: float
    foot: float
    fore_edge: float
    spine: float


cuts = st.builds(Cut, *[st.sampled_from([0.0, 2.9, 3.0, 5.0])] * 3, st.sampled_from([0.0, 3.0]))


def _by_hand_bound(folded: brute.Folded, binding: str, cut: Cut, least_mm: float) -> set[str]:
    """Everything that a binder would find wrong: ``"loose"``, ``"middles"``, or an edge whose bolts stay closed."""
    wrong = {folded.sewn} - {None} if binding in ("sewn", "stitched") else set()
    closed = set().union(*(folded.bolts(i) for i in range(len(folded.leaves))))
    taken = {"head": cut.head, "foot": cut.foot, "fore-edge": cut.fore_edge}
    return {str(one) for one in wrong} | {edge for edge in closed if taken[edge] < least_mm}


@settings(max_examples=300, deadline=None)
@given(bindable, READINGS, st.sampled_from(["sewn", "stitched", "glued"]), cuts)
def test_a_binding_takes_or_refuses_a_scheme_as_brute_force_does(
    scheme: Scheme, reading: str, binding: str, cut: Cut
) -> None:
    expected = _by_brute(scheme, reading)
    panel = Panel(100, 150, cut.spine if binding == "glued" else 0.0, cut.fore_edge, cut.head, cut.foot)
    if isinstance(expected, str):
        with pytest.raises(FoldError, match=MODEL_SAYS[expected]):
            refusal(scheme, reading, binding, panel, BOLT_MIN_MM)
        return
    wrong = _by_hand_bound(expected, binding, cut, BOLT_MIN_MM)
    why = refusal(scheme, reading, binding, panel, BOLT_MIN_MM)
    if not wrong:
        assert why is None
        return
    assert why is not None
    if "no other half" in why:
        assert "loose" in wrong or ("middles" in wrong and expected.middles > 1)
    elif "lie one behind the other" in why:
        assert "middles" in wrong and f"so {expected.middles} sections" in why
    else:
        edge = re.search(r"has bolts at the ([a-z-]+),", why)
        assert edge and edge[1] in wrong


# --- the proof's own folding ------------------------------------------------------------------------------------------

PAGE_MM = (100.0, 150.0)
CALIPER_MM = 0.0
#: a bolt nearer to the knife than this stays closed by the proof's reckoning (its own constant, stated here)
PROOF_BOLT_MM = 0.5


@frozen
class Laid:
    """Where and how the section lies on the sheet, frame of the front: lower left corner, quarter turns."""

    x: float
    y: float
    turned: int  #: counter-clockwise, as the side that lies up is seen
    over: bool = False  #: turned over, side to side, so that the back lies up
    turn: str = "side to side"  #: of the sheet, between its front and its back


def _to_sheet(laid: Laid, size: tuple[float, float], x: float, y: float) -> tuple[float, float]:
    """Scheme, mm from its lower left → sheet: the corner that comes to lie lower left put at the place."""
    wide, high = size
    across, up = ((x, y), (high - y, x), (wide - x, high - y), (y, wide - x))[laid.turned]
    if laid.over:  # what is seen from the back lies at the other side of the front
        across = (high if laid.turned % 2 else wide) - across
    return laid.x + across, laid.y + up


def _told(
    scheme: Scheme, reading: str, binding: str, cut: Cut, laid: Laid, lines: tuple[tuple[bool, int, int, int], ...],
    level: bool,
) -> FoldingInstructions:  # fmt: skip
    across = cut.spine + PAGE_MM[0] + cut.fore_edge
    along = cut.head + PAGE_MM[1] + cut.foot
    cell = (along, across) if level else (across, along)
    size = (cell[0] * scheme.columns, cell[1] * scheme.rows)
    folds = []
    for words, (upright, at, start, end) in zip(scheme.folds, lines, strict=True):
        if upright:
            ends = [(at * cell[0], size[1] - start * cell[1]), (at * cell[0], size[1] - end * cell[1])]
        else:
            ends = [(start * cell[0], size[1] - at * cell[1]), (end * cell[0], size[1] - at * cell[1])]
        one, other = (_to_sheet(laid, size, *point) for point in ends)
        folds.append(Fold(words, (one, other)))
    wide, high = size[::-1] if laid.turned % 2 else size
    section = Section(
        id="1A", rect_mm=(laid.x, laid.y, laid.x + wide, laid.y + high), turned=90 * laid.turned,
        columns=scheme.columns, rows=scheme.rows, column_mm=(cell[0],) * scheme.columns,
        row_mm=(cell[1],) * scheme.rows, folds=tuple(folds), head=scheme.head,
        head_trim_mm=cut.head, foot_trim_mm=cut.foot, spine_trim_mm=cut.spine,
        turned_over=laid.over,
    )  # fmt: skip
    sheet = Sheet(1, wide + laid.x + 20, high + laid.y + 30, laid.turn, (), (section,))
    return FoldingInstructions(
        reading=reading, binding=binding, trim_mm=PAGE_MM, bleed_mm=0.0, caliper_mm=CALIPER_MM, creep_factor=1.0,
        sheets=(sheet,), gathering=(("1A",),), collation=None,
    )  # fmt: skip


def _panel_of(face: proof.Face, told: FoldingInstructions, laid: Laid, scheme: Scheme) -> tuple[int, int, int]:
    """Column, row, and head (turns, as printed on that side, section not turned) of a face, by its map alone.

    The scheme is seen from the side that lies up when the folding begins.
    """
    a, b, c, d, e, f = face.to_side
    x, y = (face.panel[0] + face.panel[2]) / 2, (face.panel[1] + face.panel[3]) / 2
    sx, sy = a * x + c * y + e, b * x + d * y + f
    head = {(0, 1): 0, (-1, 0): 1, (0, -1): 2, (1, 0): 3}[round(c), round(d)]
    sheet, section = told.sheets[0], told.sheets[0].sections[0]
    if face.side == "back":  # as seen through the paper, from the front
        if sheet.turn == "side to side":
            sx, head = sheet.width_mm - sx, -head % 4
        else:
            sy, head = sheet.height_mm - sy, (2 - head) % 4
    x0, y0, x1, y1 = section.rect_mm
    wide, high = x1 - x0, y1 - y0
    u, v = sx - x0, sy - y0
    if laid.over:
        u, head = wide - u, -head % 4
    px, py = ((u, v), (v, wide - u), (wide - u, high - v), (high - v, u))[laid.turned]
    column, row = int(px // section.column_mm[0]), scheme.rows - 1 - int(py // section.row_mm[0])
    turns = (head - laid.turned) % 4
    return column, row, turns if (face.side == "front") != laid.over else -turns % 4


places = st.builds(
    Laid,
    st.sampled_from([0.0, 12.5]),
    st.sampled_from([0.0, 33.0]),
    st.integers(0, 3),
    st.booleans(),
    st.sampled_from(["side to side", "head to tail"]),
)


@settings(max_examples=300, deadline=None)
@given(schemes, READINGS, st.sampled_from(["sewn", "stitched", "glued"]), cuts, places)
def test_the_proof_folds_or_refuses_as_brute_force_does(
    scheme: Scheme, reading: str, binding: str, cut: Cut, laid: Laid
) -> None:
    expected = _by_brute(scheme, reading)
    cut = cut if binding == "glued" else Cut(cut.head, cut.foot, cut.fore_edge, 0.0)
    if isinstance(expected, str):
        if expected == "no words":  # the model reads all words before it folds, the proof one fold after the other
            expected = _before_the_nonsense(scheme, reading)
        if expected == "head cannot be" and not scheme.folds:  # wrong in two ways, and the proof names the other one
            expected = "no spine"
        # no lines can be drawn for folds that cannot be made; the words alone must be refused
        far = ((False, 0, 0, 0),) * len(scheme.folds)
        told = _told(scheme, reading, binding, cut, laid, far, level=False)
        with pytest.raises(CannotFold, match=PROOF_SAYS[expected]):
            proof.read(told.sheets[0].sections[0], told.sheets[0], told)
        return
    level = expected.leaves[0].spine_edge in ("top", "bottom")
    told = _told(scheme, reading, binding, cut, laid, expected.lines, level)
    folded = proof.read(told.sheets[0].sections[0], told.sheets[0], told)
    assert len(folded.leaves) == len(expected.leaves)
    for order, (ours, theirs) in enumerate(zip(expected.leaves, folded.leaves, strict=True)):
        recto, verso = ("front", "back") if ours.recto_on_front != laid.over else ("back", "front")
        assert (theirs.recto.side, theirs.verso.side) == (recto, verso)
        outward = 1 if reading == LEFT_TO_RIGHT else -1
        assert (theirs.recto.outward, theirs.verso.outward) == (outward, -outward)
        back_head = -ours.head_turns % 4
        for face in (theirs.recto, theirs.verso):
            head = ours.head_turns if (face.side == "front") != laid.over else back_head
            assert _panel_of(face, told, laid, scheme) == (*ours.panel, head)
        assert theirs.partner == expected.spine_partner(order)
        assert theirs.outside == expected.outside(order)
    said = set()
    for fault in folded.faults:
        if "no other half" in fault:
            said.add("loose")
        elif "same side of the middle" in fault:
            said.add("middles")
        else:
            bolt = re.match(r"the bolt at the ([a-z-]+) between", fault)
            assert bolt, fault
            said.add(bolt[1])
    wrong = _by_hand_bound(expected, binding, cut, PROOF_BOLT_MM)
    # where leaves fall out the pairs that are left may well lie about two middles: one is enough
    assert said - {"middles"} == wrong - {"middles"} if "loose" in wrong else said == wrong


# --- the classes of refusal, one by one -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("columns", "rows", "folds", "head", "reason"),
    [
        (4, 2, ("right under", "sideways", "left over"), None, "no words"),
        (4, 1, ("left -1 over",), None, "no words"),
        (3, 1, ("right over",), None, "half of an odd count"),
        (2, 1, ("left under", "left under"), None, "half of an odd count"),
        (3, 1, ("left 0 over",), None, "moves too many"),
        (3, 1, ("right 3 under",), None, "moves too many"),
        (2, 1, ("left under", "right 1 under"), None, "moves too many"),
        (4, 2, ("right under", "top over"), None, "not one pile"),
        (2, 2, (), None, "not one pile"),
        # an open gate: two flaps meet in the middle of what stays, which is two leaves wide
        (4, 1, ("left 1 over", "right 1 over"), None, "not one pile"),
        (1, 1, (), None, "no spine"),
        (1, 2, ("top over",), "top", "no spine"),
        (1, 2, ("top over",), None, "head cannot be"),
        (2, 1, ("left under",), "front", "head cannot be"),
    ],
)
def test_three_reckonings_share_the_class_of_a_refusal(
    columns: int, rows: int, folds: tuple[str, ...], head: str | None, reason: str
) -> None:
    """Each class worked with a scrap of paper: brute force, the model and the proof refuse for the same one."""
    scheme = Scheme("odd", columns, rows, folds, head)
    assert _by_brute(scheme, LEFT_TO_RIGHT) == reason
    with pytest.raises(FoldError, match=MODEL_SAYS[reason]):
        read(scheme, LEFT_TO_RIGHT)
    none = ((False, 0, 0, 0),) * len(folds)
    told = _told(scheme, LEFT_TO_RIGHT, "sewn", Cut(5, 5, 4, 0), Laid(0, 0, 0), none, level=False)
    with pytest.raises(CannotFold, match=PROOF_SAYS[reason]):
        proof.read(told.sheets[0].sections[0], told.sheets[0], told)


def test_a_sheet_rolled_up_is_sewn_through_its_one_middle() -> None:
    """Four panels rolled from one end: two folios, one in the other, as a scrap of paper shows."""
    roll = Scheme("8 roll", 4, 1, ("left 1 over", "left 1 over", "left over"))
    assert refusal(roll, LEFT_TO_RIGHT, "sewn", Panel(100, 150, 0, 4, 5, 5), BOLT_MIN_MM) is None
    assert [leaf.mate for leaf in read(roll, LEFT_TO_RIGHT)] == [3, 2, 1, 0]
    assert nests(roll, RIGHT_TO_LEFT)


def test_a_crease_in_the_spine_is_no_bolt_of_a_notched_book() -> None:
    """A concertina glued through notches, nothing ground off: its folds at the spine stay closed and do no harm."""
    zigzag = Scheme("8 concertina", 4, 1, ("left 1 over", "left 1 under", "left 1 over"))
    assert refusal(zigzag, LEFT_TO_RIGHT, "glued", Panel(100, 150, 0, 4, 5, 5), BOLT_MIN_MM) is None
    assert "bolts at the fore-edge" in (
        refusal(zigzag, LEFT_TO_RIGHT, "glued", Panel(100, 150, 0, 1, 5, 5), BOLT_MIN_MM) or ""
    )


def test_words_of_a_fold_reach_the_bindery_as_the_proof_reads_them() -> None:
    loose = Scheme("8", 2, 2, (" Top  UNDER", "left\t1 under "))
    assert [line.words for line in fold(loose).lines] == ["top under", "left 1 under"]
