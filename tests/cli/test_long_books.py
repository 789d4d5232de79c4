# SPDX-License-Identifier: AGPL-3.0-or-later
"""The two real books that take longest, with nothing but ``-o``; see ``test_books``."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.whole_books import FILES, LONG, proved_and_exchange_caught

BOOKS = [path for path in FILES if path.stem in LONG]


@pytest.mark.corpus
@pytest.mark.skipif(not BOOKS, reason="no ../shared/corpus beside the project")
@pytest.mark.parametrize("path", BOOKS, ids=lambda path: path.stem)
def test_a_real_book_is_proved_and_an_exchange_of_pages_is_caught(path: Path, tmp_path: Path, foldproof) -> None:
    proved_and_exchange_caught(path, tmp_path, foldproof)
