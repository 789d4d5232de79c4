# SPDX-License-Identifier: AGPL-3.0-or-later
"""The findings on real books that a person has looked at: no false ``stop``, at most 2 % false queries, none unread.

A verdict file bears the name of its check and holds one ``[[finding]]`` for every finding that was looked at: the book,
the page (0: the whole book), cause, severity, ``right`` or ``wrong``, and what was seen on the page.
"""

from __future__ import annotations

import tomllib
from collections import Counter, defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from foldproof.job.load import load_house
from foldproof.manuscript.model import Manuscript, Observations
from tests.passes.once import BLEED_MM, NEEDS
from tests.verdicts.books import SPECS, Said, findings, needs, titles

LookedAt = Callable[[Path], tuple[Manuscript, Observations]]
HERE = Path(__file__).parent
#: so many findings of a check are looked at, all where there are fewer
SAMPLE = 50
MOST_WRONG_QUERIES = 0.02


def verdicts() -> dict[str, list[dict[str, Any]]]:
    return {
        path.stem: tomllib.loads(path.read_text("utf-8")).get("finding", []) for path in sorted(HERE.glob("*.toml"))
    }


def test_every_verdict_is_of_a_check_and_says_what_was_seen() -> None:
    known = titles()
    for check, entries in verdicts().items():
        assert check in known
        for entry in entries:
            assert set(entry) >= {"book", "spec", "page", "cause", "severity", "verdict", "says"}, (check, entry)
            assert entry["verdict"] in ("right", "wrong"), (check, entry)
            assert entry["spec"] in SPECS or entry["spec"].startswith("pdf-x"), (check, entry)
            assert entry["cause"].partition("/")[0] == check
            assert len(entry["says"]) > 5, (check, entry)


def test_no_false_stop_and_few_false_queries() -> None:
    counted: Counter[tuple[str, str]] = Counter(
        (entry["severity"], entry["verdict"]) for entries in verdicts().values() for entry in entries
    )
    assert counted["stop", "wrong"] == 0
    queries = counted["query", "right"] + counted["query", "wrong"]
    assert counted["query", "wrong"] <= MOST_WRONG_QUERIES * max(queries, 1)


@pytest.fixture(scope="module")
def said(corpus_books: list[Path], looked_at: LookedAt) -> dict[str, set[Said]]:
    # what is looked at once for all is what these specs want to know
    assert needs() == NEEDS and load_house(None).allowances.bleed == BLEED_MM
    found: dict[str, set[Said]] = defaultdict(set)
    for book in corpus_books:
        for one, _, _ in findings(*looked_at(book)):
            found[one.check].add(one)
    return found


@pytest.fixture(scope="module")
def corpus_books() -> list[Path]:
    folder = HERE.parents[2] / "shared" / "corpus" / "books"
    if not folder.is_dir():
        pytest.skip("no ../shared/corpus beside the project")
    return sorted(folder.glob("*.pdf"))


def test_the_findings_are_still_those_that_were_looked_at(said: dict[str, set[Said]]) -> None:
    gone = []
    for check, entries in verdicts().items():
        for entry in entries:
            one = Said(entry["book"], entry["page"], entry["cause"], entry["severity"])
            if entry["verdict"] == "right" and entry["spec"] in SPECS and one not in said[check]:
                gone.append(one)
    assert not gone


def test_enough_findings_of_every_check_were_looked_at(said: dict[str, set[Said]]) -> None:
    looked_at = {
        check: {Said(e["book"], e["page"], e["cause"], e["severity"]) for e in entries}
        for check, entries in verdicts().items()
    }
    short = {
        check: f"{len(looked_at.get(check, set()) & found)} of {min(SAMPLE, len(found))}"
        for check, found in sorted(said.items())
        if len(looked_at.get(check, set()) & found) < min(SAMPLE, len(found))
    }
    assert not short
