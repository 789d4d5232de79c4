# SPDX-License-Identifier: AGPL-3.0-or-later
"""Every fault planted in a real book is found on its page, and the book as it was does not say the same there."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pikepdf
import pytest

from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.preflight.model import Facts, Finding, Findings
from foldproof.preflight.run import check, needs_of
from foldproof.preflight.specs import load_spec
from foldproof.workers import Workers
from tests.planted import file_faults, page_faults, picture_faults, type_faults
from tests.planted.planting import Fault, Page

FAULTS: tuple[Fault, ...] = page_faults.FAULTS + type_faults.FAULTS + picture_faults.FAULTS + file_faults.FAULTS
#: a page is spoilt, the one after it is left as it was
STEP = 2
#: the first page that is used: in the middle of a chapter, its type area firm
BOOK, FIRST = "kaytannollista-latexia-a5.pdf", 120
#: pages around the spoilt ones, so that what holds for the book still holds
AROUND = 6
#: a copy holds so many faults at most: more of them and the book would not be this book any more
MOST = 12


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers(1) as some:
        yield some


def lots() -> list[tuple[Fault, ...]]:
    """Faults that can stand in one copy together: of one room and spec."""
    made: list[tuple[Fault, ...]] = [(fault,) for fault in FAULTS if fault.alone]
    for room in (page_faults, type_faults, picture_faults, file_faults):
        for spec in dict.fromkeys(fault.spec for fault in room.FAULTS):
            shared = [fault for fault in room.FAULTS if fault.spec == spec and not fault.alone]
            made += [tuple(shared[start : start + MOST]) for start in range(0, len(shared), MOST)]
    return made


def checked(path: Path, spec: str, workers: Workers) -> Findings:
    rules, manuscript, job = load_spec(spec), read(path), Job()
    trim_mm = book_trim_mm(manuscript, None)
    seen = observe(manuscript, workers, trim_mm=trim_mm, bleed_mm=3.0, needs=needs_of(rules), advance=lambda _: None)
    return check(Facts(manuscript, seen, job, load_house(None), trim_mm, 3.0, grain_along_spine=True), rules)


def cut(source: Path, target: Path, pages: int) -> Path:
    with pikepdf.open(source) as whole, pikepdf.new() as part:
        part.pages.extend(whole.pages[FIRST : FIRST + pages])
        for page in part.pages:  # links lead to pages that are not here
            if "/Annots" in page.obj:
                del page.obj.Annots
        part.save(target, static_id=True)
    return target


Sound = Callable[[int, str], tuple[Path, Findings]]


@pytest.fixture(scope="module")
def sound_book(tmp_path_factory: pytest.TempPathFactory, corpus: Path, workers: Workers) -> Sound:
    """So many pages of the book as it was, and what a spec says of them; the same for every lot that asks."""
    folder = tmp_path_factory.mktemp("sound")

    @cache
    def sound(pages: int, spec: str) -> tuple[Path, Findings]:
        path = folder / f"{pages}.pdf"
        if not path.exists():
            cut(corpus / "books" / BOOK, path, pages)
        return path, checked(path, spec, workers)

    return sound


@pytest.mark.parametrize("lot", lots(), ids=lambda lot: lot[0].name if len(lot) == 1 else f"{lot[0].name} and more")
def test_planted_faults_are_found(lot: tuple[Fault, ...], sound_book: Sound, tmp_path: Path, workers: Workers) -> None:
    pages = max(24, 2 * AROUND + STEP * len(lot))
    sound, before = sound_book(pages, lot[0].spec)
    spoilt = tmp_path / "spoilt.pdf"
    places = {fault: 0 if fault.first else AROUND + STEP * number for number, fault in enumerate(lot)}
    with pikepdf.open(sound) as pdf:
        for fault, index in places.items():
            fault.plant(Page(pdf, index))
        pdf.save(spoilt, static_id=True)
    for fault in lot:
        if fault.after is not None:
            fault.after(spoilt)
    after = checked(spoilt, lot[0].spec, workers)

    def said(findings: Findings, fault: Fault) -> list[Finding]:
        on_it = places[fault] + 1
        return [f for f in findings.items if f.check == fault.check and (fault.anywhere or f.page == on_it)]

    unseen = [f"{fault.name} ({fault.check})" for fault in lot if not said(after, fault)]
    assert not unseen
    # the same words on the same page of the sound book would be no finding of the fault
    alike = [fault.name for fault in lot if not set(said(after, fault)) - set(said(before, fault))]
    assert not alike


def test_there_are_faults_of_every_room() -> None:
    assert len(FAULTS) >= 60
    assert len({fault.name for fault in FAULTS}) == len(FAULTS)
