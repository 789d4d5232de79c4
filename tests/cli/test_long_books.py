# SPDX-License-Identifier: AGPL-3.0-or-later
"""The two real books that take longest, with nothing but ``-o``; see ``test_books``.

Their first hundreds of pages stand for them here; the whole ones are made by ``make bench`` and
``tests/bench/killed.py``.
"""

from __future__ import annotations

from pathlib import Path

import pikepdf
import pytest

from tests.cli.whole_books import FILES, LONG, proved_and_exchange_caught

BOOKS = [path for path in FILES if path.stem in LONG]
#: pages of each that are made here
FIRST = {"r-fullrefman": 640, "pgfplots": 160}


@pytest.mark.corpus
@pytest.mark.skipif(not BOOKS, reason="no ../shared/corpus beside the project")
@pytest.mark.parametrize("path", BOOKS, ids=lambda path: path.stem)
def test_a_real_book_is_proved_and_an_exchange_of_pages_is_caught(path: Path, tmp_path: Path, foldproof) -> None:
    part = tmp_path / path.name
    with pikepdf.open(path) as pdf:
        assert len(pdf.pages) > FIRST[path.stem]
        del pdf.pages[FIRST[path.stem] :]
        # what points to pages that are gone would keep them in the file
        for key in ("/Outlines", "/Names", "/Dests", "/AcroForm", "/PageLabels"):
            if key in pdf.Root:
                del pdf.Root[key]
        for page in pdf.pages:
            if "/Annots" in page:
                del page["/Annots"]
        pdf.save(part)
    proved_and_exchange_caught(part, tmp_path, foldproof)
