# SPDX-License-Identifier: AGPL-3.0-or-later
"""Every fact of the handbook that make-up rests on is held by a test, or stands in a list with the reason why not."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import SHARED
from tests.handbook.facts import HERE, facts

#: topics of the handbook that are kept whole: schemes, fold names, sizes, paper, push-out, trims and lip, signatures
TOPICS = {1, 2, 3, 4, 5, 9, 11}
#: and these of the topics that are kept in part
ALSO = {"section-count", "collate-step", "collate-6pt", "collate-wrap"}
NOT_RECKONED: list[dict[str, str]] = tomllib.loads((HERE / "not_reckoned.toml").read_text("utf-8"))["not_reckoned"]


@cache
def _handbook() -> dict[str, dict[str, Any]]:
    file = SHARED / "handbook" / "handbook.toml"
    if not file.exists():
        pytest.skip(f"{file} is not here")
    return {entry["id"]: entry for entry in tomllib.loads(file.read_text("utf-8"))["check"]}


@cache
def _tests() -> str:
    """All test modules but this one."""
    files = sorted(HERE.parent.rglob("test_*.py"))
    return "\n".join(file.read_text("utf-8") for file in files if file != Path(__file__))


def _named(fact: str) -> bool:
    return re.search(rf"(?<![\w-]){re.escape(fact)}(?![\w-])", _tests()) is not None


def test_every_fact_of_these_topics_is_tested_or_listed() -> None:
    limits = tomllib.loads((HERE / "limits.toml").read_text("utf-8"))["fact"]
    kept = {fact for fact in facts() if _named(fact)} | {fact["handbook"] for fact in limits}
    listed = {entry["id"] for entry in NOT_RECKONED}
    wanted = {name for name, entry in _handbook().items() if entry["topic"] in TOPICS or name in ALSO}
    assert wanted - kept - listed == set()
    assert kept & listed == set(), "tested, and listed as not reckoned"
    assert listed <= wanted


def test_every_fact_here_is_named_by_a_test() -> None:
    assert [fact for fact in facts() if not _named(fact)] == []


@pytest.mark.parametrize("entry", NOT_RECKONED, ids=lambda entry: entry["id"])
def test_what_is_not_reckoned_has_its_reason(entry: dict[str, str]) -> None:
    assert set(entry) == {"id", "why"}
    assert len(entry["why"].split()) >= 4


@pytest.mark.parametrize("fact", sorted(facts()))
def test_a_fact_here_is_the_handbooks(fact: str) -> None:
    """Figures that the handbook states apart from its words stand here as they stand there.

    What the handbook does not hold was recalled, and says of what.
    """
    ours, theirs = facts()[fact], _handbook().get(fact)
    assert ours["source"].strip()
    if theirs is None:
        assert ours["read"] == "memory"
        return
    assert ours["read"] == theirs["read"]
    for part in ("inputs", "outputs"):
        for key, figure in theirs.get(part, {}).items():
            if key in ours.get(part, {}):
                assert ours[part][key] == figure, key
    if theirs.get("outputs"):
        assert ours.get("outputs"), "the handbook's figures are left out"


#: figures that the handbook marks as wrong in its source: what was printed, which must not stand here
MISPRINTS = {
    "bulk-80-1.5": ("block_mm", 4),  # the source's own figures give 6.0
    "bs-inch-mm": ("demy", [143, 213]),  # 8 3/4 in are 222 mm
}


@pytest.mark.parametrize("fact", MISPRINTS)
def test_no_misprint_was_copied(fact: str) -> None:
    key, wrong = MISPRINTS[fact]
    figure = facts()[fact]["outputs"][key]
    assert figure != wrong
    assert wrong not in (list(figure.values()) if isinstance(figure, dict) else [figure])
