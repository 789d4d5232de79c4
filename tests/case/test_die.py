# SPDX-License-Identifier: AGPL-3.0-or-later
"""The stamping die, read back: MuPDF reads its outlines and layers, pypdf its operators and colour spaces."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pikepdf
import pymupdf
import pypdf
import pytest
from attrs import evolve, frozen

from foldproof.case.die import DieReport, write_die
from foldproof.case.die_layout import broken
from foldproof.case.model import CaseSizes
from foldproof.errors import AskedWrong
from foldproof.job.load import load_house
from foldproof.job.model import House, Job
from foldproof.pdf.die_emblem import read_emblem
from foldproof.preflight.model import Severity
from tests.case.made import DINGWORD

#: an inch is 25.4 mm and 72 points (ISO 32000-1, 8.3.2.3)
MM = 25.4 / 72
HOUSE = load_house(None)
#: a small case: boards of 80 x 120, joints of 8, a strip of 14 mm
CASE = evolve(DINGWORD, board_mm=(80.0, 120.0), joint_mm=8.0, strip_mm=(14.0, 120.0))
#: from the left of the open case: 80 + 8, and 14 more; 8 more, and 80 more
STRIP = (88.0, 102.0)
FRONT = (110.0, 190.0)
HIGH = 120.0
#: capitals with flat feet and heads, alike at either end: their outlines reach as far below the middle of the capitals
#: as above it, and what the handles of curves stand out is the same everywhere
FLAT = "HILL ILIH"


def emblem(target: Path, content: bytes) -> str:
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(100, 100))
        pdf.pages[0].obj["/Contents"] = pdf.make_stream(content)
        pdf.save(target)
    return str(target)


@frozen
class Made:
    report: DieReport
    target: Path
    paths: list[dict[str, Any]]
    page: pymupdf.Page
    document: pymupdf.Document

    def box(self, layer: str, *, after: int = 0, count: int | None = None) -> tuple[float, float, float, float]:
        """Round the outlines of a layer: left, foot, right, head, mm from the lower left of the page."""
        rects = [path["rect"] for path in self.paths if path["layer"] == layer][after:][:count]
        whole = pymupdf.Rect(rects[0])
        for rect in rects:
            whole |= rect
        high = self.page.rect.height
        return whole.x0 * MM, (high - whole.y1) * MM, whole.x1 * MM, (high - whole.y0) * MM


Make = Callable[..., Made]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Make:
    folder, kept = tmp_path_factory.mktemp("dies"), {}

    def making(
        title: str = FLAT, author: str = "", case: CaseSizes = CASE, reading: str = "left to right",
        house: House = HOUSE, **stamping: Any,
    ) -> Made:  # fmt: skip
        key = repr((title, author, case, reading, house.finishing, stamping))
        if key not in kept:
            job = Job.model_validate({"book": {"reading": reading}, "stamping": {"ink": "Gold Foil 7", **stamping}})
            target = folder / f"{len(kept)}.pdf"
            named = job.stamping.emblem if job.stamping else None
            report = write_die(case, job, house, title, author, target, read_emblem(named) if named else None)
            document = pymupdf.open(target)
            kept[key] = Made(report, target, document[0].get_drawings(), document[0], document)
        return kept[key]

    return making


def middle(box: tuple[float, float, float, float]) -> tuple[float, float]:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def test_one_ink_and_nothing_but_outlines(made: Make, tmp_path: Path) -> None:
    drawing = emblem(tmp_path / "lamp.pdf", b"1 0 0 rg 10 10 40 40 re f 0 0 1 RG 3 w 10 80 m 50 80 l S")
    die = made(author="HEATH", emblem=drawing, emblem_on="both")
    reader = pypdf.PdfReader(die.target)
    (page,) = reader.pages
    resources: Any = page["/Resources"]
    assert set(resources) <= {"/ColorSpace", "/Properties"}  # no font, no picture, no form, no state
    ((_, space),) = resources["/ColorSpace"].items()
    kind, name, alternate, tint = (part.get_object() for part in space.get_object())
    assert (kind, name, alternate) == ("/Separation", "/Gold Foil 7", "/DeviceCMYK")
    assert [float(value) for value in tint["/C1"]] == [0, 0, 0, 1]
    operators = {
        operator.decode() for _, operator in pypdf.generic.ContentStream(page.get_contents(), reader).operations
    }
    assert operators <= {
        "q", "Q", "cm", "w", "J", "j", "M", "d", "m", "l", "c", "h", "f", "f*", "S", "W", "W*", "n", "CS", "cs", "SCN",
        "scn", "BDC", "EMC",
    }  # fmt: skip
    assert not die.page.get_text().strip() and not die.page.get_images() and not die.page.get_fonts()
    groups = reader.trailer["/Root"]["/OCProperties"]["/OCGs"]  # type: ignore[index]
    assert [str(group.get_object()["/Name"]) for group in groups] == ["spine", "front"]
    assert die.report.ink == "Gold Foil 7"


def test_the_page_is_the_open_case(made: Make) -> None:
    """Two boards of 80, two joints of 8, a strip of 14 mm; 120 mm high."""
    box = pypdf.PdfReader(made().target).pages[0].trimbox
    assert (float(box.width) * MM, float(box.height) * MM) == pytest.approx((190, HIGH), abs=0.01)


def test_lettering_is_centred_on_spine_and_front(made: Make) -> None:
    die = made()
    x, y = middle(die.box("spine"))
    assert x == pytest.approx(sum(STRIP) / 2, abs=0.01)
    assert y == pytest.approx(HIGH / 2, abs=0.01)
    x, y = middle(die.box("front"))
    assert x == pytest.approx(sum(FRONT) / 2, abs=0.01)
    assert y == pytest.approx(HIGH / 2, abs=0.01)


def test_lettering_keeps_off_the_edges(made: Make) -> None:
    words = "The Gamekeeper’s Yearbook of Pathways by Quayside and Jetty"
    die = made(title=words, author="Peregrine Quigley")
    left, foot, right, head = die.box("spine")
    assert left > STRIP[0] and right < STRIP[1] and foot > 5 and head < HIGH - 5
    left, foot, right, head = die.box("front")
    assert left > FRONT[0] + 8 and right < FRONT[1] - 8 and foot > 8 and head < HIGH - 8


@pytest.mark.parametrize(("reads", "turn"), [("head to foot", -1), ("foot to head", 1)])
def test_the_spine_reads_as_the_job_says(reads: str, turn: int, made: Make) -> None:
    """The first letter of an L: read from head to foot its foot, a long bar, is at the left of the strip."""
    die = made(title="L" * 6 + " I", front=False, spine_reads=reads)
    letters = [path for path in die.paths if path["layer"] == "spine"]
    centres = [((p["rect"].y0 + p["rect"].y1) / 2) for p in letters]
    assert (centres == sorted(centres)) is (turn < 0)  # MuPDF's y runs downwards
    pixels = die.page.get_pixmap(dpi=100, clip=letters[0]["rect"], colorspace=pymupdf.csGRAY)
    rows = [bytes(pixels.samples[r * pixels.stride : r * pixels.stride + pixels.width]) for r in range(pixels.height)]
    dark = [sum(255 - row[column] for row in rows) for column in range(pixels.width)]
    half = len(dark) // 2
    # an L's bar runs along its line of writing: it is at the left reading down, at the right reading up
    assert (sum(dark[:half]) > sum(dark[-half:])) is (turn < 0)


def test_a_book_read_right_to_left_has_its_front_at_the_left(made: Make) -> None:
    box = made(reading="right to left", spine=False).box("front")
    assert middle(box)[0] == pytest.approx(80 / 2, abs=0.01)


def test_mirrored_it_is_the_reflection(made: Make) -> None:
    plain, mirrored = made(author="HEATH"), made(author="HEATH", mirror=True)
    wide = plain.page.rect.width
    assert len(plain.paths) == len(mirrored.paths) > 10
    for one, other in zip(plain.paths, mirrored.paths, strict=True):
        for (kind, *points), (twin, *reflected) in zip(one["items"], other["items"], strict=True):
            assert kind == twin
            for p, q in zip(points, reflected, strict=True):
                if isinstance(p, pymupdf.Point):
                    assert (q.x, q.y) == pytest.approx((wide - p.x, p.y), abs=1e-3)


def test_a_sound_die_has_nothing_to_tell(made: Make, tmp_path: Path) -> None:
    drawing = emblem(tmp_path / "lamp.pdf", b"0 g 10 10 40 40 re f 3 w 10 80 m 50 80 l S")
    die = made(author="HEATH", emblem=drawing)
    assert not die.report.findings
    assert all(element.line is None and element.space is None for element in die.report.elements)
    assert [element.name for element in die.report.elements] == [
        "author on the spine", "title on the spine", "title on the front", "emblem on the front", "author on the front",
    ]  # fmt: skip


THIN = {
    # 0.3 pt is 0.106 mm; 0.4 pt of ground is 0.141 mm
    "a thin stroke": (b"0 g 10 10 40 40 re f 0.3 w 10 80 m 50 80 l S", "die-line", 0.106),
    "a thin shape": (b"0 g 10 10 40 40 re f 10 80 40 0.3 re f", "die-line", 0.106),
    "a line of no width": (b"0 g 10 10 40 40 re f 0 w 10 80 m 50 80 l S", "die-line", 0.0),
    "a narrow space": (b"0 g 10 10 40 40 re f 10 50.4 40 9 re f", "die-space", 0.141),
}


@pytest.mark.parametrize("name", THIN)
def test_a_thin_emblem_is_told(name: str, made: Make, tmp_path: Path) -> None:
    content, check, width = THIN[name]
    die = made(title="", emblem=emblem(tmp_path / "lamp.pdf", content))
    (finding,) = die.report.findings
    assert (finding.check, finding.severity) == (check, Severity.STOP)
    assert finding.measured == pytest.approx(width, abs=0.016)
    assert "emblem on the front" in finding.problem and "from the foot" in finding.problem
    assert finding.place_mm is not None
    x, y = finding.place_mm.centre
    assert FRONT[0] < x < FRONT[1] and 0 < y < HIGH


def test_a_space_that_may_fill_in_is_a_query(made: Make, tmp_path: Path) -> None:
    """0.7 pt is 0.247 mm: less than the house's 0.3 mm, more than half of it."""
    drawing = emblem(tmp_path / "lamp.pdf", b"0 g 10 10 40 40 re f 10 50.7 40 9 re f")
    (finding,) = made(title="", emblem=drawing).report.findings
    assert (finding.check, finding.severity) == ("die-space", Severity.QUERY)


def test_the_limits_are_the_houses(made: Make, tmp_path: Path) -> None:
    drawing = emblem(tmp_path / "lamp.pdf", b"0 g 10 10 40 40 re f 0.7 w 10 80 m 50 80 l S")  # 0.247 mm
    assert not made(title="", emblem=drawing).report.findings
    strict = HOUSE.model_copy(update={"finishing": HOUSE.finishing.model_copy(update={"die_line": 0.3})})
    (finding,) = made(title="", emblem=drawing, house=strict).report.findings
    assert (finding.check, finding.limit) == ("die-line", 0.3)


def test_small_lettering_is_made_to_hold(made: Make) -> None:
    """A strip of 6 mm: the face's hairlines alone would be thinner than 0.2 mm there."""
    thin = evolve(CASE, strip_mm=(6.0, HIGH))
    die = made(title="The Quiet Harbour", case=thin, front=False)
    assert not [finding for finding in die.report.findings if finding.check == "die-line"]
    assert any("heavier so that it holds" in line for line in die.report.says)
    left, _, right, _ = die.box("spine")
    assert right - left < 6


def test_what_nobody_could_read_is_left_away_and_told(made: Make) -> None:
    sliver = evolve(CASE, strip_mm=(2.4, HIGH))
    die = made(case=sliver)
    (finding,) = die.report.findings
    assert (finding.check, finding.severity) == ("die-left-away", Severity.QUERY)
    assert "title on the spine" in finding.problem
    assert not [path for path in die.paths if path["layer"] == "spine"]


def test_an_emblem_too_large_is_drawn_smaller_and_told(made: Make, tmp_path: Path) -> None:
    drawing = emblem(tmp_path / "lamp.pdf", b"0 g 0 0 100 100 re f")  # 35.28 mm on a strip of 14
    die = made(title="", emblem=drawing, emblem_on="spine")
    (finding,) = die.report.findings
    left, _, right, _ = die.box("spine")
    assert finding.check == "die-emblem-size" and finding.measured == pytest.approx((right - left) / 35.278, abs=1e-3)
    assert middle(die.box("spine"))[0] == pytest.approx(sum(STRIP) / 2, abs=0.01)


def test_several_colours_become_one_foil_and_are_told(made: Make, tmp_path: Path) -> None:
    drawing = emblem(tmp_path / "lamp.pdf", b"1 0 0 rg 10 10 40 40 re f 0 0 1 rg 60 10 20 20 re f")
    (finding,) = made(title="", emblem=drawing).report.findings
    assert (finding.check, finding.measured) == ("die-ink", 2)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({"ink": "All"}, "stands for no ink"),
        ({"ink": "None"}, "stands for no ink"),
        ({"title": ""}, "no title, author or emblem"),
        ({"spine": False, "front": False}, "neither spine nor front"),
        ({"title": "灯台守"}, 'has no "灯"'),
    ],
)
def test_what_cannot_be_stamped_is_told(asked: dict[str, Any], words: str, tmp_path: Path) -> None:
    job = Job.model_validate({"stamping": {"ink": "Gold", **asked}})
    with pytest.raises(AskedWrong, match=words):
        write_die(CASE, job, HOUSE, "Lamp", "", tmp_path / "die.pdf")
    assert not (tmp_path / "die.pdf").exists()


def test_the_same_job_gives_the_same_bytes(made: Make, tmp_path: Path) -> None:
    job = Job.model_validate({"stamping": {"ink": "Gold Foil 7"}})
    write_die(CASE, job, HOUSE, FLAT, "", tmp_path / "die.pdf")
    assert (tmp_path / "die.pdf").read_bytes() == made().target.read_bytes()


def test_lines_break_evenly_and_leave_no_small_word_hanging() -> None:
    words = "The Keeper of the Low Light Extraordinary"
    widths = {word: float(len(word)) for word in words.split()}
    one, two, three = broken(words, widths, 1.0, 3)
    assert one == (words,)
    assert two == ("The Keeper of the Low", "Light Extraordinary")
    # the last word is the longest line anyhow: "of" need not hang
    assert broken("Loaves of Wheat Extraordinary", {**widths, "Loaves": 6, "Wheat": 5}, 1.0, 3)[2] == (
        "Loaves", "of Wheat", "Extraordinary",
    )  # fmt: skip
    # by trial of all places to break at: the longest of three lines is as short as it can be
    parts = words.split()
    best = min(
        max(len(" ".join(parts[a:b])) for a, b in ((0, i), (i, j), (j, len(parts))))
        for i in range(1, len(parts) - 1)
        for j in range(i + 1, len(parts))
    )
    assert max(map(len, three)) == best
