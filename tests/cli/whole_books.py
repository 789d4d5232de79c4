# SPDX-License-Identifier: AGPL-3.0-or-later
"""What is asked of every real book made with nothing but ``-o``; two modules of tests share it.

The first hundreds of pages of a long one stand for it here; the whole ones are made by ``tests/bench/killed.py``.
"""

from __future__ import annotations

import json
import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pikepdf

BOOKS = Path(__file__).parents[3] / "shared" / "corpus" / "books"
FILES = sorted(BOOKS.glob("*.pdf")) if BOOKS.is_dir() else []
#: the two that take as long as all others: a module of their own, so that a run that is spread ends sooner
LONG = ("pgfplots", "r-fullrefman")
#: pages of a book that are made, and where it is not so many
MOST_PAGES = 240
OTHERWISE = {"r-fullrefman": 640, "pgfplots": 160}


def exchange_two_pages(sheets: Path, target: Path) -> None:
    """Exchange two placed forms of one side in another file, whatever wrote the sheets."""
    with pikepdf.open(sheets) as pdf:
        page = pdf.pages[0]
        content = b"\n".join(s.read_bytes() for s in page.obj.Contents) if isinstance(
            page.obj.Contents, pikepdf.Array) else page.obj.Contents.read_bytes()  # fmt: skip
        # a placed page is the first Do after a cm inside its own q … Q
        placed = list(re.finditer(rb"\bcm\s+(/\S+)\s+Do\b", content))
        # a page may stand twice on a side, for two copies of the book
        first = placed[1]
        second = next(one for one in placed[4:] if one[1] != first[1])
        swapped = (
            content[: first.start(1)] + second[1] + content[first.end(1) : second.start(1)] + first[1]
            + content[second.end(1) :]
        )  # fmt: skip
        page.obj.Contents = pdf.make_stream(swapped)
        pdf.save(target)


def beginning(path: Path, folder: Path) -> Path:
    """The book, or a file of its first pages where it has more than are made here."""
    most = OTHERWISE.get(path.stem, MOST_PAGES)
    with pikepdf.open(path) as pdf:
        if len(pdf.pages) <= most:
            return path
        del pdf.pages[most:]
        # what points to pages that are gone would keep them in the file
        for key in ("/Outlines", "/Names", "/Dests", "/AcroForm", "/PageLabels"):
            if key in pdf.Root:
                del pdf.Root[key]
        for page in pdf.pages:
            if "/Annots" in page:
                del page["/Annots"]
        pdf.save(folder / path.name)
    return folder / path.name


def proved_and_exchange_caught(
    path: Path, tmp_path: Path, foldproof: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    """Sheets are proved, and the proof falls once two pages are exchanged."""
    path, out = beginning(path, tmp_path), tmp_path / "out"
    done = foldproof("make", path, "-o", out, "--quiet", seconds=400)
    assert done.returncode in (0, 1), done.stderr
    proof = json.loads((out / "proof.json").read_text())
    assert proof["verdict"] == "proved" and not proof["faults"]
    with pikepdf.open(path) as pdf:
        count = len(pdf.pages)
    expected = [page["expected"] for page in proof["pages"] if page["expected"] is not None]
    assert expected == list(range(1, count + 1))
    alike = {page for group in proof["alike"] for page in group}
    for page in proof["pages"]:
        if page["expected"] is not None and page["expected"] not in alike:
            assert page["claimed"] and page["found"] == page["expected"]

    report = (out / "report.html").read_text()
    head = re.sub(r"<[^>]+>", " ", report.split("<main", 1)[1])[:4000]
    for word in ("sewn", "section", "blank", "g/m", "fold", "grain", "sheet"):
        assert word in head.lower(), f"the first lines of the report do not say: {word}"

    damaged = tmp_path / "exchanged.pdf"
    exchange_two_pages(out / "sheets.pdf", damaged)
    again = foldproof("prove", damaged, "--plan", out / "plan.json", "--manuscript", path, "--quiet", seconds=400)
    assert again.returncode == 5, again.stdout + again.stderr
