# SPDX-License-Identifier: AGPL-3.0-or-later
"""The text of twelve real books against poppler's ``pdffonts`` and a reckoning by hand from pikepdf and fontTools."""

from __future__ import annotations

import subprocess
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from foldproof.manuscript.model import PageObjects
from tests.passes.looking import looks

#: pages looked at, 1-based: among them all that have glyphs missing, and figures with small type
PAGES = {
    "ctwill-150x240": (20, 90), "debian-edu-manual": (12, 60), "debian-install.ja": (17, 80),
    "kaytannollista-latexia-a5": (31, 200), "lilypond-learning": (43, 69, 170), "musixdoc-595x792": (30, 136, 140),
    "ngspice-manual": (14, 300), "pari-users": (50, 347), "pgfplots": (93, 300), "r-fullrefman": (115, 1387),
    "r-intro": (44, 90), "tex-by-topic": (27, 200),
}  # fmt: skip
#: MuPDF keeps so much of a font's name
NAME = 31


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Path, tuple[int, ...]], list[PageObjects]]:
    """The pages of a book by themselves, through the object pass; each book once."""
    folder = tmp_path_factory.mktemp("parts")

    @cache
    def look(path: Path, pages: tuple[int, ...]) -> list[PageObjects]:
        part = folder / path.name
        with pikepdf.open(path) as book, pikepdf.new() as few:
            for page in pages:
                few.pages.append(book.pages[page - 1])
            few.save(part)
        return [objects for objects, _ in looks(part)]

    return look


def cut(names: Counter[str]) -> Counter[str]:
    """Names as far as MuPDF keeps them."""
    found: Counter[str] = Counter()
    for name, count in names.items():
        found[name[:NAME]] += count
    return found


@pytest.mark.parametrize("name", PAGES)
def test_characters_and_missing_glyphs_by_font(name: str, corpus: Path, seen: Any) -> None:
    """No glyph too many, none too few; those that are missing are missing in the font program itself."""
    by_hand = pytest.importorskip("tests.passes.by_hand")
    path = corpus / "books" / f"{name}.pdf"
    with pikepdf.open(path) as pdf:
        for page, objects in zip(PAGES[name], seen(path, PAGES[name]), strict=True):
            told = by_hand.shown(pdf.pages[page - 1])
            ours: Counter[str] = Counter()
            lost: Counter[str] = Counter()
            for use in objects.texts:
                ours["" if use.type3 else use.font] += use.glyphs
                lost["" if use.type3 else use.font] += use.undefined
            assert cut(ours) == cut(Counter({font: count for font, (count, _) in told.items()})), page
            known = {font[:NAME] for font, (_, missing) in told.items() if missing is not None}
            theirs = cut(Counter({font: missing for font, (_, missing) in told.items() if missing}))
            assert {font: n for font, n in lost.items() if n and font in known} == dict(theirs), page
            assert all(font in known for font, n in lost.items() if n), page


@pytest.mark.parametrize("name", PAGES)
def test_names_of_fonts(name: str, corpus: Path, seen: Any, tool: Callable[[str], str]) -> None:
    path = corpus / "books" / f"{name}.pdf"
    for page, objects in zip(PAGES[name], seen(path, PAGES[name]), strict=True):
        command = [tool("pdffonts"), "-f", str(page), "-l", str(page), str(path)]
        listed = subprocess.run(command, capture_output=True, text=True, check=True, timeout=60).stdout.splitlines()[2:]
        # poppler gives the name of a composite font as a whole, with its CMap at the end (ISO 32000-1, table 121)
        theirs = {line.split()[0].removesuffix("-Identity-H")[:NAME] for line in listed if " Type 3 " not in line}
        assert {use.font for use in objects.texts if not use.type3} <= theirs, page
        assert any(use.type3 for use in objects.texts) <= any(" Type 3 " in line for line in listed), page
