# SPDX-License-Identifier: AGPL-3.0-or-later
"""index.html of a batch in a real browser: it sorts, filters, fits, prints, and leads to the reports."""

from __future__ import annotations

import base64
import json
import os
import subprocess
from pathlib import Path

import pytest
from attrs import evolve

from foldproof.batch.index import index_html
from foldproof.batch.outcomes import Standing, standing
from tests.batch.ends import ENDS, checked, end, many
from tests.browser.driver import Browser
from tests.browser.test_report_page import WIDTHS, needs_axe, violations

NUMBERS = (1, 60, 1000)
#: the names of the books, as they are shown
SHOWN = """[...document.querySelectorAll("tbody tr")].filter(row => !row.hidden)
    .map(row => row.querySelector("bdi").textContent)"""
#: the head that says the order, and the order
SORTED = "(head => head.textContent + ' ' + head.ariaSort)(document.querySelector('thead [aria-sort]'))"
SAYS = "document.querySelector('#filter-says').textContent"
LONG = "unbreakable" * 20 + ".pdf"


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    out = tmp_path_factory.mktemp("out")
    lots = {f"{number}": many(number) for number in NUMBERS}
    lots |= {"kinds": (*ENDS, end(LONG, 70, LONG), evolve(checked("Über 9.pdf", 0, 0, 0), pages=9)), "none": ()}
    for name, ends in lots.items():
        (out / f"{name}.html").write_bytes(index_html(ends))
    return {name: out / f"{name}.html" for name in lots}


def column(name: str) -> str:
    return f'[...document.querySelectorAll("thead button")].find(b => b.textContent === "{name}")'


def names(browser: Browser) -> list[str]:
    found: list[str] = browser.js(SHOWN)
    return found


def test_it_is_ordered_by_every_column(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["kinds"])
    assert browser.complaints() == []
    before = names(browser)
    assert browser.js(SORTED) == "outcome descending" and before[0] == "kilns.pdf"
    # by key: each head is a button that Enter and the space bar press
    browser.js(f"{column('pages')}.focus()")
    browser.press("Enter")
    assert browser.js(SORTED) == "pages descending"
    assert names(browser)[5:7] == ["almanack.pdf", "Über 9.pdf"], "the most first, those without a figure last"
    assert names(browser)[7:] == [name for name in before if name in names(browser)[7:]]
    browser.press(" ")
    assert browser.js(SORTED) == "pages ascending"
    assert names(browser)[0] == "Über 9.pdf" and names(browser)[7:] == [n for n in before if n in names(browser)[7:]]
    assert browser.js("document.activeElement.textContent") == "pages", "the focus stays"
    assert browser.js(SAYS).endswith("Ordered by pages, fewest first.")
    assert browser.js("document.querySelectorAll('thead [aria-sort]').length") == 1
    # by click: names as a person would sort them, outcomes back to the worst first
    browser.js(f"{column('book')}.click()")
    ordered = names(browser)
    assert ordered[:2] == ["almanack.pdf", "ballads.pdf"] and ordered[-2:] == ["Über 9.pdf", LONG]
    browser.js(f"{column('outcome')}.click()")
    assert names(browser) == before
    for head in ("sheets", "stops", "queries", "notes", "proof", "in a sentence"):
        browser.js(f"{column(head)}.click()")
        assert sorted(names(browser)) == sorted(before)
        assert browser.js(SORTED).startswith(head)
    # numbers in a name count as numbers
    browser.open(pages["60"])
    browser.js(f"{column('book')}.click()")
    numbers = [
        int(name.rpartition("-")[2].removesuffix(".pdf")) for name in names(browser) if "list 0/almanack" in name
    ]
    assert numbers == sorted(numbers) and len(numbers) > 3


def test_the_filter_keeps_what_is_asked_for(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["60"])
    every = names(browser)
    browser.js("document.querySelector('#f-wanting').focus()")
    browser.press(" ")
    wanting = [e.name for e in many(60) if standing(e) is not Standing.READY]
    assert sorted(names(browser)) == sorted(wanting) and 0 < len(wanting) < 60
    assert browser.js(SAYS).startswith(f"{len(wanting)} of 60 books shown.")
    browser.press("Tab", "LIST 3 ballads")
    assert names(browser) == [name for name in every if name in wanting and "list 3" in name and "ballads" in name]
    # the order keeps to what is shown, and the filter to the order
    browser.js(f"{column('book')}.click()")
    assert len(names(browser)) < 60
    browser.js("document.querySelector('#f-name').focus()")
    browser.press("Escape")
    assert sorted(names(browser)) == sorted(every) and browser.js("document.querySelector('#f-clear').disabled")
    # a link to a book that is hidden shows it
    browser.press("nothing like it")
    assert names(browser) == []
    browser.js("document.querySelector('.outcomes a').click()")
    assert len(names(browser)) == 60
    browser.js("document.querySelector('#f-clear').click()")


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["none", "1", "60", "1000", "kinds"])
def test_nothing_overflows(browser: Browser, pages: dict[str, Path], name: str, width: int) -> None:
    browser.open(pages[name], width)
    assert browser.js("document.documentElement.scrollWidth") <= width
    wide = """[...document.querySelectorAll("body *")].filter(e => !e.closest(".skip")
        && e.getBoundingClientRect().right > innerWidth + 1).map(e => e.tagName + "." + e.className)"""
    assert browser.js(wide) == []
    rows = browser.js("document.querySelectorAll('tbody tr').length")
    assert rows == {"none": 0, "kinds": len(ENDS) + 2}.get(name) or rows == int(name)


def test_without_its_script_the_page_says_the_same(browser: Browser, pages: dict[str, Path]) -> None:
    browser("Emulation.setScriptExecutionDisabled", value=True)
    try:
        browser.open(pages["kinds"])
        shown = browser.js("""JSON.stringify({
            rows: [...document.querySelectorAll("tbody tr")].filter(r => r.offsetHeight > 0).length,
            buttons: [...document.querySelectorAll("button, input")].filter(b => b.offsetHeight > 0).length,
            text: document.body.innerText })""")
    finally:
        browser("Emulation.setScriptExecutionDisabled", value=False)
    told = json.loads(shown)
    assert told["rows"] == len(ENDS) + 2
    assert told["buttons"] == 0, "nothing that would do nothing"
    assert "no plan fits (4)" in told["text"] and "Of 13 books" in told["text"]


def test_it_prints_across_sheets_with_its_head_on_each(
    browser: Browser, pages: dict[str, Path], tmp_path: Path
) -> None:
    browser.open(pages["60"])
    (tmp_path / "a.pdf").write_bytes(base64.b64decode(browser("Page.printToPDF", preferCSSPageSize=True)["data"]))
    text = subprocess.run(
        ["pdftotext", "-layout", str(tmp_path / "a.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    sheets = text.split("\f")[:-1]
    assert 2 <= len(sheets) <= 6, "a dozen lines and more on a sheet"
    # letters of small capitals come out one by one
    close = ["".join(sheet.split()).lower() for sheet in sheets]
    assert all("outcome" in sheet and "queries" in sheet and "inasentence" in sheet for sheet in close)
    assert "letter, sheets" not in text and "Show all" not in text


@pytest.mark.parametrize(
    "folder", ["#?q=%2e%2e%2f", "javascript:alert(1)", "a\nb", "🏮", os.fsdecode(b"\xff\xfe"), "-x/C:\\.."]
)
def test_a_click_leads_to_the_report(browser: Browser, tmp_path: Path, folder: str) -> None:
    report = tmp_path / folder / "report.html"
    report.parent.mkdir(parents=True)
    report.write_text("<title>the report</title>")
    index = tmp_path / "index.html"
    index.write_bytes(index_html((evolve(checked("a.pdf", 0, 0, 0), folder=folder),)))
    browser.open(index)
    browser.events.clear()
    browser.js("document.querySelector('tbody bdi').closest('a').click()")
    while not any(event.get("method") == "Page.loadEventFired" for event in browser.events):
        browser.events.append(browser._next(60))
    assert browser.js("document.title") == "the report"


@needs_axe
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["1", "kinds"])
def test_it_is_accessible(browser: Browser, pages: dict[str, Path], name: str, width: int) -> None:
    browser.open(pages[name], width)
    assert violations(browser) == []
