# SPDX-License-Identifier: AGPL-3.0-or-later
"""Folios, type area, margins and boxes on built books with one planted fault each: read, interpreted and rendered."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array

from foldproof.desk import Asked
from foldproof.impose.write import write_sheets
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.pipeline import look_over
from foldproof.preflight.model import Facts, Finding
from foldproof.preflight.registry import check_named
from foldproof.preflight.specs import load_spec
from foldproof.workers import Workers
from tests import build
from tests.build import PT, Fill, Picture
from tests.preflight.facts import the_house

OURS = (
    "already-imposed", "bleed-box", "box-order", "crossovers", "folios", "gutter-side", "inner-margin",
    "page-of-other-measure", "trim-offset", "twin-pages", "type-area-drift", "type-area-register",
)  # fmt: skip
#: 51 letters of Courier at 9 pt, 0.6 em each: 97.2 mm, between margins of 18 and 24.8 mm on 140 mm
LINE, SIZE_PT = "The lamplighter goes his round when dusk comes down", 9.0
MEASURE_MM = len(LINE) * 0.6 * SIZE_PT / PT
INNER_MM, HEAD_MM, LEADING_MM, LINES = 18.0, 190.0, 4.5, 36
OUTER_MM = 140 - INNER_MM - MEASURE_MM


def block(left_mm: float, *, line: str = LINE, head_mm: float = HEAD_MM, lines: int = LINES) -> str:
    rows = (build.text_at(line, left_mm, head_mm - n * LEADING_MM, SIZE_PT) for n in range(lines))
    return "0 0 0 1 k\n" + "".join(rows)


def left_of(index: int) -> float:
    return INNER_MM if index % 2 == 0 else OUTER_MM


def leaf(index: int, **other: Any) -> dict[str, Any]:
    """A page of text whose margins change sides; it says which it is, so that no two are alike."""
    own = build.text_at(f"{index:02d}", left_of(index), HEAD_MM - 37 * LEADING_MM, SIZE_PT)
    return {"text": "", "content": block(left_of(index)) + own, **other}


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers(1) as some:
        yield some


Found = Callable[..., list[Finding]]


@pytest.fixture
def found(workers: Workers, tmp_path: Path) -> Found:
    def run(
        pages: int = 24,
        each: Callable[[int], dict[str, Any]] = leaf,
        *,
        after: Callable[[pikepdf.Pdf], None] | None = None,
        job: dict[str, Any] | None = None,
        **more: Any,
    ) -> list[Finding]:
        path = build.book(pages, tmp_path / "a.pdf", face="cour", each=each, after=after)
        asked = Job.model_validate(job or {})
        manuscript = read(path, trim_mm=asked.book.trim)
        trim_mm = book_trim_mm(manuscript, asked.book.trim)
        needs = {"objects", "ink"}
        seen = observe(manuscript, workers, trim_mm=trim_mm, bleed_mm=3.0, needs=needs, advance=lambda _: None)
        facts = Facts(manuscript, seen, asked, the_house(), trim_mm, 3.0, **more)
        spec = load_spec("any-book")
        checks = [check_named(name) for name in OURS]
        return [finding for entry in checks for finding in entry.run(facts, spec.limits_of(entry))]

    return run


def causes(findings: list[Finding]) -> list[tuple[int | None, str]]:
    return [(f.page, f.cause) for f in findings]


def one(index: int, **page: Any) -> Callable[[int], dict[str, Any]]:
    """All pages as they should be, but for one."""
    return lambda n: leaf(n, **page) if n == index else leaf(n)


def test_a_sound_book(found: Found) -> None:
    assert causes(found()) == []


def test_57_twice_and_58_missing(found: Found) -> None:
    """The folio alone is wrong: the page itself is the 58th."""
    findings = found(64, one(57, folio="57"))
    assert causes(findings) == [(58, "folios/doubled")]
    assert "Folio 57 stands on page 57 as well, and 58 is missing." in findings[0].problem
    assert (findings[0].measured, findings[0].limit) == ("57", "58")
    assert findings[0].place_mm is not None and findings[0].place_mm.y1 < 16


def test_page_57_in_the_place_of_58(found: Found) -> None:
    def swap(pdf: pikepdf.Pdf) -> None:
        pdf.pages[57] = pdf.pages[56]

    assert causes(found(64, after=swap)) == [(58, "folios/doubled"), (58, "gutter-side/page"), (58, "twin-pages")]


def test_two_pages_missing(found: Found) -> None:
    def lose(pdf: pikepdf.Pdf) -> None:
        del pdf.pages[10:12]

    findings = found(after=lose)
    assert causes(findings) == [(11, "folios/missing")]
    assert "folios 11 and 12 are missing" in findings[0].problem


def test_a_blank_too_many(found: Found) -> None:
    def put_in(pdf: pikepdf.Pdf) -> None:
        build.page(pdf)
        blank = pdf.pages[-1]
        pdf.pages.insert(8, blank)
        del pdf.pages[-1]

    findings = causes(found(40, after=put_in))
    assert (10, "gutter-side/from-here") in findings
    assert (None, "folios/sides") in findings


def test_a_page_that_stands_aside(found: Found) -> None:
    assert causes(found(each=one(12, content=block(INNER_MM + 2.5)))) == [(13, "type-area-drift/aside")]
    findings = found(each=one(12, content=block(INNER_MM, head_mm=HEAD_MM - 1.5)))
    assert causes(findings) == [(13, "type-area-drift/height")]
    assert findings[0].measured == pytest.approx(1.5, abs=0.05)


def test_a_page_that_creeps_along(found: Found) -> None:
    creeping = found(80, lambda n: leaf(n, content=block(left_of(n) + n * 0.025)))
    assert (None, "type-area-drift/slow") in causes(creeping)


def test_a_page_of_another_measure(found: Found) -> None:
    wider = found(each=one(12, content=block(INNER_MM, line=LINE + "en")))
    assert causes(wider) == [(13, "page-of-other-measure/wider")]
    # two letters more of 0.6 em each
    assert wider[0].measured == pytest.approx(MEASURE_MM + 2 * 0.6 * SIZE_PT / PT, abs=0.05)
    # six letters in, to the same edge at the right: a list
    indented = block(INNER_MM + 6 * 0.6 * SIZE_PT / PT, line=LINE[:45])
    assert causes(found(each=one(12, content=indented))) == []


def test_margins_that_do_not_change_sides(found: Found) -> None:
    findings = found(each=lambda n: leaf(n, content=block(INNER_MM)))
    assert causes(findings) == [(None, "type-area-register/one-sided")]
    assert findings[0].measured == pytest.approx(OUTER_MM - INNER_MM, abs=0.05)


@pytest.mark.parametrize(
    ("binding", "distance_mm", "cause"),
    [
        ("sewn", 9.0, "inner-margin/page"),
        ("sewn", 13.2, None),
        ("stitched", 9.0, "inner-margin/page"),
        ("stitched", 10.2, None),
        ("glued", 13.2, "inner-margin/page"),
        ("glued", 17.4, None),
    ],
)
def test_a_rule_near_the_spine(found: Found, binding: str, distance_mm: float, cause: str | None) -> None:
    """5 mm of bulk: a glued book asks for 17 mm."""
    recto = one(12, fills=(Fill((distance_mm, 100, 30, 101)),))
    findings = found(each=recto, job={"book": {"binding": binding}}, bulk_mm=5.0)
    assert causes(findings) == ([(13, cause)] if cause else [])
    if cause:
        # a pixel of the ink pass at 72 dpi is 0.353 mm
        assert findings[0].measured == pytest.approx(distance_mm, abs=0.36)


def test_a_picture_over_the_spine(found: Found) -> None:
    def halves(n: int) -> dict[str, Any]:
        at = {7: (70, 60, 143, 130), 8: (-3, 60, 60, 130)}.get(n)
        if at is None:
            return leaf(n)
        pixels = (round((at[2] - at[0]) * 4), 280)
        return {"text": "", "folio": str(n + 1), "pictures": (Picture(at, pixels, seed=n),)}

    apart = tuple((1 + n // 8, "front" if n % 4 in (0, 3) else "back") for n in range(24))
    assert causes(found(each=halves, sides=apart)) == [(8, "crossovers/apart")]
    together = tuple((1, "front") for _ in range(24))
    findings = found(each=halves, sides=together)
    assert causes(findings) == [(8, "crossovers/together")]
    assert "page 9" in findings[0].problem
    assert causes(found(each=halves)) == [(8, "crossovers/unknown")]


def test_crossovers_in_the_make_up(tmp_path: Path) -> None:
    """Pages p = 0 and 1 of 4 make the outer forme of a section, 2 and 3 the inner one (the handbook's law of formes):
    facing pages of one section are printed on one side, those where one sheet ends and the next begins apart."""
    plan = plans(224, (140, 216), Job(), the_house(), title="Almanac", most=1)[0]
    ends = next(n for n in range(1, 223, 2) if plan.sides[n][0] != plan.sides[n + 1][0]) + 1
    facing = (4, 8, 10, ends)  # 1-based, the verso of each pair

    def halves(n: int) -> dict[str, Any]:
        if n + 1 in facing:
            return {"text": "", "pictures": (Picture((70, 60, 143, 130), (292, 280), seed=n),)}
        if n in facing:
            return {"text": "", "pictures": (Picture((-3, 60, 60, 130), (252, 280), seed=n),)}
        return {}

    path = build.book(224, tmp_path / "a.pdf", each=halves)
    asked = Asked(manuscript=path, job=Job(), house=the_house(), spec=load_spec("any-book"), workers=1, out=tmp_path)
    told = look_over(asked).results
    assert {f.page: f.cause for f in told.findings.items if f.check == "crossovers"} == {
        4: "crossovers/together",
        8: "crossovers/together",
        10: "crossovers/together",
        ends: "crossovers/apart",
    }


def test_a_bleed_box_that_is_too_small(found: Found) -> None:
    tint = {"fills": (Fill((100, 60, 143, 90), "0 0 0 0.4 k"),)}

    def small(pdf: pikepdf.Pdf) -> None:
        trim = [float(v) for v in pdf.pages[12].obj.TrimBox.as_list()]  # type: ignore[union-attr]
        box = [trim[0] - PT, trim[1] - PT, trim[2] + PT, trim[3] + PT]
        pdf.pages[12].obj.BleedBox = Array([round(v, 3) for v in box])

    findings = found(each=one(12, **tint), after=small)
    assert causes(findings) == [(13, "bleed-box")]
    assert findings[0].measured == pytest.approx(1.0, abs=0.02)
    assert causes(found(each=one(12, **tint))) == []


def test_a_bleed_box_beyond_the_page(found: Found) -> None:
    def large(pdf: pikepdf.Pdf) -> None:
        media = [float(v) for v in pdf.pages[12].obj.MediaBox.as_list()]  # type: ignore[union-attr]
        pdf.pages[12].obj.BleedBox = Array([media[0] - 9, media[1] - 9, media[2] + 9, media[3] + 9])

    assert causes(found(after=large)) == [(13, "box-order/beyond")]


def test_a_trim_that_has_been_moved(found: Found) -> None:
    def move(pdf: pikepdf.Pdf) -> None:
        page = pdf.pages[12].obj
        page.TrimBox = Array([float(v) + d * PT for v, d in zip(page.TrimBox.as_list(), (2, 0, 2, 0), strict=True)])

    # matter stands still, so the block is off by as much in the trim's frame
    assert causes(found(after=move)) == [(13, "trim-offset/page"), (13, "type-area-drift/aside")]


def test_pages_imposed_by_pairs(found: Found) -> None:
    """Printer's pairs of a stitched book, two folios at the foot of each."""

    def pair(n: int) -> dict[str, Any]:
        left, right = (n + 1, 24 - n) if n % 2 else (24 - n, n + 1)
        words = build.text_at(str(left), 70, 10, 9) + build.text_at(str(right), 210, 10, 9)
        both = block(20) + block(160)
        return {"text": "", "folio": None, "trim_mm": (280, 216), "content": both + words}

    assert (None, "already-imposed/folios") in causes(found(12, pair))


def test_our_own_sheets_are_told_for_what_they_are(tmp_path: Path) -> None:
    """What the imposer wrote is no manuscript."""
    manuscript = read(build.book(16, tmp_path / "a.pdf"))
    job, house = Job.model_validate({}), the_house()
    plan = plans(16, (140, 216), job, house, title="Almanac", most=1)[0]
    sheets = write_sheets(
        manuscript, plan, job, tmp_path / "sheets.pdf", date="2026-01-01", password=None, advance=lambda _: None
    )
    asked = Asked(manuscript=sheets.path, job=job, house=house, spec=load_spec("any-book"), workers=1, out=tmp_path)
    told = look_over(asked).results.findings
    assert any(finding.check == "already-imposed" for finding in told.items)
