# SPDX-License-Identifier: AGPL-3.0-or-later
"""Content that cannot be followed to its end; poppler says of the same files whether it can."""

from __future__ import annotations

import subprocess
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path

import pikepdf
import pytest

from foldproof.job.model import Job
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.preflight.checks.broken_content import CHECK
from foldproof.preflight.model import Facts, Finding, Limits, NotJudged, Severity
from foldproof.workers import Workers
from tests.build import book
from tests.preflight.facts import the_house

OPERATORS = b"0 0 0 rg 10 10 50 50 re f\n" * 200
PACKED = zlib.compress(OPERATORS)


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers(1) as some:
        yield some


def found(path: Path, workers: Workers) -> list[Finding]:
    manuscript = read(path)
    seen = observe(manuscript, workers, trim_mm=(140, 216), bleed_mm=3, needs={"objects"}, advance=lambda _: None)
    return list(CHECK.run(Facts(manuscript, seen, Job(), the_house(), (140, 216), 3), Limits({})))


def spoilt(path: Path, data: bytes, *, packed: bool) -> Path:
    with pikepdf.open(book(4, path), allow_overwriting_input=True) as pdf:
        stream = pikepdf.Stream(pdf, data)
        if packed:
            stream.Filter = pikepdf.Name.FlateDecode
        pdf.pages[2].Contents = pdf.make_indirect(stream)
        pdf.save(path, static_id=True)
    return path


CASES = {
    "no stream at all": (b"q \x00\xff\x13" * 40, True, Severity.STOP),
    "half of a stream": (PACKED[: len(PACKED) // 2], True, Severity.STOP),
    "a stream with a bad patch": (PACKED[:20] + b"\x55" * 10 + PACKED[30:], True, Severity.STOP),
    "a resource that is not there": (b"/Nothing Do", False, Severity.STOP),
    "an unknown operator": (b"0 0 5 5 re f 3 foo 1 1 5 5 re f", False, Severity.QUERY),
    "an array without end": (b"0 0 5 5 re f [ (abc", False, Severity.QUERY),
    "a state never saved": (b"Q Q 0 0 5 5 re f", False, Severity.QUERY),
}


@pytest.mark.parametrize("name", CASES)
def test_damaged_content_is_found_on_its_page(
    name: str, tmp_path: Path, workers: Workers, tool: Callable[[str], str]
) -> None:
    data, packed, severity = CASES[name]
    path = spoilt(tmp_path / "a.pdf", data, packed=packed)
    assert [(f.page, f.severity) for f in found(path, workers)] == [(3, severity)]


@pytest.mark.parametrize("name", [n for n in CASES if n not in ("a state never saved", "half of a stream")])
def test_poppler_cannot_follow_it_either(name: str, tmp_path: Path, tool: Callable[[str], str]) -> None:
    # left out: poppler takes a Q too many, and half a stream, without a word
    data, packed, _ = CASES[name]
    path = spoilt(tmp_path / "a.pdf", data, packed=packed)
    said = subprocess.run(
        [tool("pdftoppm"), "-r", "20", "-f", "3", "-l", "3", path, tmp_path / "p"], capture_output=True, text=True
    ).stderr
    assert "rror" in said


def test_sound_content_and_states_left_open_are_left_alone(tmp_path: Path, workers: Workers) -> None:
    assert found(book(4, tmp_path / "a.pdf"), workers) == []
    # a q without its Q is closed by the end of the page (ISO 32000-1, 8.4.2: shall be balanced; no reader loses matter)
    assert found(spoilt(tmp_path / "b.pdf", b"q q 0 0 5 5 re f", packed=False), workers) == []


def test_without_the_object_pass_nothing_is_said(tmp_path: Path, workers: Workers) -> None:
    manuscript = read(book(4, tmp_path / "a.pdf"))
    seen = observe(manuscript, workers, trim_mm=(140, 216), bleed_mm=3, needs=set(), advance=lambda _: None)
    with pytest.raises(NotJudged):
        list(CHECK.run(Facts(manuscript, seen, Job(), the_house(), (140, 216), 3), Limits({})))
