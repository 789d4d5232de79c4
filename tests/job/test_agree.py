# SPDX-License-Identifier: AGPL-3.0-or-later
"""Values of a job or house file that are each right and do not go together: told in one sentence."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from foldproof.errors import AskedWrong, ExitCode
from foldproof.job.agree import insert_pages, job_slips
from foldproof.job.load import load_house, load_job, resolve
from foldproof.job.model import Insert, Job

Write = Callable[[str], Path]

HOUSE = """
name = "Lantern Row Press"
usual_stock = "Hearth"
[[press]]
name = "Rushlight"
sheet_max = "740 x 530 mm"
sheet_min = "300 x 200 mm"
printable = "730 x 515 mm"
gripper = "10 mm"
tail = "10 mm"
side = "5 mm"
inks = 4
perfecting = 2
ways = ["two formes", "work and turn", "perfecting"]
[[press]]
name = "Candle"
sheet_max = "520 x 370 mm"
sheet_min = "210 x 140 mm"
gripper = "10 mm"
tail = "5 mm"
side = "5 mm"
ways = ["two formes", "work and turn"]
[[scheme]]
name = "8"
columns = 2
rows = 2
folds = ["top over", "left over"]
[[scheme]]
name = "24 with offcut"
columns = 4
rows = 3
folds = ["right under", "bottom over", "left under"]
head = "bottom"
offcut_rows = 1
offcut_folds = ["right under", "left under"]
[[folder]]
name = "Snuffer"
schemes = ["8"]
sheet_max = "740 x 530 mm"
sheet_min = "150 x 100 mm"
panel_min = "50 mm"
panel_max = "370 mm"
lip_min = "5 mm"
lip_max = "15 mm"
grammage_max = { 8 = 150 }
[[line]]
name = "Needle"
bindings = ["sewn"]
stations = 12
trim_min = "80 x 110 mm"
trim_max = "300 x 400 mm"
block_min = "2 mm"
block_max = "60 mm"
lip = "low folio"
[[stock]]
name = "Hearth"
grammage = 90
bulk = 1.3
price_per_kg = 1.1
sheets = [{ size = "640 x 900 mm", grain = "long" }]
"""


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def written(text: str) -> Path:
        path = tmp_path / "FILE.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def _one_sentence(told: AskedWrong, path: Path, says: list[str]) -> None:
    message = str(told)
    for word in [str(path), *says]:
        assert word in message, message
    assert "\n" not in message
    assert message.endswith((".", "?", ")"))
    assert told.exit_code is ExitCode.ASKED_WRONG


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        # a slip, and the words that the sentence about it must hold: where, what is wrong, what to write
        ('printable = "730 x 515 mm"', 'printable = "750 x 515 mm"', ["press 1, printable", "750 x", "740 x 530"]),
        ('printable = "730 x 515 mm"', 'printable = "730 x 535 mm"', ["press 1, printable", "730 x 535 mm"]),
        ("perfecting = 2", "perfecting = 4", ["press 1, perfecting", "4 of 4 inks", "or 0"]),
        ("inks = 4\nperfecting = 2", "inks = 1\nperfecting = 1", ["press 1, perfecting", "1 of 1 ink "]),
        ("perfecting = 2\n", "", ["press 1, ways", "does not perfect"]),
        ('ways = ["two formes", "work and turn", "perfecting"]', "ways = []", ["press 1, ways", "at least one"]),
        ('"work and turn", "perfecting"]', '"two formes", "perfecting"]', ["press 1, ways", '"two formes" is']),
        ('"work and turn", "perfecting"]', '"work and turm"]', ["press 1, ways 2", 'nearest: "work and turn"']),
        ('name = "Candle"', 'name = "Rushlight"', ["press:", '"Rushlight" is used twice']),
        ('name = "24 with offcut"', 'name = "8"', ["scheme:", '"8" is used twice']),
        ("offcut_rows = 1", "offcut_rows = 3", ["scheme 2, offcut_rows", "3 of 3 rows"]),
        ("offcut_rows = 1\n", "", ["scheme 2, offcut_rows", "is missing"]),
        ('offcut_folds = ["right under", "left under"]', "", ["scheme 2, offcut_folds", "is missing"]),
        ('["right under", "left under"]', '["rihgt under"]', ["scheme 2, offcut_folds", '"rihgt', "left 1 over"]),
        ('panel_min = "50 mm"', 'panel_min = "380 mm"', ["folder 1, panel_min", "380 mm", "370 mm"]),
        ('lip_min = "5 mm"', 'lip_min = "15.5 mm"', ["folder 1, lip_min", "15.5 mm", "15 mm"]),
        ('lip_min = "5 mm"\n', "", ["folder 1, lip_min", "is missing", "lip_max"]),
        ('lip_max = "15 mm"\n', "", ["folder 1, lip_max", "is missing", "lip_min"]),
        ("grammage_max = { 8 =", "grammage_max = { 2 =", ["folder 1, grammage_max", "2 pages"]),
        ('sheet_min = "150 x 100 mm"', 'sheet_min = "150 x 540 mm"', ["folder 1, sheet_min", "150 x 540 mm"]),
        ('trim_min = "80 x 110 mm"', 'trim_min = "80 x 410 mm"', ["line 1, trim_min", "80 x 410 mm", "300 x 400 mm"]),
        ('block_min = "2 mm"', 'block_min = "60.05 mm"', ["line 1, block_min", "60.05 mm", "60 mm"]),
        ('bindings = ["sewn"]', 'bindings = ["sewn", "sewn"]', ["line 1, bindings", '"sewn" is named twice']),
        ('bindings = ["sewn"]', "bindings = []", ["line 1, bindings", "at least 1"]),
        ('bindings = ["sewn"]', 'bindings = ["sown"]', ["line 1, bindings 1", 'nearest: "sewn"']),
        ('lip = "low folio"', 'lip = "low folio"\nlip_size = "0 mm"', ["line 1, lip_size", "how wide"]),
        ("stations = 12\n", "", ["line 1, stations", "missing"]),
        ("bulk = 1.3", 'bulk = 1.3\ncaliper = "0.11 mm"', ["stock 1", "bulk", "caliper", "not both"]),
        ("bulk = 1.3\n", "", ["stock 1", "bulk", "caliper", "not neither"]),
        ("price_per_kg = 1.1", 'price_per_kg = "1.1"', ["stock 1, price_per_kg", "a number"]),
        ("price_per_kg = 1.1", "price_per_kg = -1", ["stock 1, price_per_kg", "at least 0"]),
        ('usual_stock = "Hearth"', 'usual_stock = "Hearth"\nusual_copies = 0', ["usual_copies", "more than 0"]),
        ('usual_stock = "Hearth"', 'usual_stock = "Hearth"\n[allowances]\nspoil_press = 50', ["spoil_press", "less"]),
        ('usual_stock = "Hearth"', 'usual_stock = "Hearth"\n[allowances]\nbottling = 1', ["bottling", "unit"]),
        ("offcut_rows = 1", "offcut_row = 1", ["scheme 2, offcut_row", 'did you mean "offcut_rows"?']),
    ],
)  # fmt: skip
def test_a_house_whose_values_do_not_go_together(write: Write, old: str, new: str, says: list[str]) -> None:
    assert HOUSE.count(old) == 1
    path = write(HOUSE.replace(old, new))
    with pytest.raises(AskedWrong) as told:
        load_house(path)
    _one_sentence(told.value, path, says)


def test_lines_are_named_once(write: Write) -> None:
    line = HOUSE[HOUSE.index("[[line]]") : HOUSE.index("[[stock]]")]
    with pytest.raises(AskedWrong, match='line: the name "Needle" is used twice; give each line a name'):
        load_house(write(HOUSE.replace(line, line + line)))


@pytest.mark.parametrize(
    ("table", "what"),
    [
        ('[[board]]\nname = "Grey"\nthickness = "2 mm"\nsheet = "700 x 1000 mm"\n', "board"),
        ('[[cloth]]\nname = "Grey"\nthickness = "0.3 mm"\nroll_width = "1000 mm"\n', "cloth"),
        ('[[carton]]\nname = "Grey"\ninside = "400 x 300 mm"\nheight = "200 mm"\nweight_max = 15\n', "carton"),
    ],
)
def test_boards_cloths_and_cartons_are_named_once(write: Write, table: str, what: str) -> None:
    load_house(write(HOUSE + table))
    with pytest.raises(AskedWrong, match=f'{what}: the name "Grey" is used twice; give each {what} a name'):
        load_house(write(HOUSE + table + table))


def test_limits_that_are_alike_agree(write: Write) -> None:
    """A machine for one size alone is a machine."""
    text = HOUSE.replace('panel_min = "50 mm"', 'panel_min = "370 mm"').replace('lip_min = "5 mm"', 'lip_min = "15 mm"')
    text = text.replace('block_min = "2 mm"', 'block_min = "60 mm"').replace("730 x 515", "740 x 530")
    assert load_house(write(text)).folders[0].panel_min == 370


def test_more_slips_than_one_are_counted(write: Write) -> None:
    text = HOUSE.replace("perfecting = 2", "perfecting = 4").replace("offcut_rows = 1\n", "")
    with pytest.raises(AskedWrong, match=r"^[^(]*press 1, perfecting.*\(1 more to put right in this file\.\)$"):
        load_house(write(text))


def test_a_stock_may_state_its_caliper(write: Write) -> None:
    stock = load_house(write(HOUSE.replace("bulk = 1.3", 'caliper = "110 pt"'))).stocks[0]
    # 110 pt of 1/72 in (international inch, 25.4 mm): 38.8056 mm
    assert stock.caliper_mm == pytest.approx(38.8056, abs=1e-4)


ROUND = '[[insert]]\nfirst_page = 17\npages = 8\nhow = "round"\nholds = 16\n'


def _between(first: int, pages: int = 4, how: str = "between") -> str:
    return f'[[insert]]\nfirst_page = {first}\npages = {pages}\nhow = "{how}"\n'


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (_between(17) + "holds = 16", ["insert 1, holds", '"between"', 'how = "round"']),
        (_between(17, how="inside") + "holds = 16", ["insert 1, holds", '"inside"']),
        (_between(17, how="round"), ["insert 1, holds", "is missing"]),
        (_between(17) + _between(20), ["insert 2, first_page", "page 20", "insert 1"]),
        (_between(20) + _between(17), ["insert 2, first_page", "page 20", "insert 1"]),
        (_between(17) + _between(17), ["insert 2, first_page", "page 17"]),
        # round: 17 to 20, the 16 pages of text 21 to 36, then 37 to 40
        (ROUND + _between(20), ["insert 2, first_page", "page 20"]),
        (ROUND + _between(34), ["insert 2, first_page", "page 37"]),
        (ROUND + _between(40), ["insert 2, first_page", "page 40"]),
        (_between(17, pages=6), ["insert 1, pages", "multiple of 4"]),
        (_between(0), ["insert 1, first_page", "more than 0"]),
        (_between(17, how="around"), ["insert 1, how", '"round"']),
        ("[[spread]]\nfirst_page = 40\n" * 2, ["spread 2, first_page", "page 40", "spread 1"]),
        ("[[spread]]\nfirst_page = 40\n[[spread]]\nfirst_page = 41", ["spread 2, first_page", "page 41"]),
        ("[[spread]]\nfirst_page = 40\n[[spread]]\nfirst_page = 39", ["spread 2, first_page", "page 40"]),
        ("[sections]\nsigned_leaves = []", ["sections.signed_leaves", "signature = false"]),
        ("[sections]\nsigned_leaves = [0]", ["sections.signed_leaves", "0 is no leaf", "from 1"]),
        ("[sections]\nsigned_leaves = [-1]", ["sections.signed_leaves", "-1 is no leaf"]),
        ("[sections]\nsigned_leaves = [1, 3, 1]", ["sections.signed_leaves", "leaf 1", "twice"]),
        ("[sections]\nsigned_leaves = [33]", ["sections.signed_leaves", "leaf 33", "has 32"]),
        ("[sections]\npages = 16\nsigned_leaves = [1, 9]", ["sections.signed_leaves", "leaf 9", "16 pages has 8"]),
        ("[sections]\nsigned_leaves = 1", ["sections.signed_leaves", "list"]),
        ('[book]\nbinding = "leaflet"\n[bindery]\nline = "Needle"', ["bindery.line", "leaflet", '"Needle"']),
        ('[paper]\nbulk = 1.3\ncaliper = "0.11 mm"', ["paper.bulk", "caliper"]),
        ('[press]\nway = "work and twist"', ["press.way", '"work and turn"']),
        ('[bindery]\nlip = "high"', ["bindery.lip", '"high folio"', '"none"']),
        ("[sections]\nblanks = -1", ["sections.blanks", "at least 0"]),
    ],
)
def test_a_job_whose_values_do_not_go_together(write: Write, text: str, says: list[str]) -> None:
    path = write(text)
    with pytest.raises(AskedWrong) as told:
        load_job(path)
    _one_sentence(told.value, path, says)


@pytest.mark.parametrize(
    "text",
    [
        _between(17) + _between(21),
        ROUND + _between(13) + _between(41),
        # inside the text that the first one holds
        ROUND + _between(21) + _between(33),
        "[[spread]]\nfirst_page = 40\n[[spread]]\nfirst_page = 42",
        "[sections]\npages = 16\nsigned_leaves = [1, 3, 8]",
        '[book]\nbinding = "leaflet"',
    ],
)
def test_neighbours_do_not_overlap(write: Write, text: str) -> None:
    assert isinstance(load_job(write(text)), Job)


@given(st.integers(1, 60), st.integers(1, 5), st.sampled_from([0, 4, 16, 32]))
def test_an_insert_takes_as_many_pages_as_it_has(first: int, quads: int, holds: int) -> None:
    """Round a section: as many before the text as behind it, whatever it holds."""
    told = {"first_page": first, "pages": 4 * quads}
    pages = insert_pages(Insert.model_validate({**told, "how": "round", "holds": holds} if holds else told))
    assert len(pages) == 4 * quads and min(pages) == first
    assert max(pages) == first + 4 * quads + holds - 1
    if holds:
        gap = set(range(first, max(pages) + 1)) - pages
        assert gap == set(range(first + 2 * quads, first + 2 * quads + holds))


@given(st.lists(st.integers(1, 30), min_size=2, max_size=5))
def test_spreads_agree_when_no_page_stands_in_two(firsts: list[int]) -> None:
    job = Job.model_validate({"spread": [{"first_page": first} for first in firsts]})
    apart = all(abs(a - b) > 1 for n, a in enumerate(firsts) for b in firsts[n + 1 :])
    assert apart == (not list(job_slips(job)))


# --- the job against the house ----------------------------------------------------------------------------------------


def test_a_job_calls_for_a_folder_and_a_line(write: Write) -> None:
    house = load_house(write(HOUSE))
    named = resolve(Job.model_validate({"bindery": {"folder": "Snuffer", "line": "Needle"}}), house)
    assert named.folder is house.folders[0] and named.line is house.lines[0]
    nothing = resolve(Job(), house)
    assert (nothing.folder, nothing.line) == (None, None)


@pytest.mark.parametrize(
    ("job", "says"),
    [
        ({"bindery": {"folder": "Snufer"}}, ["bindery.folder", '"Snufer"', 'did you mean "Snuffer"?']),
        ({"bindery": {"line": "Needles"}}, ["bindery.line", "binding line", 'did you mean "Needle"?']),
        (
            {"insert": [{"first_page": 5, "pages": 4}, {"first_page": 17, "pages": 4, "stock": "Hearths"}]},
            ["insert 2, stock", '"Hearths"', 'did you mean "Hearth"?'],
        ),
        ({"press": {"way": "work and tumble"}}, ["press.way", "no press of Lantern Row Press", '"perfecting"']),
        (
            {"press": {"name": "Candle", "way": "perfecting"}},
            ["press.way", 'Candle does not print "perfecting"', '"two formes", "work and turn"'],
        ),
    ],
)
def test_a_job_that_calls_for_what_the_house_lacks(write: Write, job: dict[str, object], says: list[str]) -> None:
    house = load_house(write(HOUSE))
    with pytest.raises(AskedWrong) as told:
        resolve(Job.model_validate(job), house)
    message = str(told.value)
    for word in says:
        assert word in message, message
    assert "\n" not in message and message.endswith((".", "?"))


def test_a_way_that_another_press_of_the_house_prints(write: Write) -> None:
    house = load_house(write(HOUSE))
    assert resolve(Job.model_validate({"press": {"way": "perfecting"}}), house).press is None
    named = resolve(Job.model_validate({"press": {"name": "Rushlight", "way": "perfecting"}}), house)
    assert named.press is house.presses[0]


def test_a_house_without_lines_knows_none(write: Write) -> None:
    line = HOUSE[HOUSE.index("[[line]]") : HOUSE.index("[[stock]]")]
    house = load_house(write(HOUSE.replace(line, "")))
    with pytest.raises(AskedWrong, match="none is known here"):
        resolve(Job.model_validate({"bindery": {"line": "Needle"}}), house)
