# SPDX-License-Identifier: AGPL-3.0-or-later
"""Opening a PDF and reading its structure with pikepdf, as written.

The library mends while it opens and while it lists pages; what it mends is told in ``WrittenFile.warnings``.  So the
page tree is walked before the library is asked for its pages (:mod:`structure_tree`), and inherited entries are not
copied down.  The file is only ever opened for reading and is closed before this module returns.
"""

from __future__ import annotations

import logging
import re
import stat
from pathlib import Path
from typing import Any

import pikepdf
from attrs import evolve

from foldproof.errors import NeedsPassword, Unreadable
from foldproof.pdf.bounds import MOST_UNPACKED, hold_qpdf
from foldproof.pdf.memory import give_back, room_for
from foldproof.pdf.structure_annotations import annotations_of
from foldproof.pdf.structure_catalog import (
    date_of,
    form_of,
    intents,
    label_ranges,
    layers,
    title_and_author,
    version_of,
)
from foldproof.pdf.structure_colour import space_in_words
from foldproof.pdf.structure_doings import Doings
from foldproof.pdf.structure_facts import file_facts
from foldproof.pdf.structure_model import BOX_NAMES, Corners, WrittenFile, WrittenPage
from foldproof.pdf.structure_objects import corners, entry, members, name, number, object_id, plain, whole
from foldproof.pdf.structure_resources import ResourceGraph
from foldproof.pdf.structure_tree import Leaf, leaves, of_page

# the library also writes some warnings to this logger, which would reach stderr; get_warnings() has them all
logging.getLogger("pikepdf").addHandler(logging.NullHandler())

#: more of the library's remarks than this are counted, not listed
_MOST_WARNINGS = 40
#: of these remarks the library makes one when it gives up the cross-reference table and looks for objects itself
_REBUILT = ("reconstruct cross-reference table", "can't find startxref")
_HEADER_WITHIN = 1024  # readers look for %PDF- in the first 1,024 bytes (ISO 32000-1, annex H, note 13)


def written_file(path: Path, password: str | None = None) -> WrittenFile:
    """Everything that the structure of a PDF states, as plain values.

    Raises:
        NeedsPassword: it is locked, and the password is missing or wrong.
        Unreadable: it is no PDF, or too damaged for one; missing, a folder, not permitted.  One sentence or two.
    """
    header = _header(path)
    room_for(path)
    hold_qpdf()
    try:
        with _opened(path, password) as pdf:
            written = _read(pdf, path, header)
        del pdf  # a closed file still holds what was read of it
        give_back(path)
        return written
    except pikepdf.PasswordError:
        raise NeedsPassword(
            f"{path} is locked, and the password given does not open it."
            if password
            else f"{path} is locked by a password; give it with --password-file, or ask for an open copy."
        ) from None
    except Unreadable as odd:
        raise Unreadable(f"{path} cannot be read: {odd}. Ask for a fresh export from the layout program.") from None
    except (RecursionError, MemoryError):
        raise Unreadable(f"{path} cannot be read: it is nested too deep or too large for this machine.") from None
    except OSError as refused:
        raise Unreadable(f"{path} cannot be opened: {_reason(refused)}.") from None
    except (pikepdf.PdfError, RuntimeError, ValueError) as odd:  # the last for numbers of more than 64 bits
        raise Unreadable(_in_words(path, header, str(odd))) from None


def _opened(path: Path, password: str | None) -> pikepdf.Pdf:
    try:
        return pikepdf.open(path, inherit_page_attributes=False, suppress_warnings=True)
    except pikepdf.PasswordError:
        # only now: the library complains on stderr of a password that nobody asked for
        if not password:
            raise
        return pikepdf.open(path, password=password, inherit_page_attributes=False, suppress_warnings=True)


def _header(path: Path) -> bytes:
    """The first bytes, after making sure that there is a file to read.

    Raises:
        Unreadable: there is none.
    """
    try:
        state = path.stat()
        if stat.S_ISDIR(state.st_mode):
            raise Unreadable(f"{path} is a folder; name the PDF file in it.")
        if not stat.S_ISREG(state.st_mode):
            raise Unreadable(f"{path} is no ordinary file; save the PDF to disk and name that.")
        if state.st_size == 0:
            raise Unreadable(f"{path} is empty (0 bytes); copy or export it again.")
        with path.open("rb") as handle:
            return handle.read(_HEADER_WITHIN + 8)
    except FileNotFoundError:
        raise Unreadable(f"{path} is not there; look at the spelling and the folder.") from None
    except (OSError, ValueError) as refused:
        raise Unreadable(f"{path} cannot be opened: {_reason(refused)}.") from None


def _reason(refused: OSError | ValueError) -> str:
    return (getattr(refused, "strerror", None) or str(refused)).lower()


def _in_words(path: Path, header: bytes, said: str) -> str:
    if b"%PDF-" not in header:
        return f"{path} is not a PDF: it does not begin with %PDF. Export the book as PDF."
    if "memory limit exceeded" in said:
        return (
            f"{path} cannot be read: a list of its objects unpacks to more than {MOST_UNPACKED // 1_000_000} MB, which "
            "no book needs. Ask for a fresh export from the layout program."
        )
    if "Loop detected" in said:
        return f"{path} cannot be read: its page tree runs in a circle. Ask for a fresh export from the layout program."
    if "encrypt" in said.lower() or "security handler" in said.lower():
        return f"{path} is locked in a way that cannot be opened here ({_cleaned(said, path)}); ask for an open copy."
    return (
        f"{path} is damaged or cut short ({_cleaned(said, path)}). "
        "Copy it again, or ask for a fresh export from the layout program."
    )


def _cleaned(said: str, path: Path) -> str:
    """A remark of the library without the path of the file, so that it reads the same wherever the file lies."""
    for start in (str(path), path.name):
        if said.startswith(start):
            said = said[len(start) :]
            break
    return plain(re.sub(r"^[\s:,]+", "", said)).rstrip(".")


def _read(pdf: pikepdf.Pdf, path: Path, header: bytes) -> WrittenFile:
    """All facts of an open file.  The message of an Unreadable raised here begins in mid-sentence."""
    written, missing = leaves(pdf)  # before the library lists, and mends, the pages and their count
    count = whole(entry(entry(pdf.Root, "/Pages"), "/Count"), -1)
    try:
        listed = [page.obj for page in pdf.pages]
    except (pikepdf.PdfError, RuntimeError):
        if missing:
            raise Unreadable("its page tree names a page that is not there") from None
        raise
    remarks = []
    if not listed:
        raise Unreadable("it holds no pages")
    if len(written) != len(listed):
        remarks.append(
            f"The page tree holds {len(written)} pages as written and {len(listed)} as mended; the latter are used."
        )
        known = {object_id(leaf.page): leaf for leaf in written}
        written = [known.get(object_id(page)) or of_page(page) for page in listed]
    if count != len(listed):
        said = f"{count} pages" if count >= 0 else "no number of pages"
        remarks.append(f"The page tree states {said} and holds {len(listed)}.")
    del listed

    graph, doings = ResourceGraph(), Doings()
    pages = [_page(index, leaf, graph, doings) for index, leaf in enumerate(written)]
    title, author = title_and_author(pdf)
    has_form, needs_appearances = form_of(pdf)
    labels, groups, output_intents = label_ranges(pdf), layers(pdf), intents(pdf)
    facts = file_facts(pdf, path, header, written, pages, graph, doings)
    # last of all: reading an object may mend it
    mended = _mended(pdf, path)
    if missing and count != len(written):
        facts = evolve(facts, absent_pages=missing)
    if any(word in remark for remark in mended for word in _REBUILT):
        facts = evolve(facts, xref="rebuilt", updates=0)
    return WrittenFile(
        title=title,
        author=author,
        version=version_of(pdf),
        mod_date=date_of(pdf),
        pages=tuple(evolve(page, fonts=keys) for page, keys in zip(pages, graph.fonts_by_page(), strict=True)),
        fonts=tuple(graph.fonts),
        spots=tuple(graph.spots),
        labels=labels,
        intents=output_intents,
        layers=groups,
        encrypted=bool(pdf.is_encrypted),
        has_form=has_form,
        needs_appearances=needs_appearances,
        facts=facts,
        warnings=(*remarks, *mended),
    )


def _page(index: int, leaf: Leaf, graph: ResourceGraph, doings: Doings) -> WrittenPage:
    """What a page states, its fonts not yet named; the graph is given its next root."""
    page, keys, odd = leaf.page, leaf.keys, list(leaf.odd)
    boxes: dict[str, Corners] = {}
    for box, inherited in (("MediaBox", leaf.held.media), ("CropBox", leaf.held.crop)):
        if inherited:
            boxes[box] = inherited
    for box in BOX_NAMES[2:]:
        if "/" + box in keys and (value := page.get("/" + box)) is not None:
            if stated := corners(value):
                boxes[box] = stated
            else:
                odd.append(box)
    user_unit = None
    if "/UserUnit" in keys and (value := page.get("/UserUnit")) is not None:
        user_unit = number(value)
        if user_unit is None or user_unit <= 0:
            user_unit = None
            odd.append("UserUnit")
    annotations, appearances, oc = annotations_of(page, index, doings) if "/Annots" in keys else ([], [], [])
    doings.of_page(page, keys, index)
    group = page.get("/Group") if "/Group" in keys else None
    graph.add_root(leaf.held.resources, appearances, oc, entry(group, "/CS"))
    return WrittenPage(
        boxes=boxes,
        rotate=leaf.held.rotate,
        user_unit=user_unit,
        odd=tuple(odd),
        fonts=(),
        annotations=tuple(annotations),
        has_content="/Contents" in keys and _has_bytes(page.get("/Contents")),
        group_space=_group_space(group),
        is_group=name(entry(group, "/S")) == "Transparency",
    )


def _has_bytes(contents: Any) -> bool:
    """Whether a content stream, or one of an array of them, holds any bytes (ISO 32000-1, 7.8.2)."""
    streams = [contents] if isinstance(contents, pikepdf.Stream) else members(contents)
    return any(isinstance(one, pikepdf.Stream) and entry(one, "/Length") != 0 for one in streams)


def _group_space(group: Any) -> str | None:
    """The blending space of a transparency group (ISO 32000-1, table 147)."""
    return space_in_words(entry(group, "/CS")) if name(entry(group, "/S")) == "Transparency" else None


def _mended(pdf: pikepdf.Pdf, path: Path) -> list[str]:
    """The library's remarks, each once, without the path; a MediaBox that it made up is told elsewhere, by page."""
    said = dict.fromkeys(_cleaned(str(one), path) for one in pdf.get_warnings())
    kept = [one for one in said if one and "MediaBox is undefined" not in one]
    if len(kept) > _MOST_WARNINGS:
        return [*kept[:_MOST_WARNINGS], f"and {len(kept) - _MOST_WARNINGS} remarks more of this kind"]
    return kept
