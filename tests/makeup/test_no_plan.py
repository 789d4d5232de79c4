# SPDX-License-Identifier: AGPL-3.0-or-later
"""When nothing fits: the sentence, by how much, and the ways out, each of which is taken and must lead to a plan.

Sizes of the shop are those of the shipped house file; what is over or under is worked by hand beside each case.  A
panel is the trim and what the knives take off: 4 mm at the fore-edge, 5 mm at head and at foot.
"""

from __future__ import annotations

import re
import time
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from attrs import evolve, frozen

from foldproof.errors import ExitCode, NoPlan
from foldproof.job.load import load_house
from foldproof.job.model import House, HouseStock, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan

HOUSE = load_house(None)
DEMY, A4, SMALL = (140.0, 216.0), (210.0, 297.0), (80.0, 110.0)
COLOURS = ("Cyan", "Magenta", "Yellow", "Black")


@frozen
class Case:
    """A book that does not fit, and what must be said of it."""

    pages: int
    trim: tuple[float, float]
    job: dict[str, Any]
    says: tuple[str, ...]
    #: ways out that must be among those offered
    would: tuple[str, ...] = ()
    house: House = HOUSE
    inks: tuple[str, ...] | None = None


def changed(house: House, table: str, **fields: object) -> House:
    """The house with some fields of every entry of a table changed."""
    entries = tuple(entry.model_copy(update=fields) for entry in getattr(house, table))
    return house.model_copy(update={table: entries})


def of_stock(stock: HouseStock) -> House:
    return HOUSE.model_copy(update={"stocks": (stock,), "usual_stock": stock.name})


USUAL = next(stock for stock in HOUSE.stocks if stock.name == HOUSE.usual_stock)
LONG_GRAIN = of_stock(
    USUAL.model_copy(
        update={"sheets": tuple(s for s in USUAL.sheets if s.size == (640.0, 900.0) and s.grain == "long")}
    )
)
NO_GLUE = HOUSE.model_copy(update={"lines": tuple(line for line in HOUSE.lines if "glued" not in line.bindings)})
CLOSED_HEADS = HOUSE.model_copy(update={"schemes": tuple(s for s in HOUSE.schemes if s.name in ("8", "16", "32"))})
SIXTEENS = HOUSE.model_copy(update={"schemes": tuple(s for s in HOUSE.schemes if s.name == "16")})

CASES = {
    # a 16 is 4 x 2 panels: 4 x 214 = 856, 2 x 307 = 614; margins 2 x 5 and 10 + 5: 866 - 700, 629 - 500
    "sheets of a press too small": Case(
        150, A4, {"press": {"name": "Taper 740"}, "sections": {"pages": 16}},
        ("are 856 x 614 mm", "166 mm too wide and 129 mm too high for its sheet of 700 x 500 mm"),
        ("a sheet of at least 866 x 629 mm on a press that takes it", "sections of 8, 4 pages",
         "press Beacon 1620 or Lamplighter 1020",
         # the margins of that press: 11 mm of gripper, 6 mm of tail
         "a sheet of 866 x 631 mm on Lamplighter 1020"),
    ),
    # 4 x 144 = 576, 2 x 226 = 452; 576 + 10 - 560 = 26, 452 + 15 - 400 = 67
    "sheet of the job too small": Case(
        150, DEMY, {"paper": {"sheet": "560 x 400 mm"}, "sections": {"pages": 16}},
        ("26 mm too wide and 67 mm too high for its sheet of 560 x 400 mm",),
        ("a sheet of 586 x 467 mm on Taper 740",),
    ),
    # 2000 - 1620 = 380, 1500 - 1220 = 280
    "sheet larger than every press": Case(
        150, DEMY, {"paper": {"sheet": "2000 x 1500 mm"}},
        ("Beacon 1620 runs sheets from 880 x 640 mm to 1620 x 1220 mm", "1500 x 2000 mm: 380 mm too large"),
        ("a sheet between 880 x 640 mm and 1620 x 1220 mm",),
    ),
    # the smallest press runs 210 x 140: 210 - 200 = 10, 140 - 100 = 40
    "sheet smaller than every press": Case(
        16, SMALL, {"paper": {"sheet": "200 x 100 mm"}}, ("Rushlight 520 runs sheets", "100 x 200 mm: 40 mm too small")
    ),
    "sheet that the named press does not run": Case(
        150, DEMY, {"paper": {"sheet": "1000 x 700 mm"}, "press": {"name": "Taper 740"}},
        ("Taper 740 runs sheets", "260 mm too large"), ("press Beacon 1620 or Lamplighter 1020",),
    ),
    "folder does not fold the scheme": Case(
        150, DEMY, {"bindery": {"folder": "Midge"}, "sections": {"fold": "12"}},
        ("folder Midge does not fold scheme '12'",), ("sections of 16, 8, 4 pages", "folder Moth or Lacewing"),
    ),
    "no folder folds the scheme": Case(
        150, DEMY, {"sections": {"pages": 24}}, ("no folder of the house folds scheme '24'",),
        house=changed(HOUSE, "folders", schemes=("4", "8", "16")),
    ),
    "paper too heavy for the fold": Case(
        150, DEMY, {"sections": {"pages": 32}, "paper": {"stock": "Glaze Silk 135"}},
        ("folder Moth folds 32 pages up to 90 g/m2, and the paper has 135 g/m2",),
        ("a paper of at most 90 g/m2 for 32-page sections",),
    ),
    "paper too heavy for every fold": Case(
        150, DEMY, {"paper": {"grammage": 300, "bulk": 1.0}},
        ("folds 16 pages up to 150 g/m2, and the paper has 300 g/m2",),
    ),
    # the 16 of A4, 614 x 856, in a folder of 520 x 740: 94 and 116 over
    "piece larger than the folder takes": Case(
        150, A4, {"bindery": {"folder": "Midge"}, "sections": {"pages": 16}},
        ("want 614 x 856 mm of paper, 116 mm more than folder Midge takes",),
    ),
    # a 4 is 2 x 1 panels: 2 x 84 = 168 by 120, in a folder of 200 x 280 at least: 80 and 112 under
    "piece smaller than the folder holds": Case(
        150, SMALL, {"bindery": {"folder": "Moth"}, "sections": {"pages": 4}},
        ("want 120 x 168 mm of paper, 112 mm less than folder Moth can hold",), ("folder Midge",),
    ),
    # a panel of 80 + 4 = 84 mm against 100
    "panel too short": Case(
        150, SMALL, {"sections": {"pages": 16}}, ("folds every 84 mm", "folds no shorter than 100 mm"),
        ("a page larger by 16 mm, or another folder",), changed(HOUSE, "folders", panel_min=100.0),
    ),
    # a panel of 216 + 10 = 226 mm against 200
    "panel too long": Case(
        150, DEMY, {"sections": {"pages": 16}}, ("folds every 226 mm", "reaches 200 mm"),
        ("a page smaller by 26 mm, or another folder",), changed(HOUSE, "folders", panel_max=200.0),
    ),
    # 16 leaves of 90 x 2.0 / 1000 = 0.18 mm are 2.88 mm
    "section too thick for the last fold": Case(
        150, DEMY, {"sections": {"pages": 32}, "paper": {"grammage": 90, "bulk": 2.0}},
        ("32 pages folded are 2.9 mm thick", "up to 2.5 mm"),
    ),
    "lip wider than the folder makes": Case(
        64, DEMY, {"book": {"binding": "stitched"}}, ("folds a lip of 5 mm to 15 mm", "one of 20 mm"),
        ("a lip of 5 mm to 15 mm", 'lip = "none"'), changed(HOUSE, "lines", lip_size=20.0),
    ),
    # spines up the sheet, as its grain wants them: 614 x 856 on 900 x 640: 856 + 11 + 6 - 640 = 233
    "grain held the wrong way only": Case(
        160, A4, {"sections": {"pages": 16}}, ("with the grain along the spine", "233 mm too high"),
        ("the grain across the spine, which makes a book that opens badly: then the job says paper.grain",),
        LONG_GRAIN,
    ),
    # 304 / 2 x 0.117 = 17.784
    "stitched book too thick": Case(
        304, DEMY, {"book": {"binding": "stitched"}}, ("are 17.8 mm thick", "no stitch holds more than 12 mm"),
        ('binding = "sewn"', 'binding = "glued"'),
    ),
    # 2600 / 2 x 0.117 = 152.1 against 150
    "block thicker than the line takes": Case(2600, DEMY, {}, ("152.1 mm thick", "2.1 mm too thick")),
    # 16 / 2 x 0.117 = 0.936 against 3
    "block thinner than the line takes": Case(
        16, DEMY, {"book": {"binding": "glued"}}, ("0.9 mm thick", "no less than 3 mm"),
        house=changed(HOUSE, "lines", block_min=3.0),
    ),
    "trim over the three knives": Case(
        150, (340.0, 450.0), {}, ("10 mm over the width", "three knives of Weaver"), ("a trim of at most 330 x 440 mm",)
    ),
    "trim under the three knives": Case(
        150, (70.0, 110.0), {}, ("5 mm under the width", "three knives of Weaver"), ("a trim of at least 75 x 100 mm",)
    ),
    "binding that no line makes": Case(
        150, DEMY, {"book": {"binding": "glued"}}, ("No line of Lantern Row Press makes glued books",),
        ('binding = "sewn"', 'binding = "stitched"'), NO_GLUE,
    ),
    "binding that the named line does not make": Case(
        150, DEMY, {"book": {"binding": "glued"}, "bindery": {"line": "Weaver"}},
        ("Line Weaver of Lantern Row Press does not make glued books",),
    ),
    # two 16s side by side: 2 x 452 = 904 by 576; 904 + 10 - 700 = 214, 576 + 15 - 500 = 91
    "work and turn without twice the width": Case(
        160, DEMY, {"press": {"name": "Taper 740", "way": "work and turn"}, "sections": {"pages": 16}},
        ("printed work and turn, are 904 x 576 mm", "214 mm too wide and 91 mm too high"),
        ("way to print 'two formes'",),
    ),
    # the one press that perfects runs nothing below 880 x 640: 880 - 500 = 380, 640 - 350 = 290
    "way that no press prints on the sheet": Case(
        160, DEMY, {"press": {"way": "perfecting"}, "paper": {"sheet": "350 x 500 mm"}},
        ("Beacon 1620 runs sheets", "380 mm too small"),
    ),
    # four units, two of them for the back
    "more inks than are perfected": Case(
        160, DEMY, {"press": {"way": "perfecting"}},
        ("carry up to 4 inks", "Beacon 1620 perfects 2 on the front with 2 on the back"),
        ("way to print 'two formes', 'work and turn' or 'work and tumble'",), inks=COLOURS,
    ),
    "ink on both sides of a sheet printed on one": Case(
        160, DEMY, {"press": {"way": "one side"}}, ("has an empty back",)
    ),
    "open head that the scheme has not": Case(
        160, DEMY, {"sections": {"head": "open", "pages": 16}},
        ("'16' has its head closed, and the job asks for open",),
        ("sections of 12, 8, 4 pages", "the head closed"),
    ),
    "open head that no scheme has": Case(
        160, DEMY, {"sections": {"head": "open"}}, ("No scheme of Lantern Row Press is left", "asks for open"),
        ("the head closed",), CLOSED_HEADS,
    ),
    "closed head that the named scheme has not": Case(
        160, DEMY, {"sections": {"head": "closed", "fold": "12 long"}}, ("'12 long' has its head open",),
        ('scheme "12"', "the head open"),
    ),
    "scheme that cannot be sewn": Case(
        60, DEMY, {"sections": {"fold": "6 roll"}}, ("'6 roll' cannot be sewn", "no other half"), ('binding = "glued"',)
    ),
    "size that cannot be sewn": Case(60, DEMY, {"sections": {"pages": 6}}, ("cannot be sewn",), ('binding = "glued"',)),
    # 5 mm of head against 6
    "bolts that the knife does not reach": Case(
        160, DEMY, {"sections": {"pages": 16}}, ("bolts at the head, where only 5 mm is taken off",),
        ("sections of 4 pages",),
        HOUSE.model_copy(update={"allowances": HOUSE.allowances.model_copy(update={"bolt_min": 6.0})}),
    ),
    # 150 = 9 x 16 + 6: an 8 holds them with 2 to spare; 148 = 9 x 16 + 4, 152 = 9 x 16 + 8
    "no blanks allowed": Case(
        150, DEMY, {"sections": {"blanks": 0}}, ("2 pages are left blank", "the job allows none"),
        ("148 pages", "152 pages", "blanks = 2"),
    ),
    # 150 = 10 x 16 - 10; with 3 blanks 157 to 160 pages, or 141 to 144
    "fewer blanks than sixteens leave": Case(
        150, DEMY, {"sections": {"blanks": 3}}, ("10 pages are left blank", "the job allows no more than 3"),
        ("144 pages", "157 pages", "blanks = 10"), SIXTEENS,
    ),
    # 21 = 16 + 5: 20 and 24 fill whole sections
    "insert in the middle of a section": Case(
        160, DEMY, {"insert": [{"first_page": 22, "pages": 4}]}, ("3 blank pages would stand in the middle",),
        ("the insert 1 page earlier, at page 21", "the insert 3 pages later, at page 25"),
    ),
    # 64 pages of text: the centre is behind page 32
    "insert off the centre of a stitched book": Case(
        68, DEMY, {"book": {"binding": "stitched"}, "insert": [{"first_page": 30, "pages": 4}]},
        ("In a stitched book of 64 pages of text", "at page 33"),
    ),
}  # fmt: skip


def planned(case: Case, **more: Any) -> tuple[Plan, ...]:
    inks = None if case.inks is None else [case.inks] * case.pages
    return plans(case.pages, case.trim, Job.model_validate(case.job), case.house, title="A book", inks=inks, **more)


@cache
def refused(name: str) -> NoPlan:
    return refusal(CASES[name])


def refusal(case: Case) -> NoPlan:
    with pytest.raises(NoPlan) as nothing:
        planned(case)
    assert nothing.value.exit_code is ExitCode.NO_PLAN
    return nothing.value


# --- taking the ways out --------------------------------------------------------------------------------------------


def asking(case: Case, **tables: dict[str, Any]) -> Case:
    """The same book with other words in its job; ``None`` takes a word out."""
    job = dict(case.job)
    for name, words in tables.items():
        table = {**job.get(name, {}), **words}
        job[name] = {key: value for key, value in table.items() if value is not None}
    return evolve(case, job=job)


def names(told: str) -> list[str]:
    return [name.strip("'\" ") for name in re.split(r", | or ", told)]


def sized(told: str) -> tuple[float, float]:
    width, height = (float(side) for side in re.findall(r"[\d.]+", told))
    return width, height


def on_a_like_press(case: Case, size: str, said: str) -> Case:
    """The sheet on a press of the same margins that takes it."""
    (press,) = (press for press in case.house.presses if f"margins of {press.name} " in said)
    like = press.model_copy(update={"sheet_max": (3000.0, 3000.0), "printable": None})
    there = asking(evolve(case, house=case.house.model_copy(update={"presses": (like,)})), paper={"sheet": size})
    return asking(there, press={"name": None})


Taken = Callable[[Case, "re.Match[str]", str], list[Case]]
SIZE = r"([\d.]+ x [\d.]+ mm)"
#: what a way out says, and the books that come of taking it
WAYS_OUT: list[tuple[str, Taken]] = [
    (rf"a sheet of at least {SIZE} on a press that takes it", lambda c, m, said: [on_a_like_press(c, m[1], said)]),
    (rf"a sheet of {SIZE} on (.+)", lambda c, m, _: [asking(c, paper={"sheet": m[1]}, press={"name": m[2]})]),
    (rf"a sheet between {SIZE} and {SIZE}", lambda c, m, _: [asking(c, paper={"sheet": m[2]})]),
    (r"sections of ([\d, ]+) pages",
     lambda c, m, _: [asking(c, sections={"pages": int(n), "fold": None}) for n in names(m[1])]),
    (r'scheme "(.+)"', lambda c, m, _: [asking(c, sections={"fold": m[1]})]),
    (r"press (.+)", lambda c, m, _: [asking(c, press={"name": name}) for name in names(m[1])]),
    (r"way to print (.+)", lambda c, m, _: [asking(c, press={"way": way}) for way in names(m[1])]),
    (r"folder (.+)", lambda c, m, _: [asking(c, bindery={"folder": name}) for name in names(m[1])]),
    (r"paper (.+)", lambda c, m, _: [
        asking(c, paper={"stock": name, "grammage": None, "bulk": None}) for name in names(m[1])]),
    (r"a paper of at most ([\d.]+) g/m2 for \d+-page sections",
     lambda c, m, _: [asking(c, paper={"grammage": float(m[1]), "stock": None})]),
    (rf"a trim of at (?:most|least) {SIZE}", lambda c, m, _: [evolve(c, trim=sized(m[1]))]),
    (r"a page (larger|smaller) by ([\d.]+) mm, or another folder",
     lambda c, m, _: [evolve(c, trim=tuple(side + float(m[2]) * (1 if m[1] == "larger" else -1) for side in c.trim))]),
    (r"a lip of ([\d.]+) mm to ([\d.]+) mm",
     lambda c, m, _: [evolve(c, house=changed(c.house, "lines", lip_size=float(mm))) for mm in (m[1], m[2])]),
    (r'lip = "none"', lambda c, m, _: [asking(c, bindery={"lip": "none"})]),
    (r'binding = "(\w+)"', lambda c, m, _: [asking(c, book={"binding": m[1]})]),
    (r"the head (open|closed)", lambda c, m, _: [asking(c, sections={"head": m[1]})]),
    (r"the grain across the spine, which .+: then the job says paper.grain",
     lambda c, m, _: [asking(c, paper={"grain": c.house.stocks[0].sheets[0].grain})]),
    (r"(\d+) pages", lambda c, m, _: [evolve(c, pages=int(m[1]))]),
    (r"blanks = (\d+)", lambda c, m, _: [asking(c, sections={"blanks": int(m[1])})]),
    (r"the insert \d+ pages? (?:earlier|later), at page (\d+)",
     lambda c, m, _: [evolve(c, job={**c.job, "insert": [{**c.job["insert"][0], "first_page": int(m[1])}]})]),
    (r'first_page = (\d+), how = "(\w+)"', lambda c, m, _: [
        evolve(c, job={**c.job, "insert": [{**c.job["insert"][0], "first_page": int(m[1]), "how": m[2]}]})]),
]  # fmt: skip

#: limits of a machine or a paper that the house has not: nothing to be tried with what it has
LIMITS = (
    r"a thinner paper(, or sections of fewer than \d+ pages|, fewer pages, or the book in two volumes)?",
    r'a bulkier paper, more pages, or binding = "stitched"',
    rf"a folder (and a sheet that take|that holds pieces of) {SIZE}",
)


def taken(case: Case, way_out: str, said: str) -> list[Case]:
    for words, take in WAYS_OUT:
        found = re.fullmatch(words, way_out)
        if found:
            return take(case, found, said)
    assert any(re.fullmatch(words, way_out) for words in LIMITS), f"a way out that nobody tried: {way_out}"
    return []


# --- the tests ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", CASES)
def test_why_and_by_how_much(name: str) -> None:
    case, nothing = CASES[name], refused(name)
    for words in case.says:
        assert words in str(nothing)
    assert set(case.would) <= set(nothing.would), nothing.would
    # one sentence or two, and none that ends twice
    assert re.fullmatch(r"[A-Z0-9].*[^.]\.", str(nothing)) and ".." not in str(nothing)
    assert len(set(nothing.would)) == len(nothing.would) and not any(way.endswith(".") for way in nothing.would)


@pytest.mark.parametrize("name", CASES)
def test_every_way_out_that_is_named_leads_to_a_plan(name: str) -> None:
    case, nothing = CASES[name], refused(name)
    tried = [(way, other) for way in nothing.would for other in taken(case, way, str(nothing))]
    for way, other in tried:
        try:
            assert planned(other, most=1)
        except NoPlan as again:
            pytest.fail(f"{way}: {again}")
    assert nothing.would and (tried or name == "block thicker than the line takes" or "block thinner" in name)


def test_the_wanted_section_is_told_of_first() -> None:
    """A 16 misses the sheet by far more than the 8 that would make up its rest, and the 4 fits."""
    # 4 x 304 + 10 - 700 = 526 and 2 x 430 + 15 - 500 = 375 for the 16; the 8 is 608 x 860, its spine up the sheet: less
    nothing = refusal(Case(168, (300.0, 420.0), {"press": {"name": "Taper 740"}, "sections": {"pages": 16}}, ()))
    assert "16 pages folded by scheme '16' are 1216 x 860 mm" in str(nothing)
    assert "526 mm too wide and 375 mm too high" in str(nothing)
    # neither what a folder lacks for another scheme of so many pages
    other = refusal(Case(96, DEMY, {"sections": {"pages": 12}, "paper": {"sheet": "350 x 500 mm"}}, ()))
    assert "12 pages folded by scheme '12" in str(other) and "too wide" in str(other)


def test_the_allowance_of_the_house_bends_where_nothing_keeps_to_it_and_that_is_said() -> None:
    """150 pages in 16s alone leave 10 blank, and the house allows 3: a wish of the house, and so planned and told."""
    plan = planned(evolve(CASES["fewer blanks than sixteens leave"], job={}))[0]
    assert plan.blanks_back == 10
    assert "10 at the end, more than the 3 that the house allows" in plan.assumptions[2]


@pytest.mark.parametrize("blanks", [0, 1, 2, 3])
@pytest.mark.parametrize("pages", [145, 146, 147, 148, 149])
def test_blanks_are_as_the_job_says_or_nothing_is_planned(pages: int, blanks: int) -> None:
    case = Case(pages, DEMY, {"sections": {"blanks": blanks}}, ())
    # no piece of folded paper has fewer than four pages
    if -pages % 4 <= blanks:
        assert planned(case, most=1)[0].blanks_back == -pages % 4
    else:
        assert f"{4 * (pages // 4)} pages" in refusal(case).would


@pytest.mark.parametrize(
    "job",
    [
        {"press": {"name": "Taper 740"}, "sections": {"pages": 32}},
        {"paper": {"sheet": "2000 x 1500 mm", "stock": "Wick Bible 40"}},
        {"paper": {"stock": "Glaze Silk 135"}, "sections": {"pages": 32}},
        {"paper": {"stock": "Wick Bible 40"}, "press": {"way": "perfecting"}},
    ],
)
def test_a_refusal_of_a_thick_book_is_quick(job: dict[str, Any]) -> None:
    """2,400 pages with colour here and there: less than 3 s of reckoning."""
    inks = [COLOURS if nth % 7 == 0 else COLOURS[nth % 4 :: 3] for nth in range(2400)]
    began = time.process_time()
    with pytest.raises(NoPlan):
        plans(2400, A4, Job.model_validate(job), HOUSE, title="A book", inks=inks)
    assert time.process_time() - began < 3.0
