# SPDX-License-Identifier: AGPL-3.0-or-later
"""The checks on ink on built books, read, interpreted and rendered."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name
from PIL import Image

from foldproof.manuscript.read import read
from foldproof.preflight.model import Finding, Findings
from tests.build import Fill, Picture, text_at
from tests.passes.looking import looks_at
from tests.preflight.test_observed_files import Checked, checked, third, workers  # noqa: F401 - fixtures

#: 20 x 20 mm in the middle of the page
BOX = (60.0, 90.0, 80.0, 110.0)
TINT = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0] * 4), C1=Array([0, 0.3, 0.9, 0]), N=1)
GOLD = {"ColorSpace": Dictionary(Gold=Array([Name.Separation, Name("/Lantern Gold"), Name.DeviceCMYK, TINT]))}
OVER = {
    "ExtGState": Dictionary(
        Over=Dictionary(OP=True, op=True, OPM=1), Times=Dictionary(BM=Name.Multiply, OP=False, op=False)
    )
}


def of(check: str, found: Findings) -> list[Finding]:
    return [finding for finding in found.items if finding.check == check]


@pytest.mark.parametrize(
    ("paint", "spec", "percent"),
    [
        # sums of the plates as written
        ("0.9 0.8 0.8 0.95 k", "colour-on-coated", 345),
        ("0.8 0.7 0.7 0.9 k", "colour-on-uncoated", 310),
        ("0.8 0.7 0.7 0.9 k", "colour-on-coated", None),
        ("0.8 0.7 0.6 0.9 k", "colour-on-uncoated", None),  # 300 % is just the limit
        ("1 1 0.8 0.9 k", "any-book", 370),
        ("0.9 0.8 0.8 0.95 k", "any-book", None),
        ("0 0 0 rg", "colour-on-uncoated", None),  # no ink yet: it is to be converted first
    ],
)
def test_total_ink(checked: Checked, paint: str, spec: str, percent: float | None) -> None:  # noqa: F811
    found = of("total-ink", checked(spec, **third(fills=(Fill(BOX, paint),))))
    if percent is None:
        assert found == []
        return
    [finding] = found
    assert (finding.page, str(finding.severity)) == (3, "note" if spec == "any-book" else "query")
    assert finding.measured == pytest.approx(percent, abs=2)
    assert finding.place_mm is not None
    assert finding.place_mm.grown(-0.01).meets(type(finding.place_mm)(*BOX))


def test_inks_add_up_by_overprint_and_transparency(checked: Checked) -> None:  # noqa: F811
    """180 % under a spot colour that overprints, under 150 % that multiply."""
    box = "170 120 57 57 re f\n"
    laid = f"0.9 0.9 0 0 k {box} /Over gs /Gold cs 1 scn {box} /Times gs 0 0 0.9 0.6 k {box}"
    [finding] = of("total-ink", checked(**third(content=laid, resources={**GOLD, **OVER})))
    # 90 + 90 + 90 + 60 of the process and the whole of the spot
    assert finding.measured == pytest.approx(430, abs=2)
    assert "100 % Lantern Gold" in finding.problem
    knocked_out = f"0.9 0.9 0 0 k {box} /Gold cs 1 scn {box} 0 0 0.9 0.6 k {box}"
    assert of("total-ink", checked(**third(content=knocked_out, resources={**GOLD, **OVER}))) == []


def test_a_dark_place_smaller_than_the_square(checked: Checked) -> None:  # noqa: F811
    """A rule of 400 %, 2 mm thick, is 160 % of five millimetres; dark type is less still."""
    matter = {"fills": (Fill((30, 100, 110, 102), "1 1 1 1 k"),)}
    assert of("total-ink", checked(**third(**matter))) == []


def test_a_picture_heavy_in_one_place(checked: Checked) -> None:  # noqa: F811
    """Even noise over four plates is 200 %: nowhere near."""
    noise = Picture((30, 100, 80.8, 150.8), (600, 600), "DeviceCMYK")
    assert of("total-ink", checked(**third(pictures=(noise,)))) == []
    dark = Fill((40, 110, 47, 117), "0.95 0.85 0.85 0.9 k")
    [finding] = of("total-ink", checked(**third(pictures=(noise,), fills=(), content=_over(dark))))
    assert finding.measured == pytest.approx(355, abs=2)
    assert finding.place_mm is not None
    assert (finding.place_mm.x0, finding.place_mm.y0) == pytest.approx((41, 111), abs=2)


def _over(fill: Fill) -> str:
    x0, y0, x1, y1 = (v * 72 / 25.4 for v in fill.box_mm)
    return f"{fill.paint} {x0:g} {y0:g} {x1 - x0:g} {y1 - y0:g} re f\n"


def test_a_stray_dot_in_colour(checked: Checked) -> None:  # noqa: F811
    dot = Fill((60, 90, 61, 91), "0 1 0 0 k")
    found = checked(**third(fills=(dot,)))
    [light] = of("light-plate", found)
    assert (light.page, light.measured, light.unit) == (3, pytest.approx(1, abs=0.1), "mm²")
    assert "magenta prints 1 mm²" in light.problem
    [pages] = of("colour-pages", found)
    assert "on 1 of 8 printed pages, page 3;" in pages.problem
    # in a book in black extra-inks speaks of it, and nobody twice
    black = checked("one-colour-text-on-uncoated", **third(fills=(dot,)))
    assert not of("light-plate", black) and not of("colour-pages", black)


def test_a_plate_that_is_needed_anyway(checked: Checked) -> None:  # noqa: F811
    def each(index: int) -> dict[str, object]:
        return {"fills": (Fill((60, 90, 61, 91) if index == 2 else (20, 60, 120, 120), "0 1 0 0 k"),)}

    found = checked(each=each)
    assert of("light-plate", found) == []
    assert of("colour-pages", found) == []  # all of them


def test_a_book_in_black(checked: Checked) -> None:  # noqa: F811
    grey = {"fills": (Fill(BOX, "0.5 g"),), "content": text_at("Grey and black", 40, 60)}
    for spec in ("any-book", "colour-on-coated"):
        found = checked(spec, **third(**grey))
        assert not [f for f in found.items if f.check in ("total-ink", "light-plate", "colour-pages")]


@pytest.mark.corpus
@pytest.mark.parametrize(
    ("book", "pages"), [("lilypond-learning", 70), ("musixdoc-595x792", 60), ("tex-by-topic", 20)], ids=str
)
def test_coloured_pages_of_real_books_against_poppler(
    corpus: Path, tool: Callable[[str], str], tmp_path: Path, book: str, pages: int
) -> None:
    """Pages on which any pixel of poppler's picture is not grey.

    The one difference: with tex-by-topic it paints the frames of links in colours, which a screen shows and no plate.
    """
    path = corpus / "books" / f"{book}.pdf"
    if not path.exists():
        pytest.skip(f"{path.name} is not in the corpus")
    seen = [ink for _, ink in looks_at(path, range(pages))]
    mine = {ink.index + 1 for ink in seen if set(ink.coverage) - {"Black"}}
    words = [tool("pdftoppm"), "-r", "50", "-l", str(pages), str(path), str(tmp_path / "p")]
    subprocess.run(words, check=True, capture_output=True, timeout=120)
    theirs = set()
    for number, picture in enumerate(sorted(tmp_path.glob("p*.ppm")), start=1):
        with Image.open(picture) as opened:
            samples = np.asarray(opened).astype(int)
        if (samples.max(axis=2) - samples.min(axis=2)).max() > 16:
            theirs.add(number)
    if book == "tex-by-topic":
        frames = {page.number for page in read(path).pages if any(a.shows and not a.prints for a in page.annotations)}
        assert mine == set()
        assert theirs <= frames
        return
    assert mine == theirs
    assert 0 < len(mine) < pages
