# SPDX-License-Identifier: AGPL-3.0-or-later
"""The contact sheet, the charts, and the text of the checks as the report and ``foldproof explain`` share it."""

from __future__ import annotations

import re
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree as ET

import pytest
from attrs import evolve
from typer.testing import CliRunner

from foldproof.cli.app import app
from foldproof.covers.registry import EXPLAINED
from foldproof.geometry import Rect
from foldproof.manuscript.model import PictureKind, PictureUse
from foldproof.manuscript.seen import InkPeak, TypeArea
from foldproof.preflight.registry import CHECKS, check_named
from foldproof.preflight.specs import load_spec
from foldproof.report.causes import causes
from foldproof.report.charts import charts
from foldproof.report.contact import cells, spreads
from foldproof.report.explained import explained, whose_limit
from foldproof.report.leaves import contact_html, contact_rows
from foldproof.report.model import Results

BOOK = Path("/somewhere/almanack.pdf")


def picture(ppi: float) -> PictureUse:
    place = Rect(20.0, 100.0, 120.0, 180.0)
    return PictureUse(PictureKind.CONTONE, 600, 400, 8, "DeviceGray", ppi, ppi * 1.5, place)


def observed(results: Results, off_mm: dict[int, float], ppi: dict[int, float]) -> Results:
    """With a type area on every page from 20 to 120 mm, a few of them moved, and pictures on some pages."""
    seen = results.observations
    objects = tuple(
        evolve(
            one,
            type_area=TypeArea(20 + off_mm.get(n, 0.0), 120 + off_mm.get(n, 0.0), 200.0, 24.0, 30),
            pictures=(picture(ppi[n]),) if n in ppi else (),
        )
        for n, one in enumerate(seen.objects, 1)
        if one is not None
    )
    ink = tuple(
        evolve(one, peak=InkPeak(0.5 + n / 100, (("Black", 0.5),), Rect(0, 0, 5, 5)))
        for n, one in enumerate(seen.ink, 1)
        if one is not None
    )
    return evolve(results, observations=evolve(seen, objects=objects, ink=ink))


def test_spreads_open_as_a_book_does() -> None:
    # page 1 stands alone on the right, 2 faces 3; a book read from right to left opens the other way
    assert spreads(4) == [(None, 0), (1, 2), (3, None)]
    assert spreads(4, right_to_left=True) == [(0, None), (2, 1), (None, 3)]
    assert spreads(0) == []


def test_every_page_is_on_the_sheet_with_its_worst_finding_in_a_word(samples: ModuleType) -> None:
    results = samples.results(BOOK)
    made = cells(results, causes(results), {})
    assert [cell.page for cell in made] == list(range(1, 31))
    # page 7 has a stop (bleed) and a query (resolution)
    assert made[6].severity == "stop" and made[7].severity == "query" and made[0].severity is None
    page = contact_html(made)
    assert page.count("<li>") == 16
    seventh = re.search(r'<a class="pg stop" href="#p7".*?</a>', page, re.S)
    assert seventh is not None and "<b>7</b>" in seventh[0] and seventh[0].endswith("</svg>stop</i></a>")
    assert '<span class="pg" data-p="1" data-f="i">' in page, "a page without a finding leads nowhere"


def test_leaves_are_drawn_from_facts(samples: ModuleType) -> None:
    results = observed(samples.results(BOOK), {}, {9: 300.0})
    made = cells(results, causes(results), {})
    # trim 140 x 216 mm: type from 20 to 120 mm across, its head at 200 mm up, i.e. 16 mm below the head of the page
    assert (made[8].wide, made[8].high) == (140, 216)
    first = re.match(r"M20 (\d+)h100m-100 (\d+)h100", made[8].type_path)
    assert first is not None and 16 <= int(first[1]) <= 24 and int(first[2]) in (7, 8, 9)
    assert made[8].picture_path == "M20 36h100v80h-100z"
    # the bleed of page 7: 10 to 130 mm across, 214 to 216 mm up; no smaller than can be seen, no farther than the page
    assert made[6].mark_path == "M10 0h120v6h-120z"
    for row in contact_rows(made):
        ET.fromstring(row)


def test_charts_say_in_words_what_they_show(samples: ModuleType) -> None:
    results = observed(samples.results(BOOK), {8: 2.5}, {n: 50.0 * n for n in range(2, 12)})
    results = evolve(results, checks=CHECKS, spec=load_spec("colour-on-coated"))
    fine, ink, edges = charts(results)
    # 100, 150 … 550 ppi; under 225 (query of that spec): 100, 150, 200; under 150 (stop): 100
    assert (
        fine.says
        == "10 pictures, 1 under 150 ppi, 3 under 225 ppi and 2 over 450 ppi; the coarsest has 100 ppi, on page 2."
    )
    assert "stop under 150 ppi" in fine.body and "query under 225 ppi" in fine.body
    assert [row[2] for row in fine.rows if row[0] == "pictures"] == ["1", "1", "1", "1", "3", "3"]
    # the peak grows by one percent a page
    assert "the heaviest place is on page 30, 80 %" in ink.says
    assert edges.says.endswith("1 page strays by more than 0.8 mm, page 8 the farthest, by 2.5 mm.")
    assert [row[3] for row in edges.rows] == ["none", "none", "8", "8"]
    for chart in (fine, ink, edges):
        ET.fromstring(chart.alone)
        assert chart.rows and all(len(row) == len(chart.head) for row in chart.rows)


def test_no_chart_of_nothing(samples: ModuleType) -> None:
    results = samples.results(BOOK)
    assert [chart.id for chart in charts(results)] == ["chart-ink"], "no pictures, no type areas"


def test_a_limit_carries_the_source_that_the_spec_gives_it(samples: ModuleType) -> None:
    check, spec = check_named("picture-resolution"), load_spec("colour-on-coated")
    found = evolve(samples.results(BOOK).findings.items[-1], limit=225.0)
    assert whose_limit(found, check, spec) == spec.source_of(check, "contone_query_ppi") != ""
    assert "screen of 150 lines" in whose_limit(found, check, spec)
    assert whose_limit(evolve(found, limit=331.0), check, spec) == "", "reckoned from several: nobody's alone"


@pytest.mark.parametrize("spec", ["any-book", "colour-on-coated"])
def test_explain_prints_the_text_of_the_report(spec: str) -> None:
    rules = load_spec(spec)
    for check in (check_named("picture-resolution"), check_named("extra-inks"), check_named("bleed")):
        printed = CliRunner().invoke(app, ["explain", check.id, "--spec", spec]).output
        words = re.sub(r"\s+", "", printed)
        for name, text in explained(check, rules):
            assert re.sub(r"\s+", "", f"{name}:{text}") in words
    listed = CliRunner().invoke(app, ["explain", "--spec", spec]).output
    assert len(listed.splitlines()) == len(EXPLAINED)
    assert (re.search(r"^extra-inks +off ", listed, re.M) is not None) == rules.is_off(check_named("extra-inks"))
