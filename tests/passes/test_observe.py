# SPDX-License-Identifier: AGPL-3.0-or-later
"""Both passes over whole books: any number of workers, pages that never end, nothing said on the terminal."""

from __future__ import annotations

import subprocess
import sys
import textwrap
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream

from foldproof.manuscript import observe as room
from foldproof.manuscript.model import Observations
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.workers import Workers
from tests import build
from tests.build import Fill, Picture


@pytest.fixture(scope="module")
def two() -> Iterator[Workers]:
    with Workers(2) as workers:
        yield workers


def seen(path: Path, workers: Workers, needs: frozenset[str] = frozenset({"objects", "ink"})) -> Observations:
    told: list[int] = []
    manuscript = read(path)
    found = observe(manuscript, workers, trim_mm=(140, 216), bleed_mm=3, needs=needs, advance=told.append)
    assert sum(told) == len(manuscript.pages) == len(found.objects) == len(found.ink)
    return found


def mixed(target: Path, pages: int = 41) -> Path:
    def each(index: int) -> dict[str, Any]:
        return {
            "fills": [Fill((-3, 20, 20, 30 + index))] if index % 3 == 0 else [],
            "pictures": [Picture((30, 30, 90, 80), (40 + index, 30))] if index % 5 == 0 else [],
            "rotate": 90 * (index % 4),
        }

    return build.book(pages, target, each=each)


def test_the_result_does_not_depend_on_the_workers(tmp_path: Path, two: Workers) -> None:
    path = mixed(tmp_path / "a.pdf")
    first = seen(path, two)
    with Workers(1) as one:
        assert seen(path, one) == first
    with Workers(3) as three:
        assert seen(path, three) == first
    assert [p.index for p in first.objects if p] == list(range(41))
    assert [p.index for p in first.ink if p] == list(range(41))
    assert [p.folio for p in first.objects if p] == [str(n + 1) for n in range(41)]


def test_only_what_is_needed_is_run(tmp_path: Path, two: Workers) -> None:
    path = build.book(3, tmp_path / "a.pdf")
    assert set(seen(path, two, frozenset({"structure"})).objects) == {None}
    objects = seen(path, two, frozenset({"objects"}))
    assert all(objects.objects)
    assert set(objects.ink) == {None}
    inks = seen(path, two, frozenset({"ink"}))
    assert all(inks.ink)
    assert set(inks.objects) == {None}


def test_one_file_after_another_under_the_same_name(tmp_path: Path, two: Workers) -> None:
    """Workers keep a file open from job to job: another file in its place is another book."""
    path = build.book(2, tmp_path / "a.pdf", fills=[Fill((10, 10, 20, 20))])
    before = seen(path, two)
    build.book(2, path, fills=[Fill((50, 50, 60, 60))])
    after = seen(path, two)
    assert before.ink != after.ink


def test_a_locked_book_is_opened_with_its_password(tmp_path: Path, two: Workers) -> None:
    path = build.book(
        2, tmp_path / "a.pdf", save_options={"encryption": pikepdf.Encryption(owner="o", user="u"), "static_id": False}
    )
    manuscript = read(path, password="u")
    found = observe(
        manuscript, two, trim_mm=(140, 216), bleed_mm=3, needs={"objects", "ink"}, advance=lambda _: None, password="u"
    )
    assert not found.lost
    assert all(found.objects)


def bomb(pdf: pikepdf.Pdf, page: pikepdf.Page, leaf: bytes) -> None:
    """Ten forms that each draw the next ten times: 10 000 000 000 leaves in a kilobyte."""
    form = None
    for _ in range(10):
        made = Stream(pdf, leaf if form is None else b"/F Do " * 10)
        made.Type, made.Subtype, made.BBox = Name.XObject, Name.Form, Array([0, 0, 500, 700])
        if form is not None:
            made.Resources = Dictionary(XObject=Dictionary(F=form))
        form = pdf.make_indirect(made)
    page.obj.Resources = Dictionary(XObject=Dictionary(F=form))
    page.obj.Contents = pdf.make_indirect(Stream(pdf, b"/F Do"))


def test_pages_without_end_are_lost_alone_and_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, two: Workers
) -> None:
    """One draws nothing without end, the other objects; each has a worker of its own to keep busy."""
    monkeypatch.setattr(room, "_LOT_S", 6.0)
    monkeypatch.setattr(room, "_ALONE_S", 7.0)

    def bombs(pdf: pikepdf.Pdf) -> None:
        bomb(pdf, pdf.pages[12], b"")
        bomb(pdf, pdf.pages[19], b"0 0 1 1 re f")

    path = build.book(24, tmp_path / "a.pdf", after=bombs)
    start = time.monotonic()
    found = seen(path, two)
    assert time.monotonic() - start < 25
    assert found.lost == dict.fromkeys((12, 19), "it took longer than 7 s")
    assert [n for n, p in enumerate(found.objects) if p is None] == [12, 19]
    assert [n for n, p in enumerate(found.ink) if p is None] == [12, 19]


def test_the_time_a_page_may_take_keeps_a_whole_book_under_half_a_minute() -> None:
    assert room._LOT_S + room._ALONE_S <= 28
    assert room._ENOUGH_S < room._LOT_S / 2


def test_a_million_objects_are_cut_short_in_time(tmp_path: Path, two: Workers) -> None:
    path = build.book(2, tmp_path / "a.pdf", each=lambda i: {"content": "1 1 5 5 re f\n" * (1_000_000 if i else 1)})
    start = time.monotonic()
    found = seen(path, two)
    assert time.monotonic() - start < 28
    assert found.objects[1] is not None
    assert found.objects[1].cut_short
    assert found.objects[0] is not None
    assert not found.objects[0].cut_short
    assert not found.lost


def test_slow_pages_are_given_back_not_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, two: Workers) -> None:
    """A lot is left off after its time; here at once, so that every page needs a round of its own."""
    path = build.book(9, tmp_path / "a.pdf")
    manuscript = read(path)
    turns = tuple(room.turn_of(page) for page in manuscript.pages)
    monkeypatch.setattr(room, "_ENOUGH_S", 0.0)
    job = room.Lot(room.Book(path, manuscript.sha256), turns, 3.0, True, True)
    assert [look.index for look in room.look_at(job)] == [0]


def test_broken_content_says_nothing_on_the_terminal(tmp_path: Path) -> None:
    path = build.book(
        3, tmp_path / "a.pdf", each=lambda i: {"content": b"q q Q /Nope Do BT /F9 9 Tf (x Tj ET \xff\xfe ( "}
    )
    code = textwrap.dedent(f"""
        from pathlib import Path
        from foldproof.manuscript.observe import observe
        from foldproof.manuscript.read import read
        from foldproof.workers import Workers
        with Workers(1) as workers:
            found = observe(read(Path({str(path)!r})), workers, trim_mm=(140, 216), bleed_mm=3,
                            needs={{"objects", "ink"}}, advance=lambda _: None)
        assert all(found.objects) and all(found.ink) and not found.lost
    """)
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=False)
    assert (run.returncode, run.stdout, run.stderr) == (0, "", "")


def test_a_worker_stays_small_on_a_book_of_large_pictures(tmp_path: Path) -> None:
    """Forty pages with a picture of their own of 12 MB decoded; kept, they would make 480 MB."""
    pytest.importorskip("resource")
    path = _pictures(tmp_path / "a.pdf")
    code = textwrap.dedent(f"""
        import resource
        from pathlib import Path
        from foldproof.manuscript.observe import observe
        from foldproof.manuscript.read import read
        from foldproof.workers import Workers
        with Workers(1) as workers:
            observe(read(Path({str(path)!r})), workers, trim_mm=(140, 216), bleed_mm=3, needs={{"objects", "ink"}},
                    advance=lambda _: None)
        print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024)
    """)
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=120, check=True)
    assert int(run.stdout) < 250


def _pictures(target: Path) -> Path:
    pdf = pikepdf.new()
    for index in range(40):
        page = build.page(pdf)
        picture = Stream(pdf, bytes([index]) * (2000 * 2000 * 3))
        picture.Type, picture.Subtype = Name.XObject, Name.Image
        picture.Width = picture.Height = 2000
        picture.BitsPerComponent, picture.ColorSpace = 8, Name.DeviceRGB
        page.obj.Resources = Dictionary(XObject=Dictionary(Im1=pdf.make_indirect(picture)))
        page.obj.Contents = pdf.make_indirect(Stream(pdf, b"q 300 0 0 500 50 50 cm /Im1 Do Q"))
    return build.save(pdf, target, compress_streams=True, recompress_flate=False)
