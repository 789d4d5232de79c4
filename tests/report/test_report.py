# SPDX-License-Identifier: AGPL-3.0-or-later
"""report.html and report.pdf: what they say, and that nothing in a PDF can make them say something else."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from types import ModuleType

import pikepdf
import pypdf
import pytest
from attrs import evolve

from foldproof.prove.model import Verdict
from foldproof.report.causes import causes
from foldproof.report.model import Format, Refusal
from foldproof.report.story import runs, story
from foldproof.report.words import clean, pages, ranges
from foldproof.report.write import write_reports
from foldproof.workers import Workers

PIXEL = (
    "data:image/png;base64,iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJ"
    "RU5ErkJggg=="
)
VOID = {"meta", "img", "br", "link", "input", "hr"}


class Reader(HTMLParser):
    """Tags with their attributes, and whether every tag that is opened is closed again."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.feed(text)
        assert not self.open, f"left open: {self.open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open and self.open[-1] == tag, f"</{tag}> closes {self.open[-1:]}"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] not in ("style", "script"):
            self.words.append(data)

    @property
    def text(self) -> str:
        return re.sub(r"\s+", " ", " ".join(self.words))


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Thirty pages with a trim of 140 x 216 mm and a black bar on each."""
    path = tmp_path_factory.mktemp("book") / "almanack.pdf"
    with pikepdf.new() as made:
        for number in range(30):
            made.add_blank_page(page_size=(436.85, 652.28))
            page = made.pages[-1]
            page.Contents = made.make_stream(b"0 0 0 1 k 60 %d 300 20 re f" % (60 + 15 * number))
        made.save(path)
    return path


@pytest.fixture(scope="module")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sheets") / "sheets.pdf"
    with pikepdf.new() as made:
        for _ in range(4):
            made.add_blank_page(page_size=(1757.48, 1360.63))
        made.save(path)
    return path


HANDS: list[Workers] = []


@pytest.fixture(scope="module", autouse=True)
def hands() -> Iterator[None]:
    """One process that draws for all tests of this module."""
    with Workers(1) as workers:
        HANDS.append(workers)
        yield
        HANDS.clear()


def html_of(results: object, out: Path) -> str:
    write_reports(results, out, HANDS[0], {Format.HTML})  # type: ignore[arg-type]
    return (out / "report.html").read_text("utf-8")


def test_first_lines_say_the_verdict_and_what_was_assumed(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    page = Reader(html_of(samples.results(book), tmp_path))
    head, _, _ = page.text.partition("Show findings" if "Show findings" in page.text else " Findings All pages ")
    assert "Two findings of severity stop must be put right first." in head
    for line in samples.plan().assumptions:
        assert line in head
    # what stops the book, then what must be asked, each in the order of the pages it touches
    assert re.search(r"What stops the book Bleed at the trim .*page 3 .*page 7 What must be asked Resolution", head)
    assert "24 places under 225 ppi, worst page 5 (65 ppi) 24 pages" in head.replace("pictures", "places")
    assert re.search(r"2 stop 24 query 1 note", head)
    assert "all three legs hold for 28 pages; 4 pages are blank or like others, and nothing is claimed for them" in head


def test_findings_of_one_cause_stand_in_one_row(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    text = Reader(html_of(samples.results(book), tmp_path)).text
    assert "24 pictures under 225 ppi, worst page 5 (65 ppi)." in text
    assert "All: pages 5–28." in text
    assert "Place a larger original or a smaller picture." in text
    assert "measured 0.8 mm limit 3 mm whose rule ISO/TS 21830 (from memory)." in text


def test_findings_are_listed_by_page_too(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    text = Reader(html_of(samples.results(book), tmp_path)).text
    assert re.search(r"page 7 \(folio 3\) ?: stop, bleed at the trim ?; query, resolution of pictures page 8", text)
    assert re.search(r"page 3 \(folio iii\) ?: stop, bleed at the trim page 5 \(folio 1\)", text)


def test_one_file_that_asks_for_nothing(samples: ModuleType, book: Path, sheets: Path, tmp_path: Path) -> None:
    text = html_of(samples.results(book, sheets=sheets, nasty=samples.NASTY, title=samples.NASTY), tmp_path)
    page = Reader(text)
    names = [tag for tag, _ in page.tags]
    assert not {"link", "iframe", "object", "embed", "base", "form"} & set(names)
    assert names.count("script") == 1, "the report's own"
    for tag, attributes in page.tags:
        assert not any(name.startswith("on") for name in attributes), (tag, attributes)
        assert "style" not in attributes, "the policy allows no style attributes"
        for name in ("src", "href", "xlink:href", "action", "data", "poster", "srcset"):
            value = attributes.get(name)
            assert value is None or value.startswith(("#", "data:image/jpeg;base64,")), (tag, name)
    policy = next(a["content"] or "" for t, a in page.tags if t == "meta" and a.get("http-equiv"))
    css = re.search(r"<style>(.*?)</style>", text, re.S)
    assert css is not None
    # CSP level 3, 6.7.2.5: base64 of the SHA-256 of the element's text
    digest = base64.b64encode(hashlib.sha256(css[1].encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in policy and "default-src 'none'" in policy
    script = re.search(r"<script>(.*?)</script>", text, re.S)
    assert script is not None
    digest = base64.b64encode(hashlib.sha256(script[1].encode()).digest()).decode()
    assert f"script-src 'sha256-{digest}';" in policy
    assert "url(" not in css[1] and "@import" not in css[1]
    assert "<script>document.title" in page.text, "the title is there, as text"


def test_places_are_marked_on_thumbnails(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    page = Reader(html_of(samples.results(book), tmp_path))
    drawn = [a for t, a in page.tags if t == "svg" and (a.get("aria-label") or "").startswith("Page ")]
    assert len(drawn) == 5, "one for each bleed, three for the pictures, none for the whole book"
    assert all("the place marked" in (a["aria-label"] or "") for a in drawn)
    assert drawn[0]["viewbox"] == "-4 -4 148 224"  # trim 140 x 216 mm with 4 mm round it
    marks = [a for t, a in page.tags if t == "rect" and a.get("stroke") == "#a3230a"]
    # page 7: 10 to 130 mm across, 214 to 216 mm up, i.e. 0 to 2 mm below the head; not thinner than 5 mm
    head = marks[1]
    assert (head["x"], head["width"]) == ("10", "120")
    assert float(head["y"] or 9) == pytest.approx(1 - 2.5) and head["height"] == "5"


def test_sheets_carry_their_pages_and_numbered_folds(
    samples: ModuleType, book: Path, sheets: Path, tmp_path: Path
) -> None:
    text = html_of(samples.results(book, sheets=sheets), tmp_path)
    front, back = (part.partition("</svg>")[0] for part in text.split('aria-label="Sheet 1, ')[1:3])
    labels = [re.findall(r'paint-order="stroke">([^<]+)</text>', side) for side in (front, back)]
    # in order of page; upper rows and folios (i–iv, then page less 3) with them
    assert [v for v in labels[0] if v.isdigit()][:2] == ["1", "4"]
    assert "iv" in labels[0] and "ii" in labels[1]
    for side in (front, back):
        assert re.findall(r'fill="#8a2b12">(\d)</text>', side) == ["1", "2", "3"]
        assert side.count("data:image/jpeg;base64,") == 1
    # fold 2 runs across the left half of the front and so across the right half of the back
    assert 'd="M22 240L310 240"' in front and 'd="M598 240L310 240"' in back


def test_a_sheet_without_a_picture_is_drawn(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    text = html_of(samples.results(book), tmp_path)
    assert text.count('aria-label="Sheet 1, ') == 2


def test_a_failed_proof_leads_and_names_the_pages(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    made = samples.plan()
    proof = samples.proof(made, swapped=(6, 7), picture=PIXEL)
    results = samples.results(book, proof=proof)
    page = Reader(html_of(results, tmp_path))
    assert "The proof failed: these sheets would not make this book." in page.text
    assert "Page 6 belongs here, but page 7 came." in page.text
    assert "pages 1–16 · section 1 · sheet 1: fails at pages 6, 7: which page" in page.text
    assert "pages 17–30 · section 2 · sheet 2: all three legs hold; 2 pages not claimed" in page.text
    pictures = [a for t, a in page.tags if t == "img"]
    assert len(pictures) == 2 and all(a["alt"] for a in pictures)


def test_pictures_of_faults_are_embedded_only_when_they_are_pictures(
    samples: ModuleType, book: Path, tmp_path: Path
) -> None:
    proof = samples.proof(samples.plan(), swapped=(6, 7), picture="https://elsewhere.example/x.png")
    page = Reader(html_of(samples.results(book, proof=proof), tmp_path))
    assert not [a for t, a in page.tags if t == "img"]


def test_without_manuscript_nothing_is_claimed(samples: ModuleType, book: Path) -> None:
    proof = evolve(samples.proof(samples.plan()), verdict=Verdict.NOT_COMPARED)
    results = samples.results(book, proof=proof)
    told = story(results)
    assert told.proof_holds is None
    assert "not proved against content" in told.proof
    assert all(run.says == "folds; not compared with a manuscript" for run in runs(results))


def test_no_plan_says_what_would_fit(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    refusal = Refusal(
        "A 32 of 140 x 216 mm is 48 mm wider than the press takes", ("16 pages a section", "a larger press")
    )
    results = samples.results(book, plan=None, proof=None, refusal=refusal)
    text = Reader(html_of(results, tmp_path)).text
    assert "No plan fits this book. A 32 of 140 x 216 mm is 48 mm wider than the press takes." in text
    assert "What would fit: 16 pages a section or a larger press." in text


def test_what_was_done_and_what_could_not_be_drawn_is_said(samples: ModuleType, tmp_path: Path) -> None:
    path = tmp_path / "short.pdf"
    with pikepdf.new() as made:
        for _ in range(6):
            made.add_blank_page(page_size=(436.85, 652.28))
        made.save(path)
    results = samples.results(path, notes=("Nine outlines were dropped from the sheets",))
    text = Reader(html_of(results, tmp_path / "out")).text
    assert "Nine outlines were dropped from the sheets." in text
    assert "Page 7 of short.pdf could not be drawn: it cannot be interpreted." in text


def test_waivers_and_checks_that_did_not_judge_are_told(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    text = Reader(html_of(samples.results(book), tmp_path)).text
    assert "stop, Trim of the pages: Page 30 has no TrimBox. page 30 The last page is empty by wish. M. Wick" in text
    assert "2 found something" not in text and "3 found something, 1 found nothing, 1 could not judge and 1 off" in text
    assert "grain (grain) : The stock of the job is not known." in text
    assert "Off in this spec user unit (user-unit)" in text


def test_severity_is_said_in_words_not_in_colour_alone(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    text = html_of(samples.results(book), tmp_path)
    for severity in ("stop", "query", "note"):
        assert re.search(rf"</svg>\s*{severity}</span>", text)


def test_ink_colours_have_contrast_enough(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    # WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for body text; relative luminance as defined there
    def light(colour: str) -> float:
        parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
        red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    css = html_of(samples.results(book), tmp_path)
    named = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", css))
    for ink in ("ink", "soft", "accent"):
        for paper in ("paper", "wash"):
            assert (light(named[paper]) + 0.05) / (light(named[ink]) + 0.05) >= 4.5, (ink, paper)


def test_a_long_book_with_thousands_of_findings_stays_small(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    results = samples.results(book, pages=2415)
    few = results.findings.items
    many = tuple(evolve(few[3 + n % 20], page=n % 30 + 1, cause=f"picture-resolution/{n % 700}") for n in range(6000))
    results = evolve(results, findings=evolve(results.findings, items=(*few, *many)))
    write_reports(results, tmp_path)
    page = (tmp_path / "report.html").read_bytes()
    assert len(page) < 4_000_000
    assert b"more causes of lesser weight: see findings.json" in page


def test_everything_is_the_same_bytes_again(samples: ModuleType, book: Path, sheets: Path, tmp_path: Path) -> None:
    for name in ("one", "two"):
        write_reports(samples.results(book, sheets=sheets), tmp_path / name, HANDS[0] if name == "one" else None)
    made = sorted(path.name for path in (tmp_path / "one").iterdir())
    assert made == sorted(
        [
            "findings.json",
            "plan.json",
            "proof.json",
            "junit.xml",
            "findings.sarif",
            "letter.txt",
            "report.html",
            "report.pdf",
        ]
    )
    for name in made:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes(), name


def test_only_the_formats_asked_for_are_written(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    made = write_reports(samples.results(book), tmp_path, formats={Format.SARIF})
    assert [path.name for path in made] == ["findings.sarif"] == [path.name for path in tmp_path.iterdir()]


def test_the_printed_report_says_the_same(samples: ModuleType, book: Path, tmp_path: Path) -> None:
    write_reports(samples.results(book, nasty=samples.NASTY), tmp_path, formats={Format.PDF})
    read = pypdf.PdfReader(tmp_path / "report.pdf")
    text = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in read.pages))
    assert "Two findings of severity stop must be put right first." in text
    assert "24 pictures under 225 ppi, worst page 5 (65 ppi)." in text
    for line in samples.plan().assumptions:
        assert line.split(":")[0] in text
    assert "All pages" in text
    assert "/CreationDate" not in (read.metadata or {}), "no clock"


def test_causes_come_worst_severity_first(samples: ModuleType, book: Path) -> None:
    grouped = causes(samples.results(book))
    assert [c.severity for c in grouped] == ["stop", "stop", "query", "note"]
    assert [len(c.findings) for c in grouped] == [1, 1, 24, 1]
    assert grouped[2].findings[0].measured == 65.0


def test_names_set_causes_of_one_check_apart(samples: ModuleType, book: Path) -> None:
    results = samples.results(book)
    bleed = results.findings.items[1]
    items = tuple(evolve(bleed, cause=f"bleed/{name}") for name in ("Harbour Blue", "no-room"))
    titles = [c.title for c in causes(evolve(results, findings=evolve(results.findings, items=items)))]
    assert titles == ["Bleed at the trim: Harbour Blue", "Bleed at the trim"]


def test_ranges_and_clean_text() -> None:
    assert ranges([3, 1, 2, 9, 7, 8, 20]) == "1–3, 7–9, 20"
    assert ranges([1, 2, 5], most=1) == "1, 2 and 1 more"
    assert pages([4]) == "page 4" and pages([4, 5]) == "pages 4, 5"
    assert clean("a\x00b\u202ec\ud800") == "a\ufffdb\ufffdc\ufffd"
