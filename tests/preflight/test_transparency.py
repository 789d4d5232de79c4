# SPDX-License-Identifier: AGPL-3.0-or-later
"""The checks on transparency and on invisible text, on built pages through the real passes and on the corpus."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name

from foldproof.job.model import Job
from foldproof.manuscript.model import Observations
from foldproof.manuscript.observe import Lot, look_at, turn_of
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.pdf.interpreter import Book
from foldproof.preflight.model import Facts, Finding, Severity
from foldproof.preflight.registry import check_named
from foldproof.preflight.specs import load_spec
from tests import build
from tests.build import Fill, Picture
from tests.preflight.facts import the_house

RGB, CMYK = (Dictionary(S=Name.Transparency, CS=space, I=True) for space in (Name.DeviceRGB, Name.DeviceCMYK))


def found(path: Path, check: str, spec: str = "colour-on-coated") -> list[Finding]:
    """What one check finds on the pages of a small file."""
    manuscript = read(path)
    turns = tuple(turn_of(page) for page in manuscript.pages)
    looks: list[Any] = []
    while len(looks) < len(turns):
        looks += look_at(Lot(Book(path, manuscript.sha256), turns[len(looks) :], 3.0, True, False))
    seen = Observations(tuple(look.objects for look in looks), (None,) * len(turns))
    facts = Facts(manuscript, seen, Job(), the_house(), book_trim_mm(manuscript, None), 3.0)
    entry, rules = check_named(check), load_spec(spec)
    return list(entry.run(facts, rules.limits_of(entry)))


def made(path: Path, **page: Any) -> Path:
    pdf = pikepdf.new()
    build.page(pdf, text="Lantern Row", **page)
    return build.save(pdf, path / "a.pdf")


def state(**entries: Any) -> dict[str, Any]:
    return {"ExtGState": Dictionary(A=Dictionary(**entries))}


HALF = {"content": "q /A gs 0 1 0 0 k 50 50 99 99 re f Q", "resources": state(ca=0.5)}
SOFT = {"pictures": [Picture((20, 20, 60, 60), (300, 300), "DeviceCMYK", soft_mask=(30, 30))]}


@pytest.mark.parametrize(
    ("page", "cause", "says"),
    [
        (HALF, "any", "Page 1: matter that is partly see-through."),
        (SOFT, "any", "Page 1: a soft mask."),
        ({**HALF, "resources": state(BM=Name.Multiply)}, "any", "Page 1: blend mode Multiply."),
        ({**HALF, "Group": CMYK}, "any", "partly see-through, mixed in DeviceCMYK."),
        ({**HALF, "Group": RGB}, "rgb-blend-space", "mixed in DeviceRGB; the book is printed in four inks"),
        ({**SOFT, "Group": RGB}, "rgb-blend-space", "everything on the page"),
        ({"Group": RGB}, None, ""),
        ({"fills": [Fill((20, 20, 60, 60), "0 0.5 1 0 k")]}, None, ""),
        ({**HALF, "resources": state(ca=1, BM=Name.Normal, SMask=Name("/None"))}, None, ""),
        ({**HALF, "content": "q /A gs 9 9 20 20 re W n 50 50 99 99 re f Q"}, None, ""),  # behind its clip
        ({"resources": state(ca=0.5)}, None, ""),  # there, but not used
    ],
)
def test_transparency(tmp_path: Path, page: dict[str, Any], cause: str | None, says: str) -> None:
    items = found(made(tmp_path, **page), "transparency")
    if cause is None:
        assert items == []
        return
    (item,) = items
    assert item.cause == f"transparency/{cause}"
    assert item.severity is (Severity.QUERY if cause == "rgb-blend-space" else Severity.NOTE)
    assert says in item.problem
    assert item.place_mm is not None
    assert item.place_mm.x0 == pytest.approx(20 if "pictures" in page else 50 / build.PT, abs=0.1)


def test_without_inks_nothing_is_asked(tmp_path: Path) -> None:
    (item,) = found(made(tmp_path, **HALF, Group=RGB), "transparency", "any-book")
    assert (item.cause, item.severity) == ("transparency/any", Severity.NOTE)


def test_invisible_text(tmp_path: Path) -> None:
    hidden = "q BT 3 Tr /F1 12 Tf 100 300 Td (searched for) Tj ET Q"
    (item,) = found(made(tmp_path, content=hidden), "invisible-text")
    assert (item.cause, item.severity, item.measured) == ("invisible-text/text", Severity.NOTE, 12)
    scan = {"content": f"q 396 0 0 612 0 0 cm /Im1 Do Q {hidden}", "pictures": [Picture((0, 0, 140, 216), (99, 99))]}
    pdf = pikepdf.new()
    build.page(pdf, **scan)
    (item,) = found(build.save(pdf, tmp_path / "b.pdf"), "invisible-text")
    assert item.cause == "invisible-text/scan"
    shown = hidden.replace("3 Tr", "0 Tr")
    assert found(made(tmp_path, content=shown), "invisible-text") == []


# --- real books -----------------------------------------------------------------------------------------------------

#: book and pages, 1-based: with and without transparency
PAGES = {
    "debian-edu-manual": range(1, 102),
    "lilypond-learning": range(1, 41),
    "ngspice-manual": (20, 143, 144, 145, 534, 615, 630, 700),
    "kaytannollista-latexia-a5": (1, 31, 100, 200),
    "pgfplots": (40, 41, 67, 68, 131, 132, 200, 349, 374, 407, 418, 420, 474, 502, 520),
}


def by_hand(page: pikepdf.Page) -> bool:
    """Whether a page calls for transparency by its own content and that of its forms.

    A graphics state with an alpha below 1, a blend mode or a soft mask is named before ``gs``, or a picture that has an
    /SMask before ``Do``.
    """
    pdf_state = page.obj.Resources.get("/ExtGState", {})
    pictures = page.obj.Resources.get("/XObject", {})
    content = b"\n".join(stream.read_bytes() for stream in _streams(page.obj.Contents))
    queue, seen = [(content, pdf_state, pictures)], set()
    while queue:
        content, states, things = queue.pop()
        for name in set(re.findall(rb"(/[^\s/\[\]()<>]+)\s+gs\b", content)):
            entries = states.get(name.decode(), {})
            low = min(float(entries.get("/ca", 1)), float(entries.get("/CA", 1))) < 1
            blend = str(entries.get("/BM", "/Normal")) not in ("/Normal", "/Compatible")
            if low or blend or isinstance(entries.get("/SMask"), pikepdf.Dictionary):
                return True
        for name in set(re.findall(rb"(/[^\s/\[\]()<>]+)\s+Do\b", content)):
            thing = things.get(name.decode())
            if thing is None or thing.objgen in seen:
                continue
            seen.add(thing.objgen)
            if "/SMask" in thing:
                return True
            if thing.get("/Subtype") == "/Form":
                own = thing.get("/Resources", Dictionary())
                queue.append((thing.read_bytes(), own.get("/ExtGState", {}), own.get("/XObject", {})))
    return False


def _streams(contents: pikepdf.Object) -> list[pikepdf.Object]:
    return list(contents) if isinstance(contents, Array) else [contents]


@pytest.mark.parametrize("name", PAGES)
def test_transparent_pages_of_real_books(name: str, corpus: Path, tmp_path: Path) -> None:
    """The very pages whose content calls for it."""
    part = tmp_path / f"{name}.pdf"
    with pikepdf.open(corpus / "books" / f"{name}.pdf") as book, pikepdf.new() as few:
        for page in PAGES[name]:
            few.pages.append(book.pages[page - 1])
        few.save(part)
        theirs = [number for number, page in zip(PAGES[name], few.pages, strict=True) if by_hand(page)]
    ours = [PAGES[name][item.page - 1] for item in found(part, "transparency") if item.page]
    assert ours == theirs
