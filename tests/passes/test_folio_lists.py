# SPDX-License-Identifier: AGPL-3.0-or-later
"""The folio reader against lists of every page, typed from the rendered pages; page labels play no part."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from foldproof.manuscript.model import Manuscript, Observations

LookedAt = Callable[[Path], tuple[Manuscript, Observations]]
LISTS = tomllib.loads((Path(__file__).parent / "folio_lists.toml").read_text(encoding="utf-8"))["book"]


def roman(number: int) -> str:
    signs = ((100, "c"), (90, "xc"), (50, "l"), (40, "xl"), (10, "x"), (9, "ix"), (5, "v"), (4, "iv"), (1, "i"))
    text = ""
    for value, sign in signs:
        text += sign * (number // value)
        number %= value
    return text


def typed(entry: dict[str, Any]) -> list[str | None]:
    """The list page by page."""
    pages: list[str | None] = [None] * entry["pages"]
    for first, last, style, start in entry["runs"]:
        for index in range(first, last + 1):
            number = start + index - first
            pages[index] = roman(number) if style == "roman" else str(number)
    return pages


def folios_of(seen: Observations) -> list[str | None]:
    return [page.folio if page else None for page in seen.objects]


@pytest.mark.corpus
@pytest.mark.parametrize("entry", LISTS, ids=lambda entry: entry["file"])
def test_folios_as_typed_by_hand(entry: dict[str, Any], corpus: Path, looked_at: LookedAt) -> None:
    path = corpus / "books" / entry["file"]
    if not path.exists():
        pytest.skip(f"{path.name} is not in the corpus")
    wanted, found = typed(entry), folios_of(looked_at(path)[1])
    assert len(found) == len(wanted)
    wrong = [
        (i, theirs, ours)
        for i, (theirs, ours) in enumerate(zip(wanted, found, strict=True))
        if ours not in (None, theirs)
    ]
    assert wrong == []
    printed = [index for index, folio in enumerate(wanted) if folio is not None]
    assert sum(found[index] is not None for index in printed) >= 0.98 * len(printed)


#: pages whose folio is read, of all pages; the others of these books carry none (titles, blanks).  Measured too:
#: ctwill 154 of 154, debian-install.ja 124 of 126, lilypond-learning 220 of 221, ngspice-manual 710 of 715, pari-users
#: 672 of 675, pgfplots 572 of 573, r-fullrefman 2414 of 2415
SHARES = {"debian-edu-manual.pdf": (100, 101), "musixdoc-595x792.pdf": (164, 166)}


@pytest.mark.corpus
@pytest.mark.parametrize("name", SHARES)
def test_share_of_folios_read(name: str, corpus: Path, looked_at: LookedAt) -> None:
    path = corpus / "books" / name
    if not path.exists():
        pytest.skip(f"{path.name} is not in the corpus")
    found = folios_of(looked_at(path)[1])
    assert (sum(folio is not None for folio in found), len(found)) == SHARES[name]
