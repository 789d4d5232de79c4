# SPDX-License-Identifier: AGPL-3.0-or-later
"""Presets of the ink zones: what was measured of every plate, in the standard's terms; nothing where nothing was."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest
from attrs import evolve

from foldproof.quantities.model import InkCover, InkCovers, Work
from foldproof.xjdf.write import INK_ZONES, write_xjdf
from tests.xjdf.elements import all_of, millimetres, numbers, parts, root_of
from tests.xjdf.jobs import planned

ZONE_MM = 32.5
INKS = ("Black", "Lamp Red")


def measured(way: str, notes: tuple[str, ...] = ()) -> Work:
    """A work whose covers are made up by hand: the ``n``-th zone from the left is ``n`` per cent covered."""
    work = planned(32, {"press": {"way": way}}, inks=[INKS] * 32)
    zones = {
        sheet.number: tuple((nth + 1) / 100 for nth in range(math.ceil(sheet.width_mm / ZONE_MM)))
        for sheet in work.plan.instructions.sheets
    }
    covers = tuple(
        InkCover(number, side, ink, zones[number] if side == "front" else zones[number][::-1], 0.1)
        for number in zones
        for side in ("front", "back")
        for ink in INKS
    )
    return evolve(work, ink=InkCovers(dict.fromkeys(zones, ZONE_MM), covers, notes))


def test_every_plate_has_its_zones(tmp_path: Path, schema_errors: Callable[[Path], list[str]]) -> None:
    work = measured("two formes", ("Sheet 9 was not measured.",))
    assert write_xjdf(work, tmp_path / "job.xjdf") == (tmp_path / "job.xjdf", tmp_path / INK_ZONES)
    path = tmp_path / "ink-zones.xjdf"
    assert schema_errors(path) == []
    root = root_of(path)
    assert root.get("Types") == "InkZoneCalculation"
    assert "Sheet 9 was not measured." in [one.text for one in all_of(root, "Comment")]
    colours = {parts(one)[0]["Separation"]: one.get("ActualColorName") for one in all_of(root, "Color")}
    found = {}
    for one in all_of(root, "InkZoneProfile"):
        (part,) = parts(one)
        assert millimetres(one, "ZoneWidth") == [pytest.approx(ZONE_MM, abs=0.001)]
        found[part["SheetName"], part["Side"], colours[part["Separation"]]] = numbers(one, "ZoneSettingsX")
    assert work.ink is not None
    assert found == {
        (f"S{cover.sheet}", cover.side.capitalize(), cover.ink): list(cover.zones) for cover in work.ink.covers
    }
    # from the left of the side as it prints: one per cent first on the front, last on the back
    front, back = found["S1", "Front", "Black"], found["S1", "Back", "Black"]
    assert front[0] == back[-1] == 0.01 and front[-1] == back[0] == len(front) / 100


def test_zones_lie_out_from_the_middle_of_the_sheet(tmp_path: Path) -> None:
    work = measured("two formes")
    write_xjdf(work, tmp_path / "job.xjdf")
    wide = {f"S{sheet.number}": sheet.width_mm for sheet in work.plan.instructions.sheets}
    asked = all_of(root_of(tmp_path / INK_ZONES), "InkZoneCalculationParams")
    assert {part["SheetName"] for one in asked for part in parts(one)} == set(wide)
    for one in asked:
        for part in parts(one):
            x0, _, x1, _ = millimetres(one, "PrintableArea")
            assert (x0 + x1) / 2 == pytest.approx(wide[part["SheetName"]] / 2, abs=0.001)
            assert x1 - x0 == pytest.approx(int(one.get("Zones")) * ZONE_MM, abs=0.001)
            assert x0 <= 0 and x1 >= wide[part["SheetName"]]


def test_one_plate_for_both_sides_has_its_zones_once(
    tmp_path: Path, schema_errors: Callable[[Path], list[str]]
) -> None:
    work = measured("work and turn")
    write_xjdf(work, tmp_path / "job.xjdf")
    assert schema_errors(tmp_path / INK_ZONES) == []
    profiles = [parts(one)[0] for one in all_of(root_of(tmp_path / INK_ZONES), "InkZoneProfile")]
    assert len(profiles) == len(INKS) * work.plan.sheets
    assert all("Side" not in part for part in profiles)


@pytest.mark.parametrize("ink", [None, InkCovers({}, ())])
def test_nothing_measured_nothing_written(tmp_path: Path, ink: InkCovers | None) -> None:
    work = evolve(planned(32, {}), ink=ink)
    assert write_xjdf(work, tmp_path / "job.xjdf") == (tmp_path / "job.xjdf",)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["job.xjdf"]
