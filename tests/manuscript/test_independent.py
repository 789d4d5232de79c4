# SPDX-License-Identifier: AGPL-3.0-or-later
"""Structure against independent readers, on books and odd files that nobody here made.

Boxes, turning, version: ``pdfinfo -box`` (poppler).  Fonts: ``pdffonts`` (poppler).  Page labels, annotations: pypdf.
Every difference that is allowed stands here with its reason.
"""

from __future__ import annotations

import re
import subprocess
import time
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import pypdf
import pytest

from foldproof.errors import Unreadable
from foldproof.files import sha256_of
from foldproof.manuscript.model import FontKind, Manuscript
from foldproof.manuscript.read import read

pytestmark = pytest.mark.corpus

BOOKS = [
    "ctwill-150x240", "debian-edu-manual", "debian-install.ja", "kaytannollista-latexia-a5", "lilypond-learning",
    "musixdoc-595x792", "ngspice-manual", "pari-users", "pgfplots", "r-fullrefman", "r-intro", "tex-by-topic",
]  # fmt: skip
#: odd files in which poppler finds no pages, or others: no yardstick (README of the corpus: "libraries disagree on the
#: number of pages")
NO_YARDSTICK = {
    "pdfium__bug_555784", "pdfium__page_tree_empty_node", "qpdf__bad-content", "qpdf__fuzz-16214",
    # poppler makes an empty box of a CropBox wholly outside the MediaBox; here it counts as not stated, because a page
    # of no size can be neither printed nor checked
    "pdfium__cropped_no_overlap",
}  # fmt: skip


# of one book at a time (see book_path): reading ends with a search through all that is held, and some books of a
# thousand pages, as two libraries hold them, make that longer than the reading
@lru_cache(maxsize=1)
def _read(path: Path) -> Manuscript:
    return read(path)


@lru_cache(maxsize=1)
def _reader(path: Path) -> pypdf.PdfReader:
    return pypdf.PdfReader(path)


def _said(*command: object) -> str:
    return subprocess.run([*map(str, command)], capture_output=True, check=False).stdout.decode("latin-1")


@pytest.fixture(scope="module", params=BOOKS)
def book_path(request: pytest.FixtureRequest, corpus: Path) -> Path:
    """Of the module, so that all tests of one book come one after another."""
    return corpus / "books" / f"{request.param}.pdf"


def _boxes_agree(path: Path, pdfinfo: str) -> int:
    """Compare every box, turning and size; answers how many values were compared."""
    made = _read(path)
    said = _said(pdfinfo, "-box", "-f", 1, "-l", len(made.pages), path)
    compared = 0
    for number, kind, *corners in re.findall(
        r"^Page\s+(\d+) (Media|Crop|Bleed|Trim|Art)Box:\s+(\S+)\s+(\S+)\s+(\S+)\s+(\S+)$", said, re.M
    ):
        box = getattr(made.pages[int(number) - 1].boxes, kind.lower())
        # two decimals are printed
        assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx([float(c) for c in corners], abs=0.0051), number
        compared += 1
    for number, turned in re.findall(r"^Page\s+(\d+) rot:\s+(\d+)$", said, re.M):
        assert made.pages[int(number) - 1].rotate == int(turned), number
        compared += 1
    version = re.search(r"^PDF version:\s+(\S+)$", said, re.M)
    assert version and made.pdf_version == version[1]
    return compared


def test_boxes_of_books_agree_with_pdfinfo(book_path: Path, tool: Callable[[str], str]) -> None:
    assert _boxes_agree(book_path, tool("pdfinfo")) == 6 * len(_read(book_path).pages)


def test_boxes_of_odd_files_agree_with_pdfinfo(corpus: Path, tool: Callable[[str], str]) -> None:
    pdfinfo, files = tool("pdfinfo"), 0
    for path in sorted((corpus / "hard").glob("*.pdf")):
        try:
            made = _read(path)
        except Unreadable:
            continue
        if path.stem not in NO_YARDSTICK:
            assert _boxes_agree(path, pdfinfo) == 6 * len(made.pages), path.name
            files += 1
    assert files >= 40


# --- fonts -----------------------------------------------------------------------------------------------------------

#: the words of pdffonts for our kinds; it does not tell multiple master fonts from other Type 1 ones, and marks
#: OpenType wrappers, which we count with the outlines that they hold
POPPLER_KIND = {
    FontKind.TYPE1: {"Type 1"},
    FontKind.TYPE1_CFF: {"Type 1C", "Type 1C (OT)"},
    FontKind.TRUETYPE: {"TrueType"},
    FontKind.TRUETYPE_CFF: {"TrueType (OT)"},
    FontKind.CID_CFF: {"CID Type 0", "CID Type 0C", "CID Type 0C (OT)"},
    FontKind.CID_TRUETYPE: {"CID TrueType", "CID TrueType (OT)"},
    FontKind.TYPE3: {"Type 3"},
    FontKind.MULTIPLE_MASTER: {"Type 1"},
    FontKind.UNKNOWN: {"unknown"},
}
_LINE = re.compile(
    r"^(?P<name>.*?)\s+(?P<kind>(?:Type|CID Type|TrueType|CID TrueType|unknown)[ \dC]*(?: \(OT\))?)\s+\S+\s+"
    r"(?P<emb>yes|no)\s+(?P<sub>yes|no)\s+(?:yes|no)\s+(?P<id>\d+\s+\d+|\[none\])$"
)


def _pdffonts(pdffonts: str, path: Path, *more: object) -> dict[str, tuple[str, str, bool, bool]]:
    found = {}
    for line in _said(pdffonts, *more, path).splitlines()[2:]:
        parts = _LINE.match(line)
        assert parts, line
        key = " ".join(parts["id"].split())
        found[key] = (parts["name"], parts["kind"].strip(), parts["emb"] == "yes", parts["sub"] == "yes")
    return found


def _fonts_agree(made: Manuscript, keys: set[str], seen: dict[str, tuple[str, str, bool, bool]]) -> None:
    assert keys == set(seen)
    for key, (name, kind, embedded, subset) in seen.items():
        fact = made.fonts[key]
        assert (fact.name or "[none]", fact.embedded, fact.subset) == (name, embedded, subset)
        assert kind in POPPLER_KIND[fact.kind], key


def test_fonts_of_books_agree_with_pdffonts(book_path: Path, tool: Callable[[str], str]) -> None:
    # name, type, embedded, subset and object id of every font: no difference in these twelve books
    made = _read(book_path)
    _fonts_agree(made, set(made.fonts), _pdffonts(tool("pdffonts"), book_path))


def test_fonts_of_single_pages_agree_with_pdffonts(book_path: Path, tool: Callable[[str], str]) -> None:
    made, pdffonts = _read(book_path), tool("pdffonts")
    for page in made.pages[:: max(1, len(made.pages) // 4)]:
        seen = _pdffonts(pdffonts, book_path, "-f", page.number, "-l", page.number)
        # pdffonts also opens the appearances of annotations that do not print; pgfplots has form fields of that kind
        silent = {key for key in set(seen) - set(page.fonts) if any(not a.prints for a in page.annotations)}
        assert not silent or book_path.stem == "pgfplots"
        _fonts_agree(made, set(page.fonts), {key: font for key, font in seen.items() if key not in silent})


def test_fonts_of_odd_files_agree_with_pdffonts(corpus: Path, tool: Callable[[str], str]) -> None:
    pdffonts, fonts = tool("pdffonts"), 0
    for path in sorted((corpus / "hard").glob("*.pdf")):
        try:
            made = _read(path)
        except Unreadable:
            continue
        if path.stem in NO_YARDSTICK:
            continue
        seen = _pdffonts(pdffonts, path)
        # "[none]" is poppler's id of every font that is no object of its own; ours are numbered
        keys = {"[none]" if key.startswith("direct") else key for key in made.fonts}
        assert keys == set(seen), path.name
        _fonts_agree(made, keys - {"[none]"}, {key: font for key, font in seen.items() if key != "[none]"})
        fonts += len(seen)
    assert fonts > 80


# --- labels, annotations, title --------------------------------------------------------------------------------------


def test_page_labels_of_books_agree_with_pypdf(book_path: Path) -> None:
    reader = _reader(book_path)
    made = _read(book_path)
    assert len(reader.pages) == len(made.pages)
    if "/PageLabels" not in reader.trailer["/Root"]:
        assert {page.label for page in made.pages} == {None}  # pypdf counts from 1 where the file says nothing
    else:
        assert [page.label for page in made.pages] == reader.page_labels


def test_annotations_and_title_of_books_agree_with_pypdf(book_path: Path) -> None:
    reader = _reader(book_path)
    made = _read(book_path)
    for page in made.pages[:: max(1, len(made.pages) // 25)]:
        theirs = [one.get_object() for one in reader.pages[page.index].get("/Annots", [])]
        assert [one.subtype for one in page.annotations] == [one["/Subtype"][1:] for one in theirs]
        for mine, one in zip(page.annotations, theirs, strict=True):
            assert mine.prints == bool(one.get("/F", 0) & 4 and not one.get("/F", 0) & 2 and "/AP" in one)
    said = reader.metadata
    # ghostscript writes "Untitled" into the XMP of a book that has no title; that is no title
    assert made.title == (said.title or "").strip() and made.author == (said.author or "").strip()
    assert made.mod_date == (said.get("/ModDate") or said.get("/CreationDate"))


# --- odd and broken files --------------------------------------------------------------------------------------------


def test_every_hard_file_is_read_or_refused_in_words(corpus: Path, capfd: pytest.CaptureFixture[str]) -> None:
    files = sorted((corpus / "hard").glob("*.pdf"))
    assert len(files) > 50
    for path in files:
        before, began = sha256_of(path), time.monotonic()
        try:
            made = read(path)
        except Unreadable as refused:
            said = str(refused)
            assert str(path) in said and said.endswith(".") and "\n" not in said and len(said) < 400, path.name
        else:
            assert made.pages and all(page.boxes.trim.width > 0 for page in made.pages), path.name
            assert all(key in made.fonts for page in made.pages for key in page.fonts), path.name
            assert made.sha256 == before and str(path) not in " ".join(made.reader_warnings), path.name
        assert time.monotonic() - began < 30, path.name
        assert sha256_of(path) == before, path.name
    told = capfd.readouterr()
    assert not told.out and not told.err, "the library's own remarks stay out of the terminal"


@pytest.mark.parametrize("stem", ["pdfium__bug_555784", "qpdf__fuzz-16214"])
def test_files_that_their_makers_know_to_lack_a_media_box_say_so(stem: str, corpus: Path) -> None:
    # index.tsv of the corpus: kind "box:no-mediabox"
    made = read(corpus / "hard" / f"{stem}.pdf")
    assert any(said.startswith("Page 1: MediaBox is not stated") for said in made.reader_warnings)


@pytest.mark.parametrize(
    ("stem", "spots"),
    [
        # read from the files with a text editor: the names after /Separation and in the arrays after /DeviceN
        ("pdfjs__function_based_shading_cmyk", ("Spot",)),
        ("debian__colorspace-spot", ("BarTone 555 GN", "BarTone 666 GN", "BarTone 888 LB")),
    ],
)
def test_spots_of_odd_files(stem: str, spots: tuple[str, ...], corpus: Path) -> None:
    assert read(corpus / "hard" / f"{stem}.pdf").spots == spots
