# SPDX-License-Identifier: AGPL-3.0-or-later
"""How many processes a file is given where nobody says."""

from __future__ import annotations

from pathlib import Path

from foldproof.asking import ask
from foldproof.cores import CORES, hands_for
from tests.build import book


def test_a_small_book_is_given_one_process_and_a_large_one_all(tmp_path: Path) -> None:
    small = book(8, tmp_path / "small.pdf")
    large = tmp_path / "large.pdf"
    large.write_bytes(small.read_bytes() + b"%" * 1_000_000)
    assert hands_for(small) == ask(small).workers == 1
    assert hands_for(large) == ask(large).workers == CORES
    # what is asked for is given, and a file that is not there is told of by whoever opens it
    assert ask(small, workers=3).workers == 3
    assert hands_for(tmp_path / "none.pdf") == 1
