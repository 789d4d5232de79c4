# SPDX-License-Identifier: AGPL-3.0-or-later
"""What cannot be read is refused in one clear sentence; what is damaged and can be read is told."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest

from foldproof.errors import ExitCode, NeedsPassword, Unreadable
from foldproof.manuscript.read import read
from tests.build import book, raw_pdf, raw_tree

CATALOG = "<< /Type /Catalog /Pages 2 0 R >>"


def _locked(path: Path) -> Path:
    return book(2, path, save_options={"encryption": pikepdf.Encryption(owner="o", user="u")})


def _folder(path: Path) -> Path:
    path.mkdir()
    return path


def _text(path: Path, content: bytes) -> Path:
    path.write_bytes(content)
    return path


def _deep(path: Path) -> Path:
    # each node of the page tree holds one more; 30,000 of them overflow the stack of a reader that recurses
    deep = 30_000
    objects: dict[int, str | bytes] = {1: CATALOG}
    objects |= {n: f"<< /Type /Pages /Kids [{n + 1} 0 R] /Count 1 >>" for n in range(2, deep)}
    return raw_pdf(path, {**objects, deep: "<< /Type /Page /MediaBox [0 0 9 9] >>"})


BROKEN: dict[str, tuple[Callable[[Path], Path], str]] = {
    "missing": (lambda path: path, "is not there"),
    "folder": (_folder, "is a folder"),
    "empty": (lambda path: _text(path, b""), "is empty"),
    "text": (lambda path: _text(path, b"Dear printer,\nthe book follows.\n"), "is not a PDF"),
    "picture": (lambda path: _text(path, b"\x89PNG\r\n\x1a\n" + bytes(4000)), "is not a PDF"),
    "header alone": (lambda path: _text(path, b"%PDF-1.7\n"), "damaged or cut short"),
    "cut short": (lambda path: _text(path, book(4, path).read_bytes()[:300]), "damaged or cut short"),
    "circle": (
        lambda path: raw_pdf(path, {1: CATALOG, 2: "<< /Type /Pages /Kids [3 0 R] >>", 3: "<< /Kids [2 0 R] >>"}),
        "runs in a circle",
    ),
    "no pages": (lambda path: raw_pdf(path, {1: CATALOG, 2: "<< /Type /Pages /Kids [] /Count 0 >>"}), "holds no pages"),
    "no page tree": (lambda path: raw_pdf(path, {1: "<< /Type /Catalog >>"}), "damaged or cut short"),
    "page tree of another type": (lambda path: raw_pdf(path, {1: CATALOG, 2: "[1 2 3]"}), "damaged or cut short"),
    "page that is not there": (
        lambda path: raw_pdf(
            path, {1: CATALOG, 2: "<< /Type /Pages /Kids [3 0 R 99 0 R] >>", 3: "<< /Type /Page /MediaBox [0 0 9 9] >>"}
        ),
        "names a page that is not there",
    ),
    "deep": (_deep, "levels deep"),
    "odd name": (lambda path: path.with_name("a\0b.pdf"), "cannot be opened"),
}


@pytest.mark.parametrize("case", BROKEN)
def test_refused_in_one_sentence(case: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    make, says = BROKEN[case]
    path = make(tmp_path / "book.pdf")
    with pytest.raises(Unreadable) as refused:
        read(path)
    said = str(refused.value)
    assert str(path) in said and says in said and said.endswith(".") and "\n" not in said
    assert refused.value.exit_code == ExitCode.UNREADABLE
    told = capfd.readouterr()
    assert not told.out and not told.err


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes on this system")
def test_a_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "book.pdf")
    with pytest.raises(Unreadable, match="no ordinary file"):
        read(tmp_path / "book.pdf")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read every file")
def test_a_file_that_may_not_be_read(tmp_path: Path) -> None:
    path = book(1, tmp_path / "book.pdf")
    path.chmod(0)
    with pytest.raises(Unreadable, match="permission"):
        read(path)


def test_a_refused_opening_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = book(1, tmp_path / "book.pdf")

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(Unreadable, match=r"book\.pdf cannot be opened: permission denied\."):
        read(path)


@pytest.mark.parametrize("fault", [MemoryError, RecursionError])
def test_a_file_too_large_or_too_deep_is_told(
    fault: type[Exception], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def burst(*_: object, **__: object) -> None:
        raise fault

    monkeypatch.setattr("foldproof.pdf.structure._read", burst)
    with pytest.raises(Unreadable, match="too deep or too large"):
        read(book(1, tmp_path / "book.pdf"))


# --- passwords -------------------------------------------------------------------------------------------------------


def test_a_locked_file_asks_for_its_password(tmp_path: Path) -> None:
    path = _locked(tmp_path / "book.pdf")
    with pytest.raises(NeedsPassword, match="is locked by a password"):
        read(path)
    with pytest.raises(NeedsPassword, match="password given does not open it"):
        read(path, password="x")
    for password in ("u", "o"):  # 7.6.3.4: user and owner password both open it
        made = read(path, password=password)
        assert len(made.pages) == 2 and made.encrypted
    assert made.title == "The Lamplighter's Almanac"


def test_an_empty_user_password_opens_and_is_told(tmp_path: Path) -> None:
    path = book(2, tmp_path / "b.pdf", save_options={"encryption": pikepdf.Encryption(owner="o", user="")})
    assert read(path).encrypted
    assert not read(book(2, tmp_path / "c.pdf"), password="needless").encrypted


# --- damage that can be read -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("part", [0.5, 0.9, 0.97, 0.995])
def test_a_cut_file_is_refused_or_told(part: float, tmp_path: Path) -> None:
    path = tmp_path / "book.pdf"
    whole = book(12, path).read_bytes()
    path.write_bytes(whole[: int(len(whole) * part)])
    try:
        made = read(path)
    except Unreadable:
        return
    assert made.reader_warnings


def test_what_the_library_mended_is_told_without_the_path(tmp_path: Path) -> None:
    path = tmp_path / "book.pdf"
    content = book(1, path).read_bytes()
    path.write_bytes(content.replace(b"startxref\n", b"startxref\n9"))
    made = read(path)
    assert len(made.pages) == 1 and made.reader_warnings
    assert not any(str(tmp_path) in said or path.name in said for said in made.reader_warnings)


def test_a_count_that_is_wrong_is_told(tmp_path: Path) -> None:
    path = raw_tree(tmp_path / "a.pdf", "/MediaBox [0 0 9 9]", "", "")
    path.write_bytes(path.read_bytes().replace(b"/Count 2", b"/Count 7"))
    made = read(path)
    assert len(made.pages) == 2
    assert "The page tree states 7 pages and holds 2." in made.reader_warnings


def test_a_page_that_stands_twice_in_the_tree_counts_twice(tmp_path: Path) -> None:
    made = read(
        raw_pdf(
            tmp_path / "a.pdf",
            {
                1: CATALOG,
                2: "<< /Type /Pages /Kids [3 0 R 3 0 R 7 4 0 R] /Count 3 /MediaBox [0 0 50 60] >>",
                3: "<< /Type /Page /Parent 2 0 R /Rotate 90 >>",
                4: "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 70 80] >>",
            },
        )
    )
    assert [page.rotate for page in made.pages] == [90, 90, 0]
    assert [page.boxes.media.width for page in made.pages] == [50, 50, 70]
    assert made.reader_warnings


def test_many_pages_with_one_fault_make_one_sentence(tmp_path: Path) -> None:
    made = read(raw_tree(tmp_path / "a.pdf", "/MediaBox [0 0 9 9]", *["/Rotate 45", "", "/Rotate 45"] * 20))
    told = [said for said in made.reader_warnings if "Rotate" in said]
    assert told == [
        "Pages 1, 3-4, 6-7, 9-10, 12-13, 15-16, 18-19, 21-22, 24-25, 27-28, 30-31 and 19 more: "
        "/Rotate is 45, no multiple of 90; taken as 0."
    ]
