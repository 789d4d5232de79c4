# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the structure says beyond the pages, against other libraries, on books and odd files that nobody here made.

Scripts, forms, locks: ``pdfinfo`` (poppler).  Attachments: ``pdfdetach`` (poppler).  Pictures by page: ``pdfimages``
(poppler).  Fields, permissions, objects: ``qpdf --json``.  Layers: MuPDF.  Object streams, cross-reference: pypdf.
Every difference that is allowed stands here with its reason.
"""

from __future__ import annotations

import gc
import json
import re
import subprocess
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pymupdf
import pypdf
import pytest

from foldproof.errors import NeedsPassword, Unreadable
from foldproof.manuscript.model import Manuscript
from foldproof.manuscript.read import read

pytestmark = pytest.mark.corpus

#: all but the two largest, which are looked at below
BOOKS = (
    "ctwill-150x240", "debian-edu-manual", "kaytannollista-latexia-a5", "lilypond-learning", "musixdoc-595x792",
    "ngspice-manual", "pari-users", "r-intro", "tex-by-topic",
)  # fmt: skip


@cache
def _read(path: Path) -> Manuscript:
    made = read(path)
    # it is kept until the end: the search at the end of every later reading need not go through it
    gc.freeze()
    return made


def _files(corpus: Path) -> Iterator[tuple[str, Manuscript]]:
    """The books, and the odd files that can be read at all."""
    yield from ((name, _read(corpus / "books" / f"{name}.pdf")) for name in (*BOOKS, "pgfplots"))
    for path in sorted((corpus / "hard").glob("*.pdf")):
        try:
            yield path.stem, _read(path)
        except (Unreadable, NeedsPassword):
            continue


def _said(*command: object) -> str:
    return subprocess.run([*map(str, command)], capture_output=True, check=False).stdout.decode("utf-8", "replace")


#: poppler takes these for files without pages, or does not open them
_NOT_FOR_POPPLER = {"qpdf__bad-content", "qpdf__fuzz-16214", "pdfium__bug_555784"}
#: poppler has a form where the catalog holds an empty one, and none where its list of fields is empty but for XFA
_FORMS = {"none": (False, False), "AcroForm": (True, False), "XFA": (True, True)}


def test_scripts_forms_and_locks(corpus: Path, tool: Callable[[str], str]) -> None:
    seen = 0
    for stem, book in _files(corpus):
        said = dict(re.findall(r"^([A-Z][\w ]+): +(.*)$", _said(tool("pdfinfo"), book.path), re.M))
        if stem in _NOT_FOR_POPPLER or "Pages" not in said:
            continue
        seen += 1
        facts = book.facts
        assert bool(facts.scripts) == (said["JavaScript"] == "yes"), stem
        has_form, xfa = _FORMS[said["Form"]]
        assert (book.has_form, facts.xfa) == (has_form, xfa) or (not facts.fields and not xfa), stem
        assert (facts.encryption is not None) == said["Encrypted"].startswith("yes"), stem
        if facts.encryption:
            method = facts.encryption.partition(",")[0]
            assert f"algorithm:{method}" in said["Encrypted"], stem
            for word, key in (("printing", "print"), ("copying", "copy"), ("changing", "change")):
                assert (f"{key}:no" in said["Encrypted"]) == (word in facts.forbidden), (stem, word)
    assert seen > 40


def test_scripts_of_a_book_one_by_one(corpus: Path, tool: Callable[[str], str]) -> None:
    """Poppler lists the scripts kept by name and those of buttons; MuPDF tells on which pages the buttons stand."""
    path = corpus / "books" / "pgfplots.pdf"
    facts = _read(path).facts
    listed = _said(tool("pdfinfo"), "-js", path)
    said = re.findall(r"^(Name Dictionary|Widget Annotation [\w ]+)(?: \"(.*)\")?:$", listed, re.M)
    named = {name for kind, name in said if kind == "Name Dictionary"}
    assert {one.detail.removeprefix("document, ") for one in facts.scripts if not one.pages} == named
    assert len({kind for kind, _ in said}) == 3  # kept by name, on pressing, on releasing
    [buttons] = [one for one in facts.scripts if one.pages]
    with pymupdf.open(path) as book:
        pages = [
            index
            for index in range(book.page_count)
            if any("/JavaScript" in book.xref_object(xref) for xref, _, _ in book[index].annot_xrefs())
        ]
    assert list(buttons.pages) == pages


def test_attachments(corpus: Path, tool: Callable[[str], str]) -> None:
    with_some = 0
    for stem, book in _files(corpus):
        if not stem.startswith(("opf", "sample", "pikepdf", "pdf20", "r-intro")):
            continue
        said = sorted(re.findall(r"^\d+: (.*)$", _said(tool("pdfdetach"), "-list", book.path), re.M))
        assert sorted(one.detail for one in book.facts.attachments if one.what == "file") == said, stem
        with_some += bool(said)
    assert with_some == 2


def test_fields(corpus: Path, tool: Callable[[str], str]) -> None:
    """qpdf lists the places of fields; a field is one name, whatever the number of its places."""
    for path in (corpus / "books" / "pgfplots.pdf", *sorted((corpus / "hard").glob("pdfium__*8*.pdf"))):
        try:
            facts = _read(path).facts
        except (Unreadable, NeedsPassword):
            continue
        listed = json.loads(_said(tool("qpdf"), "--json", "--json-key=acroform", path) or "{}")
        fields = listed.get("acroform", {}).get("fields", [])
        # six fields of the one book stand in its list twice
        assert facts.fields == len({field["fullname"] for field in fields}), path.name


def test_layers(corpus: Path) -> None:
    with_some = 0
    for stem, book in _files(corpus):
        with pymupdf.open(book.path) as other:
            groups = other.get_ocgs()
            off = set(other.get_layer().get("off", ())) if groups else set()
            assert sorted((one.name, one.on) for one in book.facts.layers) == sorted(
                (group["name"], xref not in off) for xref, group in groups.items()
            ), stem
            with_some += bool(groups)
    assert with_some == 2


def test_how_the_objects_are_listed(corpus: Path) -> None:
    """pypdf keeps apart what a stream of objects held; and the bytes tell how many sections were closed."""
    for stem, book in _files(corpus):
        if book.facts.xref == "rebuilt" or stem in _BROKEN_LISTS:
            continue
        other = pypdf.PdfReader(book.path)
        assert book.facts.object_streams == bool(other.xref_objStm), stem
        data = book.path.read_bytes()
        told = b"/Type/XRef" in data.replace(b" ", b"") and stem not in _LEFT_OVER
        assert (book.facts.xref == "stream") == told, stem
        closed = len(re.findall(rb"startxref\s+[1-9]\d*\s+%%EOF", data))
        # a linearized file is closed twice as it is first written (annex F); its first section may say startxref 0
        assert book.facts.updates == max(closed - 1 - (b"/Linearized" in data[:1024] and closed > 1), 0), stem


#: lists of objects that do not say what the file holds: pypdf mends them otherwise than qpdf
_BROKEN_LISTS = {"qpdf__fuzz-16214", "qpdf__bad-content"}
#: was written with a list in a stream, which a later program turned into a table and left lying
_LEFT_OVER = {"pdfium__dynamic_list_box_allow_multiple_selection"}


# --- what pages reach, by a plain walk over all objects as qpdf lists them ----------------------------------------

#: entries that lead away from what is painted
_AWAY = {"/Parent", "/P", "/Metadata", "/PieceInfo", "/SD", "/StructParent", "/StructParents"}


class Walk:
    """Objects of a file as ``qpdf --json`` gives them."""

    def __init__(self, tool: str, path: Path) -> None:
        listed = json.loads(_said(tool, "--json", "--json-key=qpdf", "--json-key=pages", path))
        self.objects: dict[str, Any] = listed["qpdf"][1]
        self.pages = [page["object"] for page in listed["pages"]]

    def value(self, reference: str) -> Any:
        found = self.objects.get(f"obj:{reference}", {})
        return found["stream"]["dict"] if "stream" in found else found.get("value")

    def reached(self, page: str) -> set[str]:
        """Numbers of all objects behind the content and the resources of a page, its own or those above it."""
        node = self.value(page)
        start = [node.get("/Contents"), node.get("/Group")]
        while node is not None and "/Resources" not in node:
            node = self.value(node["/Parent"]) if "/Parent" in node else None
        start.append((node or {}).get("/Resources"))
        seen: set[str] = set()
        while start:
            thing = start.pop()
            if isinstance(thing, str) and re.fullmatch(r"\d+ \d+ R", thing):
                if thing not in seen:
                    seen.add(thing)
                    start.append(self.value(thing))
            elif isinstance(thing, dict):
                start += [value for key, value in thing.items() if key not in _AWAY]
            elif isinstance(thing, list):
                start += thing
        return seen


@pytest.mark.parametrize("stem", ["books/ngspice-manual", "books/lilypond-learning", "books/r-intro", "hard"])
def test_what_pages_reach(corpus: Path, tool: Callable[[str], str], stem: str) -> None:
    paths = sorted((corpus / "hard").glob("*.pdf")) if stem == "hard" else [corpus / f"{stem}.pdf"]
    looked_at = 0
    for path in paths:
        try:
            book = _read(path)
        except (Unreadable, NeedsPassword):
            continue
        if path.stem in _BROKEN_LISTS or book.has_form:  # appearances of fields are painted too
            continue
        walk = Walk(tool("qpdf"), path)
        filters: dict[str, set[int]] = {}
        images: dict[str, set[int]] = {}
        masked: set[int] = set()
        for index, page in enumerate(walk.pages):
            for reference in walk.reached(page):
                found = walk.value(reference)
                if "stream" not in walk.objects.get(f"obj:{reference}", {}):
                    continue
                named = found.get("/Filter") or []
                for one in [named] if isinstance(named, str) else named:
                    filters.setdefault(one[1:], set()).add(index)
                if found.get("/Subtype") == "/Image":
                    images.setdefault(reference.removesuffix(" R"), set()).add(index)
                    masked |= {index} if "/SMask" in found else set()
        assert {one.what: set(one.pages) for one in book.facts.filters} == filters, path.name
        assert {one.key: set(one.pages) for one in book.facts.images} == images, path.name
        told = [one.pages for one in book.facts.transparency if (one.what, one.detail) == ("SMask", "picture")]
        assert {page for pages in told for page in pages} == masked, path.name
        looked_at += 1
    assert looked_at == 1 or looked_at > 30


def test_pictures_by_page(corpus: Path, tool: Callable[[str], str]) -> None:
    """Poppler lists those that are painted; none of them may be missing."""
    for stem in ("ngspice-manual", "lilypond-learning", "debian-edu-manual"):
        book = _read(corpus / "books" / f"{stem}.pdf")
        known = {(page + 1, image.key.split()[0]) for image in book.facts.images for page in image.pages}
        listed = _said(tool("pdfimages"), "-list", book.path)
        # a soft mask is listed under the number of the picture that it belongs to
        said = re.findall(r"^ *(\d+) +\d+ +\w+ +.*? (?:yes|no) +(\d+) +0 ", listed, re.M)
        assert {(int(page), number) for page, number in said} <= known, stem
        assert said
