# SPDX-License-Identifier: AGPL-3.0-or-later
"""The whole check stage on small books with one planted fault each, read, interpreted and rendered."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from pikepdf import Array, Dictionary, Name

from foldproof.job.model import Job
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.preflight.model import Facts, Findings
from foldproof.preflight.run import check, needs_of
from foldproof.preflight.specs import load_spec
from foldproof.workers import Workers
from tests.build import PT, Fill, Picture, book, text_at
from tests.preflight.facts import the_house

GREY = "0 0 0 0.4 k"
TRIM = (140.0, 216.0)
#: 300 ppi on 50.8 x 50.8 mm
SOUND = Picture((30, 100, 80.8, 150.8), (600, 600))


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers(1) as some:
        yield some


Checked = Callable[..., Findings]


@pytest.fixture
def checked(workers: Workers, tmp_path: Path) -> Checked:
    def run(
        spec: str = "colour-on-coated", *, job: dict[str, Any] | None = None, pages: int = 8, **made: Any
    ) -> Findings:
        asked, path = Job.model_validate(job or {}), book(pages, tmp_path / "a.pdf", **made)
        rules, manuscript = load_spec(spec), read(path, trim_mm=asked.book.trim)
        trim_mm = book_trim_mm(manuscript, asked.book.trim)
        seen = observe(
            manuscript, workers, trim_mm=trim_mm, bleed_mm=3.0, needs=needs_of(rules), advance=lambda steps: None
        )
        facts = Facts(manuscript, seen, asked, the_house(), trim_mm, 3.0, grain_along_spine=True)
        return check(facts, rules)

    return run


def third(**page: Any) -> dict[str, Any]:
    """Arguments for a book whose third page is another."""
    return {"each": lambda index: page if index == 2 else {}}


def causes(found: Findings) -> list[tuple[int | None, str]]:
    """Page and cause, but for the list of pages in colour: every spot of it in a test is one."""
    return [(f.page, f.cause) for f in found.items if f.check != "colour-pages"]


def test_a_sound_book_has_no_findings(checked: Checked) -> None:
    bled = Fill((100, 60, 143, 90), GREY)  # runs off a recto's fore-edge with all of its bleed
    for spec in ("colour-on-coated", "one-colour-text-on-uncoated"):
        found = checked(spec, **third(pictures=(SOUND,), fills=(bled,)))
        assert causes(found) == [], [f.problem for f in found.items]
        assert found.not_judged == ()


@pytest.mark.parametrize(
    ("name", "fill", "cause", "about"),
    [
        # how far the tint runs on beyond the trim: none, 1 mm, 2 mm, and enough
        ("stops at the trim", (100, 60, 140, 90), "bleed/short", 0.0),
        ("1 mm of bleed", (100, 60, 141, 90), "bleed/short", 1.0),
        ("2 mm at the head", (30, 200, 60, 218), "bleed/short", 2.0),
        ("enough at the head", (30, 200, 60, 219), None, None),
        ("to the crease, no further", (0, 60, 40, 90), None, None),
        ("1.5 mm inside the fore-edge", (100, 60, 138.5, 90), "live-margin/outer", 1.5),
        ("1.5 mm from the crease", (1.5, 60, 40, 90), "inner-margin/page", 1.5),
        ("4 mm above the foot", (40, 4, 60, 8), None, None),
        ("1 mm above the foot", (40, 1, 60, 8), "live-margin/outer", 1.0),
    ],
)
def test_tints_at_the_edge(
    checked: Checked, name: str, fill: tuple[float, ...], cause: str | None, about: float | None
) -> None:
    found = checked(**third(fills=(Fill(fill, GREY),)))  # type: ignore[arg-type]
    if cause is None:
        assert causes(found) == [], [f.problem for f in found.items]
        return
    assert causes(found) == [(3, cause)], [f.problem for f in found.items]
    # a pixel of the ink pass at 72 dpi is 0.353 mm
    assert float(found.items[0].measured or 0) == pytest.approx(about, abs=0.36)
    assert found.items[0].place_mm is not None
    where = found.items[0].place_mm
    assert where.grown(0.5).meets(type(where)(*fill))


def test_a_picture_is_called_one(checked: Checked) -> None:
    found = checked(**third(pictures=(Picture((60, 100, 140.8, 150), (1200, 600)),)))
    [finding] = [f for f in found.items if f.check == "bleed"]
    assert "the picture at the fore-edge stops" in finding.problem


@pytest.mark.parametrize(
    ("picture", "cause", "ppi"),
    [
        # pixels over 50.8 mm, two inches: 192 are 96 ppi, and so on
        (Picture((30, 100, 80.8, 150.8), (192, 192)), "picture-resolution/contone", 96),
        (Picture((30, 100, 80.8, 150.8), (600, 300)), "picture-resolution/contone", 150),
        (Picture((30, 100, 80.8, 150.8), (192, 192), turned=30), "picture-resolution/contone", 96),
        (Picture((30, 100, 80.8, 150.8), (600, 600), bits=1), "picture-resolution/line", 300),
        (Picture((30, 100, 80.8, 150.8), (600, 600), stencil=True), "picture-resolution/line", 300),
        (Picture((30, 100, 80.8, 150.8), (1700, 1700), stencil=True), None, None),
        (Picture((30, 100, 80.8, 150.8), (600, 600), soft_mask=(40, 40)), None, None),
    ],
    ids=["contone", "squeezed", "turned", "line work", "stencil", "fine stencil", "coarse soft mask"],
)
def test_resolution_agrees_with_pdfimages(
    checked: Checked, tool: Callable[[str], str], tmp_path: Path, picture: Picture, cause: str | None, ppi: int | None
) -> None:
    found = checked(**third(pictures=(picture,)))
    # other checks may have something to say of such a picture: squeezed, with a soft mask
    items = [f for f in found.items if f.check == "picture-resolution"]
    assert [(f.page, f.cause) for f in items] == ([] if cause is None else [(3, cause)]), [f.problem for f in items]
    if cause is None:
        return
    assert items[0].measured == pytest.approx(ppi, rel=0.01)
    listed = subprocess.run(
        [tool("pdfimages"), "-list", tmp_path / "a.pdf"], capture_output=True, text=True, check=True
    )
    lines = [line.split() for line in listed.stdout.splitlines()[2:]]
    theirs = [min(int(row[12]), int(row[13])) for row in lines if row[0] == "3" and row[2] != "smask"]
    assert items[0].measured == pytest.approx(min(theirs), abs=1)


def test_rgb_text_and_tints(checked: Checked) -> None:
    one = third(
        content="0.2 0.4 0.6 rg\n" + text_at("Screen colours", 40, 60), fills=(Fill((40, 70, 60, 80), "1 0 0 rg"),)
    )
    found = checked(**one)
    assert causes(found) == [(3, "rgb-matter/RGB")]
    (finding,) = (f for f in found.items if f.check == "rgb-matter")
    assert re.search(r"(text and tints|tints and text) in RGB", finding.problem)
    assert causes(checked("any-book", **one)) == [(3, "rgb-matter/RGB")]
    black = causes(checked("one-colour-text-on-uncoated", **one))
    assert black == [(3, "extra-inks"), (3, "rgb-matter/RGB")]


def test_a_blank_page(checked: Checked) -> None:
    assert causes(checked(**third(text="", folio=""))) == [(3, "blank-pages")]


def test_trim_marks_inside_a_page_without_trim_box(checked: Checked) -> None:
    rules = []
    for x, out in ((10, -1), (130, 1)):
        for y in (10, 206):
            rules.append(f"{(x + 2 * out) * PT:.3f} {y * PT:.3f} m {(x + 7 * out) * PT:.3f} {y * PT:.3f} l S")
    for y, out in ((10, -1), (206, 1)):
        for x in (10, 130):
            rules.append(f"{x * PT:.3f} {(y + 2 * out) * PT:.3f} m {x * PT:.3f} {(y + 7 * out) * PT:.3f} l S")
    found = checked(content="0 0 0 1 K 0.25 w " + "\n".join(rules))
    assert [f.page for f in found.items if f.check == "trim-marks"] == list(range(1, 9))


def spot(name: str) -> Array:
    # ISO 32000-1, 8.6.6.4: a Separation space with an exponential tint transform (7.10.3)
    tint = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0, 0, 0, 0]), C1=Array([0, 0.6, 1, 0.1]), N=1)
    return Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, tint])


def test_spot_colours(checked: Checked) -> None:
    paint = {"content": "/S1 cs 1 scn 100 300 40 40 re f", "resources": {"ColorSpace": Dictionary(S1=spot("Ember"))}}
    found = checked(**third(**paint))
    assert causes(found) == [(None, "spot-colours/Ember"), (None, "spot-colours/too-many")]
    assert 'The spot colour "Ember" is used on page 3.' in [f.problem for f in found.items]
    assert causes(checked("any-book", **third(**paint))) == [(None, "spot-colours/Ember")]


def test_matter_in_the_registration_colour(checked: Checked) -> None:
    paint = {"content": "/S1 cs 1 scn 100 300 40 40 re f", "resources": {"ColorSpace": Dictionary(S1=spot("All"))}}
    assert (3, "all-plates") in causes(checked(**third(**paint)))


def test_a_cover_in_front(checked: Checked) -> None:
    front = {"fills": (Fill((-3, -3, 143, 219), GREY),), "folio": ""}
    found = checked(pages=16, each=lambda index: front if index == 0 else {})
    assert causes(found) == [(1, "cover-among-pages/full")]


def test_findings_name_the_printed_folio(checked: Checked) -> None:
    coarse = {"pictures": (Picture((30, 100, 80, 150), (99, 99)),)}
    found = checked(each=lambda index: {"folio": str(index + 101), **(coarse if index == 4 else {})})
    assert [f.problem[:19] for f in found.items] == ["Page 5 (folio 105):"]
