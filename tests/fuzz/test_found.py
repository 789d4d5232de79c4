# SPDX-License-Identifier: AGPL-3.0-or-later
"""What fuzzing found, each as the smallest file that shows it: how it ends now, and what lies in its folder."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from foldproof import pipeline
from foldproof.asking import ask
from foldproof.errors import ExitCode, FoldproofError
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.workers import Workers
from tests.build import book, raw_tree
from tests.fuzz.driver import Kept
from tests.fuzz.held import breaches

_SHEET = "/MediaBox [0 0 397 612] /Contents 30 0 R"


@pytest.fixture(scope="module")
def hands() -> Iterator[Workers]:
    kept = Kept(1)
    yield kept
    kept.end()


@pytest.fixture
def ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, hands: Workers) -> Any:
    """How ``make`` ends with a book: code and sentence, once everything is held that must hold after every run."""
    monkeypatch.setattr(pipeline, "_hands", lambda asked: hands)

    def run(path: Path, job: str = "") -> tuple[ExitCode, str]:
        written = tmp_path / "asked.toml"
        written.write_text(job)
        out = tmp_path / "out"
        try:
            outcome = pipeline.make(ask(path, out, job=written if job else None, workers=1))
        except FoldproofError as error:
            code, says = error.exit_code, str(error)
        else:
            code, says = outcome.code, ""
        assert list(breaches(code, says, out)) == []
        return code, says

    return run


def page(
    path: Path, resources: str, content: bytes, more: dict[int, str | bytes] | None = None, leaf: str = ""
) -> Path:
    """One page written by hand; its content is object 30."""
    stream = b"<< /Length %d >> stream\n%s\nendstream" % (len(content), content)
    return raw_tree(path, "", f"{_SHEET} /Resources << {resources} >> {leaf}", more={30: stream, **(more or {})})


def test_a_number_that_one_reader_cannot_parse(tmp_path: Path, ended: Any) -> None:
    """pypdf gives up on 3!1; the proof reads a copy with its structure put right."""
    font = "<< /Type /Font /Subtype /Type1 /BaseFont /Courier /FirstChar 65 /LastChar 66 /Widths [600 3!1] >>"
    path = page(tmp_path / "a.pdf", "/Font << /F1 31 0 R >>", b"BT /F1 9 Tf 50 50 Td (AB) Tj ET", {31: font})
    assert ended(path)[0] == ExitCode.STOPPED


def test_a_filter_that_is_no_name(tmp_path: Path, ended: Any) -> None:
    form = (
        b"<< /Type /XObject /Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceGray "
        b"/Filter [ << /Lamp 1 >> ] /Length 1 >> stream\nx\nendstream"
    )
    path = page(tmp_path / "a.pdf", "/XObject << /I 31 0 R >>", b"50 0 0 50 20 20 cm /I Do", {31: form})
    assert ended(path)[0] in (ExitCode.WELL, ExitCode.STOPPED)


def test_repairs_that_find_nothing_leave_nothing(tmp_path: Path, ended: Any) -> None:
    path = book(1, tmp_path / "a.pdf")
    assert ended(path, '[mend]\nrepairs = ["drop-comments", "state-trim"]\n')[0] in (ExitCode.WELL, ExitCode.STOPPED)
    assert not [left for left in (tmp_path / "out").iterdir() if left.name.startswith("mended")]


@pytest.mark.parametrize("number", [False, True])
def test_metadata_that_are_no_stream_keep_no_book_from_being_mended_and_made(
    number: bool, tmp_path: Path, ended: Any
) -> None:
    def after(pdf: pikepdf.Pdf) -> None:
        pdf.Root["/Metadata"] = 12 if number else pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.Metadata))

    note = pikepdf.Dictionary(Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.Text, Rect=[9, 9, 20, 20], F=4)
    path = book(1, tmp_path / "a.pdf", after=after, annotations=[note],
                save_options={"fix_metadata_version": False})  # fmt: skip
    assert ended(path, '[mend]\nrepairs = ["drop-comments"]\n')[0] in (ExitCode.WELL, ExitCode.STOPPED)
    assert (tmp_path / "out" / "mended.pdf").is_file()


_TYPE3 = (
    "<< /Type /Font /Subtype /Type3 /FontBBox [0 0 9 9] /FontMatrix [0.1 0 0 0.1 0 0] /FirstChar 65 /LastChar 65 "
    "/Widths [9] /Encoding << /Differences [65 /a] >> /CharProcs << /a 32 0 R >> /Resources << >> >>"
)


def test_a_glyph_that_ends_too_early_is_not_told_on_the_terminal(
    tmp_path: Path, ended: Any, capfd: pytest.CaptureFixture[str]
) -> None:
    """The library warns of it through Python's own warnings, which end on stderr."""
    drawn = b"9 0 d0 0 0 9 9 re f 3 3 2 2 re f ("
    glyph = b"<< /Length %d >> stream\n%s\nendstream" % (len(drawn), drawn)
    text = b"BT /F1 9 Tf 50 50 Td (A) Tj ET"
    path = page(tmp_path / "a.pdf", "/Font << /F1 31 0 R >>", text, {31: _TYPE3, 32: glyph})
    assert ended(path)[0] in (ExitCode.WELL, ExitCode.STOPPED)
    assert capfd.readouterr() == ("", "")


def _remarks(path: Path, hands: Workers) -> list[tuple[str, ...]]:
    manuscript = read(path)
    seen = observe(manuscript, hands, trim_mm=(140, 216), bleed_mm=3, needs={"objects", "ink"}, advance=lambda n: None)
    return [one.remarks for one in seen.objects if one is not None]


def test_what_was_wrong_with_another_book_is_not_told_of_this_one(tmp_path: Path, hands: Workers, ended: Any) -> None:
    """Workers live on: those of a cluster from book to book."""
    sound = book(1, tmp_path / "sound.pdf")
    before = _remarks(sound, hands)
    ended(page(tmp_path / "a.pdf", "", b"Q Q Q 0 0 9 9 re f"))
    assert _remarks(sound, hands) == before == [()]


def test_a_broken_thing_that_pages_share_is_told_of_each(tmp_path: Path, hands: Workers) -> None:
    """Whichever of them a worker comes to first: it keeps what it has read of fonts."""

    def after(pdf: pikepdf.Pdf) -> None:
        program = pdf.pages[0].Resources.Font.F1.FontDescriptor.FontFile3
        data = bytearray(program.read_raw_bytes())
        data[len(data) // 2 :] = b"\0" * 400
        program.write(bytes(data), filter=pikepdf.Name.FlateDecode)

    told = _remarks(book(4, tmp_path / "a.pdf", after=after), hands)
    assert len(told) == 4 and told[0] and set(told) == {told[0]}


def test_matter_scaled_past_all_numbers_is_nowhere(tmp_path: Path, ended: Any) -> None:
    """A picture whose sides are no numbers went into the facts, past every limit, and from there into no JSON."""
    scaled = b"%d 0 0 %d 0 0 cm " % (10**18, 10**18) * 9
    picture = b"BI /W 1 /H 1 /BPC 1 /IM true ID \xff EI "
    path = page(tmp_path / "a.pdf", "", b"0 0 9 9 re f " + scaled + picture + b"0 0 1 rg 0 0 9 9 re f 0 0 m 9 9 l S")
    assert ended(path)[0] in (ExitCode.WELL, ExitCode.STOPPED)
    assert b"NaN" not in (tmp_path / "out" / "findings.json").read_bytes()


def test_a_field_that_no_form_knows_is_not_told_on_the_terminal(tmp_path: Path, ended: Any) -> None:
    """The proof reads a copy where pypdf cannot parse a number; the library that writes it warns of fields."""
    field = "<< /Type /Annot /Subtype /Widget /FT /Tx /T (a) /Rect [9 9 20 20] >>"
    path = page(tmp_path / "a.pdf", "/Font << /F1 31 0 R >>", b"BT /F1 9 Tf 50 50 Td (AB) Tj ET", {
        31: "<< /Type /Font /Subtype /Type1 /BaseFont /Courier /FirstChar 65 /LastChar 66 /Widths [600 3!1] >>",
    }, leaf=f"/Annots [{field}]")  # fmt: skip
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert ended(path)[0] == ExitCode.STOPPED
