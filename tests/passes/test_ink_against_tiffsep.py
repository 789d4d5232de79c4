# SPDX-License-Identifier: AGPL-3.0-or-later
"""Total ink and single plates against ghostscript's ``tiffsep``: spots, overprint, transparency, real pages.

Limit of the comparison: two points of 100 % over any area of 5 x 5 mm.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from foldproof.manuscript.model import PageInk
from foldproof.manuscript.read import read
from tests import build
from tests.build import Picture
from tests.passes.looking import looks, looks_at
from tests.passes.plates import Plates, areas, heaviest, ours, tiffsep, total

#: 5 mm at 72 dpi in whole pixels
SQUARE = 14
POINTS = 0.02
PROCESS = ("Cyan", "Magenta", "Yellow", "Black")
#: 360 x 576 pt: whole pixels at 72 dpi, so that both rasters lie on one grid
TRIM = (127.0, 203.2)


def tint(*full: float) -> Dictionary:
    return Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0] * 4), C1=Array(list(full)), N=1)


def spot(name: str, *full: float) -> Array:
    return Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, tint(*full)])


def two_spots() -> Array:
    """A DeviceN of two spots (ISO 32000-1, 8.6.6.5), its tint transform a calculator function (7.10.5)."""
    return Array([Name.DeviceN, Array([Name.Ember, Name("/Lantern Gold")]), Name.DeviceCMYK])


def rect(x: float, y: float, w: float, h: float, paint: str) -> str:
    return f"{paint} {x:g} {y:g} {w:g} {h:g} re f\n"


STATES = Dictionary(
    Over=Dictionary(OP=True, op=True, OPM=1),
    Over0=Dictionary(OP=True, op=True, OPM=0),
    Half=Dictionary(ca=0.5, CA=0.5),
    Times=Dictionary(BM=Name.Multiply),
    Screen=Dictionary(BM=Name.Screen),
    Dark=Dictionary(BM=Name.Darken, ca=0.7),
)

CASES: dict[str, str] = {
    "CMYK": rect(20, 20, 200, 300, "0.3 0.6 0 0.1 k") + rect(120, 200, 200, 300, "0.9 0.8 0.7 0.95 k"),
    "spots": rect(20, 20, 200, 300, "/Gold cs 0.5 scn")
    + rect(120, 200, 150, 250, "/Ember cs 1 scn")
    + rect(30, 400, 150, 80, "/Two cs 0.4 0.7 scn"),
    "spot overprinting": rect(20, 20, 200, 300, "0.3 0.6 0 0.1 k")
    + "/Over gs\n"
    + rect(120, 200, 150, 250, "/Ember cs 0.8 scn")
    + rect(40, 40, 60, 60, "/Gold cs 1 scn"),
    "black overprinting, modes 1 and 0": rect(20, 20, 300, 500, "0.3 0.6 0.2 0 k")
    + "/Over gs\n"
    + rect(40, 40, 100, 200, "0 0 0 1 k")
    + rect(40, 300, 100, 200, "0 0 0.5 0.4 k")
    + "/Over0 gs\n"
    + rect(200, 40, 100, 200, "0 0 0 1 k"),
    "black over a spot, knocked out and not": rect(20, 20, 300, 500, "/Gold cs 0.6 scn")
    + rect(40, 40, 100, 200, "0 0 0 1 k")
    + "/Over gs\n"
    + rect(200, 40, 100, 200, "0 0 0 1 k"),
    "alpha": rect(20, 20, 200, 300, "0.8 0.2 0 0.3 k")
    + "/Half gs\n"
    + rect(120, 200, 200, 300, "0 0.9 0.7 0.2 k")
    + rect(60, 60, 100, 100, "0 0 0 0 k"),
    "alpha over a spot": rect(20, 20, 200, 300, "/Gold cs 0.8 scn")
    + "/Half gs\n"
    + rect(120, 200, 200, 300, "0 0.9 0.7 0.2 k"),
    "Multiply": rect(20, 20, 200, 300, "0.8 0.2 0 0.3 k")
    + "/Times gs\n"
    + rect(120, 200, 200, 300, "0.5 0.9 0.7 0.2 k"),
    "Screen and Darken": rect(20, 20, 200, 300, "0.8 0.2 0 0.3 k")
    + "/Screen gs\n"
    + rect(120, 200, 200, 300, "0.5 0.9 0.7 0.2 k")
    + "/Dark gs\n"
    + rect(40, 40, 100, 100, "0.1 0.9 0.7 0.2 k"),
    "grey": rect(20, 20, 150, 300, "0.4 g") + rect(20, 400, 100, 100, "0 g"),
    "a shading": "q 40 40 250 400 re W n /Sh sh Q\n",
    "a soft mask": rect(20, 20, 300, 300, "0.3 0.6 0 0.1 k") + "/Mask gs\n" + rect(60, 60, 200, 400, "0 0 0 1 k"),
}


def page(pdf: pikepdf.Pdf, content: str, **more: Any) -> None:
    two = two_spots()
    # ember is 0.9 M 0.8 Y, gold 0.3 M 0.9 Y: e g -> 0, 0.9 e + 0.3 g, 0.8 e + 0.9 g, 0 (clipped to 1 by the range)
    calculator = Stream(pdf, b"{ 0 3 1 roll 2 copy 0.3 mul exch 0.9 mul add 3 1 roll 0.9 mul exch 0.8 mul add 0 }")
    calculator.FunctionType, calculator.Domain, calculator.Range = 4, Array([0, 1] * 2), Array([0, 1] * 4)
    two.append(pdf.make_indirect(calculator))
    mask = Stream(pdf, b"/Fade sh")
    mask.Type, mask.Subtype, mask.BBox = Name.XObject, Name.Form, Array([0, 0, 360, 576])
    mask.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceGray)
    fade = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0]), C1=Array([1]), N=1)
    axis = Array([0, 60, 0, 460])
    mask.Resources = Dictionary(
        Shading=Dictionary(Fade=Dictionary(ShadingType=2, ColorSpace=Name.DeviceGray, Coords=axis, Function=fade))
    )
    states = Dictionary(STATES)
    states.Mask = Dictionary(SMask=Dictionary(S=Name.Luminosity, G=pdf.make_indirect(mask)))
    shade = Dictionary(
        FunctionType=2, Domain=Array([0, 1]), C0=Array([0, 0, 0.2, 0]), C1=Array([1, 0.8, 0.6, 0.9]), N=1
    )
    build.page(
        pdf, trim_mm=TRIM, bleed_mm=0, content=content,
        resources={
            "ColorSpace": Dictionary(
                {"/Gold": spot("Lantern Gold", 0, 0.3, 0.9, 0), "/Ember": spot("Ember", 0, 0.9, 0.8, 0), "/Two": two}
            ),
            "ExtGState": states,
            "Shading": Dictionary(
                Sh=Dictionary(
                    ShadingType=2, ColorSpace=Name.DeviceCMYK, Function=shade, Coords=Array([40, 40, 290, 440]),
                    Extend=Array([True, True]),
                )
            ),
        },
        **more,
    )  # fmt: skip


Pair = tuple[Plates, Plates, PageInk]
NAMES = [f"{case}, {kind}" for case in CASES for kind in ("in a CMYK group", "without a group")]


@pytest.fixture(scope="module")
def both(tmp_path_factory: pytest.TempPathFactory, tool: Callable[[str], str]) -> dict[str, Pair]:
    """All cases as pages of one file, on whole pixels: by our ink pass, by ghostscript, and our facts."""
    pdf, cmyk = pikepdf.new(), Dictionary(S=Name.Transparency, CS=Name.DeviceCMYK)
    for name in NAMES:
        case, _, kind = name.rpartition(", ")
        page(pdf, CASES[case], **({"Group": cmyk} if kind == "in a CMYK group" else {}))
    path = build.save(pdf, tmp_path_factory.mktemp("plates") / "a.pdf")
    theirs = tiffsep(tool("gs"), path, (1, len(NAMES)), finer=1)
    facts = [ink for _, ink in looks(path)]
    return {name: (ours(path, n), theirs[n], facts[n]) for n, name in enumerate(NAMES)}


def same_areas(mine: Plates, theirs: Plates, points: float = POINTS) -> None:
    """Every plate and their sum, over every area of 5 x 5 mm."""
    assert sorted(mine) == sorted(theirs)
    for name, amounts in mine.items():
        assert np.abs(areas(amounts, SQUARE) - areas(theirs[name], SQUARE)).max() <= points, name
    assert np.abs(areas(total(mine), SQUARE) - areas(total(theirs), SQUARE)).max() <= points


@pytest.mark.parametrize("name", NAMES)
def test_every_area_of_a_built_page(both: dict[str, Pair], name: str) -> None:
    same_areas(*both[name][:2])


@pytest.mark.parametrize("name", NAMES)
def test_the_heaviest_square_of_a_built_page(both: dict[str, Pair], name: str) -> None:
    _, theirs, ink = both[name]
    assert ink.peak is not None
    assert ink.peak.total == pytest.approx(heaviest(total(theirs), SQUARE), abs=POINTS)
    by_ink = dict(ink.peak.by_ink)
    assert sum(by_ink.values()) == pytest.approx(ink.peak.total, abs=0.001)
    place = ink.peak.place_mm
    x, y = round(place.x0 / 25.4 * 72), round((TRIM[1] - place.y1) / 25.4 * 72)
    for plate, amounts in theirs.items():
        mean = amounts[y : y + SQUARE, x : x + SQUARE].mean()
        assert by_ink.get(plate, 0.0) == pytest.approx(mean, abs=POINTS), plate


def test_what_is_in_rgb_is_its_plain_complement(tmp_path: Path, tool: Callable[[str], str]) -> None:
    """ISO 32000-1, 10.3.4, with all grey in black: k = min(c, m, y) is taken from each.  So no RGB is over 200 %."""
    pdf, step = pikepdf.new(), 50
    colours = [(r, g, b) for r in (0, 0.2, 1) for g in (0, 0.4, 1) for b in (0, 0.6, 1)]
    content = "".join(
        rect(20 + step * (n % 6), 20 + step * (n // 6), step, step, f"{r:g} {g:g} {b:g} rg")
        for n, (r, g, b) in enumerate(colours)
    )
    build.page(pdf, trim_mm=TRIM, bleed_mm=0, content=content)
    path = build.save(pdf, tmp_path / "a.pdf")
    mine = ours(path)
    for n, (r, g, b) in enumerate(colours):
        row, column = round(TRIM[1] / 25.4 * 72) - 45 - step * (n // 6), 45 + step * (n % 6)
        black = 1 - max(r, g, b)
        wanted = {"Cyan": 1 - r - black, "Magenta": 1 - g - black, "Yellow": 1 - b - black, "Black": black}
        assert {name: float(amounts[row, column]) for name, amounts in mine.items()} == pytest.approx(wanted, abs=0.005)
    assert total(mine).max() <= 2
    same_areas(mine, tiffsep(tool("gs"), path, finer=1, rgb=True)[0])


def test_cmyk_with_a_profile_keeps_its_numbers(tmp_path: Path) -> None:
    """ICCBased with four components, of a profile that is no one's printing condition: native numbers all the same."""
    profile = Path("/usr/share/color/icc/ghostscript/ps_cmyk.icc")
    if not profile.exists():
        pytest.skip(f"{profile} is not here")
    pdf = pikepdf.new()
    stream = Stream(pdf, profile.read_bytes())
    stream.N = 4
    build.page(
        pdf,
        trim_mm=TRIM,
        bleed_mm=0,
        content=rect(20, 20, 150, 300, "/P cs 0.8 0.6 0.4 0.2 sc"),
        resources={"ColorSpace": Dictionary(P=Array([Name.ICCBased, pdf.make_indirect(stream)]))},
    )
    mine = ours(build.save(pdf, tmp_path / "a.pdf"))
    assert [round(float(mine[n][400, 50]), 2) for n in ("Cyan", "Magenta", "Yellow", "Black")] == [0.8, 0.6, 0.4, 0.2]


def test_a_picture(tmp_path: Path, tool: Callable[[str], str]) -> None:
    """Noise in CMYK at 72, 150 and 300 ppi, straight and turned; the two sample a picture in their own ways, which
    the mean over an area does not show."""
    pictures = [
        Picture((10, 10, 60, 60), (142, 142), "DeviceCMYK"),
        Picture((70, 10, 120, 60), (295, 295), "DeviceCMYK", seed=3),
        Picture((10, 100, 60, 150), (590, 590), "DeviceCMYK", seed=5),
        Picture((70, 100, 110, 140), (200, 200), "DeviceCMYK", turned=30, seed=7),
    ]
    pdf = pikepdf.new()
    build.page(pdf, trim_mm=TRIM, bleed_mm=0, pictures=pictures)
    path = build.save(pdf, tmp_path / "a.pdf")
    mine, (theirs,) = ours(path), tiffsep(tool("gs"), path, finer=4)
    # noise is the same on average over the inside of each picture
    for x0, y0, x1, y1 in ((12, 12, 58, 58), (72, 12, 118, 58), (12, 102, 58, 148), (80, 110, 100, 130)):
        left, right = (round(x / 25.4 * 72) for x in (x0, x1))
        top, bottom = (round((TRIM[1] - y) / 25.4 * 72) for y in (y1, y0))
        part = total(mine)[top:bottom, left:right].mean(), total(theirs)[top:bottom, left:right].mean()
        assert part[0] == pytest.approx(part[1], abs=POINTS)


# --- real pages ---------------------------------------------------------------------------------------------------

#: a page of each book that carries colour, or the most ink, as far as there is one
REAL = (
    ("ctwill-150x240", 30), ("debian-edu-manual", 20), ("debian-install.ja", 25), ("kaytannollista-latexia-a5", 110),
    ("lilypond-learning", 44), ("musixdoc-595x792", 66), ("ngspice-manual", 286), ("pari-users", 135),
    ("pgfplots", 114), ("r-fullrefman", 966), ("r-intro", 22), ("tex-by-topic", 63),
)  # fmt: skip
#: of the whole page, for each plate.  Ghostscript paints every pixel that a shape touches: at 432 dpi type and thin
#: rules come out 0.03 mm fatter on average than with smooth edges, up to a tenth of the ink of a page of type.
REAL_POINTS = 0.004


def real(corpus: Path, tool: Callable[[str], str], book: str, page: int) -> tuple[Path, Plates, Plates]:
    path = corpus / "books" / f"{book}.pdf"
    if not path.exists():
        pytest.skip(f"{path.name} is not in the corpus")
    return path, ours(path, page - 1), tiffsep(tool("gs"), path, (page, page), finer=6, rgb=True)[0]


def means(plates: Plates) -> dict[str, float]:
    return {name: float(plates[name].mean()) if name in plates else 0.0 for name in PROCESS}


@pytest.mark.corpus
@pytest.mark.parametrize(("book", "page"), REAL, ids=lambda value: str(value))
def test_the_plates_of_real_pages(corpus: Path, tool: Callable[[str], str], book: str, page: int) -> None:
    _, mine, theirs = real(corpus, tool, book, page)
    assert {name for name, cover in means(theirs).items() if cover > 0.001} <= set(mine)
    assert means(mine) == pytest.approx(means(theirs), abs=REAL_POINTS)


@pytest.mark.corpus
def test_rules_that_are_stretched_dots(corpus: Path, tool: Callable[[str], str]) -> None:
    """The one page that comes out darker: staves made of stencils of one pixel.  MuPDF lets a picture grow to whole
    pixels, so that a line of 0.2 mm is two pixels thick at 72 dpi; nothing but black, and nowhere near a full plate."""
    path, mine, theirs = real(corpus, tool, "musixdoc-595x792", 83)
    assert 0.004 < means(mine)["Black"] - means(theirs)["Black"] < 0.01
    [(objects, ink)] = looks_at(path, [82])
    stencils = [use for use in objects.pictures if (use.width_px, use.height_px, use.inline) == (1, 1, True)]
    assert len(stencils) > 20
    assert ink.peak.total < 0.7


@pytest.mark.corpus
def test_a_page_that_is_blended_in_rgb(corpus: Path, tool: Callable[[str], str]) -> None:
    """Ghostscript blends such a page in RGB as it says, black type too, and takes the whole through its profiles at
    the end, whatever it is told: type comes out in four inks.  Here what is black alone stays so."""
    path, mine, theirs = real(corpus, tool, "ngspice-manual", 143)
    assert read(path).pages[142].group_space == "DeviceRGB"
    for name in PROCESS[:3]:
        assert means(theirs)[name] > means(mine)[name] + 0.02
    type_only = slice(600, 640)  # a paragraph below the picture
    assert not any(mine[name][type_only].any() for name in PROCESS[:3])
    assert all(theirs[name][type_only].any() for name in PROCESS[:3])
