# SPDX-License-Identifier: AGPL-3.0-or-later
"""What an emblem may be, and how what it may not be is told: files built by hand, hostile ones among them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from foldproof.case.emblem import emblem_of
from foldproof.errors import AskedWrong, ExitCode
from foldproof.job.load import load_job
from foldproof.job.model import Job
from foldproof.pdf.die_emblem import read_emblem
from foldproof.pdf.die_shapes import bounds
from foldproof.workers import Workers
from tests.workers.jobs import crash, die, starve

SQUARE = b"0 0 0 1 k 10 20 30 40 re f"


def emblem(target: Path, content: bytes, **resources: pikepdf.Object) -> Path:
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(100, 100))
        page = pdf.pages[0].obj
        page["/Resources"] = Dictionary({f"/{key}": value for key, value in resources.items()})
        page["/Contents"] = pdf.make_stream(content)
        pdf.save(target)
    return target


def test_outlines_are_taken_at_their_own_size(tmp_path: Path) -> None:
    found = read_emblem(emblem(tmp_path / "lamp.pdf", SQUARE + b" 2 w 10 80 m 40 80 l S"))
    # the square from (10, 20) to (40, 60), a rule of 2 pt at 80: from 20 to 81, its ends counted with half the pen
    assert (found.name, found.colours) == ("lamp.pdf", 1)  # black ink and a black grey are one
    assert (found.width_pt, found.height_pt) == pytest.approx((32, 61))
    box = bounds(found.shapes)
    assert box is not None and (box.x0, box.y0) == pytest.approx((0, 0), abs=1e-6)
    assert [shape.line_pt for shape in found.shapes] == [None, pytest.approx(2.0)]


def test_head_stays_up_and_a_turned_page_is_turned(tmp_path: Path) -> None:
    """ISO 32000-1, 7.7.3.3: /Rotate turns the page clockwise when it is shown."""
    target = emblem(tmp_path / "lamp.pdf", b"0 g 10 20 m 40 20 l 10 60 l h f")
    (upright,) = read_emblem(target).shapes
    points = [upright.outline.matrix.point(*step[1:]) for step in upright.outline.steps if step[0] != "h"]
    assert sorted(points) == [pytest.approx(p, abs=1e-3) for p in [(0, 0), (0, 40), (30, 0)]]
    with pikepdf.open(target, allow_overwriting_input=True) as pdf:
        pdf.pages[0].obj["/Rotate"] = 90
        pdf.save(target)
    (turned,) = read_emblem(target).shapes
    points = [turned.outline.matrix.point(*step[1:]) for step in turned.outline.steps if step[0] != "h"]
    # (x, y) goes to (y, -x)
    assert sorted(points) == [pytest.approx(p, abs=1e-3) for p in [(0, 0), (0, 30), (40, 30)]]


def test_clips_dashes_and_what_lies_off_the_page(tmp_path: Path) -> None:
    content = b"q 10 10 20 20 re W n 0 g 0 0 50 50 re f Q [3 1] 2 d 1 J 4 w 60 50 m 90 50 l S 300 300 9 9 re f"
    clipped, dashed = read_emblem(emblem(tmp_path / "lamp.pdf", content)).shapes
    box = bounds((clipped,))
    assert box is not None and (box.width, box.height) == pytest.approx((20, 20))
    assert dashed.pen is not None
    assert (dashed.pen.dash, dashed.pen.phase, dashed.pen.cap, dashed.pen.width) == ((3, 1), 2, 1, 4)
    hanging = read_emblem(emblem(tmp_path / "over.pdf", b"0 g 80 80 60 60 re f"))
    assert (hanging.width_pt, hanging.height_pt) == pytest.approx((20, 20), abs=0.01)  # the page ends at 100


def shading() -> Dictionary:
    ramp = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=1)
    return Dictionary(Sh=Dictionary(ShadingType=2, ColorSpace=Name.DeviceGray, Coords=[0, 0, 9, 9], Function=ramp))


FONT = Dictionary(F=Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica))
REFUSED = {
    "text": (b"BT /F 20 Tf 10 10 Td (Lamp) Tj ET", {"Font": FONT}, "text set in a font"),
    "clipping text": (b"BT /F 20 Tf 7 Tr 10 10 Td (Lamp) Tj ET 0 0 9 9 re f", {"Font": FONT}, "text set in a font"),
    "picture": (b"q 9 0 0 9 0 0 cm BI /W 1 /H 1 /BPC 8 /CS /G ID \x20 EI Q", {}, "picture of pixels"),
    "stencil": (b"q 9 0 0 9 0 0 cm BI /W 8 /H 1 /IM true ID \x55 EI Q", {}, "picture of pixels"),
    "shading": (b"/Sh sh", {"Shading": shading()}, "shading"),
    "see-through": (b"/G gs 0 g 0 0 9 9 re f", {"ExtGState": Dictionary(G=Dictionary(ca=0.5))}, "transparency"),
    "multiplied": (
        b"/G gs 0 g 0 0 9 9 re f",
        {"ExtGState": Dictionary(G=Dictionary(BM=Name.Multiply))},
        "transparency",
    ),
    "white": (SQUARE + b" 1 g 20 30 5 5 re f", {}, "paints in white"),
    "white in CMYK": (SQUARE + b" 0 0 0 0 k 20 30 5 5 re f", {}, "paints in white"),
    "nothing": (b"", {}, "draws nothing"),
    "only a clip": (b"0 0 9 9 re W n", {}, "draws nothing"),
    "a speck": (b"0 g 0 0 .1 .1 re f", {}, "0.1 x 0.1 pt"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_outline_is_refused_in_a_sentence(name: str, tmp_path: Path) -> None:
    content, resources, words = REFUSED[name]
    target = emblem(tmp_path / "lamp.pdf", content, **resources)
    with pytest.raises(AskedWrong, match=words) as told:
        read_emblem(target)
    said = str(told.value)
    assert said.startswith("The job: stamping.emblem: lamp.pdf ") and said.endswith(".")
    assert str(tmp_path) not in said and "\n" not in said
    assert told.value.exit_code is ExitCode.ASKED_WRONG == 2


def test_hostile_files(tmp_path: Path) -> None:
    sound = emblem(tmp_path / "sound.pdf", SQUARE)
    cases = {
        "missing.pdf": None,
        "empty.pdf": b"",
        "text.pdf": b"no PDF at all",
        "cut.pdf": sound.read_bytes()[:200],
        "huge.pdf": b"%PDF-1.7\n" + bytes(20_000_001),
    }
    for name, content in cases.items():
        if content is not None:
            (tmp_path / name).write_bytes(content)
        with pytest.raises(AskedWrong, match=f"stamping.emblem: {name} "):
            read_emblem(tmp_path / name)
    with pytest.raises(AskedWrong, match="is no file"):
        read_emblem(tmp_path)
    with pikepdf.open(sound) as pdf:
        pdf.save(tmp_path / "locked.pdf", encryption=pikepdf.Encryption(owner="o", user="u"))
    with pytest.raises(AskedWrong, match="is locked by a password"):
        read_emblem(tmp_path / "locked.pdf")


def test_endless_drawings_are_given_up(tmp_path: Path) -> None:
    many = emblem(tmp_path / "many.pdf", b"0 g " + b"1 1 2 2 re f " * 5_001)
    with pytest.raises(AskedWrong, match="more shapes than"):
        read_emblem(many)
    # a form that draws itself
    target = tmp_path / "round.pdf"
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(100, 100))
        form = pdf.make_stream(SQUARE + b" /X Do", Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 100, 100]))
        form["/Resources"] = Dictionary(XObject=Dictionary(X=form))
        pdf.pages[0].obj["/Resources"] = Dictionary(XObject=Dictionary(X=form))
        pdf.pages[0].obj["/Contents"] = pdf.make_stream(b"/X Do")
        pdf.save(target)
    found = read_emblem(target)
    assert (found.width_pt, found.height_pt) == pytest.approx((30, 40))


def test_an_emblem_is_looked_for_beside_its_job(tmp_path: Path) -> None:
    folder = tmp_path / "jobs"
    folder.mkdir()
    (folder / "job.toml").write_text('[stamping]\nink = "Gold"\nemblem = "art/lamp.pdf"\n', encoding="utf-8")
    stamping = load_job(folder / "job.toml").stamping
    assert stamping is not None and Path(stamping.emblem or "") == folder / "art" / "lamp.pdf"


# --- in a process that may be ended ---------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def hands() -> Iterator[Workers]:
    with Workers(1) as workers:
        yield workers


def job(path: Path) -> Job:
    return Job.model_validate({"stamping": {"ink": "Gold", "emblem": str(path)}})


def endless(target: Path) -> Path:
    """Each of forty forms draws the next one twice, and the last draws nothing: no shape is met in 2^40 drawings."""
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(100, 100))
        box = Array([0, 0, 100, 100])
        form = pdf.make_stream(b"0 0 m n", Type=Name.XObject, Subtype=Name.Form, BBox=box)
        for _ in range(40):
            inner = Dictionary(XObject=Dictionary(X=form))
            form = pdf.make_stream(b"/X Do /X Do", Type=Name.XObject, Subtype=Name.Form, BBox=box, Resources=inner)
        pdf.pages[0].obj["/Resources"] = Dictionary(XObject=Dictionary(X=form))
        pdf.pages[0].obj["/Contents"] = pdf.make_stream(b"/X Do")
        pdf.save(target)
    return target


def test_the_emblem_of_a_job_comes_back_whole(tmp_path: Path, hands: Workers, monkeypatch: pytest.MonkeyPatch) -> None:
    target = emblem(tmp_path / "lamp.pdf", SQUARE + b" [3 1] 2 d 4 w 60 50 m 90 50 l S")
    assert emblem_of(job(target), hands) == read_emblem(target)
    assert emblem_of(Job(), hands) is None
    assert emblem_of(Job.model_validate({"stamping": {"ink": "Gold"}}), hands) is None
    # a job file that is named from its own folder; the process may have begun elsewhere
    monkeypatch.chdir(tmp_path)
    assert emblem_of(job(Path("lamp.pdf")), hands) == read_emblem(target)


def test_what_is_wrong_with_it_is_told_as_if_it_were_read_here(tmp_path: Path, hands: Workers) -> None:
    target = emblem(tmp_path / "lamp.pdf", SQUARE + b" 1 g 20 30 5 5 re f")
    with pytest.raises(AskedWrong) as here:
        read_emblem(target)
    with pytest.raises(AskedWrong) as there:
        emblem_of(job(target), hands)
    assert str(there.value) == str(here.value) and there.value.exit_code is ExitCode.ASKED_WRONG


def test_a_loop_in_the_library_is_ended(tmp_path: Path, hands: Workers, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("foldproof.case.emblem._SECONDS", 0.5)
    with pytest.raises(AskedWrong) as told:
        emblem_of(job(endless(tmp_path / "lamp.pdf")), hands)
    assert str(told.value) == (
        "The job: stamping.emblem: lamp.pdf could not be read to its end (it took longer than 0.5 s); simplify it in "
        "the drawing program, and export it again as a PDF."
    )
    monkeypatch.undo()
    assert emblem_of(job(emblem(tmp_path / "sound.pdf", SQUARE)), hands) is not None


@pytest.mark.parametrize(
    ("fails", "number", "words"),
    [(crash, 0, "SIGSEGV"), (die, 1, "for want of memory"), (starve, 1, "not enough memory")],
)
def test_a_crash_in_the_library_is_told(
    fails: Callable[[int], Any], number: int, words: str, hands: Workers, monkeypatch: pytest.MonkeyPatch
) -> None:
    def alone(_: Callable[[Path], Any], path: Path, *, seconds: float) -> object:
        return next(hands.map(fails, [number], seconds=seconds))[1]

    broken = Workers(1)
    monkeypatch.setattr(broken, "alone", alone)
    with pytest.raises(AskedWrong, match=words) as told:
        emblem_of(job(Path("art/lamp.pdf")), broken)
    assert str(told.value).startswith("The job: stamping.emblem: lamp.pdf could not be read to its end (")
