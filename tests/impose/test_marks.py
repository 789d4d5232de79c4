# SPDX-License-Identifier: AGPL-3.0-or-later
"""Marks, read back from the written file by MuPDF and ghostscript: where they stand, what they are printed in."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pikepdf
import pymupdf
import pytest
from pikepdf import Array, Dictionary, Name
from PIL import Image

from foldproof.impose.marks.view import creases
from foldproof.impose.model import Sheets
from foldproof.job.load import load_house
from foldproof.job.model import Job, Marks
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan, Side
from tests.build import PT, book
from tests.impose.plans import FOLIO, plan
from tests.impose.sheets import DATE, SWITCHES, ghostscript, impose, side_index

DPI = 144
HAND = {
    "octavo, sewn": {},
    "octavo, glued": {"grind_mm": 3.0},
    "folio": {"table": FOLIO},
    "octavo, head to tail": {"turn": "head to tail"},
    "octavo, no bleed": {"bleed_mm": 0.0},
    "octavo, bleed as broad as the knives' trim": {"bleed_mm": 4.0, "head_mm": 4.0, "foot_mm": 4.0},
    "octavo, hardly a margin": {"around_mm": (5.0, 5.0)},
}
MADE = {
    "sixteens, sewn": (40, {}, (140, 216)),
    "sixteens, glued": (40, {"book": {"binding": "glued"}}, (140, 216)),
    "stitched": (40, {"book": {"binding": "stitched"}}, (148, 210)),
    "thirty-twos": (96, {"sections": {"pages": 32}}, (140, 216)),
    "twenty-fours": (48, {"sections": {"pages": 24}}, (120, 190)),
    "twelves": (48, {"sections": {"pages": 12}}, (140, 216)),
    "sixes, glued": (24, {"book": {"binding": "glued"}, "sections": {"pages": 6}}, (140, 216)),
    "fours": (24, {"sections": {"pages": 4}}, (140, 216)),
    "right to left": (32, {"book": {"reading": "right to left"}}, (140, 216)),
}


def white_book(pages: int, made: Plan, folder: Path) -> Path:
    """A book of empty pages, so that all ink on the sheets is marks."""
    folder.mkdir(exist_ok=True)
    return book(pages, folder / "white.pdf", trim_mm=made.trim_mm, bleed_mm=5, say=lambda index: "", folio="")


def made_plan(name: str) -> tuple[int, Plan]:
    if name in HAND:
        return 32, plan(32, **HAND[name])
    pages, told, trim_mm = MADE[name]
    job, house = Job.model_validate(told), load_house(None)
    return pages, plans(pages, trim_mm, job, house, title="The Lamplighter's Almanac")[0]


def pictures(sheets: Sheets) -> list[np.ndarray]:
    """Every side as grey, row 0 at the foot: 0 where there is ink."""
    with pymupdf.open(sheets.path) as document:
        out = []
        for page in document:
            pixmap = page.get_pixmap(dpi=DPI, colorspace=pymupdf.csGRAY)
            out.append(np.frombuffer(pixmap.samples, np.uint8).reshape(pixmap.h, pixmap.w)[::-1])
        return out


def inside(picture: np.ndarray, x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    """The pixels wholly inside a box in points."""
    scale = DPI / 72
    return picture[
        int(np.ceil(y0 * scale)) + 1 : int(y1 * scale) - 1, int(np.ceil(x0 * scale)) + 1 : int(x1 * scale) - 1
    ]


@pytest.mark.parametrize("name", [*HAND, *MADE])
def test_no_mark_falls_on_a_page_or_on_the_gripper(name: str, tmp_path: Path) -> None:
    """Pages left empty: inside every clip there is no ink but the declared collation bar, and marks there are."""
    pages, made = made_plan(name)
    sheets = impose(white_book(pages, made, tmp_path), made, tmp_path / "sheets.pdf", Job())
    drawn = [picture.copy() for picture in pictures(sheets)]
    assert all((picture < 128).any() for picture in drawn)
    scale = DPI / 72
    for bar in made.bars:
        picture = drawn[2 * (bar.sheet - 1) + (bar.side is Side.BACK)]
        box = bar.rect_mm.scaled(PT * scale)
        assert (inside(picture, *(v / scale for v in (box.x0, box.y0, box.x1, box.y1))) < 90).all()
        picture[int(box.y0) - 1 : int(box.y1) + 2, int(box.x0) - 1 : int(box.x1) + 2] = 255
    for place in (*made.places, *made.again):
        clip = place.clip_pt
        found = inside(drawn[side_index(place)], clip.x0, clip.y0, clip.x1, clip.y1)
        assert found.size > 1000
        assert (found == 255).all(), f"a mark on {place}"
    for index, picture in enumerate(drawn):
        press = made.run_of(index // 2 + 1).press if made.runs else made.press
        gripper_pt = press.gripper_mm * PT
        assert (inside(picture, 0, 0, picture.shape[1] / scale, gripper_pt - 1) == 255).all()
        if made.instructions.sheets[index // 2].turn == "head to tail":
            top = picture.shape[0] / scale
            assert (inside(picture, 0, top - gripper_pt + 1, picture.shape[1] / scale, top) == 255).all()


@pytest.mark.parametrize("name", [*HAND, *MADE])
def test_words_stay_on_the_paper_and_off_other_marks(name: str, tmp_path: Path) -> None:
    pages, made = made_plan(name)
    sheets = impose(white_book(pages, made, tmp_path), made, tmp_path / "sheets.pdf", Job())
    with pymupdf.open(sheets.path) as document:
        for page in document:
            lines = [line for block in page.get_text("dict")["blocks"] for line in block.get("lines", ())]
            boxes = [ink_box(line) for line in lines]
            assert boxes
            for index, box in enumerate(boxes):
                assert box in page.rect
                for other in boxes[index + 1 :]:
                    assert not box.intersects(other)
                for drawing in page.get_drawings():
                    rect = drawing["rect"]
                    shape = pymupdf.Rect(rect.x0 - 0.1, rect.y0 - 0.1, rect.x1 + 0.1, rect.y1 + 0.1)
                    assert not box.intersects(shape), (lines[index]["spans"][0]["text"], shape)


def ink_box(line: dict) -> pymupdf.Rect:
    """Round the capitals of a line: 0.72 of the size high (Nimbus Sans), from its baseline."""
    span = line["spans"][0]
    (x, y), (dx, dy), high = span["origin"], line["dir"], 0.72 * span["size"]
    long = max(line["bbox"][2] - line["bbox"][0], line["bbox"][3] - line["bbox"][1])
    if abs(dx) < abs(dy):
        long = line["bbox"][3] - line["bbox"][1]
    end = (x + dx * long, y + dy * long)
    up = (dy * high, -dx * high)
    points = [(x, y), end, (x + up[0], y + up[1]), (end[0] + up[0], end[1] + up[1])]
    return pymupdf.Rect(
        min(p[0] for p in points), min(p[1] for p in points), max(p[0] for p in points), max(p[1] for p in points)
    )


def lines_of(path: Path, width: float) -> list[list[tuple[float, float, float, float]]]:
    """Rules of one width on every side, as corners with y up; sorted."""
    sides = []
    with pymupdf.open(path) as document:
        for page in document:
            found = []
            for drawing in page.get_drawings():
                if drawing["type"] == "s" and drawing["width"] == pytest.approx(width, abs=0.01):
                    for item in drawing["items"]:
                        if item[0] == "l":
                            a, b = item[1], item[2]
                            high = page.rect.height
                            found.append((min(a.x, b.x), high - max(a.y, b.y), max(a.x, b.x), high - min(a.y, b.y)))
            sides.append(sorted(found))
    return sides


def only(**on: bool) -> Job:
    return Job(marks=Marks.model_validate({**dict.fromkeys(SWITCHES, False), **on}))


@pytest.mark.parametrize("turn", ["side to side", "head to tail"])
def test_back_up_crosses_lie_on_the_same_point_of_the_paper(turn: str, tmp_path: Path) -> None:
    made = plan(32, turn=turn)
    sheets = impose(white_book(32, made, tmp_path), made, tmp_path / "sheets.pdf", only(backup=True))
    wide, high = (v * PT for v in made.sheet_mm)
    sides = lines_of(sheets.path, 0.35)
    for front, back in zip(sides[::2], sides[1::2], strict=True):
        centres = {((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in front}
        assert len({(round(x), round(y)) for x, y in centres}) >= 2
        behind = [((x0 + x1) / 2, (y0 + y1) / 2) for x0, y0, x1, y1 in back]
        for x, y in centres:
            wanted = (wide - x, y) if turn == "side to side" else (x, high - y)
            assert any(wanted == pytest.approx(point, abs=0.01) for point in behind)


def test_register_targets_print_in_every_plate(tool, tmp_path: Path) -> None:
    """ghostscript's separations: where the target's hairlines cross there is ink on the four plates and on the spot."""

    def each(index: int) -> dict:
        tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0.2, 0.8, 0.1], N=1)
        spot = Array([Name.Separation, Name.LampGold, Name.DeviceCMYK, tint])
        return {"resources": {"ColorSpace": Dictionary(S=spot)}, "content": "/S cs 1 scn 200 200 40 40 re f\n"}

    made = plan(4, table=FOLIO)
    source = book(4, tmp_path / "book.pdf", each=each, say=lambda index: "", folio="")
    sheets = impose(source, made, tmp_path / "sheets.pdf", only(register=True))
    with pymupdf.open(sheets.path) as document:
        high = document[0].rect.height
        dots = [d["rect"] for d in document[0].get_drawings() if d["type"] == "f" and d["rect"].width < 5]
    assert len(dots) >= 3
    ghostscript(tool("gs"), sheets.path, tmp_path / "plates", "tiffsep")
    plates = {path.name.split("(")[1][:-5]: path for path in (tmp_path / "plates").glob("001(*).tif")}
    assert set(plates) == {"Cyan", "Magenta", "Yellow", "Black", "LampGold"}
    for path in plates.values():
        plate = np.asarray(Image.open(path)).astype(int)
        for dot in dots:
            x, y = (dot.x0 + dot.x1) / 2, (dot.y0 + dot.y1) / 2
            assert plate[int(y) - 2 : int(y) + 3, int(x) - 2 : int(x) + 3].min() < 120, path.name
    assert high > 0


@pytest.mark.parametrize("turn", ["side to side", "head to tail"])
def test_the_side_lay_is_the_same_edge_of_the_paper_on_both_sides(turn: str, tmp_path: Path) -> None:
    """Side to side: the other side lay; head to tail: the same (common practice, no source)."""
    made = plan(32, turn=turn)
    sheets = impose(white_book(32, made, tmp_path), made, tmp_path / "sheets.pdf", only(lay=True))
    wide = made.sheet_mm[0] * PT
    for index, picture in enumerate(pictures(sheets)):
        left, right = (picture[:, :3] < 128).any(), (picture[:, -3:] < 128).any()
        on_left = index % 2 == 0 or turn == "head to tail"
        assert (left, right) == (on_left, not on_left)
    with pymupdf.open(sheets.path) as document:
        for page in document:
            text = page.get_text()
            assert "gripper edge" in text
            assert "side lay" in text
            assert page.search_for("gripper edge")[0].y1 <= page.rect.height - made.press.gripper_mm * PT + 2
            assert page.rect.width == pytest.approx(wide, abs=0.01)


def test_fold_marks_stand_on_the_creases_and_tell_their_order(tmp_path: Path) -> None:
    made = plan(16)
    sheets = impose(white_book(16, made, tmp_path), made, tmp_path / "sheets.pdf", only(fold=True))
    (section,) = made.instructions.sheets[0].sections
    x0, y0, x1, y1 = (v * PT for v in section.rect_mm)
    front, back = lines_of(sheets.path, 0.3)
    middle, quarter = (x0 + x1) / 2, x0 + (x1 - x0) / 4
    # the pile is two leaves thick at the third fold: the upper one is creased at the other quarter
    other = x1 - (x1 - x0) / 4
    wide = made.sheet_mm[0] * PT
    for side, flip in ((front, False), (back, True)):
        xs = [wide - x for x in (middle, quarter, other)] if flip else [middle, quarter, other]
        for x in xs:
            ends = [line for line in side if line[0] == pytest.approx(x, abs=0.02) and line[2] - line[0] < 0.02]
            assert len(ends) == 2
            assert min(line[1] for line in ends) < y0 < y1 < max(line[3] for line in ends)
        level = [line for line in side if line[1] == pytest.approx((y0 + y1) / 2, abs=0.02) and line[2] - line[0] > 1]
        assert len(level) == 2
    with pymupdf.open(sheets.path) as document:
        told = sorted(document[0].get_text().splitlines())
        assert told == [*["fold 1"] * 2, *["fold 2"] * 2, *["fold 3"] * 4]
        dashes = {d["dashes"] for d in document[0].get_drawings()}
    assert len(dashes) == 3


@pytest.mark.parametrize(
    ("folds", "wide", "wanted"),
    [
        # a strip folded in half three times has 1 crease, then 2 more, then 4 more (try it: known to everybody)
        ([4, 6, 7], 8, [{4}, {2, 6}, {1, 3, 5, 7}]),
        # a letter fold in thirds: each fold makes one crease
        ([1, 2], 3, [{1}, {2}]),
        # in half, then the pile in thirds
        ([3, 1, 2], 6, [{3}, {1, 5}, {2, 4}]),
        # one panel of five over, then the next fold beyond what lies double: single paper there
        ([1, 3], 5, [{1}, {3}]),
        # a flap wider than what it lies on is creased where it sticks out too
        ([3, 4], 5, [{3}, {2, 4}]),
    ],
)
def test_every_crease_of_a_fold_is_known(folds: list[int], wide: int, wanted: list[set[int]]) -> None:
    """Found with a strip of paper."""
    found = creases([(order, float(at)) for order, at in enumerate(folds, 1)], 0.0, float(wide))
    assert [{at for number, at in found if number == order} for order in range(1, len(folds) + 1)] == wanted


def test_trim_marks_between_two_pages_share_the_gap(tmp_path: Path) -> None:
    """Gaps from too narrow for a mark to wider than two: the marks of one line never lie on one another."""
    for gap_mm in (4, 8, 11, 13, 20, 40):
        made = plan(16, foot_mm=gap_mm / 2, head_mm=gap_mm / 2)
        folder = tmp_path / str(gap_mm)
        sheets = impose(white_book(16, made, folder), made, folder / "sheets.pdf", only(trim=True))
        for side in lines_of(sheets.path, 0.25):
            upright = sorted((round(x0, 2), y0, y1) for x0, y0, x1, y1 in side if x1 - x0 < 0.01)
            for (x, _, end), (other, start, _) in itertools.pairwise(upright):
                assert other != x or start > end, (gap_mm, x, end, start)


def test_trim_marks_are_in_line_with_the_trims(tmp_path: Path) -> None:
    for number, how in enumerate(({}, {"grind_mm": 3.0})):
        made = plan(16, **how)
        folder = tmp_path / str(number)
        sheets = impose(white_book(16, made, folder), made, folder / "sheets.pdf", only(trim=True))
        for index, side in enumerate(lines_of(sheets.path, 0.25)):
            places = [place for place in made.places if side_index(place) == index]
            xs = {round(x, 1) for place in places for x in (place.trim_pt.x0, place.trim_pt.x1)}
            ys = {round(y, 1) for place in places for y in (place.trim_pt.y0, place.trim_pt.y1)}
            upright = {round(line[0], 1) for line in side if line[2] - line[0] < 0.01}
            level = {round(line[1], 1) for line in side if line[3] - line[1] < 0.01}
            assert upright <= xs
            assert level == ys
            # sewn: the 2 spine creases of a row of 4 are not cut; glued: the ground edges are
            assert len(xs) - len(upright) == (0 if how else 2)


def test_the_signature_stands_at_the_foot_next_to_the_spine(tmp_path: Path) -> None:
    for number, how in enumerate(({}, {"grind_mm": 3.0}, {"table": FOLIO})):
        folder, made = tmp_path / str(number), plan(32, **how)
        sheets = impose(white_book(32, made, folder), made, folder / "sheets.pdf", only(signature=True))
        with pymupdf.open(sheets.path) as document:
            for section in made.sections:
                (place,) = [place for place in made.places if place.position == section.first]
                page = document[side_index(place)]
                (word,) = page.get_text("words")
                assert word[4] == section.signature
                x, y = (word[0] + word[2]) / 2, page.rect.height - (word[1] + word[3]) / 2
                own = place.matrix.inverse().point(x, y)
                below = -place.trim_pt.height / 2 - own[1]
                from_spine = own[0] + place.trim_pt.width / 2
                assert 2.5 * PT < below < 6 * PT
                assert 1 * PT < from_spine < 8 * PT


def test_the_job_line_says_what_sheet_this_is(tmp_path: Path) -> None:
    made = plan(40)
    sheets = impose(white_book(40, made, tmp_path), made, tmp_path / "sheets.pdf", only(job_line=True))
    with pymupdf.open(sheets.path) as document:
        texts = [" ".join(page.get_text().split()) for page in document]
    assert texts[0] == f"The Lamplighter's Almanac · section 1 · sheet 1 of 3 · front · {DATE}"
    assert texts[5] == f"The Lamplighter's Almanac · section 3 · sheet 3 of 3 · back · {DATE}"


def test_a_long_title_is_cut_and_a_foreign_one_does_not_crash(tmp_path: Path) -> None:
    titles = ("An Account of " + "Lamps and " * 60, "灯台守の暦", "Čeština, Ελληνικά, Русский, İ")
    for number, title in enumerate(titles):
        made = plan(4, table=FOLIO, title=title)
        folder = tmp_path / str(number)
        sheets = impose(white_book(4, made, folder), made, folder / "sheets.pdf", only(job_line=True))
        with pymupdf.open(sheets.path) as document:
            for page in document:
                text = " ".join(page.get_text().split())
                assert f"sheet 1 of 1 · {'front' if page.number == 0 else 'back'} · {DATE}" in text
                for word in page.get_text("words"):
                    assert pymupdf.Rect(word[:4]) in page.rect
                assert text.startswith(("An Account of", "? ·", "Čeština, Ελληνικά, Русский")[number])
                assert ("…" in text) == (number == 0)


@pytest.mark.parametrize(
    "switch",
    ["trim", "fold", "centre", "backup", "register", "lay", "collation", "signature", "job_line", "code"],
)
def test_each_mark_has_a_switch(switch: str, tmp_path: Path) -> None:
    made = plan(16)
    source = white_book(16, made, tmp_path)
    alone = impose(source, made, tmp_path / "alone.pdf", only(**{switch: True}))
    without = impose(source, made, tmp_path / "without.pdf", Job(marks=Marks.model_validate({switch: False})))
    name = "backup" if switch == "backup" else switch
    assert alone.marks == (name,)
    assert name not in without.marks
    assert len(without.marks) == 9
    assert (pictures(alone)[0] < 128).any()


def test_sheets_laid_out_alike_share_one_drawing(tmp_path: Path) -> None:
    made = plan(64)
    sheets = impose(white_book(64, made, tmp_path), made, tmp_path / "sheets.pdf", Job())
    with pikepdf.open(sheets.path) as pdf:
        shared = [page.Resources.XObject["/Marks"].objgen for page in pdf.pages]
        own = [page.Resources.XObject["/Marks2"].objgen for page in pdf.pages]
    assert len(set(shared)) == 2  # front and back
    assert len(set(own)) == 8


def test_what_finds_no_room_is_said(tmp_path: Path) -> None:
    made = plan(4, table=FOLIO, around_mm=(0.0, 0.0), bleed_mm=4.0, head_mm=4.0, foot_mm=4.0)
    sheets = impose(white_book(4, made, tmp_path), made, tmp_path / "sheets.pdf", only(register=True, fold=True))
    assert any("no room for register targets" in note for note in sheets.notes) or "register" in sheets.marks
    assert any("no room" in note for note in sheets.notes)
