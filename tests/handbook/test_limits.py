# SPDX-License-Identifier: AGPL-3.0-or-later
"""The limits of the checks against published figures, and those figures against the handbook they were taken from."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from foldproof.job.load import load_house
from foldproof.preflight.registry import check_named
from foldproof.preflight.specs import load_spec
from foldproof.units import inch_to_mm
from tests.conftest import SHARED

FACTS: list[dict[str, Any]] = tomllib.loads(Path(__file__).with_name("limits.toml").read_text("utf-8"))["fact"]


def ours(name: str) -> float:
    """``"check/limit"`` is the default of a check, ``"spec: check/limit"`` that of a spec."""
    if name == "house bleed":
        return load_house(None).allowances.bleed
    spec, _, place = name.rpartition(": ")
    check, _, limit = place.partition("/")
    if spec:
        return load_spec(spec).limits_of(check_named(check)).number(limit)
    return float(check_named(check).limits[limit])


@pytest.mark.parametrize("fact", FACTS, ids=lambda fact: fact["ours"])
def test_a_limit_is_the_published_figure(fact: dict[str, Any]) -> None:
    published = inch_to_mm(fact["value"]) if fact["unit"] == "in" else fact["value"]
    assert ours(fact["ours"]) == pytest.approx(published)


@pytest.mark.parametrize("fact", FACTS, ids=lambda fact: fact["ours"])
def test_the_figure_stands_in_the_handbook(fact: dict[str, Any]) -> None:
    handbook = SHARED / "handbook" / "handbook.toml"
    if not handbook.exists():
        pytest.skip(f"{handbook} is not here")
    entries = {entry["id"]: entry for entry in tomllib.loads(handbook.read_text("utf-8"))["check"]}
    entry = entries[fact["handbook"]]
    if "output" in fact:
        figures = entry["outputs"][fact["output"]]
        assert (figures[fact["place"]] if "place" in fact else figures) == fact["value"]
    else:
        # an entry without figures of its own: they stand in its words
        assert f"{fact['value']:g} {fact['unit']}" in entry["statement"]
    assert entry["read"] == fact["read"]


def test_what_is_recalled_says_so() -> None:
    """A figure that nobody read up is marked so where people meet it."""
    for fact in FACTS:
        if fact["read"] == "memory":
            spec, _, place = fact["ours"].rpartition(": ")
            check, _, limit = place.partition("/")
            source = load_spec(spec or "any-book").source_of(check_named(check), limit)
            if not spec:
                source = check_named(check).limit_sources[limit]
            assert "from memory" in source, fact["ours"]
