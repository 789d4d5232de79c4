# SPDX-License-Identifier: AGPL-3.0-or-later
"""The drawing of a cover or jacket, measured in the written file: MuPDF reads its lines and words, pypdf its boxes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pymupdf
import pypdf
import pytest
from attrs import evolve

from foldproof.case.cover_drawing import SAFE_MM, barcode_place, panels, write_cover_drawing
from foldproof.case.model import CoverSizes
from tests.handbook.facts import told

#: an inch is 25.4 mm and 72 points (ISO 32000-1, 8.3.2.3)
MM = 25.4 / 72
#: as exact as a drawing must be
NEAR = 0.01

GLUED = CoverSizes(
    kind="paper cover", stock="Glaze Silk 135", caliper_mm=0.122, panel_mm=(140.0, 216.0), spine_mm=9.36, flap_mm=0.0,
    hinge_mm=6.0, wrap_mm=0.0, bleed_mm=3.0, reading="left to right", says=("Spine: 9.36 mm.",),
)  # fmt: skip
JACKET = evolve(GLUED, kind="jacket", panel_mm=(155.85, 236.0), spine_mm=25.7, flap_mm=90.0, hinge_mm=0.0, wrap_mm=3.2)
COVERS = {
    "glued": GLUED,
    "jacket": JACKET,
    "right to left": evolve(JACKET, reading="right to left"),
    "stitched": evolve(GLUED, spine_mm=0.0, hinge_mm=0.0, flap_mm=80.0),
    "tiny": evolve(GLUED, panel_mm=(30.0, 40.0), spine_mm=2.2, hinge_mm=3.0, says=("A long line of words. " * 12,)),
    "huge": evolve(JACKET, panel_mm=(340.0, 450.0), spine_mm=150.33),
}
TITLE = "The Lamplighter’s Almanac, with an Account of the Wharf " * 8

Paths = list[dict[str, Any]]


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], tuple[pymupdf.Page, Paths, Path]]:
    folder, kept = tmp_path_factory.mktemp("covers"), {}

    def reading(name: str) -> tuple[pymupdf.Page, Paths, Path]:
        if name not in kept:
            target = folder / f"{name}.pdf"
            write_cover_drawing(COVERS[name], TITLE, target)
            document = pymupdf.open(target)
            kept[name] = document, document[0].get_drawings(), target
        document, paths, target = kept[name]
        return document[0], paths, target

    return reading


def boxes(target: Path) -> tuple[pypdf.generic.RectangleObject, pypdf.generic.RectangleObject]:
    page = pypdf.PdfReader(target).pages[0]
    return page.trimbox, page.bleedbox


def lines_mm(
    paths: Paths, layer: str, page: pymupdf.Page, target: Path, pen_pt: float | None = None
) -> list[tuple[float, float, float, float]]:
    """Straight lines of a layer: x0, y0, x1, y1 from the lower left of the TrimBox, mm, y up."""
    trim, _ = boxes(target)
    found = []
    for path in paths:
        if path["layer"] == layer and (pen_pt is None or path["width"] == pytest.approx(pen_pt)):
            for item in path["items"]:
                assert item[0] in ("l", "re"), "nothing here is curved"
                if item[0] == "l":
                    (ax, ay), (bx, by) = item[1], item[2]
                    high = page.rect.height
                    ends = sorted([(ax, high - ay), (bx, high - by)])
                    found.append(
                        tuple(MM * (value - float(trim[i % 2])) for end in ends for i, value in enumerate(end))
                    )
    return found


@pytest.mark.parametrize("name", COVERS)
def test_the_boxes_are_trim_and_bleed(name: str, written: Any) -> None:
    sizes = COVERS[name]
    trim, bleed = boxes(written(name)[2])
    assert [float(trim.width) * MM, float(trim.height) * MM] == pytest.approx(sizes.trimmed_mm, abs=NEAR)
    assert float(trim.left - bleed.left) * MM == pytest.approx(sizes.bleed_mm, abs=NEAR)
    assert float(bleed.top - trim.top) * MM == pytest.approx(sizes.bleed_mm, abs=NEAR)


@pytest.mark.parametrize("name", COVERS)
def test_lines_stand_where_the_sizes_put_them(name: str, written: Any) -> None:
    sizes = COVERS[name]
    page, paths, target = written(name)
    wide, high = sizes.trimmed_mm
    trim = lines_mm(paths, "trim", page, target)
    assert {round(x, 1) for line in trim for x in line[::2]} == {0.0, round(wide, 1)}
    assert max(line[3] for line in trim) == pytest.approx(high, abs=NEAR)
    bleed = lines_mm(paths, "bleed", page, target)
    assert min(line[0] for line in bleed) == pytest.approx(-sizes.bleed_mm, abs=NEAR)
    # by hand, from the left: flap, panel and its wrap, spine, and the same again
    side = sizes.flap_mm + sizes.panel_mm[0] + sizes.wrap_mm
    wanted = sorted({side, side + sizes.spine_mm, *((sizes.flap_mm, wide - sizes.flap_mm) if sizes.flap_mm else ())})
    folds = lines_mm(paths, "folds", page, target)
    assert [line[0] for line in sorted(folds)] == pytest.approx(wanted, abs=NEAR)
    assert all(
        line[0] == pytest.approx(line[2], abs=NEAR) and line[3] - line[1] == pytest.approx(high) for line in folds
    )
    hinges = sorted(line[0] for line in lines_mm(paths, "hinge", page, target))
    told_off = (side - sizes.hinge_mm, side + sizes.spine_mm + sizes.hinge_mm)
    assert hinges == pytest.approx(told_off if sizes.hinge_mm else [], abs=NEAR)


@pytest.mark.parametrize("name", COVERS)
def test_every_figure_is_the_length_of_its_line(name: str, written: Any) -> None:
    """Each dimension line has its figure beside it; measured, the one is the other."""
    page, paths, target = written(name)
    # the lines themselves; those that lead to them are thinner
    drawn = lines_mm(paths, "dimensions", page, target, 0.35)
    level = [line for line in drawn if abs(line[1] - line[3]) < 1e-3]
    upright = [line for line in drawn if abs(line[0] - line[2]) < 1e-3]
    figures = sorted(float(word[4]) for word in page.get_text("words") if word[4].replace(".", "").isdigit())
    measured = [line[2] - line[0] for line in level]
    sizes = COVERS[name]
    wanted = [2 * (sizes.panel_mm[0] + sizes.wrap_mm + sizes.flap_mm) + sizes.spine_mm, sizes.bleed_mm]
    wanted += [sizes.panel_mm[0] + sizes.wrap_mm] * 2 + ([sizes.spine_mm] if sizes.spine_mm else [])
    wanted += [sizes.flap_mm] * 2 if sizes.flap_mm else []
    wanted += [sizes.hinge_mm] * 2 if sizes.hinge_mm else []
    wanted += [sizes.panel_mm[0]] * 2 if sizes.wrap_mm else []
    assert sorted(measured) == pytest.approx(sorted(wanted), abs=NEAR)
    assert any(line[3] - line[1] == pytest.approx(sizes.panel_mm[1], abs=NEAR) for line in upright)
    shown = [figure for figure in figures if any(figure == pytest.approx(one, abs=0.0051) for one in wanted)]
    assert len(shown) >= len(wanted)


def test_a_book_read_right_to_left_stands_the_other_way_round(written: Any) -> None:
    left, right = (
        {word[4]: word[0] for word in written(name)[0].get_text("words") if word[4] in ("back", "front")}
        for name in ("jacket", "right to left")
    )
    # of "back", "front" and the flaps' words the last in the text stands for the panel or its flap alike
    assert left["back"] < left["front"] and right["front"] < right["back"]
    assert [panel.name for panel in panels(COVERS["right to left"])] == [
        "front flap", "front", "spine", "back", "back flap",
    ]  # fmt: skip


@pytest.mark.parametrize("name", ["glued", "jacket", "right to left", "huge"])
def test_the_barcode_has_room_on_the_back(name: str) -> None:
    sizes = COVERS[name]
    place = barcode_place(sizes)
    assert place is not None
    assert (place.width, place.height) == pytest.approx(told("ean13-size")["mm"])
    back = next(panel for panel in panels(sizes) if panel.name == "back")
    assert back.x0 + SAFE_MM <= place.x0 and place.x1 <= back.x1 - SAFE_MM


def test_no_barcode_is_drawn_smaller_than_it_may_be() -> None:
    """A panel of 30 mm has no room for 80 per cent of 37.29 mm; one of 52 mm has, between."""
    assert barcode_place(COVERS["tiny"]) is None
    small = barcode_place(evolve(GLUED, panel_mm=(52.0, 80.0)))
    assert small is not None
    scale = small.width / told("ean13-size")["mm"][0]
    assert told("ean13-size")["least"] <= scale < 1


@pytest.mark.parametrize("name", COVERS)
def test_nothing_is_cut_and_no_words_overlap(name: str, written: Any) -> None:
    page, paths, _ = written(name)
    spans = [pymupdf.Rect(line["bbox"]) for block in page.get_text("dict")["blocks"] for line in block["lines"]]
    assert spans and all(page.rect.contains(span) for span in spans)
    assert all(page.rect.contains(path["rect"]) for path in paths)
    for nth, one in enumerate(spans):
        for other in spans[nth + 1 :]:
            both = one & other
            # boxes of letters are higher than the letters
            assert both.is_empty or min(both.width, both.height) < 3.0, (one, other)


def test_vectors_in_layers_and_the_same_bytes(tmp_path: Path, written: Any) -> None:
    target = written("jacket")[2]
    reader = pypdf.PdfReader(target)
    assert not reader.pages[0].images
    names = [str(group.get_object()["/Name"]) for group in reader.trailer["/Root"]["/OCProperties"]["/OCGs"]]  # type: ignore[index]
    assert names == ["safe area", "barcode place", "bleed", "folds", "trim", "dimensions", "text"]
    again = tmp_path / "again.pdf"
    write_cover_drawing(JACKET, TITLE, again)
    assert again.read_bytes() == target.read_bytes()
