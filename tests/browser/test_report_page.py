# SPDX-License-Identifier: AGPL-3.0-or-later
"""report.html in a real browser: only our script runs, nothing overflows, and filter, jump and keys work."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pikepdf
import pytest
from attrs import evolve

from foldproof.report.model import Format
from foldproof.report.write import write_reports
from tests.browser.driver import BROWSER, Browser

pytestmark = pytest.mark.skipif(BROWSER is None, reason="no chromium on this machine")

HERE = Path(__file__).parent
FIXTURES = HERE.parents[1] / "fixtures"
AXE = Path(os.environ.get("FOLDPROOF_NODE_MODULES", HERE / "node_modules")) / "axe-core" / "axe.min.js"
needs_axe = pytest.mark.skipif(not AXE.is_file(), reason=f"no axe-core at {AXE}: npm install --prefix tests/browser")
WIDTHS = (390, 1440)


@pytest.fixture(scope="module")
def pages(samples: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The sample book's report: plain; with the worst that a title can hold; of a long book."""
    out = tmp_path_factory.mktemp("out")
    path = out / "almanack.pdf"
    with pikepdf.new() as made:
        for _ in range(30):
            made.add_blank_page(page_size=(436.85, 652.28))
        made.save(path)
    long = "Unbreakable" * 30
    proof = samples.proof(samples.plan(), swapped=(6, 7))
    nasty = samples.results(path, nasty=samples.NASTY + long, title=samples.NASTY + long, proof=proof)
    book = samples.results(path, pages=2415)
    few = book.findings.items[3:]
    many = tuple(evolve(few[n % 20], page=n % 2415 + 1, cause=f"picture-resolution/{n % 40}") for n in range(9000))
    thick = evolve(book, findings=evolve(book.findings, items=(*book.findings.items, *many)))
    for name, results in (("plain", samples.results(path)), ("nasty", nasty), ("long", thick)):
        write_reports(results, out / name, formats={Format.HTML})
    return {name: out / name / "report.html" for name in ("plain", "nasty", "long")}


def test_nothing_that_a_book_smuggles_in_does_anything(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["nasty"])
    assert browser.js("document.title").endswith("– Foldproof report"), "no script changed it"
    assert browser.js("document.querySelectorAll('script').length") == 1
    assert browser.js("document.querySelectorAll('[onerror]').length") == 0
    assert browser.complaints() == [], "style sheet and script pass their own policy"
    # paper of the style sheet; white when the policy had refused it
    assert browser.js("getComputedStyle(document.documentElement).backgroundColor") == "rgb(253, 252, 249)"


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["plain", "nasty", "long"])
def test_nothing_overflows(browser: Browser, pages: dict[str, Path], name: str, width: int) -> None:
    browser.open(pages[name], width)
    browser.js("document.querySelectorAll('details').forEach(d => d.open = true)")
    seen = json.loads(
        browser.js("""JSON.stringify({
            inner: innerWidth, scroll: document.documentElement.scrollWidth,
            wide: [...document.querySelectorAll("body *")].filter(e => !e.closest("svg svg, .scroll, .skip")
                && e.getBoundingClientRect().right > innerWidth + 1 && !e.ownerSVGElement)
                .map(e => e.tagName + "." + e.className).slice(0, 5),
            thumbnails: document.querySelectorAll(".thumbs image").length,
            narrowest: Math.min(...[...document.querySelectorAll(".cause .text")].map(e => e.clientWidth)),
        })""")
    )
    assert seen["inner"] == width
    assert seen["scroll"] <= width and seen["wide"] == [], seen
    assert seen["thumbnails"] >= 5
    assert seen["narrowest"] >= 320, "a finding has room to be read"


SHOWN = "[...document.querySelectorAll('article.cause')].filter(e => !e.hidden).map(e => e.dataset.s).join(' ')"
ON_SHEET = "[...document.querySelectorAll('#leaves [data-p]')].filter(e => !e.hidden).map(e => +e.dataset.p)"
FOCUS = "document.activeElement.dataset.p ?? document.activeElement.id"


def test_the_filter_keeps_what_is_asked_for(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["plain"])
    assert browser.js(SHOWN) == "stop stop query note"
    assert len(browser.js(ON_SHEET)) == 30
    # only what stops: bleed on pages 3 and 7
    browser.js("document.querySelectorAll('#filter input[name=severity]')[1].focus()")
    browser.press(" ", "Tab", " ")
    assert browser.js(SHOWN) == "stop stop"
    assert browser.js(ON_SHEET) == [3, 7]
    assert browser.js("document.querySelector('#filter-says').textContent") == "2 of 4 causes shown, on 2 pages."
    browser.press("Escape")
    assert browser.js(SHOWN) == "stop stop query note"
    # by check
    browser.js("document.querySelector('#f-check').focus()")
    browser.press("R")
    assert browser.js("document.querySelector('#f-check').value") == "picture-resolution"
    assert browser.js(SHOWN) == "query" and browser.js(ON_SHEET) == list(range(5, 29))
    browser.press("Escape")
    # by page: folio iii is page 3; letters are no keys inside a list of choices
    browser.js("document.activeElement.blur()")
    browser.press("f", "iii, 24-40")
    assert browser.js("document.querySelector('#filter-says').textContent").startswith("There is no page 24-40. 1 of 4")
    assert browser.js(ON_SHEET) == [3]
    browser.js("document.querySelector('#f-clear').focus()")
    browser.press("Enter", "f", "6-8")
    assert browser.js(SHOWN) == "stop query" and browser.js(ON_SHEET) == [6, 7, 8]


def test_the_keys_walk_through_findings_and_pages(browser: Browser, pages: dict[str, Path]) -> None:
    browser.open(pages["plain"])
    browser.press("n", "n")
    assert browser.js(FOCUS) == "cause-2"
    assert browser.js("getComputedStyle(document.activeElement).outlineStyle") == "solid", "the focus is seen"
    browser.press("p")
    assert browser.js(FOCUS) == "cause-1"
    # a page is looked up by its number, or by what is printed on it
    browser.press("g", "41", "Enter")
    assert browser.js("document.querySelector('#jump-says').textContent") == "There is no page 41; the book has 30."
    browser.js("document.querySelector('#jump').select()")
    browser.press("iii", "Enter")
    assert browser.js(FOCUS) == "3"
    browser.press("ArrowRight", "ArrowRight")
    assert browser.js(FOCUS) == "5"
    browser.press("ArrowLeft", "PageUp")
    assert browser.js(FOCUS) == "3", "the last page with a finding before page 4"
    browser.press("PageDown", "End")
    assert browser.js(FOCUS) == "30"
    browser.press("Home", "ArrowDown")
    below = int(browser.js(FOCUS))
    assert below > 10
    left = "document.querySelector('[data-p=\"{}\"]').getBoundingClientRect().left"
    same = f"{left.format(below)} - {left.format(1)}"
    assert abs(browser.js(same)) < 60, "the page under it"
    assert browser.js("document.querySelectorAll('#leaves [tabindex=\"0\"]').length") == 1, "one stop of the Tab key"
    # a page with a finding leads to its line in the list, which opens
    browser.press("g")
    browser.js("document.querySelector('#jump').select()")
    browser.press("7", "Enter", "Enter")
    assert browser.js("location.hash") == "#p7"
    assert browser.js("document.querySelector('#p7').closest('details').open") is True
    # the single letters can be switched off (WCAG 2.2, success criterion 2.1.4)
    browser.js("document.querySelector('#single-keys').click(); document.activeElement.blur()")
    browser.press("n")
    assert not browser.js(FOCUS).startswith("cause")


def test_without_its_script_the_page_says_the_same(browser: Browser, pages: dict[str, Path]) -> None:
    browser("Emulation.setScriptExecutionDisabled", value=True)
    try:
        browser.open(pages["plain"])
        text = browser.js("document.body.innerText")
    finally:
        browser("Emulation.setScriptExecutionDisabled", value=False)
    assert "24 pictures under 225 ppi" in text and "Go to page" not in text and "By severity" not in text


@needs_axe
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["plain", "nasty"])
def test_axe_finds_no_serious_violation(browser: Browser, pages: dict[str, Path], name: str, width: int) -> None:
    browser.open(pages[name], width)
    assert violations(browser) == []


def violations(browser: Browser) -> list[str]:
    """What axe-core holds to be serious or critical on the page that is open, everything unfolded."""
    browser.js(AXE.read_text("utf-8") + "; 0")
    found = browser.js("""(async () => {
        document.querySelectorAll("details").forEach(d => d.open = true);
        const result = await axe.run(document, { resultTypes: ["violations"] });
        return JSON.stringify(result.violations.filter(v => ["serious", "critical"].includes(v.impact))
            .map(v => v.id + ": " + v.nodes[0].html.slice(0, 120)));
    })()""")
    loaded: list[str] = json.loads(found)
    return loaded


def test_a_long_book_opens_at_once(browser: Browser, pages: dict[str, Path]) -> None:
    assert pages["long"].stat().st_size < 10_000_000
    # from the start of loading until the page is there, its script run; the best of three, for others share the machine
    took = []
    for _ in range(3):
        browser.open(pages["long"])
        took.append(browser.js("(e => e.loadEventEnd - e.startTime)(performance.getEntriesByType('navigation')[0])"))
    assert 0 < min(took) < 2000, took
    assert browser.js("document.querySelectorAll('#leaves [data-p]').length") == 2415


BOOKS = Path(__file__).parents[3] / "shared" / "corpus" / "books"
REAL = ("r-intro", "kaytannollista-latexia-a5", "lilypond-learning")


@pytest.fixture(scope="module")
def real(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of a real book; ``demo`` is the demo book as first received."""
    out = tmp_path_factory.mktemp("real")
    book, job = BOOKS / f"{request.param}.pdf", []
    if request.param == "demo":
        subprocess.run([sys.executable, str(FIXTURES / "build.py"), str(out)], check=True, capture_output=True)
        book, job = out / "lantern-row-as-received.pdf", ["--job", str(FIXTURES / "job.toml")]
    elif not book.is_file():
        pytest.skip("no ../shared/corpus beside the project")
    command = [sys.executable, "-m", "foldproof", "check", str(book), "-o", str(out / "made"), "-q", *job]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode in (0, 1), done.stderr
    return out / "made" / "report.html"


@pytest.mark.corpus
@needs_axe
@pytest.mark.parametrize("real", ["demo", *REAL], indirect=True)
def test_reports_of_real_books_are_accessible_and_fit(browser: Browser, real: Path) -> None:
    for width in WIDTHS:
        browser.open(real, width)
        assert browser.complaints() == []
        assert browser.js("document.documentElement.scrollWidth") == width
        assert violations(browser) == [], width
