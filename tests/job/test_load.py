# SPDX-License-Identifier: AGPL-3.0-or-later
"""Job and house files: what is read, and how a slip is told."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from foldproof.errors import AskedWrong, ExitCode
from foldproof.job.load import load_house, load_job, resolve
from foldproof.job.model import House, Job

Write = Callable[[str], Path]

JOB = """
[book]
title = "The Lamplighter's Almanac"
trim = "5 1/2 in x 8 1/2 in"
bleed = "1/8 in"
binding = "glued"
[paper]
grammage = 90
[sections]
pages = 16
[marks]
register = false
[[check.waived]]
check = "bleed"
page = 41
reason = "meant so"
by = "the publisher"
"""

HOUSE = """
name = "Lantern Row Press"
usual_stock = "Hearth"
[[press]]
name = "Rushlight"
sheet_max = "740 x 530 mm"
sheet_min = "300 x 200 mm"
gripper = "10 mm"
tail = "4 mm"
side = "4 mm"
[[scheme]]
name = "8"
columns = 2
rows = 2
folds = ["top over", "left over"]
[[folder]]
name = "Snuffer"
schemes = ["8"]
sheet_max = "740 x 530 mm"
sheet_min = "150 x 100 mm"
grammage_max = { 8 = 150, 16 = 115.5 }
[[stock]]
name = "Hearth"
grammage = 90
bulk = 1.3
sheets = [{ size = "640 x 900 mm", grain = "long" }]
"""


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def written(text: str) -> Path:
        path = tmp_path / "JOB.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def test_a_job_is_read_in_millimetres(write: Write) -> None:
    job = load_job(write(JOB))
    # international inch, 1959: 25.4 mm exactly
    assert job.book.trim == pytest.approx((139.7, 215.9))
    assert job.book.bleed == pytest.approx(3.175)
    assert job.book.binding == "glued"
    assert (job.sections.pages, job.paper.grammage) == (16, 90)
    assert (job.marks.register_targets, job.marks.trim) == (False, True)
    assert [(w.check, w.page, w.by) for w in job.check.waived] == [("bleed", 41, "the publisher")]


def test_an_empty_job_is_all_defaults(write: Write) -> None:
    assert load_job(write("")) == Job()


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "JOB.toml"
    path.write_bytes(b"\xef\xbb\xbf" + JOB.encode())
    assert load_job(path).book.binding == "glued"


def test_a_spec_file_is_looked_for_beside_the_job(write: Write, tmp_path: Path) -> None:
    assert load_job(write('[check]\nspec = "ours.toml"')).check.spec == str(tmp_path / "ours.toml")
    assert load_job(write('[check]\nspec = "colour-on-coated"')).check.spec == "colour-on-coated"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        # a slip, and the words that the sentence about it must hold: where, what is wrong, what to write
        ('[book]\ntrim = "140 x 216"', ["book.trim", "140 x 216", "unit", '"140 x 216 mm"']),
        ("[book]\ntrim = 140", ["book.trim", "text with its unit", "140"]),
        ('[book]\ntrim = "140 mm"', ["book.trim", "width x height"]),
        ('[book]\ntrim = "0 x 216 mm"', ["book.trim", "nought"]),
        ('[book]\ntrim = "14000 x 21600 mm"', ["book.trim", "ten metres"]),
        ("[book]\nbleed = 3", ["book.bleed", "text with its unit", '"3 mm"']),
        ('[book]\nbleed = "3 furlongs"', ["book.bleed", "3 furlongs", '"1/8 in"']),
        ('[book]\nbleed = "-3 mm"', ["book.bleed", "at least 0", "-3 mm"]),
        ('[book]\nbleed = "1/0 in"', ["book.bleed", "nought"]),
        ('[book]\ntrimm = "140 x 216 mm"', ["book.trimm", "[book]", 'did you mean "trim"?']),
        ('[boook]\ntitle = "x"', ["boook", "top of the file", 'did you mean "book"?']),
        ("[book]\nzzz = 1", ["book.zzz", "known are", '"trim"', '"bleed"']),
        (
            '[book]\nbinding = "sewed"',
            ["book.binding", '"sewed"', '"sewn", "glued", "stitched" or "leaflet"', 'nearest: "sewn"'],
        ),
        ("[book]\nbinding = 3", ["book.binding", "3 is no choice"]),
        ("[book]\ntitle = 7", ["book.title", "double quotes", "7"]),
        ("[book]\nblanks_front = 3", ["book.blanks_front", "multiple of 2"]),
        ("[book]\nblanks_front = true", ["book.blanks_front", "whole number", "true"]),
        ("[sections]\npages = 10", ["sections.pages", "10", "8, 12"]),
        ('[sections]\npages = "16"', ["sections.pages", '"16" is no choice']),
        ("[run]\ncopies = 1.5", ["run.copies", "whole number", "1.5"]),
        ("[run]\ncopies = 0", ["run.copies", "more than 0"]),
        ('[marks]\ntrim = "no"', ["marks.trim", "true or false", '"no"']),
        ("[paper]\ngrammage = nan", ["paper.grammage", "nan"]),
        ('[paper]\ncaliper = "0 mm"', ["paper.caliper", "more than 0"]),
        ("book = 3", ["book:", "table", "3"]),
        ('[[check.waived]]\ncheck = "bleed"\nreason = "so"\nby = "me"', ["check.waived 1, reason", "3 letters"]),
        ('[[check.waived]]\ncheck = "bleed"\nby = "me"', ["check.waived 1, reason", "missing"]),
        ("[book]\ntitle = bare", ["line 2, column 9", "double quotes"]),
        ("[book\n", ["line 1"]),
        ('[book]\ntitle = "x"\ntitle = "y"', ["TOML", "overwrite"]),
        ("x = " + "[" * 4000, ["nested too deeply"]),
    ],
)
def test_a_slip_is_told_in_one_sentence(write: Write, text: str, says: list[str]) -> None:
    path = write(text)
    with pytest.raises(AskedWrong) as told:
        load_job(path)
    message = str(told.value)
    for word in [str(path), *says]:
        assert word in message, message
    assert "\n" not in message
    assert message.endswith((".", "?", ")"))
    assert told.value.exit_code is ExitCode.ASKED_WRONG


def test_more_slips_than_one_are_counted(write: Write) -> None:
    with pytest.raises(AskedWrong, match=r"\(2 more to put right in this file\.\)"):
        load_job(write('[book]\nbinding = "sewed"\nreading = "up"\nauthr = "x"'))


def test_a_missing_file_a_folder_and_foreign_bytes(tmp_path: Path) -> None:
    with pytest.raises(AskedWrong, match="There is no job file"):
        load_job(tmp_path / "none.toml")
    with pytest.raises(AskedWrong, match="is a folder"):
        load_job(tmp_path)
    odd = tmp_path / "latin.toml"
    odd.write_bytes(b'[book]\ntitle = "F\xe4hre"\n')
    with pytest.raises(AskedWrong, match="line 2 is not UTF-8"):
        load_job(odd)
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 4_000_001)
    with pytest.raises(AskedWrong, match="larger than 4 MB"):
        load_job(large)


def test_the_shipped_house_is_valid_and_whole() -> None:
    house = load_house(None)
    assert house.name == "Lantern Row Press"
    assert house.presses and house.folders and house.schemes and len(house.stocks) > 1
    assert house.usual_stock in [stock.name for stock in house.stocks]


def test_a_house_is_read(write: Write) -> None:
    house = load_house(write(HOUSE))
    assert house.folders[0].grammage_max == {8: 150, 16: 115.5}
    # ISO 534: thickness is grammage times bulk; 90 g/m2 x 1.3 cm3/g = 117 um
    assert house.stocks[0].caliper_mm == pytest.approx(0.117)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('usual_stock = "Hearth"', 'usual_stock = "Harth"', ["usual_stock", '"Harth"', 'did you mean "Hearth"?']),
        ('schemes = ["8"]', 'schemes = ["16"]', ["folder 1, schemes", '"16"']),
        ('"top over"', '"topp over"', ["scheme 1, folds", '"topp over"', "right under"]),
        ('"top over"', '"top 0 over"', ["scheme 1, folds"]),
        ('sheet_min = "300 x 200 mm"', 'sheet_min = "800 x 200 mm"', ["press 1, sheet_min", "800 x 200 mm"]),
        ("bulk = 1.3", 'bulk = "1.3"', ["stock 1, bulk", "a number"]),
        ("grammage = 90\n", "", ["stock 1, grammage", "missing"]),
        ('grain = "long"', 'grain = "lang"', ["stock 1, sheets 1, grain", 'nearest: "long"']),
        ('gripper = "10 mm"', "gripper = 10", ["press 1, gripper", "unit"]),
        ("[[stock]]", '[[stock]]\ncolor = "white"', ["stock 1, color", "[stock 1]", "unknown key"]),
        ("grammage_max = { 8 = 150", "grammage_max = { eight = 150", ["folder 1, grammage_max"]),
    ],
)
def test_a_house_that_does_not_agree_with_itself(write: Write, old: str, new: str, says: list[str]) -> None:
    assert old in HOUSE
    with pytest.raises(AskedWrong) as told:
        load_house(write(HOUSE.replace(old, new, 1)))
    for word in says:
        assert word in str(told.value), str(told.value)


def test_names_are_used_once(write: Write) -> None:
    twice = HOUSE + HOUSE[HOUSE.index("[[stock]]") :]
    with pytest.raises(AskedWrong, match='"Hearth" is used twice'):
        load_house(write(twice))


@pytest.fixture
def house(write: Write) -> House:
    return load_house(write(HOUSE))


def test_a_job_calls_for_what_the_house_has(house: House) -> None:
    job = Job.model_validate({"press": {"name": "Rushlight"}, "paper": {"stock": "Hearth"}, "sections": {"fold": "8"}})
    named = resolve(job, house)
    assert named.press is house.presses[0]
    assert named.stock is house.stocks[0]
    assert named.scheme is house.schemes[0]
    nothing = resolve(Job(), house)
    assert (nothing.press, nothing.stock, nothing.scheme) == (None, None, None)


@pytest.mark.parametrize(
    ("table", "key", "name", "near"),
    [
        ("press", "name", "Rushlite", "Rushlight"),
        ("paper", "stock", "hearth 90", "Hearth"),
        ("sections", "fold", "88", "8"),
    ],
)
def test_a_job_that_calls_for_what_the_house_lacks(house: House, table: str, key: str, name: str, near: str) -> None:
    job = Job.model_validate({table: {key: name}})
    with pytest.raises(AskedWrong) as told:
        resolve(job, house)
    for word in (f"{table}.{key}", house.name, f'"{name}"', f'did you mean "{near}"?'):
        assert word in str(told.value), str(told.value)


@pytest.mark.parametrize(
    ("table", "key"),
    [
        ('[cover]\nboard = "Gray Board 2"', 'cover.board: Lantern Row Press has no board "Gray Board 2"; did you mean'),
        ('[cover]\ncloth = "Lantern Linnen"', 'cover.cloth: .* has no cloth .* did you mean "Lantern Linen"'),
        ('[cover]\nendpaper_stock = "Hearth 80"', "cover.endpaper_stock: .* has no stock"),
        ('[cover]\nstock = "Hearth 80"', "cover.stock: .* has no stock"),
        ('[jacket]\nstock = "Hearth 80"', "jacket.stock: .* has no stock"),
    ],
)
def test_what_goes_round_a_book_is_looked_up_in_the_house(write: Write, table: str, key: str) -> None:
    with pytest.raises(AskedWrong, match=key):
        resolve(load_job(write(table)), load_house())


def test_board_and_cloth_are_found_by_name(write: Write) -> None:
    named = resolve(load_job(write('[cover]\nboard = "Grey Board 2"\ncloth = "Lantern Linen"')), load_house())
    assert named.board is not None and named.board.thickness == 2
    assert named.cloth is not None and named.cloth.roll_width == 1320
    assert resolve(Job(), load_house()).board is None
