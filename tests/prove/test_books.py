# SPDX-License-Identifier: AGPL-3.0-or-later
"""Real books: their sheets prove every page right, and fail once two pages are exchanged."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from foldproof.impose.write import write_sheets
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.prove.model import Leg, Verdict
from foldproof.prove.prove import prove
from foldproof.workers import Workers
from tests.damage import damage

#: the shorter books: Japanese, pictures with soft masks, two trims in one book, plain text
BOOKS = ("r-intro.pdf", "debian-install.ja.pdf", "debian-edu-manual.pdf", "ctwill-150x240.pdf")


@pytest.mark.corpus
@pytest.mark.parametrize("name", BOOKS)
def test_book_is_proved_and_an_exchange_is_named(name: str, corpus: Path, tmp_path: Path) -> None:
    path = corpus / "books" / name
    manuscript = read(path)
    plan = plans(len(manuscript.pages), book_trim_mm(manuscript, None), Job(), load_house(None), title=name)[0]
    sheets = tmp_path / "sheets.pdf"
    write_sheets(manuscript, plan, Job(), sheets, date="2024-02-29")
    with Workers(2) as workers:
        proof = prove(sheets, plan.instructions, path, workers=workers, advance=lambda done: None)
        assert [fault.says for fault in proof.faults] == []
        assert proof.verdict is Verdict.PROVED
        assert [p.found for p in proof.pages if p.expected] == list(range(1, len(manuscript.pages) + 1))
        spoilt = damage.Sheets.open(sheets)
        one, other = _two_unlike(proof.alike, len(manuscript.pages))
        _exchange(spoilt, one, other)
        spoilt.save(tmp_path / "spoilt.pdf")
        failed = prove(tmp_path / "spoilt.pdf", plan.instructions, path, workers=workers, advance=lambda done: None)
    assert failed.verdict is Verdict.FAILED
    assert {fault.page for fault in failed.faults if fault.leg is Leg.WHICH} == {one, other}


def _two_unlike(alike: tuple[tuple[int, ...], ...], pages: int) -> tuple[int, int]:
    rng = random.Random(pages)
    same = {page for group in alike for page in group}
    one, other = rng.sample([page for page in range(1, pages + 1) if page not in same], 2)
    return one, other


def _exchange(sheets: damage.Sheets, one: int, other: int) -> None:
    """Sheets name the form of page n ``/Pn``."""
    holders = {}
    for page in sheets.pdf.pages:
        for number in (one, other):
            if f"/P{number}" in page.obj.Resources.XObject:
                holders[number] = page.obj.Resources.XObject
    first, second = holders[one][f"/P{one}"], holders[other][f"/P{other}"]
    holders[one][f"/P{one}"] = second
    holders[other][f"/P{other}"] = first
