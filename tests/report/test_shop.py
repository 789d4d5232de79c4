# SPDX-License-Identifier: AGPL-3.0-or-later
"""A house as tables: what the house file states stands there, aligned, and nothing is cut off."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable
from importlib import resources
from typing import Any

import pytest

from foldproof.errors import AskedWrong
from foldproof.job.load import load_house
from foldproof.job.model import House
from foldproof.makeup.capability import capability
from foldproof.report.shop import WIDTH, reach_lines, shop_lines

HOUSE = load_house(None)
#: the file as it stands, read without the model
STATED: dict[str, Any] = tomllib.loads(
    resources.files("foldproof.job").joinpath("houses", "lantern-row.toml").read_text("utf-8")
)


def _tables(lines: list[str]) -> list[list[str]]:
    """Lines between empty ones."""
    return [block.splitlines() for block in "\n".join(lines).split("\n\n")]


def _row(lines: list[str], head: str, name: str) -> dict[str, str]:
    """One row of the table that has a column of that head, broken lines put together."""
    table = next(t for t in _tables(lines) if re.search(rf"(^|  ){re.escape(head)}(  |$)", t[0]))
    starts = [found.start() for found in re.finditer(r"(?<=  )\S|^\S", table[0])]
    heads = [table[0][a:b].strip() for a, b in zip(starts, [*starts[1:], None], strict=True)]
    at = next(nth for nth, line in enumerate(table) if line[: starts[1]].strip() == name)
    row: list[list[str]] = [[] for _ in starts]
    for nth in range(at, len(table)):
        if nth > at and table[nth][: starts[1]].strip():
            break
        for column, (a, b) in enumerate(zip(starts, [*starts[1:], None], strict=True)):
            # aligned: every cell begins below its head, with two columns free before it
            assert a == 0 or table[nth][a - 2 : a].strip() == "", table[nth]
            row[column].append(table[nth][a:b].strip())
    return {head: " ".join(filter(None, cell)) for head, cell in zip(heads, row, strict=True)}


def test_no_line_is_wider_than_a_terminal() -> None:
    lines = [*shop_lines(HOUSE), *reach_lines(capability(HOUSE))]
    assert max(map(len, lines)) <= WIDTH <= 120
    assert all(line == line.rstrip() and line.isprintable() for line in lines)


@pytest.mark.parametrize("told", STATED["press"], ids=lambda told: told["name"])
def test_a_press_with_its_figures(told: dict[str, Any]) -> None:
    lines = shop_lines(HOUSE)
    sizes = _row(lines, "largest image", told["name"])
    assert (sizes["smallest sheet"], sizes["largest sheet"]) == (told["sheet_min"], told["sheet_max"])
    assert (sizes["largest image"], sizes["lay"]) == (told["printable"], told["lay"])
    assert (sizes["gripper"], sizes["tail"], sizes["side"]) == (told["gripper"], told["tail"], told["side"])
    assert sizes["inks"].startswith(str(told["inks"]))
    assert ("perfecting" in sizes["inks"]) == ("perfecting" in told)
    work = _row(lines, "price a plate", told["name"])
    assert work["price a plate"] == f"{told['plate_price']:.2f} {STATED['currency']}"
    assert work["price an hour"] == f"{told['hour_price']:.2f} {STATED['currency']}"
    assert work["speed"] == f"{told['sheets_per_hour']} sheets/h"
    assert work["make-ready of a forme"] == f"{told['make_ready_sheets']} sheets, {told['make_ready_minutes']} min"
    assert ("perfecting" in work["prints"]) == ("perfecting" in told)


@pytest.mark.parametrize("told", STATED["folder"], ids=lambda told: told["name"])
def test_a_folder_with_its_figures(told: dict[str, Any]) -> None:
    lines = shop_lines(HOUSE)
    sizes = _row(lines, "fold to fold", told["name"])
    for key in ("panel_min", "panel_max"):
        assert told[key].removesuffix(" mm") in sizes["fold to fold"]
    assert sizes["lip"] == f"{told['lip_min'].removesuffix(' mm')} to {told['lip_max']}"
    assert sizes["last fold"] == f"to {told['thickest']}"
    for pages, grammage in told["grammage_max"].items():
        assert f"{pages}: {grammage} g/m2" in sizes["heaviest paper by pages"]
    work = _row(lines, "schemes", told["name"])
    assert work["schemes"].split(", ") == told["schemes"]
    assert work["price an hour"] == f"{told['hour_price']:.2f} {STATED['currency']}"


@pytest.mark.parametrize("told", STATED["line"], ids=lambda told: told["name"])
def test_a_binding_line_with_its_figures(told: dict[str, Any]) -> None:
    lines = shop_lines(HOUSE)
    sizes = _row(lines, "stations", told["name"])
    assert (sizes["smallest book"], sizes["largest book"]) == (told["trim_min"], told["trim_max"])
    assert (sizes["books"], sizes["stations"]) == (", ".join(told["bindings"]), str(told["stations"]))
    assert sizes["thickness"] == f"{told['block_min'].removesuffix(' mm')} to {told['block_max']}"
    assert sizes["lip"] == (f"{told['lip']}, {told['lip_size']}" if "lip" in told else "none")
    work = _row(lines, "make-ready of a pass", told["name"])
    assert work["speed"].startswith(f"{told['books_per_hour']} books/h")
    assert ("sewn" in work["speed"]) == ("sewn_sections_per_hour" in told)
    assert f"{told['station_minutes']} min a station" in work["make-ready of a pass"]


@pytest.mark.parametrize("told", STATED["scheme"], ids=lambda told: told["name"])
def test_a_scheme_with_its_folds(told: dict[str, Any]) -> None:
    row = _row(shop_lines(HOUSE), "folds, front up", told["name"])
    assert row["pages"] == str(2 * told["columns"] * told["rows"])
    assert row["folds, front up"].endswith(", ".join(told["folds"]))
    assert ("top row cut off and folded " + ", ".join(told.get("offcut_folds", ())) in row["folds, front up"]) == (
        "offcut_rows" in told
    )
    assert row["head"] == told.get("head", "top")


@pytest.mark.parametrize("told", STATED["stock"], ids=lambda told: told["name"])
def test_a_stock_with_its_sheets(told: dict[str, Any]) -> None:
    usual = " (usual)" if told["name"] == STATED["usual_stock"] else ""
    row = _row(shop_lines(HOUSE), "g/m2", told["name"] + usual)
    assert row["g/m2"] == str(told["grammage"])
    assert row["price a kg"] == f"{told['price_per_kg']:.2f} {STATED['currency']}"
    assert ("as stated" in row["a leaf"]) == ("caliper" in told)
    for sheet in told["sheets"]:
        assert sheet["size"].removesuffix(" mm") in row["grain: sheets in mm"]


def _changed(**tables: Callable[[dict[str, Any]], dict[str, Any]]) -> House:
    data = {key: [tables[key](dict(one)) for one in value] if key in tables else value for key, value in STATED.items()}
    return House.model_validate_json(json.dumps(data), strict=True)


def test_a_price_that_is_not_stated_is_said_to_be_missing() -> None:
    def bare(*keys: str) -> Callable[[dict[str, Any]], dict[str, Any]]:
        return lambda told: {key: value for key, value in told.items() if key not in keys}

    house = _changed(
        press=bare("plate_price", "sheets_per_hour", "printable"),
        folder=bare("hour_price", "panel_min", "panel_max", "thickest", "lip_min", "lip_max", "grammage_max"),
        line=bare("hour_price", "books_per_hour", "sewn_sections_per_hour", "block_min"),
        stock=bare("price_per_kg"),
    )
    lines = shop_lines(house.model_copy(update={"currency": ""}))
    assert "no currency is stated" in lines[1]
    press = _row(lines, "price a plate", "Taper 740")
    assert (press["price a plate"], press["price an hour"]) == ("no price stated", "88.00")
    assert press["speed"] == "no speed stated"
    folder = _row(lines, "fold to fold", "Moth")
    assert (folder["fold to fold"], folder["last fold"], folder["lip"]) == ("not stated", "not stated", "none")
    assert _row(lines, "stations", "Weaver")["thickness"] == "to 150 mm"
    assert _row(lines, "g/m2", "Wick Bible 40")["price a kg"] == "no price stated"


def test_sizes_held_with_one_grain_stand_apart() -> None:
    def long_only(told: dict[str, Any]) -> dict[str, Any]:
        kept = [sheet for sheet in told["sheets"] if sheet["grain"] == "long" or sheet["size"] == "640 x 900 mm"]
        return {**told, "sheets": kept}

    row = _row(shop_lines(_changed(stock=long_only)), "g/m2", "Wick Bible 40")
    assert row["grain: sheets in mm"] == (
        "long or short: 640 x 900 long: 700 x 1000, 720 x 1020, 890 x 1130, 1000 x 1400"
    )


def test_a_house_without_lines_says_so() -> None:
    assert any("No binding line is stated" in line for line in shop_lines(HOUSE.model_copy(update={"lines": ()})))


@pytest.mark.parametrize(
    ("name", "part", "times"),
    [
        ("[bold]Quill[/bold]", "[bold]Quill[/bold]", 1),
        (" ".join(["Quill"] * 30), "Quill", 30),
        ("Q" * 300, "Q", 300),
        ("\u706f\u53f0" * 40, "\u706f", 40),
    ],
)
def test_odd_names_are_neither_cut_off_nor_taken_for_more_than_names(name: str, part: str, times: int) -> None:
    house = HOUSE.model_copy(update={"presses": (HOUSE.presses[0].model_copy(update={"name": name}),)})
    lines = shop_lines(house)
    assert max(map(len, lines)) <= WIDTH
    sizes, work = _tables(lines)[1:3]
    for table in (sizes, work):
        assert table[0].startswith("Press")
        assert "".join(table).count(part) == times


@pytest.mark.parametrize("key", ["folds", "offcut_folds"])
def test_a_scheme_that_does_not_fold_is_told(key: str) -> None:
    def odd(told: dict[str, Any]) -> dict[str, Any]:
        return {**told, key: ["left 9 under"]} if told["name"] == "24 with offcut" else told

    with pytest.raises(AskedWrong, match=r"24 with offcut.*left 9 under"):
        shop_lines(_changed(scheme=odd))


@pytest.mark.parametrize("told", STATED["board"], ids=lambda told: told["name"])
def test_a_board_with_its_figures(told: dict[str, Any]) -> None:
    row = _row(shop_lines(HOUSE), "price a sheet", told["name"])
    assert (row["thickness"], row["sheet"], row["grain"]) == (told["thickness"], told["sheet"], told["grain"])
    assert row["g/m2"] == str(told["grammage"])
    assert row["price a sheet"] == f"{told['price_per_sheet']:.2f} crowns"


@pytest.mark.parametrize("told", STATED["cloth"], ids=lambda told: told["name"])
def test_a_cloth_with_its_figures(told: dict[str, Any]) -> None:
    row = _row(shop_lines(HOUSE), "roll", told["name"])
    assert (row["thickness"], row["roll"]) == (told["thickness"], f"{told['roll_width']} wide")
    assert row["price a metre"] == f"{told['price_per_metre']:.2f} crowns"


@pytest.mark.parametrize("told", STATED["carton"], ids=lambda told: told["name"])
def test_a_carton_with_its_figures(told: dict[str, Any]) -> None:
    row = _row(shop_lines(HOUSE), "at most", told["name"])
    assert (row["inside"], row["height"], row["at most"]) == (
        told["inside"],
        told["height"],
        f"{told['weight_max']:g} kg",
    )


def test_what_finishing_does_by_custom() -> None:
    text = " ".join("\n".join(shop_lines(HOUSE)).split())
    given = STATED["finishing"]
    for said in (
        f"{given['square']}, {given['joint']}",
        f"an arc of {given['round_angle']} degrees",
        ", then ".join(given["knives"]),
        f"lines from {given['die_line']}, spaces from {given['die_space']}",
        f"{STATED['ink_film']['uncoated']:g} on uncoated",
        f"at most {STATED['pallet']['weight_max']} kg without it",
    ):
        assert said in text


def test_a_house_without_boards_or_cartons_has_no_table_of_them() -> None:
    bare = HOUSE.model_copy(update={"boards": (), "cloths": (), "cartons": (), "pallet": None})
    heads = {table[0].split("  ")[0] for table in _tables(shop_lines(bare))}
    assert not heads & {"Board", "Cloth", "Carton", "Pallet"} and "Finishing" in heads


def test_spoilt_jackets_stand_there_where_the_house_states_them() -> None:
    told = " ".join(" ".join(shop_lines(HOUSE)).split())
    assert f"jacketing {STATED['allowances']['spoil_jacketing']:g} %" in told
    silent = HOUSE.allowances.model_copy(update={"spoil_jacketing": None})
    assert "jacketing" not in " ".join(shop_lines(HOUSE.model_copy(update={"allowances": silent})))
