# SPDX-License-Identifier: AGPL-3.0-or-later
"""Type, lines, tints, overprint and spot colours on small books with one planted fault each, read and interpreted."""

from __future__ import annotations

import io
import json
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from foldproof.job.model import Job
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.preflight.model import Facts, Finding
from foldproof.preflight.run import check, needs_of
from foldproof.preflight.specs import load_spec
from foldproof.workers import Workers
from tests.build import PT, Fill, book, font, text_at
from tests.preflight.facts import the_house

#: the checks that this file is about
ABOUT = {
    "all-plates", "bitmap-type", "black-knocks-out", "damaged-fonts", "font-copies", "font-licence", "fonts-embedded",
    "four-colour-grey", "grey-type", "heavy-tints", "light-tints", "missing-glyphs", "rich-black-type", "small-type",
    "spot-names", "thin-lines", "type3-fonts", "white-overprints",
}  # fmt: skip
#: a ground of four inks, and one of two, in which a line of type has its place
FOUR, TWO = Fill((30, 100, 110, 130), "0.6 0.4 0.4 0 k"), Fill((30, 100, 110, 130), "0 0.9 0.8 0 k")


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers(1) as some:
        yield some


Judged = Callable[..., list[Finding]]


@pytest.fixture
def judged(workers: Workers, tmp_path: Path) -> Judged:
    """What this file's checks find in a book of four pages, the third of which is as said."""

    def run(spec: str = "colour-on-coated", after: Any = None, **third: Any) -> list[Finding]:
        path = book(4, tmp_path / "a.pdf", after=after, each=lambda index: third if index == 2 else {})
        rules, manuscript = load_spec(spec), read(path)
        seen = observe(
            manuscript, workers, trim_mm=(140, 216), bleed_mm=3.0, needs=needs_of(rules), advance=lambda steps: None
        )
        facts = Facts(manuscript, seen, Job(), the_house(), (140.0, 216.0), 3.0, grain_along_spine=True)
        return [finding for finding in check(facts, rules).items if finding.check in ABOUT]

    return run


def causes(found: list[Finding]) -> list[tuple[int | None, str]]:
    return [(finding.page, finding.cause) for finding in found]


def line(paint: str, size_pt: float, text: str = "Lamplighter") -> str:
    """A line of type in the middle of the grounds."""
    return f"{paint}\n{text_at(text, 40, 115, size_pt)}"


def rule(paint: str, width_pt: float) -> str:
    return f"{paint} {width_pt} w {40 * PT:.3f} {60 * PT:.3f} m {100 * PT:.3f} {60 * PT:.3f} l S"


#: graphics states: overprint with either mode (ISO 32000-1, 8.6.7)
STATES = {
    "ExtGState": Dictionary(
        O0=Dictionary(OP=True, op=True, OPM=0), O1=Dictionary(OP=True, op=True, OPM=1), Half=Dictionary(CA=0.5, ca=0.5)
    )
}
BLACK, WHITE, RED = "0 0 0 1 k", "0 0 0 0 k", "0 0.9 0.8 0 k"


@pytest.mark.parametrize(
    ("content", "fills", "cause", "measured"),
    [
        (line(BLACK, 4), (), "small-type/one-ink", 4.0),
        (line("2 0 0 2 0 0 cm 0 0 0 1 k", 3), (), None, None),  # 6 pt on paper
        (line("0.5 0 0 0.5 40 100 cm 0 0 0 1 k", 8), (), "small-type/one-ink", 4.0),
        (line(BLACK, 5), (), None, None),
        (line(BLACK, 1, "   "), (), None, None),  # the spaces of a word processor
        (line(RED, 8), (), "small-type/inks", 8.0),
        (line(RED, 9), (), None, None),
        (line(WHITE, 6.5), (FOUR,), "small-type/reversed", 6.5),
        (line(WHITE, 7), (FOUR,), None, None),
        (line(WHITE, 6.5), (Fill(FOUR.box_mm, BLACK),), None, None),
        (line("1 g", 5.5), (Fill(FOUR.box_mm, BLACK),), "small-type/reversed", 5.5),
        (line(WHITE, 4), (), None, None),  # white on bare paper: nothing is printed
        (line("3 Tr 0 0 0 1 k", 3), (), None, None),  # invisible
        (line("0.5 g", 7), (), "grey-type", 7.0),
        (line("0.5 g", 8), (), None, None),
        (line("/Half gs 0 0 0 1 k", 7), (), "grey-type", 7.0),
        (line("0.6 0 0 1 k", 9), (), "rich-black-type/small", 9.0),
        (line("0.6 0 0 1 k", 14), (), None, None),
        (line("1 1 1 1 k", 30), (), "rich-black-type/all-inks", 400.0),
        (line("0.5 0.4 0.4 0.1 k", 9), (), "four-colour-grey", 9.0),
        (line("0.5 0.4 0.4 0.1 k", 14), (), None, None),
        (line(BLACK, 9), (TWO,), "black-knocks-out", 9.0),
        (line("/O1 gs " + BLACK, 9), (TWO,), None, None),
        # ISO 32000-1, table 148: only DeviceCMYK with overprint mode 1 leaves the ground's process inks alone
        (line("/O0 gs " + BLACK, 9), (TWO,), "black-knocks-out", 9.0),
        (line("/O1 gs 0 g", 9), (TWO,), "black-knocks-out", 9.0),
        (line(BLACK, 14), (TWO,), None, None),
        (line("/O1 gs " + WHITE, 20), (TWO,), "white-overprints", "overprints"),
        (line("/O1 gs 1 g", 20), (TWO,), None, None),
        (line(WHITE, 20), (TWO,), None, None),
        ("/O1 gs 0 0 0 0 k 100 320 40 40 re f", (TWO,), "white-overprints", "overprints"),
        (rule("0 0 0 1 K", 0), (), "thin-lines/line", 0.0),
        (rule("0 0 0 1 K", 0.1), (), "thin-lines/line", 0.1),
        (rule("0.25 0 0 0.25 0 0 cm 0 0 0 1 K", 0.4), (), "thin-lines/line", 0.1),
        (rule("0 0 0 1 K", 0.2), (), "thin-lines/line", 0.2),
        (rule("0 0 0 1 K", 0.25), (), None, None),
        (rule("0 0.9 0.8 0 K", 0.4), (), "thin-lines/inks", 0.4),
        (rule("0.5 G", 0.4), (), "thin-lines/tint", 0.4),
        (rule("0 0 0 0 K", 0.4), (TWO,), "thin-lines/white", 0.4),
        ("0 0 0 1 k 100 200 150 0.08 re f", (), "thin-lines/line", 0.08),
        # filled and stroked in one colour, in either order: 0.48 pt thick
        ("0 0 0 1 k 0 0 0 1 K 0.4 w 100 200 150 0.08 re B", (), None, None),
        ("0 0 0 1 k 0 0 0 1 K 0.4 w 100 200 150 0.08 re S 100 200 150 0.08 re f", (), None, None),
        ("0 0 0 1 k 0 0 0 1 K 0.05 w 100 200 50 50 re B", (), None, None),
        # the same outline in another colour is a line
        ("0 0 0 0.5 k 0 0 0 1 K 0.05 w 100 200 50 50 re B", (), "thin-lines/line", 0.05),
        ("0 0 0 0.02 k 100 200 50 50 re f", (), "light-tints", 2.0),
        ("0 0 0 0.03 k 100 200 50 50 re f", (), None, None),
        ("0.02 0 0.4 0 k 100 200 50 50 re f", (), None, None),
        ("0 0 0 0.98 k 100 200 50 50 re f", (), "heavy-tints/matter", 98.0),
        (line("0 0 0 0.98 k", 10), (), "heavy-tints/type", 98.0),
        ("0 0 0 0.97 k 100 200 50 50 re f", (), None, None),
    ],
)
def test_type_lines_and_tints(
    judged: Judged, content: str, fills: tuple[Fill, ...], cause: str | None, measured: float | str | None
) -> None:
    found = judged(content=f"q {content} Q", fills=fills, resources=STATES)
    assert causes(found) == ([(3, cause)] if cause else []), [finding.problem for finding in found]
    if cause:
        assert found[0].measured == measured
        assert found[0].place_mm is not None


def test_in_a_black_book_colour_is_the_business_of_other_checks(judged: Judged) -> None:
    for content in (line(RED, 8), line("0.6 0 0 1 k", 9), line("0.5 0.4 0.4 0.1 k", 9), rule("0 0.9 0.8 0 K", 0.4)):
        assert judged("one-colour-text-on-uncoated", content=content) == []
    for content, cause in ((line(BLACK, 4), "small-type/one-ink"), (line("0.5 g", 7), "grey-type")):
        assert causes(judged("one-colour-text-on-uncoated", content=content)) == [(3, cause)]


def test_without_a_spec_they_are_notes(judged: Judged) -> None:
    for content in (line(BLACK, 4), line("0.6 0 0 1 k", 9), rule("0 0 0 1 K", 0.1)):
        assert [str(finding.severity) for finding in judged("any-book", content=content)] == ["note"]
    assert judged("any-book", content=line("0.5 g", 7)) == []


# --- spot colours ----------------------------------------------------------------------------------------------------


def spot(name: str, magenta: float = 0.6) -> Array:
    # ISO 32000-1, 8.6.6.4: a Separation space with an exponential tint transform (7.10.3)
    tint = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0, 0, 0, 0]), C1=Array([0, magenta, 1, 0.1]), N=1)
    return Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, tint])


def spots(*spaces: Array) -> dict[str, Any]:
    """A patch in each of the spot colours."""
    return {
        "content": "\n".join(f"/S{n} cs 1 scn {60 * n} 300 40 40 re f" for n in range(1, len(spaces) + 1)),
        "resources": {"ColorSpace": Dictionary({f"/S{n}": space for n, space in enumerate(spaces, 1)})},
    }


@pytest.mark.parametrize(
    ("spaces", "cause"),
    [
        ((spot("Lantern Gold"), spot("lantern-gold")), "spot-names/alike/lanterngold"),
        ((spot("Lantern Gold"), spot("Lantern Gold C")), "spot-names/alike/lanterngold"),
        ((spot("black"),), "spot-names/process/black"),
        ((spot("Ember"), spot("Ember", magenta=0.7)), "spot-names/recipe/Ember"),
        ((spot("Ember"), spot("Ember")), None),
        ((spot("Ember"), spot("Lantern Gold")), None),
        ((spot("Black"),), None),
    ],
)
def test_names_of_spot_colours(judged: Judged, spaces: tuple[Array, ...], cause: str | None) -> None:
    assert causes(judged(**spots(*spaces))) == ([(None, cause)] if cause else [])


def test_the_registration_colour_inside_the_trim(judged: Judged) -> None:
    inside = spots(spot("All"))
    assert causes(judged(**inside)) == [(3, "all-plates")]
    # a mark of it in the bleed, 1 to 2 mm beyond the trim
    outside = {**inside, "content": f"/S1 cs 1 scn {-2 * PT:.3f} 300 {PT:.3f} 20 re f"}
    assert judged(**outside) == []
    # both: the one inside is found whichever comes first
    for content in (f"{outside['content']} {inside['content']}", f"{inside['content']} {outside['content']}"):
        assert causes(judged(**{**inside, "content": content})) == [(3, "all-plates")]


@pytest.mark.corpus
@pytest.mark.parametrize(
    "stem", ["debian__colorspace-spot", "pdfjs__function_based_shading_cmyk", "ocr__jbig2_baddevicen"]
)
def test_the_separations_of_odd_files_agree_with_qpdf(corpus: Path, tool: Callable[[str], str], stem: str) -> None:
    path = corpus / "hard" / f"{stem}.pdf"
    said = subprocess.run([tool("qpdf"), "--json=2", "--json-key=qpdf", path], capture_output=True, check=False)
    theirs: set[str] = set()

    def look(thing: Any) -> None:
        if isinstance(thing, dict):
            for value in thing.values():
                look(value)
        elif isinstance(thing, list):
            if len(thing) > 3 and thing[0] == "/Separation":
                theirs.add(thing[1][1:])
            elif len(thing) > 3 and thing[0] == "/DeviceN" and isinstance(thing[1], list):
                theirs.update(name[1:] for name in thing[1])
            for value in thing:
                look(value)

    look(json.loads(said.stdout)["qpdf"][1])
    ours = {found.name for found in read(path).facts.spots}
    process = {"Cyan", "Magenta", "Yellow", "Black", "All", "None"}
    assert ours - process == theirs - process
    assert theirs


# --- fonts -----------------------------------------------------------------------------------------------------------


def on_page_3(make: Callable[[pikepdf.Pdf], pikepdf.Object]) -> Callable[[pikepdf.Pdf], None]:
    def add(pdf: pikepdf.Pdf) -> None:
        pdf.pages[2].Resources.Font["/F9"] = make(pdf)

    return add


def test_a_sign_that_the_font_lacks(judged: Judged) -> None:
    programs = pytest.importorskip("tests.manuscript.test_programs", reason="fontTools is not installed")
    program = programs.truetype(letters="AB")
    assert programs.TTFont(io.BytesIO(program)).getBestCmap().get(ord("C")) is None
    for text, missing in (("ABCABC", 2), ("ABAB", 0)):
        content = f"{BLACK}\n{text_at(text, 40, 60, 10, resource='F9')}"
        found = judged(after=on_page_3(lambda pdf: programs.simple(pdf, program)), content=content)
        assert causes(found) == ([(3, "missing-glyphs")] if missing else [])
        assert [one.measured for one in found] == ([missing] if missing else [])


def test_a_font_cut_short(judged: Judged) -> None:
    def cut(pdf: pikepdf.Pdf) -> pikepdf.Object:
        made = font(pdf, "tiro")
        program = made.FontDescriptor.FontFile3
        program.write(program.read_bytes()[:9000])
        return made

    found = judged(after=on_page_3(cut), content=f"{BLACK}\n{text_at('AB', 40, 60, 10, resource='F9')}")
    assert (3, "damaged-fonts/Times-Roman") in causes(found)
    assert [str(one.severity) for one in found if one.check == "damaged-fonts"] == ["stop"]


def test_type_3_fonts_of_pictures_and_of_outlines(judged: Judged) -> None:
    programs = pytest.importorskip("tests.manuscript.test_programs", reason="fontTools is not installed")
    text = f"{BLACK}\n{text_at('ab', 40, 60, 10, resource='F9')}"
    coloured = programs.OUTLINE.replace("9 0 0 0 8 8 d1", "9 0 d0 1 0 0 rg")
    for glyph, cause in (
        (programs.PIXELS, "bitmap-type"), (programs.OUTLINE, "type3-fonts"), (coloured, "type3-fonts"),
    ):  # fmt: skip
        found = judged(after=on_page_3(lambda pdf, glyph=glyph: programs.type3(pdf, glyph, glyph)), content=text)
        assert causes(found) == [(3, cause)]
        # the line begins at (40, 60) mm
        assert found[0].place_mm is not None and found[0].place_mm.x0 == pytest.approx(40, abs=2)


def test_fonts_that_are_listed_and_not_shown(judged: Judged) -> None:
    programs = pytest.importorskip("tests.manuscript.test_programs", reason="fontTools is not installed")

    def missing(pdf: pikepdf.Pdf) -> pikepdf.Object:
        return font(pdf, "cour", embedded=False)

    def outlines(pdf: pikepdf.Pdf) -> pikepdf.Object:
        return programs.type3(pdf, programs.OUTLINE)

    text = f"{BLACK}\n{text_at('ab', 40, 60, 10, resource='F9')}"
    for make, cause in ((missing, "fonts-embedded/Courier"), (outlines, "type3-fonts")):
        assert causes(judged(after=on_page_3(make), content=text)) == [(3, cause)]
        assert judged(after=on_page_3(make)) == []
        # large, rotated, stroked, or to clip by
        for how in ("5 0 0 5 -450 -700 cm", "0 1 -1 0 500 0 cm", "1 Tr 0 0 0 1 K", "7 Tr"):
            shown = f"q {how}\n{text} 0 0 0 1 k 0 0 400 400 re f Q"
            assert cause in {one.cause for one in judged(after=on_page_3(make), content=shown)}, how


@pytest.mark.parametrize(
    ("flags", "cause"),
    [
        (0, None),
        (2, "font-licence/restricted/Lantern"),
        (4, None),  # to view and print is enough
        (6, None),  # of several the mildest holds (OpenType specification, OS/2 versions 0 to 2)
        (0x104, "font-licence/no-subset/Lantern"),
        (0x200, "font-licence/pictures-only/Lantern"),
    ],
)
def test_leave_to_embed_as_fonttools_reads_it(judged: Judged, flags: int, cause: str | None) -> None:
    programs = pytest.importorskip("tests.manuscript.test_programs", reason="fontTools is not installed")
    program = programs.truetype(flags)
    assert programs.TTFont(io.BytesIO(program))["OS/2"].fsType == flags
    text = f"{BLACK}\n{text_at('AB', 40, 60, 10, resource='F9')}"
    found = judged(after=on_page_3(lambda pdf: programs.simple(pdf, program)), content=text)
    assert causes(found) == ([(None, cause)] if cause else [])


@pytest.mark.parametrize(("copies", "found"), [(11, True), (10, False)])
def test_many_parts_of_one_font(judged: Judged, copies: int, found: bool) -> None:
    programs = pytest.importorskip("tests.manuscript.test_programs", reason="fontTools is not installed")

    def add(pdf: pikepdf.Pdf) -> None:
        for n in range(copies):
            name, letters = f"{'ABCDE' + chr(65 + n)}+Lantern", "AB" + chr(67 + n)
            pdf.pages[2].Resources.Font[f"/C{n}"] = programs.simple(pdf, programs.truetype(letters=letters), name=name)

    assert causes(judged(after=add)) == ([(None, "font-copies")] if found else [])
