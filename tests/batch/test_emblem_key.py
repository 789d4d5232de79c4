# SPDX-License-Identifier: AGPL-3.0-or-later
"""A book whose die carries an emblem is made again when the emblem is drawn anew, and not when its folder is moved."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from foldproof.asking import ask
from foldproof.batch.keys import key_of
from tests.build import book


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "one"
    made.mkdir()
    book(4, made / "lamps.pdf")
    (made / "lamp.pdf").write_bytes(b"%PDF-1.4 a lamp")
    (made / "lamps.toml").write_text('[stamping]\nink = "Gold foil"\nemblem = "lamp.pdf"\n', encoding="utf-8")
    return made


def key_in(folder: Path) -> str:
    return key_of(ask(folder / "lamps.pdf", folder / "out", job=folder / "lamps.toml"))


def test_an_emblem_counts_by_its_bytes(folder: Path) -> None:
    before = key_in(folder)
    assert key_in(folder) == before
    (folder / "lamp.pdf").write_bytes(b"%PDF-1.4 another lamp")
    assert key_in(folder) != before


def test_a_folder_may_be_moved(folder: Path, tmp_path: Path) -> None:
    before = key_in(folder)
    shutil.move(folder, tmp_path / "two")
    assert key_in(tmp_path / "two") == before


def test_an_emblem_that_is_gone_is_left_to_the_book_to_tell(folder: Path) -> None:
    before = key_in(folder)
    (folder / "lamp.pdf").unlink()
    assert key_in(folder) != before
