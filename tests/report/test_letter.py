# SPDX-License-Identifier: AGPL-3.0-or-later
"""letter.txt: every stop and query is in it, in everyday words, and it can be sent as it is."""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType

import pytest
from attrs import evolve

from foldproof.preflight.model import Finding, Severity
from foldproof.preflight.registry import CHECKS
from foldproof.report.causes import causes
from foldproof.report.letter import WIDTH, letter_text
from foldproof.report.model import Results
from foldproof.report.plain import plain_of, plain_words

BOOK = Path("/somewhere/almanack.pdf")


def letter(results: Results) -> str:
    return letter_text(results, causes(results))


def flat(text: str) -> str:
    return re.sub(r"\s+", " ", text)


def with_findings(results: Results, *items: Finding) -> Results:
    return evolve(results, findings=evolve(results.findings, items=items))


def test_it_names_the_book_and_sorts_what_must_change_from_what_is_asked(samples: ModuleType) -> None:
    text = letter(samples.results(BOOK))
    assert text.startswith('About: "The Lamplighter’s Almanack", Lantern Row Press\nFile: almanack.pdf, 30 pages\n')
    assert "Two things must be changed before it can be printed and one question needs your answer." in flat(text)
    first, _, second = text.partition("WHAT WE ASK YOU")
    assert "WHAT MUST BE CHANGED" in first and "it runs on by 0.8 mm; 3 mm are needed" in flat(first).lower()
    assert "Worst on page 5 (1): 65 dots to the inch, where 225 are needed." in flat(second)
    assert "Pages 5 to 28" in second
    assert "Lantern Gold" not in text, "the note on a spot colour is the printer's business"
    assert "/somewhere" not in text


def test_lines_fit_plain_text(samples: ModuleType) -> None:
    # common practice of mail: no more than 72 columns, so that a reply that quotes them stays under 80
    text = letter(samples.results(BOOK, nasty=samples.NASTY + "Unbreakable" * 30, title=samples.NASTY * 2))
    assert max(len(line) for line in text.splitlines()) <= WIDTH == 72
    assert all(line == line.rstrip() for line in text.splitlines())
    assert not re.search("[\x00-\x09\x0b-\x1f\u202e]", text)


def test_no_stop_or_query_is_lost(samples: ModuleType) -> None:
    results = samples.results(BOOK, pages=400)
    stop = results.findings.items[1]
    items = [evolve(stop, page=n % 400 + 1, cause=f"bleed/{n % 7}", severity=s) for n, s in zip(
        range(0, 2800, 7), [Severity.STOP, Severity.QUERY] * 200, strict=True)]  # fmt: skip
    items += [evolve(stop, page=None, check="unheard-of", cause="unheard-of/x", problem="The ink smells odd.")]
    text = letter(with_findings(results, *items))
    body, _, by_page = text.partition("PAGE BY PAGE")
    assert "The ink smells odd." in flat(body), "a check without words of its own speaks for itself"
    points = len(re.findall(r"^\d+\. ", body, re.M))
    assert points == len(causes(with_findings(results, *items)))
    named: set[int] = set()
    for first, last in re.findall(r"^Pages? (\d+)(?: to (\d+))?", by_page, re.M):
        named.update(range(int(first), int(last or first) + 1))
    assert named == {item.page for item in items if item.page is not None}


def test_notes_go_to_the_author_only_where_they_concern_him(samples: ModuleType) -> None:
    results = samples.results(BOOK)
    note = evolve(results.findings.items[0], page=4)
    mirrored = evolve(note, check="picture-mirrored", cause="picture-mirrored/x", problem="Page 4: it is mirrored.")
    text = letter(with_findings(results, note, mirrored))
    assert "Nothing stands in its way: it can be printed as it is." in flat(text)
    assert "WHAT YOU SHOULD KNOW" in text and "as in a mirror" in text and "spot colour" not in text


def test_the_house_signs_only_where_one_was_named(samples: ModuleType) -> None:
    results = samples.results(BOOK)
    assert letter(results).endswith("With kind regards\nYour printer\n")
    named = evolve(results, settings=evolve(results.settings, house_given=True))
    assert letter(named).endswith("With kind regards\nLantern Row Press\n")


def test_the_job_names_book_and_author(samples: ModuleType) -> None:
    results = samples.results(BOOK)
    named = evolve(results, settings=evolve(results.settings, title="The Lamps", author="A. Wick"))
    assert letter(named).startswith('About: "The Lamps", A. Wick\n')


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_every_check_has_everyday_words(check: object) -> None:
    known = plain_words()
    assert check.id in known, f"say in page/plain_words.toml what the letter tells of {check.id}"  # type: ignore[attr-defined]
    plain = plain_of(check.id)  # type: ignore[attr-defined]
    notes_only = check.severity is Severity.NOTE and not plain.notes  # type: ignore[attr-defined]
    assert notes_only or (plain.says.endswith(".") and plain.ask.endswith(".")), "a sentence each"
    if plain.how:
        assert "{measured}" in plain.how and "{limit}" in plain.how
    # words of the trade that an author need not know
    jargon = r"\b(TrimBox|MediaBox|CMYK|RGB|DeviceN|ICC|stream|xref|subset|glyph|resolution|ppi|Separation)\b"
    assert not re.search(jargon, plain.says + plain.ask + plain.how)


def test_no_words_for_checks_that_there_are_not() -> None:
    assert set(plain_words()) <= {check.id for check in CHECKS}
