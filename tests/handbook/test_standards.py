# SPDX-License-Identifier: AGPL-3.0-or-later
"""The clauses of the standards against the handbook they come from, and whether they own up to what is recalled."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve

from foldproof.manuscript.file_facts import Claims, FileFacts
from foldproof.preflight.standards import CLAUSES
from foldproof.preflight.standards.model import Standard
from tests.conftest import SHARED
from tests.preflight.cases_standards import X1A, a_file

FACTS: list[dict[str, Any]] = tomllib.loads(Path(__file__).with_name("standards.toml").read_text("utf-8"))["fact"]
BY_CLAUSE: dict[str, list[dict[str, Any]]] = {}
for _fact in FACTS:
    BY_CLAUSE.setdefault(_fact["clause"], []).append(_fact)


def broken(clause: str, standard: Standard, said: FileFacts, version: str = "1.4") -> bool:
    [entry] = [one for one in CLAUSES if one.id == clause and standard in one.standards]
    return entry.broken(a_file(said, version), standard) is not None


def test_every_clause_says_where_it_is_from() -> None:
    assert set(BY_CLAUSE) == {clause.id for clause in CLAUSES}
    for fact in FACTS:
        assert ("handbook" in fact) != ("source" in fact)


@pytest.mark.parametrize("fact", [one for one in FACTS if "handbook" in one], ids=lambda one: one["clause"])
def test_the_fact_stands_in_the_handbook(fact: dict[str, Any]) -> None:
    handbook = SHARED / "handbook" / "handbook.toml"
    if not handbook.exists():
        pytest.skip(f"{handbook} is not here")
    entries = {entry["id"]: entry for entry in tomllib.loads(handbook.read_text("utf-8"))["check"]}
    entry = entries[fact["handbook"]]
    assert entry["read"] == fact["read"]
    if "output" in fact:
        assert entry["outputs"][fact["output"]] == fact["value"]


@pytest.mark.parametrize("clause", CLAUSES, ids=lambda one: f"{one.id} {'-'.join(sorted(one.standards))}")
def test_what_is_recalled_says_so(clause: Any) -> None:
    """Unless somebody read every fact that a clause rests on, its source says that it is from memory."""
    if any(fact.get("read", "memory") == "memory" for fact in BY_CLAUSE[clause.id]):
        assert "from memory" in clause.source, clause.source


@pytest.mark.parametrize("fact", [one for one in FACTS if one["clause"] == "version-key"], ids=lambda one: one["value"])
def test_the_words_of_a_claim(fact: dict[str, Any]) -> None:
    standard = Standard[fact["standard"]]
    assert standard.value == fact["value"]
    said = Claims(xmp_version=fact["value"]) if standard is Standard.X4 else Claims(info_version=fact["value"])
    assert not broken("version-key", standard, FileFacts(claims=said))


@pytest.mark.parametrize("said", ["True", "False", "Unknown", None, "(False)"])
def test_the_words_for_trapped(said: str | None) -> None:
    [fact] = [one for one in FACTS if one["clause"] == "trapped"]
    claims = evolve(X1A.claims, info_trapped=said, xmp_trapped=said)
    for standard in Standard:
        assert broken("trapped", standard, FileFacts(claims=claims)) is (said not in fact["value"])


@pytest.mark.parametrize(
    "fact", [one for one in FACTS if one["clause"] == "pdf-version"], ids=lambda one: one["standard"]
)
def test_the_version_a_standard_rests_on(fact: dict[str, Any]) -> None:
    standard = Standard[fact["standard"]]
    assert not broken("pdf-version", standard, X1A, fact["value"])
    # of PDF/X-4 a later number in the first line is borne up to 1.7
    later = "2.0" if standard is Standard.X4 else "1.5"
    assert broken("pdf-version", standard, X1A, later)
