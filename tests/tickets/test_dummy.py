# SPDX-License-Identifier: AGPL-3.0-or-later
"""dummy.pdf, read back with MuPDF, cut out and folded by the words and lines that stand on it.

The folding here knows the printed dummy alone: figures, their heads, broken lines, words.  It shares nothing with the
fold model of the make-up; what it must give is the book's own order of pages.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pymupdf
import pytest
from attrs import define, evolve

from foldproof.errors import OurFault
from foldproof.geometry import Rect
from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan
from foldproof.tickets.dummy import write_dummy
from tests.tickets.twice import work_and_tumble, work_and_turn

MM = 25.4 / 72  # ISO 32000-1, 8.3.2.3
ACCENT, FAINT, INK = (0x8A, 0x2B, 0x12), (0x6B, 0x65, 0x5C), (0x1D, 0x1B, 0x18)
WORDS = re.compile(r"(\d+) (left|right|top|bottom)( \d+)? (over|under)")

# --- the dummy as it lies on the table --------------------------------------------------------------------------------


@define
class Seen:
    """Something on one side of the paper, mm from its lower left, y up."""

    text: str
    at: tuple[float, float]
    along: tuple[float, float]  #: reading direction
    bold: bool
    size: float


@define
class Leaf:
    """One leaf, seen from the side that lies up before folding."""

    up: str
    down: str
    at: tuple[float, float]
    head: tuple[float, float]


class Looked:
    """One side of a dummy."""

    def __init__(self, page: pymupdf.Page) -> None:
        self.wide, self.high = page.rect.width * MM, page.rect.height * MM
        self.words: list[Seen] = []
        for block in page.get_text("rawdict")["blocks"]:
            for line in block.get("lines", ()):
                self.words += self._words(line)
        self.folds: list[tuple[tuple[float, float], tuple[float, float]]] = []
        self.boxes: list[tuple[tuple[int, ...], float, Rect]] = []
        for path in page.get_drawings():
            colour = tuple(round(255 * v) for v in path["color"]) if path.get("color") else ()
            dashed = path.get("dashes") not in (None, "", "[] 0")
            r = path["rect"]
            box = Rect(r.x0 * MM, self.high - r.y1 * MM, r.x1 * MM, self.high - r.y0 * MM)
            if dashed and colour == ACCENT:
                self.folds.append(((box.x0, box.y0), (box.x1, box.y1)))
            elif colour and not dashed and min(box.width, box.height) > 4:
                self.boxes.append((colour, path["width"], box))
        self.pieces = [box for colour, _, box in self.boxes if colour == FAINT]
        #: the white box of a page, drawn with the lightest line
        self.pages = [box for colour, _, box in self.boxes if colour not in (FAINT, INK, ACCENT)]
        [self.outline] = [box for colour, width, box in self.boxes if colour == INK and width > 0.8]

    def _words(self, line: dict[str, Any]) -> list[Seen]:
        """A line of words; figures of two pages that stand side by side are two."""
        along, font = (line["dir"][0], -line["dir"][1]), line["spans"][0]
        letters = [letter for span in line["spans"] for letter in span["chars"]]
        text = "".join(letter["c"] for letter in letters)
        runs = [letters]
        if re.fullmatch(r"\s*(\d+|blank)(\s+(\d+|blank))*\s*", text):
            runs = [letters[found.start() : found.end()] for found in re.finditer(r"\S+", text)]
        seen = []
        for run in runs:
            box = pymupdf.Rect(run[0]["bbox"])
            for letter in run[1:]:
                box |= pymupdf.Rect(letter["bbox"])
            at = (box.x0 + box.x1) / 2 * MM, self.high - (box.y0 + box.y1) / 2 * MM
            said = "".join(letter["c"] for letter in run).strip()
            if said:
                seen.append(Seen(said, at, along, "Bold" in font["font"], font["size"]))
        return seen

    def mirrored(self, at: tuple[float, float]) -> tuple[float, float]:
        """Where it lies seen through the paper, which was turned over its long (upright) edge."""
        return self.wide - at[0], at[1]

    def figure(self, box: Rect) -> Seen:
        inside = [w for w in self.words if holds(box, w.at) and (re.fullmatch(r"\d+|blank", w.text))]
        return max(inside, key=lambda w: w.size)


def holds(box: Rect, at: tuple[float, float]) -> bool:
    return box.x0 < at[0] < box.x1 and box.y0 < at[1] < box.y1


def near(a: tuple[float, float], b: tuple[float, float], by: float = 0.2) -> bool:
    return math.dist(a, b) < by


def left_of(v: tuple[float, float]) -> tuple[float, float]:
    return -v[1], v[0]


def folded(front: Looked, back: Looked, name: str, right_to_left: bool = False) -> list[str]:
    """The figures in the order of reading, of the piece of that name."""
    tags = [(side, w) for side in (front, back) for w in side.words if w.text == name and w.bold]
    [(upper, tag)] = tags  # the arrow stands on the side that lies up, and only there
    lower = back if upper is front else front
    [piece] = [box for box in upper.pieces if holds(box, tag.at)]
    leaves = []
    for box in upper.pages:
        if not holds(piece, box.centre):
            continue
        under = [b for b in lower.pages if near(lower.mirrored(b.centre), box.centre)]
        assert len(under) == 1, "the back does not lie behind the front"
        above, below = upper.figure(box), lower.figure(under[0])
        head = left_of(above.along)
        mirrored = -left_of(below.along)[0], left_of(below.along)[1]
        assert near(head, mirrored), "the two pages of a leaf have their heads at one edge"
        leaves.append(Leaf(above.text, below.text, box.centre, head))
    right = tag.along
    top = left_of(right)
    sides = {"right": right, "left": (-right[0], -right[1]), "top": top, "bottom": (-top[0], -top[1])}
    steps = {}
    for word in upper.words:
        if holds(piece.grown(0.5), word.at) and (found := WORDS.fullmatch(word.text)):
            # its line runs under the words and along them
            under_it = [
                line
                for line in upper.folds
                if near(nearest(line, word.at), word.at, 0.6)
                and abs(cross(line, word.along)) < 1e-3
                and holds(piece.grown(0.5), middle(line))
            ]
            [line] = under_it
            assert int(found[1]) not in steps
            steps[int(found[1])] = (found[2], found[4], line)
    assert sorted(steps) == list(range(1, len(steps) + 1))
    pile = leaves
    spine = None
    for number in sorted(steps):
        side, way, line = steps[number]
        towards = sides[side]
        start = line[0]

        def beyond(leaf: Leaf, towards=towards, start=start) -> float:
            return (leaf.at[0] - start[0]) * towards[0] + (leaf.at[1] - start[1]) * towards[1]

        moving = [leaf for leaf in pile if beyond(leaf) > 0]
        stays = [leaf for leaf in pile if beyond(leaf) <= 0]
        assert moving and stays
        turned = []
        for leaf in reversed(moving):
            far = 2 * beyond(leaf)
            at = leaf.at[0] - far * towards[0], leaf.at[1] - far * towards[1]
            back_by = 2 * (leaf.head[0] * towards[0] + leaf.head[1] * towards[1])
            head = leaf.head[0] - back_by * towards[0], leaf.head[1] - back_by * towards[1]
            turned.append(Leaf(leaf.down, leaf.up, at, head))
        pile = turned + stays if way == "over" else stays + turned
        if abs(pile[0].head[0] * towards[0] + pile[0].head[1] * towards[1]) < 1e-3:
            spine = line
    assert spine is not None
    first = pile[0]
    for leaf in pile:
        assert near(leaf.at, first.at, 0.6), "the leaves lie on one another, give or take their push-out"
        assert near(leaf.head, first.head, 1e-3), "every head lies at one edge"
    own_right = first.head[1], -first.head[0]
    to_spine = (spine[0][0] - first.at[0]) * own_right[0] + (spine[0][1] - first.at[1]) * own_right[1]
    order = [figure for leaf in pile for figure in (leaf.up, leaf.down)]
    return order if (to_spine < 0) is not right_to_left else order[::-1]


def nearest(line: tuple[tuple[float, float], tuple[float, float]], at: tuple[float, float]) -> tuple[float, float]:
    (ax, ay), (bx, by) = line
    return min(max(at[0], min(ax, bx)), max(ax, bx)), min(max(at[1], min(ay, by)), max(ay, by))


def middle(line: tuple[tuple[float, float], tuple[float, float]]) -> tuple[float, float]:
    return (line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2


def cross(line: tuple[tuple[float, float], tuple[float, float]], along: tuple[float, float]) -> float:
    (ax, ay), (bx, by) = line
    return ((bx - ax) * along[1] - (by - ay) * along[0]) / math.dist(*line)


def wanted(plan: Plan, name: str) -> list[str]:
    places = sorted((p for p in (*plan.places, *plan.again) if p.section == name), key=lambda p: p.position)
    return ["blank" if p.page is None else str(p.page + 1) for p in places]


def opened(plan: Plan, folder: Path, folios: tuple[str, ...] = ()) -> list[tuple[Looked, Looked]]:
    write_dummy(plan, folder / "dummy.pdf", folios)
    with pymupdf.open(folder / "dummy.pdf") as document:
        sides = [Looked(page) for page in document]
    assert len(sides) == 2 * len(plan.kinds)
    return list(zip(sides[::2], sides[1::2], strict=True))


def made(pages: int, job: dict[str, Any], trim_mm: tuple[float, float]) -> Plan:
    return plans(pages, trim_mm, Job.model_validate(job), load_house(None), title="The Wharfinger’s Year")[0]


BOOKS = {
    "octavo": lambda samples: samples.plan(),
    "work and turn": work_and_turn,
    "work and tumble": work_and_tumble,
    "stitched twelves": lambda _: made(
        128, {"book": {"binding": "stitched"}, "sections": {"fold": "12"}}, (100.0, 150.0)
    ),
    "glued": lambda _: made(150, {"book": {"binding": "glued"}}, (140.0, 216.0)),
    "sixty-fours": lambda _: made(
        150, {"paper": {"stock": "Wick Bible 40"}, "sections": {"pages": 64}}, (100.0, 150.0)
    ),
    "right to left": lambda _: made(60, {"book": {"reading": "right to left"}}, (140.0, 216.0)),
    "wide pages": lambda _: made(60, {}, (210.0, 148.0)),
    # the smallest page that the knives of the house's line for sewn books take is 75 x 100 mm; A7 is 74 x 105
    "pocket": lambda _: made(60, {}, (75.0, 105.0)),
}


Made = tuple[Plan, list[tuple[Looked, Looked]]]


@pytest.fixture(scope="module")
def dummies(samples: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Made]:
    """Plan and dummy of every book, each made once."""

    @cache
    def dummy_of(book: str) -> Made:
        plan = BOOKS[book](samples)
        return plan, opened(plan, tmp_path_factory.mktemp("dummy"))

    return dummy_of


@pytest.mark.parametrize("book", BOOKS)
def test_cut_and_folded_it_is_the_book(book: str, dummies: Callable[[str], Made]) -> None:
    plan, sides = dummies(book)
    sheets = {sheet.number: sheet for sheet in plan.instructions.sheets}
    for kind, (front, back) in zip(plan.kinds, sides, strict=True):
        for section in sheets[kind.sheets[0]].sections:
            read = folded(front, back, section.id, plan.reading == "right to left")
            assert read == wanted(plan, section.id), section.id
            assert len(read) == 2 * section.columns * section.rows


@pytest.mark.parametrize("book", BOOKS)
def test_the_back_lies_behind_the_front(book: str, dummies: Callable[[str], Made]) -> None:
    """Flipped on the long edge of upright paper, x goes to the width less x (common practice, no source)."""
    for front, back in dummies(book)[1]:
        assert front.wide < front.high and (front.wide, front.high) == (back.wide, back.high)
        assert len(front.pages) == len(back.pages) > 0
        for here, others in ((front.outline, [back.outline]), *((box, back.pages) for box in front.pages)):
            gaps = []
            for there in others:
                ax, ay = back.mirrored((there.x1, there.y0))
                bx, by = back.mirrored((there.x0, there.y1))
                gaps.append(max(abs(ax - here.x0), abs(ay - here.y0), abs(bx - here.x1), abs(by - here.y1)))
            assert min(gaps) < 0.2


@pytest.mark.parametrize("book", BOOKS)
def test_scale_and_paper(book: str, dummies: Callable[[str], Made]) -> None:
    """The outline is the sheet at the scale that the page states; A4 and A3 are those of ISO 216."""
    plan, sides = dummies(book)
    sheets = {sheet.number: sheet for sheet in plan.instructions.sheets}
    for kind, (front, _) in zip(plan.kinds, sides, strict=True):
        text = " ".join(w.text for w in front.words)
        scale, paper = int(re.search(r"Scale 1:(\d+)", text)[1]), re.search(r"Print on (A\d)", text)[1]
        assert (front.wide, front.high) == pytest.approx({"A4": (210, 297), "A3": (297, 420)}[paper], abs=0.01)
        sheet = sheets[kind.sheets[0]]
        told = sorted((sheet.width_mm / scale, sheet.height_mm / scale))
        assert sorted((front.outline.width, front.outline.height)) == pytest.approx(told, abs=0.1)
        assert (
            scale == 4
            or max(sheet.width_mm, sheet.height_mm) / (scale - 1) > 380
            or min(sheet.width_mm, sheet.height_mm) / (scale - 1) > 260
        ), "a larger scale would have fitted on A3"
        # an office printer leaves some 4 mm white (common practice, no source)
        assert front.outline.x0 > 4 and front.outline.y0 > 4
        assert "flipped on the long edge" in text


@pytest.mark.parametrize("book", BOOKS)
def test_no_word_lies_on_another_or_off_the_paper(book: str, dummies: Callable[[str], Made], tmp_path: Path) -> None:
    plan = dummies(book)[0]
    write_dummy(plan, tmp_path / "dummy.pdf", tuple(f"{page + 3}" for page in range(plan.pages)))
    with pymupdf.open(tmp_path / "dummy.pdf") as document:
        for page in document:
            x0, y0, x1, y1 = page.rect
            paper, boxes = pymupdf.Rect(x0 + 8, y0 + 8, x1 - 8, y1 - 8), []
            for block in page.get_text("dict")["blocks"]:
                for line in block.get("lines", ()):
                    text = "".join(span["text"] for span in line["spans"])
                    x0, y0, x1, y1 = line["bbox"]
                    # ascenders and descenders may meet: the small way of a line, which is its height, is shrunk
                    level = abs(line["dir"][0]) > 0.5
                    inset = 0.25 * ((y1 - y0) if level else (x1 - x0))
                    dx, dy = (0.2, inset) if level else (inset, 0.2)
                    boxes.append((pymupdf.Rect(x0 + dx, y0 + dy, x1 - dx, y1 - dy), text))
            for index, (box, text) in enumerate(boxes):
                assert box in paper, text
                for other, beside in boxes[index + 1 :]:
                    assert not box.intersects(other), (page.number + 1, text, beside)


def test_what_must_be_known_of_a_piece(samples: ModuleType, tmp_path: Path) -> None:
    [(front, back)] = opened(work_and_turn(samples), tmp_path)
    ahead, behind = (" ".join(w.text for w in side.words) for side in (front, back))
    assert "1B, copy of 1A, turn over before folding" in ahead
    assert "1B, copy of 1A, fold with this side up" in behind
    assert "Turn 1B over, side to side." in ahead
    assert "side lay" in ahead and "gripper edge" in ahead and "gripper edge" in behind


def test_printed_folios_stand_beside_the_pages_of_the_pdf(samples: ModuleType, tmp_path: Path) -> None:
    # two pages of front matter, then counting from 1; page 30 bears its own number
    folios = ("i", "", *(str(page - 2) for page in range(3, 30)), "30")
    [(front, back)] = opened(samples.plan(), tmp_path, folios)
    for side in (front, back):
        for box in side.pages:
            page = int(side.figure(box).text)
            small = [w.text for w in side.words if holds(box, w.at) and w.text.startswith("folio")]
            assert small == ([f"folio {folios[page - 1]}"] if page != 2 else [])
    assert sum(w.text.startswith("folio") for w in (*front.words, *back.words)) == 15


def test_slits_are_numbered_in_their_order(dummies: Callable[[str], Made]) -> None:
    """Each figure stands on its line, and none on the name of a piece."""
    plan, [(front, _), *_] = dummies("pocket")
    sheet = plan.instructions.sheets[0]
    found = {}
    for word in front.words:
        if re.fullmatch(r"\d+", word.text) and word.size < 8 and word.bold:
            found[int(word.text)] = word
    assert sorted(found) == list(range(1, len(sheet.slits_mm) + 1)) and len(found) > 4
    scale = sheet.width_mm / front.outline.width
    for number, ((ax, ay), (bx, by)) in enumerate(sheet.slits_mm, 1):
        x = (found[number].at[0] - front.outline.x0) * scale
        y = (found[number].at[1] - front.outline.y0) * scale
        assert near(nearest(((ax, ay), (bx, by)), (x, y)), (x, y), 2.5), number
        for tag in front.words:
            if re.fullmatch(r"\d[A-Z]", tag.text):
                assert not near(found[number].at, tag.at, 2.0), (number, tag.text)


def test_blanks_say_so(samples: ModuleType, tmp_path: Path) -> None:
    [(front, back)] = opened(samples.plan(13), tmp_path)
    assert sum(w.text == "blank" for w in (*front.words, *back.words)) == 3
    assert folded(front, back, "1A")[-4:] == ["13", "blank", "blank", "blank"]


def test_a_sheet_larger_than_any_office_paper_shows(samples: ModuleType, tmp_path: Path) -> None:
    plan = samples.plan(16)
    sheets = tuple(evolve(sheet, width_mm=9000.0) for sheet in plan.instructions.sheets)
    with pytest.raises(OurFault, match="9000 x 480 mm"):
        write_dummy(evolve(plan, instructions=evolve(plan.instructions, sheets=sheets)), tmp_path / "dummy.pdf")


def test_the_same_bytes_again(samples: ModuleType, tmp_path: Path) -> None:
    for name in ("one.pdf", "two.pdf"):
        write_dummy(samples.plan(), tmp_path / name)
    assert (tmp_path / "one.pdf").read_bytes() == (tmp_path / "two.pdf").read_bytes()
