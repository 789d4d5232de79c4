# SPDX-License-Identifier: AGPL-3.0-or-later
"""The inks that each page carries: by construction, by ISO 32000-1, and against ghostscript page by page.

Ghostscript's ``inkcov`` counts the pixels of the BleedBox that have any amount of each process ink; its ``tiffsep``
draws every plate.
"""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from attrs import evolve
from pikepdf import Array, Dictionary, Name, Stream

from foldproof.manuscript.folios import printed_folios
from foldproof.manuscript.model import Observations
from foldproof.manuscript.observe import observe
from foldproof.manuscript.page_inks import TRACE, ink_names, page_inks, told, traces
from foldproof.manuscript.read import read
from foldproof.workers import Workers
from tests import build
from tests.build import Fill, Picture
from tests.passes.plates import tiffsep

CMYK = ("Cyan", "Magenta", "Yellow", "Black")
#: ISO 32000-1, 10.3.4, all grey in black, as tests/passes/plates.py says it to ghostscript
PLAIN_RGB = ("-dUseFastColor=true", "-c", "{} setblackgeneration {} setundercolorremoval", "-f")
TRIM = (140, 216)


@pytest.fixture(scope="module")
def hands() -> Iterator[Workers]:
    with Workers(1) as workers:
        yield workers


def seen(path: Path, hands: Workers, *needs: str, bleed_mm: float = 3) -> Observations:
    return observe(
        read(path), hands, trim_mm=TRIM, bleed_mm=bleed_mm, needs=set(needs or ("ink",)), advance=lambda _: None
    )


def spot(name: str, *full: float) -> Array:
    tint = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0] * 4), C1=Array(list(full)), N=1)
    return Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, tint])


GOLD, EMBER = spot("Lantern Gold", 0, 0.3, 0.9, 0), spot("Ember", 0, 0.9, 0.8, 0)
ALL, NONE = spot("All", 1, 1, 1, 1), spot("None", 1, 1, 1, 1)
LAB = Array([Name.Lab, Dictionary(WhitePoint=Array([0.9642, 1, 0.8249]), Range=Array([-128, 127, -128, 127]))])
SPACES = {"/Gold": GOLD, "/Ember": EMBER, "/All": ALL, "/None": NONE, "/Lab": LAB}


def painted(*fills: Fill, text: str = "", **more: Any) -> dict[str, Any]:
    """Arguments of ``build.page``; without text and folio, so that nothing but the fills is there."""
    resources = {"ColorSpace": Dictionary(SPACES), **more.pop("resources", {})}
    return {"text": text, "folio": None, "fills": fills, "resources": resources, **more}


def area(paint: str, box_mm: tuple[float, float, float, float] = (20, 20, 80, 80)) -> Fill:
    return Fill(box_mm, paint)


def book(target: Path, *pages: dict[str, Any]) -> Path:
    return build.book(len(pages), target, each=lambda n: pages[n])


def inkcov(gs: str, path: Path, first: int, last: int, *, rgb: bool = False) -> list[tuple[str, ...]]:
    """Process inks of pages (1-based) that ghostscript finds within the BleedBox."""
    done = subprocess.run(
        [gs, "-q", "-dBATCH", "-dNOPAUSE", "-dSAFER", "-sDEVICE=inkcov", "-r150", "-dUseBleedBox",
         f"-dFirstPage={first}", f"-dLastPage={last}", "-o", "-", *(PLAIN_RGB if rgb else ()), str(path)],
        capture_output=True, text=True, check=True, timeout=180,
    )  # fmt: skip
    shares = [line.split()[:4] for line in done.stdout.splitlines() if line.rstrip().endswith("OK")]
    assert len(shares) == last - first + 1
    return [tuple(ink for ink, share in zip(CMYK, line, strict=True) if float(share) > 0) for line in shares]


# --- a whole book -------------------------------------------------------------------------------------------------


def test_a_book_with_colour_on_two_pages_and_a_spot_on_one(
    tmp_path: Path, hands: Workers, tool: Callable[[str], str]
) -> None:
    """24 pages in black; a picture in CMYK on page 3, a red rule on page 10, a spot on page 5, page 24 empty."""

    def each(index: int) -> dict[str, Any]:
        match index + 1:
            case 3:
                return {"pictures": [Picture((20, 100, 120, 190), (50, 40), "DeviceCMYK")]}
            case 5:
                return {"fills": [area("/Gold cs 0.6 scn")], "resources": {"ColorSpace": Dictionary(SPACES)}}
            case 10:
                return {"fills": [Fill((20, 180, 120, 180.3), "0 1 1 0 k")]}
            case 24:
                return painted()
        return {}

    path = build.book(24, tmp_path / "a.pdf", each=each)
    found = page_inks(seen(path, hands))
    wanted = [("Black",)] * 24
    wanted[2], wanted[4] = CMYK, ("Black", "Lantern Gold")
    wanted[9], wanted[23] = ("Magenta", "Yellow", "Black"), ()
    assert list(found) == wanted
    assert ink_names(found) == (*CMYK, "Lantern Gold")
    gs = tool("gs")
    theirs = inkcov(gs, path, 1, 24)
    # inkcov has no plates for spots: on that page tiffsep is asked
    theirs[4] = tuple(sorted(tiffsep(gs, path, (5, 5), finer=1)[0]))
    assert list(found) == theirs


@pytest.mark.corpus
@pytest.mark.parametrize(
    ("name", "first", "last"),
    [("pari-users", 1, 40), ("ctwill-150x240", 1, 30), ("debian-edu-manual", 20, 57), ("r-intro", 1, 40)],
)
def test_pages_of_real_books(
    corpus: Path, tool: Callable[[str], str], hands: Workers, name: str, first: int, last: int
) -> None:
    """Where the two differ, ghostscript's plate holds nothing of 1 % or more: what is left out cannot print."""
    path = corpus / "books" / f"{name}.pdf"
    if not path.exists():
        pytest.skip(f"{path.name} is not in the corpus")
    gs = tool("gs")
    found = page_inks(seen(path, hands))[first - 1 : last]
    theirs = inkcov(gs, path, first, last, rgb=True)
    unlike = [number for number, (a, b) in enumerate(zip(found, theirs, strict=True), first) if a != b]
    assert len(unlike) <= 2
    for number in unlike:
        mine, plates = found[number - first], tiffsep(gs, path, (number, number), finer=3, rgb=True)[0]
        assert set(mine) < set(theirs[number - first])
        assert max(plates[ink].max() for ink in theirs[number - first] if ink not in mine) < 0.01
    assert len({inks for inks in found if inks}) > 1 or name == "r-intro"


# --- what counts as which ink -------------------------------------------------------------------------------------

#: paint of an area, and the plates that it marks
PAINTS = {
    # ISO 32000-1, 10.3.3: grey is black
    "0.4 g": ("Black",),
    "0 0 0 1 k": ("Black",),
    # a rich black is four inks, whatever it looks like
    "0.6 0.4 0.4 1 k": CMYK,
    "0.4 0 0 1 k": ("Cyan", "Black"),
    # 10.3.4 with all grey in black: what is neutral is black alone
    "0 0 0 rg": ("Black",),
    "0.3 0.3 0.3 rg": ("Black",),
    "1 1 1 rg": (),
    # c = 1 - r and so on, then the least of the three goes to black
    "1 0 0 rg": ("Magenta", "Yellow"),
    "0 1 1 rg": ("Cyan",),
    "0.2 0.4 0.6 rg": ("Cyan", "Magenta", "Black"),
    # a neutral Lab is a neutral RGB (8.6.5.4)
    "/Lab cs 50 0 0 scn": ("Black",),
    "/Lab cs 100 0 0 scn": (),
    # 8.6.6.4
    "/Gold cs 0.5 scn": ("Lantern Gold",),
    "/None cs 1 scn": (),
}


def test_every_paint_asks_for_its_plates(tmp_path: Path, hands: Workers, tool: Callable[[str], str]) -> None:
    path = book(tmp_path / "a.pdf", *(painted(area(paint)) for paint in PAINTS))
    found = dict(zip(PAINTS, page_inks(seen(path, hands)), strict=True))
    assert found == PAINTS
    plain = [n for n, paint in enumerate(PAINTS, 1) if not paint.startswith("/")]
    theirs = inkcov(tool("gs"), path, 1, max(plain), rgb=True)
    assert [theirs[n - 1] for n in plain] == [found[paint] for paint in PAINTS if not paint.startswith("/")]


def test_text_in_rich_black_and_in_black_alone(tmp_path: Path, hands: Workers) -> None:
    rich = painted(content="0.5 0.4 0.4 1 k\n" + build.text_at("Lantern Row", 20, 100), text=" ")
    black = painted(content="0 0 0 1 k\n" + build.text_at("Lantern Row", 20, 100), text=" ")
    assert page_inks(seen(book(tmp_path / "a.pdf", rich, black), hands)) == (CMYK, ("Black",))


def test_what_is_painted_over_is_no_ink(tmp_path: Path, hands: Workers, tool: Callable[[str], str]) -> None:
    """Opaque paint takes away what it covers in every plate, unless it overprints (ISO 32000-1, 11.7.4)."""
    under = area("0.8 0 0 0 k")
    states = {"ExtGState": Dictionary(Over=Dictionary(OP=True, op=True, OPM=1))}
    over = [Fill((10, 10, 90, 90), f"{state}0 0 0 1 k") for state in ("", "/Over gs ")]
    path = book(tmp_path / "a.pdf", *(painted(under, top, resources=states) for top in over))
    assert list(page_inks(seen(path, hands))) == [("Black",), ("Cyan", "Black")] == inkcov(tool("gs"), path, 1, 2)


def test_only_trim_and_bleed_count(tmp_path: Path, hands: Workers, tool: Callable[[str], str]) -> None:
    """The page has 3 mm of bleed and 10 mm more; bars of cyan stand in each, beside black in the trim."""
    bars = {
        "slug": Fill((-3.9, 20, -3.4, 60), "1 0 0 0 k"),
        "bleed": Fill((-2.5, 20, -1, 60), "1 0 0 0 k"),
        "head": Fill((20, 220, 60, 224), "1 0 0 0 k"),
    }
    path = book(tmp_path / "a.pdf", *(painted(area("0 0 0 1 k"), bar, slug_mm=10) for bar in bars.values()))
    found = seen(path, hands)
    assert list(page_inks(found)) == [("Black",), ("Cyan", "Black"), ("Black",)] == inkcov(tool("gs"), path, 1, 3)
    # with no bleed asked for, the second bar is not printed either
    assert set(page_inks(seen(path, hands, bleed_mm=0))) == {("Black",)}
    (trace,) = traces(found, sides=("a", "b", "c"))
    assert (trace.ink, trace.pages, trace.cover) == ("Cyan", (1,), 0)
    assert any("page 2" in line and "bleed alone" in line for line in told(found, ("a", "b", "c")))


def test_process_inks_by_name_are_no_spots(tmp_path: Path, hands: Workers) -> None:
    """Separation /Black, and a DeviceN of Cyan and a spot (8.6.6.4 and 8.6.6.5)."""
    both = Array([Name.DeviceN, Array([Name.Cyan, Name.Ember]), Name.DeviceCMYK])

    def with_spaces(pdf: pikepdf.Pdf) -> None:
        calculator = Stream(pdf, b"{ exch 0 3 -1 roll dup 0 }")
        calculator.FunctionType, calculator.Domain, calculator.Range = 4, Array([0, 1] * 2), Array([0, 1] * 4)
        both.append(pdf.make_indirect(calculator))
        for made in pdf.pages:
            made.obj.Resources.ColorSpace = Dictionary({"/K": spot("Black", 0, 0, 0, 1), "/Two": both})

    pages = painted(area("/K cs 1 scn")), painted(area("/Two cs 0.5 0.5 scn")), painted(area("/Two cs 0 0.5 scn"))
    path = build.book(3, tmp_path / "a.pdf", each=lambda n: pages[n], after=with_spaces)
    assert page_inks(seen(path, hands)) == (("Black",), ("Cyan", "Ember"), ("Ember",))


@pytest.mark.parametrize("where", ["a pattern", "an annotation", "a glyph", "a shading by function"])
def test_a_spot_counts_where_it_hides(tmp_path: Path, hands: Workers, tool: Callable[[str], str], where: str) -> None:
    """The page itself names no spot.  Ghostscript has a plate for it in each case."""

    def hide(pdf: pikepdf.Pdf) -> None:
        page = pdf.pages[0].obj
        inner = Stream(pdf, b"/A cs 1 scn 0 0 100 100 re f")
        inner.BBox, inner.Resources = Array([0, 0, 100, 100]), Dictionary(ColorSpace=Dictionary(A=GOLD))
        content = b"0 0 0 1 k 60 300 50 50 re f\n"
        match where:
            case "a pattern":
                inner.Type, inner.PatternType, inner.PaintType, inner.TilingType = Name.Pattern, 1, 1, 1
                inner.XStep = inner.YStep = 100
                page.Resources = Dictionary(Pattern=Dictionary(P=pdf.make_indirect(inner)))
                content += b"/Pattern cs /P scn 50 50 100 100 re f"
            case "an annotation":
                inner.Type, inner.Subtype = Name.XObject, Name.Form
                note = Dictionary(
                    Type=Name.Annot, Subtype=Name.Stamp, Rect=Array([50, 50, 150, 150]), F=4,
                    AP=Dictionary(N=pdf.make_indirect(inner)),
                )  # fmt: skip
                page.Annots, page.Resources = Array([pdf.make_indirect(note)]), Dictionary()
            case "a glyph":
                glyph = Stream(pdf, b"1 0 d0 /A cs 1 scn 0 0 1 1 re f")
                face = Dictionary(
                    Type=Name.Font, Subtype=Name.Type3, FontBBox=Array([0, 0, 1, 1]), FirstChar=97, LastChar=97,
                    FontMatrix=Array([1, 0, 0, 1, 0, 0]), Widths=Array([1]), Resources=inner.Resources,
                    Encoding=Dictionary(Differences=Array([97, Name.a])),
                    CharProcs=Dictionary(a=pdf.make_indirect(glyph)),
                )  # fmt: skip
                page.Resources = Dictionary(Font=Dictionary(F=face))
                content += b"BT /F 50 Tf 100 100 Td (a) Tj ET"
            case "a shading by function":
                ramp = Stream(pdf, b"{ add 2 div }")
                ramp.FunctionType, ramp.Domain, ramp.Range = 4, Array([0, 1, 0, 1]), Array([0, 1])
                shade = Dictionary(
                    ShadingType=1, ColorSpace=GOLD, Domain=Array([0, 1, 0, 1]), Matrix=Array([100, 0, 0, 100, 50, 50]),
                    Function=pdf.make_indirect(ramp),
                )  # fmt: skip
                page.Resources = Dictionary(Shading=Dictionary(S=shade))
                content += b"/S sh"
        page.Contents = pdf.make_indirect(Stream(pdf, content))

    path = build.book(2, tmp_path / "a.pdf", each=lambda n: painted(area("0 0 0 1 k")), after=hide)
    found = seen(path, hands)
    (inks, _), drawn_otherwise = page_inks(found), where in ("a glyph", "a shading by function")
    assert set(tiffsep(tool("gs"), path, (1, 1), finer=1)[0]) == {"Black", "Lantern Gold"} <= set(inks)
    assert set(inks) == {"Black", "Lantern Gold", *(("Magenta", "Yellow") if drawn_otherwise else ())}
    assert [line.startswith('"Lantern Gold" on page 1 may') for line in told(found)] == [True] * drawn_otherwise


# --- next to nothing ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tint", "counts", "line"),
    [
        (0.002, False, None),  # less than one step of 256: not even the raster of a press has it
        (0.005, False, "Magenta on page 1 stays below 1 %"),
        (0.01, True, "Magenta on page 1 stays below 3 %"),
        (0.025, True, "Magenta on page 1 stays below 3 %"),
        (0.04, True, None),
    ],
)
def test_a_tint_below_what_prints_is_told(
    tmp_path: Path, hands: Workers, tint: float, counts: bool, line: str | None
) -> None:
    """Bound of 1 %: the task of the plate; bound of 3 %: ISO 12647-2, from memory."""
    path = book(tmp_path / "a.pdf", painted(area("0 0 0 1 k"), area(f"0 {tint} 0 0 k", (90, 20, 130, 200))))
    found = seen(path, hands)
    assert page_inks(found) == (("Magenta", "Black") if counts else ("Black",),)
    lines = told(found, ("a",))
    assert [text.startswith(line) for text in lines] == [True] if line else lines == ()


def test_one_dot_costs_a_plate_and_is_told(tmp_path: Path, hands: Workers) -> None:
    """A dot of 0.3 x 0.3 mm prints; a plate for it must not come about unsaid.  On the side of a picture it does not
    matter."""
    dot = Fill((70, 70, 70.3, 70.3), "0 1 0 0 k")
    pages = painted(area("0 0 0 1 k"), dot), painted(area("0 0 0 1 k")), painted(area("0 0.5 0 0 k"))
    found = seen(book(tmp_path / "a.pdf", *pages), hands)
    assert page_inks(found) == (("Magenta", "Black"), ("Black",), ("Magenta",))
    (trace,) = traces(found, sides=("a", "a", "b"))
    assert (trace.ink, trace.pages) == ("Magenta", (0,))
    # 0.09 of 140 x 216 mm²
    assert trace.cover == pytest.approx(0.09 / (140 * 216), rel=0.2)
    assert trace.cover < TRACE
    (line,) = told(found, ("a", "a", "b"))
    assert line.startswith("Magenta has next to nothing to print on the side of page 1 (")
    assert traces(found, sides=("a", "a", "a")) == ()
    # so small that no plate holds it: 0.02 mm
    path = book(tmp_path / "b.pdf", painted(area("0 0 0 1 k"), Fill((70, 70, 70.02, 70.02), "0 1 0 0 k")))
    assert page_inks(seen(path, hands)) == (("Black",),)


# --- the registration colour (ISO 32000-1, 8.6.6.4) ---------------------------------------------------------------


def test_the_registration_colour_is_on_every_plate_in_use(tmp_path: Path, hands: Workers) -> None:
    live, mark = area("/All cs 1 scn", (30, 90, 60, 91)), Fill((-3, 50, -1, 50.2), "/All cs 1 scn")
    black, pages = area("0 0 0 1 k"), [
        painted(area("0 0 0 1 k"), live),
        painted(area("0 0 0 1 k"), mark),
        painted(live),
        painted(mark),
        painted(area("0.5 0 0 1 k"), mark),
    ]  # fmt: skip
    found = seen(book(tmp_path / "a.pdf", *pages[:4]), hands)
    # a book in black alone stays one
    assert page_inks(found) == (("Black",), ("Black",), ("Black",), ())
    assert any("registration colour is on pages 1 and 3" in line for line in told(found))
    # cyan on the last page but one, a spot on the last: live matter is on these, marks in the bleed ask for none
    found = seen(book(tmp_path / "b.pdf", *pages, painted(area("/Gold cs 1 scn"), mark), painted(black)), hands)
    every = ("Cyan", "Black", "Lantern Gold")
    assert page_inks(found) == (every, ("Black",), every, (), ("Cyan", "Black"), ("Lantern Gold",), ("Black",))


def test_the_registration_colour_alone_in_a_book_is_black(tmp_path: Path, hands: Workers) -> None:
    found = seen(book(tmp_path / "a.pdf", painted(area("/All cs 0.6 scn")), painted()), hands)
    assert page_inks(found) == (("Black",), ())


@pytest.mark.parametrize("where", ["a form", "a pattern", "an indexed picture", "an annotation"])
def test_the_registration_colour_is_found_where_it_hides(tmp_path: Path, hands: Workers, where: str) -> None:
    def hide(pdf: pikepdf.Pdf) -> None:
        inner = Dictionary(ColorSpace=Dictionary(A=ALL))
        page = pdf.pages[0].obj
        stream = Stream(pdf, b"/A cs 1 scn 0 0 100 100 re f")
        stream.Type, stream.Subtype, stream.BBox, stream.Resources = (
            Name.XObject, Name.Form, Array([0, 0, 100, 100]), inner,
        )  # fmt: skip
        content = b"0 0 0 1 k 60 300 50 50 re f q 1 0 0 1 50 50 cm /X Do Q"
        match where:
            case "a form":
                outer = Stream(pdf, b"/X Do")
                outer.Type, outer.Subtype, outer.BBox = Name.XObject, Name.Form, Array([0, 0, 100, 100])
                outer.Resources = Dictionary(XObject=Dictionary(X=pdf.make_indirect(stream)))
                page.Resources = Dictionary(XObject=Dictionary(X=pdf.make_indirect(outer)))
            case "a pattern":
                del stream.Subtype
                stream.Type, stream.PatternType, stream.PaintType, stream.TilingType = Name.Pattern, 1, 1, 1
                stream.XStep = stream.YStep = 100
                page.Resources = Dictionary(Pattern=Dictionary(P=pdf.make_indirect(stream)))
                content = b"0 0 0 1 k 60 300 50 50 re f /Pattern cs /P scn 50 50 100 100 re f"
            case "an indexed picture":
                picture = Stream(pdf, b"\x00\x01\x01\x00")
                picture.Type, picture.Subtype, picture.Width, picture.Height = Name.XObject, Name.Image, 2, 2
                picture.BitsPerComponent = 8
                picture.ColorSpace = Array([Name.Indexed, ALL, 1, pikepdf.String(b"\x00\xff")])
                page.Resources = Dictionary(XObject=Dictionary(X=pdf.make_indirect(picture)))
                content = b"0 0 0 1 k 60 300 50 50 re f q 100 0 0 100 50 50 cm /X Do Q"
            case "an annotation":
                note = Dictionary(
                    Type=Name.Annot, Subtype=Name.Stamp, Rect=Array([50, 50, 150, 150]), F=4,
                    AP=Dictionary(N=pdf.make_indirect(stream)),
                )  # fmt: skip
                page.Annots, page.Resources = Array([pdf.make_indirect(note)]), Dictionary()
                content = b"0 0 0 1 k 60 300 50 50 re f"
        page.Contents = pdf.make_indirect(Stream(pdf, content))

    path = build.book(2, tmp_path / "a.pdf", each=lambda n: painted(area("0 0 0 1 k")), after=hide)
    found = seen(path, hands)
    assert [ink is not None and ink.every_plate for ink in found.ink] == [True, False]
    assert page_inks(found) == (("Black",), ("Black",))


def test_four_inks_are_not_taken_for_the_registration_colour(tmp_path: Path, hands: Workers) -> None:
    """A page that has a solid of all four inks and names /All without painting with it."""
    found = seen(book(tmp_path / "a.pdf", painted(area("1 1 1 1 k")), painted(area("0 0 0 1 k"))), hands)
    assert page_inks(found) == (CMYK, ("Black",))
    assert told(found) == ()


# --- pages that were not seen -------------------------------------------------------------------------------------


def test_a_lost_page_may_carry_every_ink(tmp_path: Path, hands: Workers) -> None:
    whole = seen(book(tmp_path / "a.pdf", *(painted(area(p)) for p in ("0 g", "0 g", "/Gold cs 1 scn"))), hands)
    lost = evolve(whole, ink=(whole.ink[0], None, whole.ink[2]), lost={1: "it took longer than 16 s"})
    every = (*CMYK, "Lantern Gold")
    assert page_inks(lost) == (("Black",), every, ("Lantern Gold",))
    assert page_inks(lost, ("Ember", "All", "None"))[1] == (*CMYK, "Ember", "Lantern Gold")
    assert told(lost) == (
        "Page 2 could not be interpreted (it took longer than 16 s); it is taken to carry every ink.",
    )
    # its first part may have been seen
    assert page_inks(evolve(whole, lost={1: "its content ends too early"}))[1] == every
    # nothing is called light on a side with such a page
    assert traces(lost, ("a", "a", "a")) == ()


def test_pages_that_were_not_looked_at_are_told(tmp_path: Path, hands: Workers) -> None:
    found = seen(book(tmp_path / "a.pdf", painted(area("0 g")), painted()), hands, "objects")
    assert page_inks(found) == (CMYK, CMYK)
    assert "pages 1 and 2" in told(found)[0]


# --- plates in their order; printed folios ------------------------------------------------------------------------


def test_inks_of_a_side_are_in_the_order_of_the_plates() -> None:
    assert ink_names([("Black",), ("Ember", "Aqua"), ("Yellow", "Black"), (), ("Cyan",)]) == (
        "Cyan", "Yellow", "Black", "Aqua", "Ember",
    )  # fmt: skip
    assert ink_names([(), ()]) == ()


def test_the_printed_folio_of_each_page(tmp_path: Path, hands: Workers) -> None:
    """Four pages in roman numbers, the first bare; then arabic from 1, its sixth page bare."""
    roman = ["", "ii", "iii", "iv"]
    arabic = [str(n) if n != 6 else "" for n in range(1, 11)]
    folios = [*roman, *arabic]
    path = build.book(14, tmp_path / "a.pdf", each=lambda n: {"folio": folios[n] or None, "text": "Lantern"})
    assert printed_folios(seen(path, hands, "objects", "ink")) == tuple(folios)
    assert printed_folios(seen(path, hands, "ink")) == ("",) * 14
