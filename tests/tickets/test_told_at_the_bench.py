# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a hand at a bench has to be told, and what two benches say of one thing; sums worked with a pencil."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from types import ModuleType

import pymupdf
import pytest
from attrs import evolve

from foldproof.case.cover_sizes import jacket_sizes
from foldproof.makeup.plan import Press
from foldproof.quantities.model import Work
from foldproof.tickets import case, casing_in, gathering, packing, sewing, traveller, trimming
from foldproof.tickets.bench import Bench
from foldproof.tickets.gluing import gluing
from foldproof.tickets.trimming import lip_words
from foldproof.tickets.write import write_tickets
from tests.tickets.finished import by_hand, facts_of, made
from tests.tickets.test_ticket_runs import run, work
from tests.tickets.works import entries, work_of


@cache
def stitched() -> Work:
    return made(64, {"book": {"binding": "stitched"}})


def note(bench: Bench, head: str) -> str:
    return next((words for name, words in bench.body["notes"] if name == head), "")


def test_the_cover_of_a_stitched_book_lies_under_the_heads_and_round_the_closed_book() -> None:
    [bench], [knives] = sewing.benches(stitched()), trimming.benches(stitched())
    assert stitched().cover is not None and stitched().cover.caliper_mm == pytest.approx(0.117)
    facts = facts_of(bench)
    # 64 pages, 32 leaves of 0.117 mm; half of them lie open on the saddle, and the cover once: 17 x 0.117 = 1.989
    assert facts["under the heads"] == "16 leaves and the cover, 1.99 mm"
    # closed: 32 leaves and the cover twice, 34 x 0.117 = 3.978; the knives have the same book under their clamp
    assert facts["book, closed"] == "4 mm" and "One book is 3.98 mm thick" in note(knives, "Pile.")


def test_a_stitcher_takes_what_the_gatherer_gives() -> None:
    [gathered], [bench] = gathering.benches(stitched()), sewing.benches(stitched())
    count = next(one for one in stitched().quantities.counts if one.bench == "stitching")
    rows = {row.bench: row for row in traveller.rows_of(stitched().plan, stitched().quantities.counts)}
    gathering_row = rows["gathering"]
    # by the shipped house 1500 / 0.996 / 0.994 = 1515.1 books go to the stitcher: 1,516 are gathered, none of them lost
    assert (gathering_row.goes_in, gathering_row.spoil, gathering_row.comes_out) == (1516, 0, 1516)
    assert list(rows)[2:4] == ["gathering", "stitching"] and rows["stitching"].goes_in == 1516
    assert ["Gathering", "books", "1,516", "0", "0", "1,516"] in traveller.benches(stitched())[0].body["rows"]
    assert gathered.due == (f"{count.goes_in:,}", f"{count.goes_in:,}")
    assert gathered.due[1] == bench.due[0] and bench.due[1] == f"{count.comes_out:,}" != bench.due[0]


def test_pieces_of_a_stitched_book_are_told_apart_by_their_stars() -> None:
    """The innermost is laid first; a piece set inside another carries a star (common practice, no source)."""
    [bench] = gathering.benches(stitched())
    [section] = stitched().plan.sections
    count = len(section.pieces)
    assert count > 1
    assert [row[2] for row in bench.body["rows"]] == ["1" + "*" * inside for inside in reversed(range(count))]
    assert [row[5] for row in bench.body["rows"]] == list(reversed(section.pieces))


@pytest.mark.parametrize(("asked", "half"), [(None, "higher"), ("low folio", "lower")])
def test_the_folder_is_told_which_half_stands_out(asked: str | None, half: str) -> None:
    """The feeder opens a section by its lip: the half of the house's line, or the one that the job asks for."""
    book = made(64, {"book": {"binding": "stitched"}, **({"bindery": {"lip": asked}} if asked else {})})
    words = " ".join(lip_words(book, kind) for kind in book.plan.kinds)
    assert f"The half with the {half} pages of each section stands out by a lip of 9 mm" in words


def test_more_inks_than_units_are_more_passes(samples: ModuleType) -> None:
    """Five inks on four units: two loads for either side, so four times through the press, and a word of it."""
    inks = ("Cyan", "Magenta", "Yellow", "Black", "Lantern Red")
    small = Press("Lantern two", 12.0, 6.0, 6.0)
    again = run(1, way="work and turn", inks=(inks, inks), formes=(1, 0, 1, 0), press=small)
    [entry] = entries(work(evolve(samples.plan(16), runs=(again,))), "press")
    assert dict(entry["facts"])["passes through the press"] == "4"
    assert "sheet 1 goes through 4 times" in " ".join(entry["body"]["says"])
    for way, formes in (("work and turn", (1, 0)), ("two formes", (1, 1)), ("perfecting", (2,))):
        plan = evolve(samples.plan(16), runs=(run(1, way=way, formes=formes),))
        [entry] = entries(work(plan), "press")
        assert dict(entry["facts"])["passes through the press"] == f"{len(formes)}"
        assert "More inks" not in " ".join(entry["body"]["says"])


def test_a_jacket_is_put_on_before_the_book_is_packed() -> None:
    book = made(150, {"jacket": {"flaps": "80 mm"}, "run": {"copies": 750}})
    jacket = jacket_sizes(book.plan, book.job, book.house, book.quantities.thickness, book.case)
    assert jacket is not None
    [bench] = packing.benches(evolve(book, jacket=jacket))
    words = note(bench, "Jacket.")
    # flat back: a panel is 140 + square 3 + strip 2.5 + cloth 0.35 = 145.85, the wrap 2.5 + 2 x 0.35 = 3.2; the spine
    # 75 or 76 leaves of 0.117, endpapers 4 x 0.117, ten threads of 0.3 x 0.5 x 0.5, lining 0.5, boards 5, cloth 0.7
    leaves, sections = len(book.plan.places) // 2, len(book.plan.sections)
    spine = leaves * 0.117 + 4 * 0.117 + sections * 0.3 * 0.5 * 0.5 + 0.5 + 5.0 + 0.7
    wide = 2 * (145.85 + 3.2 + 80.0) + spine
    told = re.search(r"([\d.]+) x 222 mm lying open", words)
    assert told is not None and float(told[1]) == pytest.approx(wide, abs=0.06)
    # 750 / 0.995 = 753.8: four more than books, by what the house states of putting them on
    assert "80 mm each" in words and "750 jackets, and 4 over for those spoilt" in words
    assert not note(packing.benches(book)[0], "Jacket.")


@pytest.mark.parametrize("reading", ["left to right", "right to left"])
@pytest.mark.parametrize("reads", ["head to foot", "foot to head"])
def test_case_and_casing_in_agree_on_the_board_that_lies_up(reading: str, reads: str, samples: ModuleType) -> None:
    """A spine faces the eye, head up.  Letters that read downwards are turned clockwise, their tops at the right.

    There lies the front board of a book read from left to right, the back board of one read from right to left
    (geometry; it is upright when the board lies up towards which its letters stand).
    """
    job = {"book": {"reading": reading}, "stamping": {"ink": "Foil", "spine_reads": reads, "mirror": True}}
    book = by_hand(samples, (140.0, 216.0), 32, job)
    tops_right, front_right = reads == "head to foot", reading == "left to right"
    board = "front" if tops_right == front_right else "back"
    stamped = note(case.benches(book)[0], "Stamping.")
    hung = note(casing_in.benches(book)[0], "Which way is up.")
    for words in (stamped, hung):
        assert f"from {reads}" in words and f"when the {board} board lies up" in words
    assert "mirrored" in stamped


def test_nothing_is_said_of_stamping_where_nothing_is_stamped(samples: ModuleType) -> None:
    [bench] = case.benches(by_hand(samples, (140.0, 216.0), 32))
    assert not note(bench, "Stamping.")


def test_a_glued_cover_is_fed_longer_at_the_foot() -> None:
    """trim-perfect of the handbook: 3/16 in longer at the foot; 3 / 16 x 25.4 = 4.76 mm."""
    assert "4.8 mm beyond" in note(gluing(made(96, {"book": {"binding": "glued"}})), "Cover.")
    [_, covered] = sewing.benches(made(96, {"cover": {"kind": "paper"}}))
    assert "beyond" not in note(covered, "Cover.")


def test_the_sections_of_a_thin_back_are_numbered(samples: ModuleType, tmp_path: Path) -> None:
    """The picture is drawn wider, its sections numbered as in the list: a row of figures above the bars."""
    write_tickets(work_of(samples.plan(48)), tmp_path / "tickets.pdf", tmp_path)
    [path] = tmp_path.glob("*-gathering.pdf")
    with pymupdf.open(path) as document:
        words = document[0].get_text("words")
    [foot] = [word[1] for word in words if word[4] == "true"]
    rows: dict[int, list[tuple[float, str]]] = {}
    for x, y, _, _, text, *_ in words:
        if text in ("1", "2", "3") and y < foot:
            rows.setdefault(round(y), []).append((x, text))
    # the first section lies at the right
    assert ["3", "2", "1"] in [[text for _, text in sorted(row)] for row in rows.values()]
