# SPDX-License-Identifier: AGPL-3.0-or-later
"""Written sheets are folded and proved by the job ticket alone; one that tells of other folds makes another book."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from foldproof.job.model import Job
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.prove.gathering import bind
from foldproof.prove.model import Verdict
from foldproof.xjdf.read import told_by
from tests.makeup.real_books import Made, made
from tests.xjdf.jobs import work_of, written

JOB = {"sections": {"fold": "8"}, "press": {"way": "work and turn"}}


@pytest.fixture(scope="module")
def one(tmp_path_factory: pytest.TempPathFactory) -> tuple[Made, str]:
    folder = tmp_path_factory.mktemp("ticket")
    book = made(folder, 16, **JOB)
    return book, written(folder, work_of(book.plan, Job.model_validate(JOB))).read_text("utf-8")


def test_the_sheets_are_proved_by_the_ticket(one: tuple[Made, str], tmp_path: Path) -> None:
    book, text = one
    path = tmp_path / "job.xjdf"
    path.write_text(text, "utf-8")
    proof = book.proof(told_by(path))
    assert [fault.says for fault in proof.faults] == []
    assert proof.verdict is Verdict.PROVED
    assert [page.found for page in proof.pages if page.found is not None] == list(range(1, 17))


def first_fold(text: str) -> str:
    """Over instead of under, or the other way round, in the first fold of the first piece."""
    at = text.index(' To="')
    now = "Down" if text[at + 5 : at + 7] == "Up" else "Up"
    return text[: at + 5] + now + text[text.index('"', at + 5) :]


def upside_down(text: str) -> str:
    """The folded pile is bound by its fore-edge and stands on its head."""
    turned = {"Rotate0": "Rotate180", "Rotate180": "Rotate0", "Flip0": "Flip180", "Flip180": "Flip0"}
    at = text.index('BindingOrientation="') + len('BindingOrientation="')
    end = text.index('"', at)
    return text[:at] + turned[text[at:end]] + text[end:]


def other_order(text: str) -> str:
    """The two sections are gathered the other way round."""
    at = text.index('<Assembly Order="Gathering" BinderySignatureIDs="') + len(
        '<Assembly Order="Gathering" BinderySignatureIDs="'
    )
    end = text.index('"', at)
    return text[:at] + " ".join(reversed(text[at:end].split())) + text[end:]


def as_read(told: FoldingInstructions) -> list[tuple[int, str, float, float]]:
    """The book as the proof folds it: sheet, side and place on it of every page in order, mm."""
    return [(p.sheet, p.side, *(round(at, 2) for at in p.on_side[:2])) for p in bind(told).places if p is not None]


def test_the_proof_folds_the_same_book_of_plan_and_ticket(one: tuple[Made, str], tmp_path: Path) -> None:
    book, text = one
    path = tmp_path / "job.xjdf"
    path.write_text(text, "utf-8")
    assert as_read(told_by(path)) == as_read(book.told)


@pytest.mark.parametrize("spoil", [first_fold, upside_down, other_order])
def test_another_ticket_makes_another_book(one: tuple[Made, str], tmp_path: Path, spoil: Callable[[str], str]) -> None:
    book, text = one
    path = tmp_path / "job.xjdf"
    path.write_text(spoil(text), "utf-8")
    assert as_read(told_by(path)) != as_read(book.told)
