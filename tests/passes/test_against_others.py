# SPDX-License-Identifier: AGPL-3.0-or-later
"""Both passes against independent readers: poppler's ``pdfimages -list``, ghostscript's ``ink_cov`` and ``tiffsep``."""

from __future__ import annotations

import subprocess
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name
from PIL import Image

from foldproof.manuscript.model import Manuscript, Observations, PictureKind
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.workers import Workers
from tests import build
from tests.build import Fill, Picture
from tests.passes.looking import looks

BOOKS = (
    "ctwill-150x240", "debian-edu-manual", "debian-install.ja", "kaytannollista-latexia-a5", "lilypond-learning",
    "musixdoc-595x792", "ngspice-manual", "pari-users", "pgfplots", "r-fullrefman", "r-intro", "tex-by-topic",
)  # fmt: skip
#: what poppler calls each kind; it tells a soft mask from an explicit one, these facts do not
KINDS = {
    PictureKind.CONTONE: "image",
    PictureKind.LINE_WORK: "image",
    PictureKind.STENCIL: "stencil",
    PictureKind.SOFT_MASK: "smask",
}
COLOURS = {
    "Indexed": "index", "ICCBased": "icc", "DeviceGray": "gray", "CalGray": "gray", "DeviceRGB": "rgb", "CalRGB": "rgb",
    "DeviceCMYK": "cmyk", "Separation": "sep", "DeviceN": "devn", "Lab": "lab", "none": "-",
}  # fmt: skip
Key = tuple[Any, ...]
LookedAt = Callable[[Path], tuple[Manuscript, Observations]]


@pytest.fixture(scope="module")
def two() -> Iterator[Workers]:
    with Workers(2) as workers:
        yield workers


def pdfimages(listed: str) -> dict[Key, list[tuple[float, float]]]:
    """Page, kind, pixels, colour, bits, inline or not: the resolutions that ``pdfimages -list`` gives, sorted."""
    found: dict[Key, list[tuple[float, float]]] = defaultdict(list)
    for line in listed.splitlines()[2:]:
        page, _, kind, width, height, colour, _, bits, _, _, holder, *rest = line.split()
        inline = holder == "[inline]"
        x, y = rest[0 if inline else 1], rest[1 if inline else 2]
        key = (int(page), kind.replace("mask", "smask").replace("ss", "s"), int(width), int(height), colour, int(bits))
        found[(*key, inline)].append((float(x), float(y)))
    return {key: sorted(values) for key, values in found.items()}


def ours(seen: Observations) -> dict[Key, list[tuple[float, float]]]:
    assert not seen.lost
    found: dict[Key, list[tuple[float, float]]] = defaultdict(list)
    for page in seen.objects:
        assert page is not None
        for use in page.pictures:
            colour = COLOURS[use.space.partition("(")[0]]
            key = (page.index + 1, KINDS[use.kind], use.width_px, use.height_px, colour, use.bits, use.inline)
            found[key].append((use.ppi_x, use.ppi_y))
    return {key: sorted(values) for key, values in found.items()}


def same(mine: dict[Key, list[tuple[float, float]]], theirs: dict[Key, list[tuple[float, float]]]) -> None:
    """Equal but for the only difference there may be: ``pdfimages`` prints whole numbers from 1 upwards (rounded), and
    three places below 1; so a value may stand half a unit of its last place away."""
    assert sorted(mine) == sorted(theirs)
    for key, wanted in theirs.items():
        assert len(mine[key]) == len(wanted), key
        for axis in (0, 1):
            for got, said in zip(sorted(v[axis] for v in mine[key]), sorted(v[axis] for v in wanted), strict=True):
                assert abs(got - said) <= (0.51 if said >= 1 else 0.0011), (key, got, said)


@pytest.mark.corpus
@pytest.mark.parametrize("book", BOOKS)
def test_pictures_of_real_books_against_pdfimages(
    book: str, corpus: Path, looked_at: LookedAt, pdfimages_list: Callable[[Path], str]
) -> None:
    path = corpus / "books" / f"{book}.pdf"
    if not path.exists():
        pytest.skip(f"{path.name} is not in the corpus")
    same(ours(looked_at(path)[1]), pdfimages(pdfimages_list(path)))


def test_pictures_of_a_built_page_against_pdfimages(
    tmp_path: Path, two: Workers, pdfimages_list: Callable[[Path], str]
) -> None:
    """Turned, masked, stencilled, inline, cropped off the origin, /Rotate.  No UserUnit: poppler does not count it."""
    pictures = [
        Picture((10, 10, 60, 50), (300, 220), "DeviceRGB", turned=33),
        Picture((70, 10, 130, 50), (400, 120), "DeviceCMYK", turned=90),
        Picture((10, 60, 60, 90), (900, 700), bits=1),
        Picture((70, 60, 130, 90), (640, 480), stencil=True, turned=180),
        Picture((10, 100, 60, 140), (200, 160), "DeviceGray", soft_mask=(50, 40)),
    ]
    inline = b"q 144 0 0 36 100 500 cm BI /W 4 /H 2 /BPC 8 /CS /G ID " + bytes(range(0, 64, 8)) + b" EI Q"
    path = build.book(
        4, tmp_path / "a.pdf", pictures=pictures, content=inline, origin_pt=(-50, 70),
        each=lambda index: {"rotate": 90 * index},
    )  # fmt: skip
    needs = frozenset({"objects"})
    mine = ours(observe(read(path), two, trim_mm=(0, 0), bleed_mm=3, needs=needs, advance=lambda _: None))
    assert sum(map(len, mine.values())) == 4 * 7
    same(mine, pdfimages(pdfimages_list(path)))


# --- ink ----------------------------------------------------------------------------------------------------------


def ink_cov(tool: str, path: Path, page: int = 1) -> dict[str, float]:
    """Mean amount of each process colour, from ghostscript's ``ink_cov`` (percent of the page)."""
    run = subprocess.run(
        [tool, "-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=ink_cov", "-r300", f"-dFirstPage={page}", f"-dLastPage={page}",
         "-o", "-", str(path)],
        capture_output=True, text=True, check=True, timeout=120,
    )  # fmt: skip
    values = next(line for line in run.stdout.splitlines() if "CMYK" in line).split()[:4]
    return dict(zip(("Cyan", "Magenta", "Yellow", "Black"), (float(v) / 100 for v in values), strict=True))


def tiffsep(tool: str, path: Path, folder: Path) -> dict[str, float]:
    """Mean amount of each plate of page 1, from ghostscript's ``tiffsep``; 0 is full ink in its pictures."""
    subprocess.run(
        [tool, "-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=tiffsep", "-r144", "-dLastPage=1", "-sOutputFile=sep.tif",
         str(path)],
        cwd=folder, capture_output=True, check=True, timeout=120,
    )  # fmt: skip
    plates = {}
    for plate in folder.glob("sep*(*).tif"):
        with Image.open(plate) as picture:
            plates[plate.stem.partition("(")[2].rstrip(")")] = 1 - float(np.asarray(picture).mean()) / 255
    return {name: amount for name, amount in plates.items() if amount > 0.0005}


PAGES: dict[str, list[Fill]] = {
    "tints": [
        Fill((10, 10, 60, 90), "0.3 0.6 0 0.1 k"),
        Fill((50, 50, 120, 200), "0 0.2 1 0 k"),
        Fill((0, 0, 140, 8), "0.5 g"),
    ],
    "black over four colours": [
        Fill((20, 20, 120, 180), "0.7 0.5 0.4 0.2 k"),
        Fill((40, 40, 80, 160), "0 0 0 1 k"),
        Fill((60, 30, 70, 170), "0 0 0 0 k"),
    ],
    "edges": [Fill((0, 0, 140, 3.3), "1 0 0 0 k"), Fill((0, 10, 0.8, 200), "0 1 0 0 k")],
}


@pytest.mark.parametrize("case", PAGES)
def test_coverage_of_built_pages_against_ghostscript(tmp_path: Path, tool: Callable[[str], str], case: str) -> None:
    pdf = pikepdf.new()
    build.page(pdf, bleed_mm=0, fills=PAGES[case])
    path = build.save(pdf, tmp_path / "a.pdf")
    ((_, ink),) = looks(path)
    theirs = ink_cov(tool("gs"), path)
    for name, amount in theirs.items():
        assert ink.coverage.get(name, 0.0) == pytest.approx(amount, abs=0.003), name


def test_spots_and_overprint_against_ghostscript(tmp_path: Path, tool: Callable[[str], str]) -> None:
    """A spot tint, black that overprints it, and black that does not."""
    tint = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0] * 4), C1=Array([0, 0.3, 0.9, 0]), N=1)
    gold = Array([Name.Separation, Name.Gold, Name.DeviceCMYK, tint])
    pdf = pikepdf.new()
    build.page(
        pdf,
        bleed_mm=0,
        content="/Gold cs 0.5 scn 50 50 200 300 re f 0 0 0 1 k 60 60 50 200 re f /Over gs 0 0 0 1 k 150 60 50 200 re f",
        resources={
            "ColorSpace": Dictionary(Gold=gold),
            "ExtGState": Dictionary(Over=Dictionary(OP=True, op=True, OPM=1)),
        },
    )
    path = build.save(pdf, tmp_path / "a.pdf")
    ((_, ink),) = looks(path)
    theirs = tiffsep(tool("gs"), path, tmp_path)
    assert sorted(ink.coverage) == sorted(theirs) == ["Black", "Gold"]
    for name, amount in theirs.items():
        assert ink.coverage[name] == pytest.approx(amount, abs=0.002), name


@pytest.mark.corpus
@pytest.mark.parametrize(("book", "page"), [("tex-by-topic", 40), ("tex-by-topic", 140)])
def test_coverage_of_pages_of_real_books_against_ghostscript(
    book: str, page: int, corpus: Path, tool: Callable[[str], str], tmp_path: Path
) -> None:
    """Black text: ghostscript at 300 dpi paints every pixel that a glyph touches, so it sees up to a third more ink of
    10-pt type; black is the only plate of both where the page is black.
    Pages with RGB matter, which is turned into inks in two ways, are compared in test_ink_against_tiffsep."""
    source = corpus / "books" / f"{book}.pdf"
    if not source.exists():
        pytest.skip(f"{source.name} is not in the corpus")
    with pikepdf.open(source) as whole:
        one = pikepdf.new()
        one.pages.append(whole.pages[page - 1])
        one.save(tmp_path / "one.pdf")
    ((_, ink),) = looks(tmp_path / "one.pdf")
    theirs = ink_cov(tool("gs"), tmp_path / "one.pdf")
    assert 1.0 <= theirs["Black"] / ink.coverage["Black"] <= 1.35
