# SPDX-License-Identifier: AGPL-3.0-or-later
"""Figures of the binder's benches: those of the quantities, and sums worked with a pencil beside them."""

from __future__ import annotations

import re
from functools import cache
from itertools import pairwise
from types import ModuleType
from typing import Any

import pytest
from attrs import evolve

from foldproof.case.cover_sizes import jacket_sizes
from foldproof.quantities.model import Work
from foldproof.quantities.wires import wire_places_mm
from foldproof.tickets import casing_in, packing, sewing, traveller, trimming
from foldproof.tickets.cautions import CAUTIONS, DEFER
from foldproof.tickets.gluing import covering, gluing
from tests.tickets.finished import benches, by_hand, facts_of, house_with, made, tickets, work_on


@pytest.fixture(scope="module")
def novel() -> Work:
    return made(job={"stamping": {"ink": "Foil"}})


@cache
def glued() -> Work:
    return made(200, {"book": {"binding": "glued"}})


@cache
def stitched() -> Work:
    return made(64, {"book": {"binding": "stitched"}})


def numbers(text: str) -> list[float]:
    return [float(found.replace(",", "")) for found in re.findall(r"\d[\d,]*(?:\.\d+)?", text)]


# --- sewing -----------------------------------------------------------------------------------------------------------


def test_the_sewing_ticket_tells_the_holes_of_the_quantities(novel: Work) -> None:
    bench, thread = sewing.sewing(novel), novel.quantities.thread
    told = [numbers(row[2])[0] for row in bench.body["rows"]]
    assert told == pytest.approx(thread.holes_mm, abs=0.05)
    facts = facts_of(bench)
    assert numbers(facts["thread for one book"])[0] == pytest.approx(thread.metres_per_book, abs=0.005)
    assert numbers(facts["thread for the run"])[0] == pytest.approx(thread.metres, abs=0.5)
    assert numbers(facts["sections"])[0] == len(novel.plan.sections) == thread.sections


def test_holes_lie_inside_the_trim_with_kettle_stitches_at_the_ends(novel: Work) -> None:
    """sew-kettle of the handbook (trade custom, recalled): 12 mm from head and foot after trimming, none outside."""
    rows = sewing.sewing(novel).body["rows"]
    heights = [numbers(row[2])[0] for row in rows]
    assert (heights[0], heights[-1]) == (12.0, 216.0 - 12.0)
    assert [row[1] for row in rows] == ["kettle stitch", *[""] * (len(rows) - 2), "kettle stitch"]
    assert heights == sorted(heights) and all(0 < mm < 216 for mm in heights)
    # the folded section is not trimmed yet: 5 mm more at its head (the house's allowance)
    assert novel.house.allowances.head == 5.0
    assert [numbers(row[3])[0] for row in rows] == pytest.approx([mm + 5.0 for mm in heights])


@pytest.mark.parametrize(("trim_mm", "pages"), [((140.0, 216.0), 32), ((300.0, 400.0), 64), ((60.0, 90.0), 2400)])
def test_the_drawing_of_the_back_is_to_scale(samples: ModuleType, trim_mm: tuple[float, float], pages: int) -> None:
    """Measured with a ruler on the ticket, times the scale that stands below it."""
    work = by_hand(samples, trim_mm, pages)
    body = sewing.sewing(work).body
    over, under = (float(v) for v in re.search(r"scale ([\d.]+):([\d.]+)", body["caption"]).groups())
    scale = under / over
    [(x0, y0), _, (x1, y1), _] = next(s["points_mm"] for s in body["drawing"]["shapes"] if s["style"] == "paper")
    thick = work.quantities.thickness
    assert (x1 - x0) * scale == pytest.approx(trim_mm[1])
    assert (y1 - y0) * scale == pytest.approx(max(thick.block_mm + thick.swell_mm, 0.4 * scale))
    across = [
        (s["points_mm"][0][0] - x0) * scale
        for s in body["drawing"]["shapes"]
        if s["style"] in ("thick", "fine") and len(s["points_mm"]) == 2
    ]
    assert across == pytest.approx(work.quantities.thread.holes_mm)
    assert sum(s["style"] == "thick" for s in body["drawing"]["shapes"]) == 2


def test_pieces_are_set_the_innermost_first(samples: ModuleType) -> None:
    work = by_hand(samples, (105.0, 148.0), 16 * 9, pieces=3)
    body = sewing.sewing(work).body
    # gathered as 1A, 2A, 3A with 1A outermost: 3A goes into 2A, and both into 1A
    assert work.plan.sections[0].pieces == ("1A", "2A", "3A")
    assert [row[2] for row in body["wraps"]] == ["3A into 2A into 1A", "6A into 5A into 4A", "9A into 8A into 7A"]
    assert facts_of(sewing.sewing(work))["sections"] == "3, each of pieces set one in another"
    assert sewing.sewing(by_hand(samples, (105.0, 148.0), 32)).body["wraps"] == []


def test_a_book_too_low_for_kettle_stitches_is_told_so(samples: ModuleType) -> None:
    """Two stitches 12 mm from head and foot meet in a book 24 mm high (sew-kettle of the handbook)."""
    bench = sewing.sewing(by_hand(samples, (60.0, 24.0), 16))
    assert bench.body["rows"] == [] and "too low" in dict(bench.body["notes"])["Holes."]
    assert len(tickets(by_hand(samples, (60.0, 24.0), 16))) == len(benches(by_hand(samples, (60.0, 24.0), 16)))


def test_where_endpapers_come_in(samples: ModuleType) -> None:
    def said(endpapers: str, kind: str = "case") -> str:
        job = {"cover": {"endpapers": endpapers, "kind": kind}}
        [words] = [w for h, w in sewing.sewing(by_hand(samples, (140.0, 216.0), 48, job)).body["notes"] if "Endp" in h]
        return words

    # a line of paste 3 mm wide: common practice, no source
    assert "sections 1 and 3" in said("separate") and "3 mm wide" in said("separate")
    assert "first leaf of section 1" in said("self") and "last leaf of section 3" in said("self")
    assert "without" in said("none") and "paper cover" in said("separate", "paper")


def test_glued_books_are_ground_and_not_sewn() -> None:
    [bench] = sewing.benches(glued())
    assert bench.bench == "gluing" and bench == gluing(glued())
    facts = facts_of(bench)
    assert numbers(facts["grind off the spine"]) == [glued().house.allowances.spine_grind] == [3.0]
    assert numbers(facts["spine of the cover"])[0] == pytest.approx(glued().quantities.thickness.spine_mm, abs=0.05)
    # pages / 2 x caliper (spine-128 of the handbook): 200 / 2 x 0.117 mm
    assert numbers(facts["block, ground and pressed together"])[0] == pytest.approx(100 * 0.117, abs=0.05)
    assert facts_of(trimming.benches(glued())[0])["untrimmed, its back ground"] == "144 x 226 mm"
    ground = next(s for s in bench.body["drawing"]["shapes"] if s["style"] == "ground")["points_mm"]
    over, under = (float(v) for v in re.search(r"scale ([\d.]+):([\d.]+)", bench.body["caption"]).groups())
    assert (ground[1][0] - ground[0][0]) * under / over == pytest.approx(3.0)


def test_a_sewn_book_in_paper_is_covered_before_it_is_trimmed() -> None:
    work = made(160, {"cover": {"kind": "paper", "flaps": "80 mm"}})
    assert [bench.bench for bench in benches(work)] == ["traveller", "sewing", "covering", "trimming", "packing"]
    [bench] = covering(work)
    words = " ".join(w for _, w in bench.body["notes"])
    assert "back flap, back, spine, front, front flap" in words
    assert any(head == "Flaps." for head, _ in trimming.benches(work)[0].body["notes"])
    counts = [count.bench for count in work.quantities.counts]
    assert counts.index("sewing") < counts.index("covering") < counts.index("trimming")


@pytest.mark.parametrize(("height", "wires"), [(216.0, (54.0, 162.0)), (420.0, (70.0, 210.0, 350.0))])
def test_wires_share_the_fold(height: float, wires: tuple[float, ...]) -> None:
    """Common practice, no source: each holds an equal part, its middle in the middle of that part."""
    assert wire_places_mm(height) == pytest.approx(wires)


def test_a_stitched_book_is_told_its_wires_and_pieces() -> None:
    work = stitched()
    [bench] = sewing.benches(work)
    assert bench.bench == "stitching"
    [section] = work.plan.sections
    [rule] = [w for h, w in bench.body["notes"] if h.startswith("Pieces")]
    assert rule.startswith(" into ".join(reversed(section.pieces)))
    # the stitcher goes through half the leaves of the closed book: 64 pages, 32 leaves, 16 of them 0.117 mm thick
    assert facts_of(bench)["under the heads"].startswith("16 leaves")
    assert "folded once" in facts_of(bench)["spine of the cover"]


# --- trimming ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("stated", "order"),
    [
        (("fore-edge", "head and foot"), "1 fore-edge, 2 head and foot"),
        (("head and foot", "fore-edge"), "1 head and foot, 2 fore-edge"),
        (("head and foot",), "1 head and foot, 2 fore-edge"),
    ],
)
def test_the_house_states_the_order_of_the_knives(samples: ModuleType, stated: tuple[str, ...], order: str) -> None:
    work = by_hand(samples, (140.0, 216.0), 32, house=house_with(knives=stated))
    [bench] = trimming.benches(work)
    assert facts_of(bench)["order of the knives"] == order
    figures = [w["text"] for w in bench.body["drawing"]["words"] if w["text"].isdigit()]
    # at the head, at the foot, at the fore-edge
    first = order.startswith("1 fore-edge")
    assert figures == (["2", "2", "1"] if first else ["1", "1", "2"])
    assert any("fore-edge; it is cut last" in words for _, words in bench.body["notes"]) is (len(stated) == 1)


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_the_cuts_are_drawn_where_the_amounts_say(samples: ModuleType, reading: str) -> None:
    """A ruler on the drawing: what is left between the cuts is the trimmed book."""
    [bench] = trimming.benches(by_hand(samples, (140.0, 216.0), 32, {"book": {"reading": reading}}))
    shapes = bench.body["drawing"]["shapes"]
    scale = float(re.search(r"scale 1:([\d.]+)", bench.body["caption"])[1])
    [(x0, y0), _, (x1, y1), _] = next(s["points_mm"] for s in shapes if s["style"] == "outline")
    fore, head, foot = (s["points_mm"] for s in shapes if s["style"] == "cut")
    # the sample octavo: panels 144 x 226 mm, 5 mm off at head and foot, 4 mm at the fore-edge
    assert ((x1 - x0) * scale, (y1 - y0) * scale) == pytest.approx((144.0, 226.0))
    assert ((head[0][1] - y0) * scale, (y1 - foot[0][1]) * scale) == pytest.approx((5.0, 5.0))
    off = x1 - fore[0][0] if reading == "left to right" else fore[0][0] - x0
    assert off * scale == pytest.approx(4.0)


def test_amounts_are_told_by_kind_of_sheet(novel: Work) -> None:
    """The house's allowances: 5 mm at head and foot, 4 mm at the fore-edge; a glued block loses 3 mm at its back."""
    told = novel.house.allowances
    assert (told.head, told.foot, told.fore_edge, told.spine_grind) == (5.0, 5.0, 4.0, 3.0)
    body = trimming.benches(novel)[0].body
    assert [row[1:] for row in body["rows"]] == [["144 x 226 mm", "5 mm", "5 mm", "4 mm", "0 mm"]]
    assert body["rows"][0][0] == "; ".join(kind.label for kind in novel.plan.kinds)
    assert [row[1:] for row in trimming.benches(glued())[0].body["rows"]] == [
        ["147 x 226 mm", "5 mm", "5 mm", "4 mm", "3 mm"]
    ]
    words = dict(trimming.benches(stitched())[0].body["notes"])["Measure."]
    assert "the fore-edge from the lip" in words, "the stitcher of the house opens sections by their lip"


def test_a_pile_is_as_high_as_the_house_lets_it(novel: Work) -> None:
    """Worked with a pencil: 160 leaves of 0.117 mm, 4 endpapers, 20 threads of 0.3 mm at half and half again."""
    book = 160 * 0.117 + 4 * 0.117 + 20 * 0.3 * 0.5 * 0.5
    pile = trimming.pile_of(novel)
    assert pile.book_mm == pytest.approx(book)
    assert (pile.books, pile.too_high) == (3, False), "80 mm / 20.688 mm"
    assert pile.high_mm == pytest.approx(3 * book)
    assert facts_of(trimming.benches(novel)[0])["books in a pile"] == "3"


@pytest.mark.parametrize(("most", "books", "too_high"), [(2.08, 1, False), (2.07, 1, True), (20.8, 10, False)])
def test_a_pile_at_its_limit(samples: ModuleType, most: float, books: int, too_high: bool) -> None:
    job = {"book": {"binding": "stitched"}, "cover": {"kind": "none"}}
    work = by_hand(samples, (140.0, 216.0), 32, job, house=house_with(pile_max=most))
    # 16 leaves of the sample's 0.13 mm
    assert trimming.pile_of(work).book_mm == pytest.approx(16 * 0.13)
    assert (trimming.pile_of(work).books, trimming.pile_of(work).too_high) == (books, too_high)


# --- casing-in --------------------------------------------------------------------------------------------------------


def test_a_case_is_measured_on_its_drawing(novel: Work) -> None:
    [bench] = casing_in.benches(novel)
    case, custom = novel.case, novel.house.finishing
    facts = facts_of(bench)
    assert numbers(facts["joint, pressed in"]) == [case.joint_mm] == [7.0]  # case-3mm of the handbook: 6 to 8 mm
    assert numbers(facts["squares"])[0] == case.square_mm == 3.0  # case-3mm
    assert numbers(facts["in the press"]) == [custom.press_hours]
    scale = float(re.search(r"scale 1:([\d.]+)", bench.body["caption"])[1])
    shapes = bench.body["drawing"]["shapes"]
    boards = [[p[0] for p in s["points_mm"][:2]] for s in shapes if s["style"] == "paper"]
    (b0, b1), (c0, c1) = sorted(sorted(pair) for pair in boards)
    block = sorted(p[0] for p in next(s for s in shapes if s["style"] == "block")["points_mm"][:2])
    strip = sorted(p[0] for p in next(s for s in shapes if s["style"] == "grey")["points_mm"][:2])
    assert (c1 - b0) * scale == pytest.approx(case.open_mm[0])
    assert ((b1 - b0) * scale, (c1 - c0) * scale) == pytest.approx((case.board_mm[0], case.board_mm[0]))
    assert ((strip[0] - b1) * scale, (c0 - strip[1]) * scale) == pytest.approx((7.0, 7.0))
    assert ((c1 - block[1]) * scale, (block[1] - block[0]) * scale) == pytest.approx((3.0, 140.0))


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_the_block_lies_on_the_back_board_as_one_looks_into_the_case(samples: ModuleType, reading: str) -> None:
    """A book read from left to right, head up and front up, has its back at the left: opened flat with its inside up,
    front board at the left, back board with the block at the right.  The other way round from right to left."""
    [bench] = casing_in.benches(by_hand(samples, (140.0, 216.0), 32, {"book": {"reading": reading}}))
    at = {w["text"]: w["at_mm"][0] for w in bench.body["drawing"]["words"]}
    assert (at["front board"] < at["block on the back board"]) is (reading == "left to right")
    shapes = bench.body["drawing"]["shapes"]
    middle = [sum(p[0] for p in s["points_mm"]) / 4 for s in shapes if s["style"] in ("grey", "block")]
    assert (middle[0] < middle[1]) is (reading == "left to right"), "the strip lies at the back of the block"


def test_the_title_on_the_spine_tells_which_way_is_up(samples: ModuleType) -> None:
    def said(job: dict[str, Any]) -> str:
        [bench] = casing_in.benches(by_hand(samples, (140.0, 216.0), 32, job))
        return next(w for h, w in bench.body["notes"] if "up" in h)

    # a spine that reads from head to foot is upright when the front lies up (common practice, no source)
    assert "front board lies up" in said({"stamping": {"ink": "Foil"}})
    assert "back board lies up" in said({"stamping": {"ink": "Foil", "spine_reads": "foot to head"}})
    assert "Nothing is stamped" in said({}) and "the back is at the left" in said({})
    assert "the back is at the right" in said({"book": {"reading": "right to left"}})


def test_separate_endpapers_are_sized_and_counted(novel: Work, samples: ModuleType) -> None:
    words = next(w for h, w in casing_in.benches(novel)[0].body["notes"] if h.startswith("Endp"))
    books = next(count.goes_in for count in novel.quantities.counts if count.bench == "trimming")
    # trimmed with the block: as large as the folded section, 140 + 4 mm by 216 + 5 + 5 mm, twice as wide when open
    assert "sheets of 288 x 226 mm folded once to 144 x 226 mm" in words
    assert f"{2 * books:,} for {books:,} books" in words and "3 mm wide" in words and "grain along the fold" in words
    other = by_hand(samples, (140.0, 216.0), 32, {"cover": {"endpaper_stock": "Hearth Book 100"}})
    assert "Hearth Book 100, 100 g/m²" in casing_in.benches(other)[0].body["notes"][0][1]


def test_the_books_own_endpapers_name_the_pages_that_are_pasted(samples: ModuleType) -> None:
    job = {"cover": {"endpapers": "self"}}
    full, short = by_hand(samples, (140.0, 216.0), 32, job), by_hand(samples, (140.0, 216.0), 30, job)
    assert "(page 1)" in casing_in.benches(full)[0].body["notes"][0][1]
    assert "(page 32)" in casing_in.benches(full)[0].body["notes"][0][1]
    # 30 pages on two octavo sheets of 16: the last two are blanks
    assert "(a blank)" in casing_in.benches(short)[0].body["notes"][0][1]
    assert casing_in.benches(glued()) == ()


# --- packing ----------------------------------------------------------------------------------------------------------


def test_the_packing_ticket_tells_the_cartons_of_the_quantities(novel: Work) -> None:
    [bench] = packing.benches(novel)
    packed, facts = novel.quantities.packing, facts_of(bench)
    assert numbers(facts["in each carton"]) == [packed.per_carton]
    assert numbers(facts["cartons"]) == [packed.cartons]
    assert numbers(facts["in the last carton"]) == [packed.last_carton]
    assert numbers(facts["a full carton weighs"])[0] == pytest.approx(packed.carton_kg, abs=0.05)
    assert packed.per_carton * (packed.cartons - 1) + packed.last_carton == novel.quantities.copies
    assert f"weighs about {packed.carton_kg:.1f} kg" in bench.cautions[0]
    assert "card of the spine" not in dict(bench.body["notes"])["How they lie."]
    # the shipped house states no board that bends round a rounded spine
    [round_backed] = packing.benches(made(job={"cover": {"rounding": "rounded"}}))
    assert "Weights are without the card of the spine" in dict(round_backed.body["notes"])["How they lie."]
    stacks = [int(w["text"]) for w in bench.body["drawing"]["words"] if w["text"].isdigit()]
    assert sum(stacks) == packed.per_carton, "the stacks on the drawing hold what goes into a carton"
    label = "\n".join(bench.body["label"])
    assert novel.plan.title in label and "A. Wick" in label and "ISBN 978-0-00-000000-2" in label
    assert f"{packed.per_carton} books" in label and f"of {packed.cartons}" in label


def test_stacks_lie_inside_the_carton_and_on_no_other(novel: Work) -> None:
    [bench] = packing.benches(novel)
    shapes = bench.body["drawing"]["shapes"]
    plan = next(s for s in shapes if s["style"] == "outline")["points_mm"]
    boxes = [s["points_mm"] for s in shapes if s["style"] == "block"]
    boxes = [(b[0], b[2]) for b in boxes if b[0][0] < plan[2][0]]
    assert boxes
    for n, ((ax, ay), (bx, by)) in enumerate(boxes):
        assert plan[0][0] - 1e-6 <= ax < bx <= plan[2][0] + 1e-6 and plan[0][1] - 1e-6 <= ay < by <= plan[2][1] + 1e-6
        for (cx, cy), (dx, dy) in boxes[n + 1 :]:
            assert min(bx, dx) - max(ax, cx) < 1e-6 or min(by, dy) - max(ay, cy) < 1e-6


def test_a_single_carton_is_not_called_full() -> None:
    work = made(6, {"book": {"binding": "leaflet"}, "run": {"copies": 40}}, (99.0, 210.0))
    [bench] = packing.benches(work)
    assert facts_of(bench)["in the carton"] == "40 leaflets" and "40 leaflets" in bench.body["label"][-3]
    assert "in the last carton" not in {name for name, value in bench.facts if value}


def test_where_no_carton_fits_the_bench_is_told_of_the_book_all_the_same(samples: ModuleType) -> None:
    """1200 x 900 mm lies in no box of the shipped house, the largest of which is 440 x 320 mm inside."""
    work = by_hand(samples, (1200.0, 900.0), 32, {"jacket": {"flaps": "200 mm"}})
    jacket = jacket_sizes(work.plan, work.job, work.house, work.quantities.thickness, work.case)
    [bench] = packing.benches(evolve(work, jacket=jacket))
    notes = dict(bench.body["notes"])
    assert "goes into no carton of the house" in notes["No carton."]
    assert "lie flat in Box 440 (440 x 320 mm inside), Box 320 (320 x 230 mm inside)" in notes["No carton."]
    # 1000 / 0.995 = 1005.03
    assert "1,000 jackets, and 6 over" in notes["Jacket."] and "flaps in" in " ".join(bench.checks)
    assert "______ books" in " ".join(bench.body["label"]) and bench.due == ("1,000", "1,000")
    with tickets(work) as document:
        assert "No carton." in document[-1].get_text()
    # the same of a house that states no carton at all
    bare = work.house.model_copy(update={"cartons": ()})
    [bench] = packing.benches(work_on(work.plan, work.job, bare))
    assert "the house states none" in dict(bench.body["notes"])["No carton."]


# --- traveller --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("binding", ["sewn", "glued", "stitched"])
def test_the_traveller_tells_every_count(novel: Work, binding: str) -> None:
    work = {"sewn": novel, "glued": glued(), "stitched": stitched()}[binding]
    counts = work.quantities.counts
    rows = traveller.rows_of(work.plan, counts)
    for bench in dict.fromkeys(count.bench for count in counts):
        for field in ("goes_in", "set_up", "spoil", "comes_out"):
            told = sum(getattr(row, field) for row in rows if row.bench == bench)
            assert told == sum(getattr(count, field) for count in counts if count.bench == bench), (bench, field)
    assert list(dict.fromkeys(row.bench for row in rows)) == list(dict.fromkeys(count.bench for count in counts))
    for row in rows:
        assert row.goes_in - row.set_up - row.spoil == row.comes_out
    [bench] = traveller.benches(work)
    assert bench.due == (f"{sum(c.goes_in for c in counts if c.bench == 'press'):,}", f"{work.quantities.copies:,}")


def test_a_bench_gives_what_the_next_one_takes() -> None:
    rows = [row for row in traveller.rows_of(glued().plan, glued().quantities.counts) if row.what == "books"]
    for one, after in pairwise(rows):
        assert one.comes_out == after.goes_in, (one, after)
    [*_, books] = traveller.totals_of(rows)
    assert books[2:] == [f"{rows[0].goes_in:,}", "0", f"{rows[0].goes_in - rows[-1].comes_out:,}", "1,500"]


def test_many_kinds_of_sheets_share_a_row(novel: Work) -> None:
    press = [count for count in novel.quantities.counts if count.bench == "press"]
    many = [evolve(press[0], sheets=(n,)) for n in range(1, 13)]
    kinds = tuple(evolve(novel.plan.kinds[0], label=f"kind {n}", sheets=(n,)) for n in range(1, 13))
    [row] = traveller.rows_of(evolve(novel.plan, kinds=kinds), many)
    assert row.goes_in == 12 * press[0].goes_in and row.what == "12 kinds of sheets"


# --- cautions ---------------------------------------------------------------------------------------------------------


def test_every_bench_that_can_hurt_says_so(novel: Work) -> None:
    for work in (novel, glued(), stitched()):
        for bench in benches(work):
            assert bench.cautions and bench.as_data(True)["cautions"][-1] == DEFER
    assert "guillotine" in " ".join(CAUTIONS["trimming"]) and "three-knife" in " ".join(CAUTIONS["trimming"])
    assert "hot" in " ".join(CAUTIONS["case"]) and "Glue" in " ".join(CAUTIONS["gluing"])
    assert all("Lift" in " ".join(CAUTIONS[name]) for name in ("stock", "gathering", "packing"))
    assert all(word in DEFER for word in ("Local codes", "maker’s manual", "trained"))
