# SPDX-License-Identifier: AGPL-3.0-or-later
"""Leaflets whose panels are not of one width: what is folded in is 1 to 2 mm narrower (common practice, no source).

Where the edges come to lie is reckoned by hand, fold by fold: three panels of 78.5, 80 and 80 mm, the left one under
the middle one, the right one under both.  The spine is the fold between the middle and the right one.  The left panel
hangs by the fold 80 mm from it, and its free edge ends 1.5 mm short of the spine.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from foldproof.errors import NoPlan
from foldproof.job.agree import house_slips
from foldproof.job.model import House, HouseScheme
from foldproof.makeup.folding import FoldError, Scheme
from foldproof.makeup.tucks import insets_mm
from foldproof.prove.gathering import bind
from foldproof.prove.model import Verdict
from tests.makeup.real_books import FRAME_MM, HOUSE, Made, frames, made, manuscript, proved_whole

LEAFLET = {"binding": "leaflet"}


def narrowed(name: str, *narrower_mm: float) -> House:
    schemes = tuple(
        scheme.model_copy(update={"narrower": narrower_mm}) if scheme.name == name else scheme
        for scheme in HOUSE.schemes
    )
    return HOUSE.model_copy(update={"schemes": schemes})


def leaflet(folder: Path, name: str, house: House = HOUSE, **book: Any) -> Made:
    pages = 2 * next(scheme.columns for scheme in house.schemes if scheme.name == name)
    return made(folder, pages, house=house, book={**LEAFLET, **book}, sections={"fold": name})


def seen(one: Made) -> dict[int, tuple[float, float]]:
    """What is seen of each page, from the spine outwards, mm."""
    out = {}
    for place in bind(one.told).places[: len(one.plan.places)]:
        assert place is not None
        ends = sorted((place.outward * place.seen[0], place.outward * place.seen[2]))
        out[place.position + 1] = (round(ends[0], 6), round(ends[1], 6))
    return out


@pytest.mark.parametrize(
    ("name", "columns", "shown"),
    [
        # from the top: the middle panel, the left one under it, the right one (by hand, fold by fold)
        ("6 roll", (78.5, 80.0, 80.0), [(0, 80), (1.5, 80), (0, 80)]),
        # 77, 78.5, 80, 80, each round the one before.  Spine between the last two; the second hangs 80 mm from it and
        # reaches back to 1.5; the first hangs there and reaches out to 78.5
        ("8 roll", (77.0, 78.5, 80.0, 80.0), [(0, 80), (1.5, 80), (1.5, 78.5), (0, 80)]),
        # 79, 80, 80, 79: both outer panels hang 80 mm from the spine and end 1 mm before it
        ("8 gate", (79.0, 80.0, 80.0, 79.0), [(0, 80), (1, 80), (1, 80), (0, 80)]),
    ],
)
@pytest.mark.parametrize("reading", ["left to right", "right to left"])
def test_panels_folded_in_are_narrower_and_the_leaflet_is_proved(
    tmp_path: Path, name: str, columns: tuple[float, ...], shown: list[tuple[float, float]], reading: str
) -> None:
    one = leaflet(tmp_path, name, reading=reading)
    proved_whole(one)
    assert {s.column_mm for sheet in one.told.sheets for s in sheet.sections} == {columns}
    leaves = list(seen(one).values())[::2]
    assert sorted(leaves) == sorted((float(low), float(high)) for low, high in shown)
    # recto and verso of a leaf show the same part of their pages
    assert list(seen(one).values())[1::2] == leaves
    # the page keeps its place in the closed leaflet: its frame 8 mm from the spine and 72, wherever its panel ends
    edges = {page: low for page, (low, _) in seen(one).items()}
    for page, frame in frames(one).items():
        assert frame.inner_mm == pytest.approx(FRAME_MM, abs=0.003), (page, edges[page])
        assert frame.outer_mm == pytest.approx(80 - FRAME_MM, abs=0.003)


def test_neighbours_keep_to_their_own_panels(tmp_path: Path) -> None:
    """What may print of a page ends at the creases; at a free edge its bleed goes on, 3 mm, or there is white there."""
    one = leaflet(tmp_path, "8 roll")
    on_side: dict[tuple[int, str, str], list[tuple[float, float]]] = {}
    for place in one.plan.places:
        box, trim = place.clip_pt, place.trim_pt
        flat = abs(place.matrix.a) > 0.5
        low, high = (box.x0, box.x1) if flat else (box.y0, box.y1)
        on_side.setdefault((place.sheet, place.side.value, place.section), []).append((low, high))
        assert (trim.width if flat else trim.height) <= (high - low) + 1e-6
    for spans in on_side.values():
        ordered = sorted(spans)
        assert [a[1] for a in ordered[:-1]] == pytest.approx([b[0] for b in ordered[1:]])
        # 77 + 78.5 + 80 + 80 mm and 3 mm of bleed at either end
        assert (ordered[-1][1] - ordered[0][0]) * 25.4 / 72 == pytest.approx(77 + 78.5 + 80 + 80 + 6)


def test_told_of_panels_of_one_width_the_sheets_fail(tmp_path: Path) -> None:
    """The rolled panels hang by creases 3 and 1.5 mm from where they would be; of a 6 only the free edge differs."""
    one = leaflet(tmp_path, "8 roll")
    (tmp_path / "even").mkdir()
    even = leaflet(tmp_path / "even", "8 roll", narrowed("8 roll", 0.0, 0.0, 0.0, 0.0))
    proved_whole(even)
    assert one.told.sheets[0].width_mm == even.told.sheets[0].width_mm
    assert one.proof(even.told).verdict is Verdict.FAILED


def test_glued_the_same_scheme_has_panels_of_one_width(tmp_path: Path) -> None:
    """A panel that ended before the trim would be a fault of the book."""
    one = made(tmp_path, 12, book={"binding": "glued"}, sections={"fold": "6 roll"})
    proved_whole(one)
    assert {w for sheet in one.told.sheets for s in sheet.sections for w in s.column_mm} == {87.0}


def test_a_panel_wider_than_what_it_is_folded_into_is_refused() -> None:
    """80 mm folded on to 78.5: 1.5 mm of it lie past the next crease."""
    with pytest.raises(NoPlan, match=r"it is 1\.5 mm too wide"):
        leaflet(Path("unwritten"), "8 roll", narrowed("8 roll", 0.0, 1.5, 0.0, 0.0))
    strip = Scheme("roll", 4, 1, ("left 1 under",) * 3)
    with pytest.raises(FoldError, match="its panel 1 from the left past the crease of fold 'left 1 under'"):
        insets_mm(strip, (80.0, 78.5, 80.0, 80.0))
    assert insets_mm(strip, (80.0,) * 4) == (0.0,) * 4


@pytest.mark.parametrize(
    ("rows", "narrower", "says"),
    [
        (2, ["1 mm", "0 mm"], "only a single row of panels"),
        (1, ["1 mm"], "1 lengths for 2 columns"),
        (1, ["1 mm", "2 mm"], "every column is narrower"),
    ],
)
def test_a_house_file_that_narrows_what_cannot_be(rows: int, narrower: list[str], says: str) -> None:
    scheme = HouseScheme.model_validate(
        {"name": "odd", "columns": 2, "rows": rows, "folds": ["left under"], "narrower": narrower}
    )
    house = HOUSE.model_copy(update={"schemes": (*HOUSE.schemes, scheme)})
    assert any(says in slip and "narrower" in slip for slip in house_slips(house))


def test_a_leaflet_is_made_from_end_to_end(tmp_path: Path, foldproof: Callable[..., Any]) -> None:
    """Checks that ask for an inner margin say nothing of what no spine holds."""
    source = manuscript(8, tmp_path / "tides.pdf")
    job = tmp_path / "job.toml"
    job.write_text('[book]\nbinding = "leaflet"\n[sections]\nfold = "8 roll"\n', "utf-8")
    done = foldproof("make", source, "--job", job, "-o", tmp_path / "out")
    assert done.returncode == 0, done.stderr
    assert "Proved: 8 pages told apart and found where they belong." in done.stdout + done.stderr
    assert "inner-margin" not in done.stdout + done.stderr
