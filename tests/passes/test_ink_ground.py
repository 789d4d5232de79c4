# SPDX-License-Identifier: AGPL-3.0-or-later
"""The ground that text is cut out of, on built pages."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from pikepdf import Array, Dictionary, Name

from foldproof.manuscript.seen import TextUse
from tests.build import Fill, Picture, text_at
from tests.passes.looking import look

GREEN = Fill((20, 60, 120, 120), "0.5 0 0.4 0.1 k")
STATES = {"ExtGState": Dictionary(Over=Dictionary(OP=True, op=True, OPM=1), Over0=Dictionary(OP=True, op=True, OPM=0))}


def type_in(paint: str, *, x: float = 40, y: float = 80, size: float = 12) -> str:
    return f"q {paint} {text_at('Lantern Row', x, y, size)} Q\n"


def the_type(tmp_path: Path, **page: Any) -> TextUse:
    objects, _ = look(tmp_path / "a.pdf", **page)
    (use,) = objects.texts
    assert isinstance(use, TextUse)
    return use


WHITE = ("0 0 0 0 k", "1 g", "1 1 1 rg")


@pytest.mark.parametrize("paint", [*WHITE, "0 0 0 1 k", "0 g", "/Over0 gs 0 0 0 1 k", "/Over gs 0 g"])
@pytest.mark.parametrize("rotate", [0, 90, 270])
def test_type_that_is_cut_out_of_a_tint(tmp_path: Path, paint: str, rotate: int) -> None:
    use = the_type(tmp_path, fills=[GREEN], content=type_in(paint), resources=STATES, rotate=rotate)
    assert dict(use.ground) == pytest.approx({"Cyan": 0.5, "Yellow": 0.4, "Black": 0.1}, abs=0.006)


@pytest.mark.parametrize(
    "paint", ["/Over gs 0 0 0 1 k", "1 0 0 0 k", "0 0 0 0.5 k", "0.5 g", "1 0 0 rg"],
    ids=["black that overprints", "cyan", "grey", "grey too", "red"],
)  # fmt: skip
def test_other_type_is_not_asked_about(tmp_path: Path, paint: str) -> None:
    assert the_type(tmp_path, fills=[GREEN], content=type_in(paint), resources=STATES).ground == ()


@pytest.mark.parametrize("paint", [*WHITE, "0 0 0 1 k"])
def test_bare_paper_is_no_ground(tmp_path: Path, paint: str) -> None:
    assert the_type(tmp_path, fills=[GREEN], content=type_in(paint, y=30)).ground == ()


def test_white_on_black_has_a_ground_and_black_on_grey_none(tmp_path: Path) -> None:
    """Black type on a tint of black is one plate: there is nothing to come apart."""
    grey = Fill((20, 60, 120, 120), "0 0 0 0.4 k")
    white = the_type(tmp_path, fills=[grey], content=type_in("1 g"))
    assert dict(white.ground) == pytest.approx({"Black": 0.4}, abs=0.006)
    assert the_type(tmp_path, fills=[grey], content=type_in("0 g")).ground == ()
    # also where other inks are on the page, and in the same rows of it
    beside = [grey, Fill((122, 60, 138, 120), "1 1 0 0 k")]
    assert the_type(tmp_path, fills=beside, content=type_in("0 g")).ground == ()


def test_lines_set_close_do_not_hide_the_ground(tmp_path: Path) -> None:
    close = "".join(text_at("Lantern Row, Lantern Row", 30, 110 - 3.2 * n, 10) for n in range(12))
    use = the_type(tmp_path, fills=[GREEN], content=f"q 1 g {close} Q")
    assert dict(use.ground) == pytest.approx({"Cyan": 0.5, "Yellow": 0.4, "Black": 0.1}, abs=0.03)


def test_the_usual_tone_of_a_picture(tmp_path: Path) -> None:
    """Even noise: the middle of it in every plate."""
    noise = Picture((20, 60, 120, 120), (280, 170), "DeviceCMYK")
    use = the_type(tmp_path, pictures=[noise], content=type_in("0 0 0 0 k"))
    assert [name for name, _ in use.ground] == ["Cyan", "Magenta", "Yellow", "Black"]
    assert all(0.3 < part < 0.7 for _, part in use.ground)


def test_a_spot_for_a_ground(tmp_path: Path) -> None:
    tint = Dictionary(FunctionType=2, Domain=Array([0, 1]), C0=Array([0] * 4), C1=Array([0, 0.3, 0.9, 0]), N=1)
    gold = Array([Name.Separation, Name("/Lantern Gold"), Name.DeviceCMYK, tint])
    fills = [Fill((20, 60, 120, 120), "/Gold cs 0.7 scn")]
    for paint in ("0 0 0 1 k", "0 0 0 0 k"):
        use = the_type(tmp_path, fills=fills, content=type_in(paint), resources={"ColorSpace": Dictionary(Gold=gold)})
        assert dict(use.ground) == pytest.approx({"Lantern Gold": 0.7}, abs=0.006)


def test_type_at_the_edge_of_the_paper(tmp_path: Path) -> None:
    use = the_type(tmp_path, fills=[Fill((-3, -3, 143, 219), GREEN.paint)], content=type_in("1 g", x=-8, y=-2.5))
    assert dict(use.ground) == pytest.approx({"Cyan": 0.5, "Yellow": 0.4, "Black": 0.1}, abs=0.006)
