# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a PDF says of itself as a whole: title, version, page labels, output intents, layers, form."""

from __future__ import annotations

import re
from typing import Any

import pikepdf

from foldproof.pdf.structure_model import LabelRange, WrittenIntent
from foldproof.pdf.structure_objects import entry, keys_of, members, name, number, object_id, plain, text, whole

_VERSION = re.compile(r"^\d\.\d$")
#: XMP packets are a few kB; a longer one is not opened for a title
_LONGEST_XMP = 4_000_000
#: the title stands on every sheet and page of the report: more of it than anybody would read there is left away
_LONGEST_TITLE = 1000


def title_and_author(pdf: pikepdf.Pdf) -> tuple[str, str]:
    """From the information dictionary (ISO 32000-1, 14.3.3), where it is silent from the XMP (14.3.2).

    Each no longer than 1,000 characters.
    """
    title, author = _stated(pdf)
    return title[:_LONGEST_TITLE], author[:_LONGEST_TITLE]


def _stated(pdf: pikepdf.Pdf) -> tuple[str, str]:
    info = entry(pdf.trailer, "/Info")
    title, author = text(entry(info, "/Title")), text(entry(info, "/Author"))
    if (title and author) or not isinstance(packet := entry(pdf.Root, "/Metadata"), pikepdf.Stream):
        return title, author
    if whole(entry(packet, "/Length"), 0) > _LONGEST_XMP:
        return title, author
    try:
        xmp = pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False, strict=False)
        named, creators = xmp.get("dc:title"), xmp.get("dc:creator")
    except Exception:  # a broken packet fails in the XML parser in many ways, and says nothing of the pages
        return title, author
    if not title and isinstance(named, str) and named != "Untitled":  # a converter's word for no title
        title = plain(named)
    if not author:
        people = [creators] if isinstance(creators, str) else creators if isinstance(creators, list) else []
        author = plain(", ".join(one for one in people if isinstance(one, str)))
    return title, author


def date_of(pdf: pikepdf.Pdf) -> str | None:
    """/ModDate, else /CreationDate (table 317), as written."""
    info = entry(pdf.trailer, "/Info")
    return text(entry(info, "/ModDate")) or text(entry(info, "/CreationDate")) or None


def version_of(pdf: pikepdf.Pdf) -> str:
    """The later of header and catalog (ISO 32000-1, 7.5.2)."""
    catalog = name(entry(pdf.Root, "/Version"))
    header = str(pdf.pdf_version)
    return max(header, catalog) if _VERSION.match(catalog) else header


def label_ranges(pdf: pikepdf.Pdf) -> tuple[LabelRange, ...]:
    """/PageLabels, a number tree (ISO 32000-1, 7.9.7 and 12.4.2), in order of page."""
    ranges: dict[int, LabelRange] = {}
    seen: set[tuple[int, int]] = set()
    waiting = [entry(pdf.Root, "/PageLabels")]
    while waiting:
        node = waiting.pop()
        own = object_id(node)
        if own in seen:
            continue
        if own:
            seen.add(own)
        pairs = members(entry(node, "/Nums"))
        for key, label in zip(pairs[::2], pairs[1::2], strict=False):
            start = whole(key, -1)
            if start >= 0 and isinstance(label, pikepdf.Dictionary):
                style = name(entry(label, "/S"))
                ranges[start] = LabelRange(
                    start=start,
                    style=style if style in ("D", "R", "r", "A", "a") else "",
                    prefix=text(entry(label, "/P")),
                    first=max(1, whole(entry(label, "/St"), 1)),
                )
        waiting += members(entry(node, "/Kids"))
    return tuple(ranges[start] for start in sorted(ranges))


def intents(pdf: pikepdf.Pdf) -> tuple[WrittenIntent, ...]:
    """The catalog's output intents (table 365)."""
    found = []
    for intent in members(entry(pdf.Root, "/OutputIntents")):
        if not keys_of(intent):
            continue
        channels = number(entry(entry(intent, "/DestOutputProfile"), "/N"))
        found.append(
            WrittenIntent(
                subtype=name(entry(intent, "/S")),
                condition=text(entry(intent, "/OutputConditionIdentifier")) or text(entry(intent, "/OutputCondition")),
                components=int(channels) if channels else None,
            )
        )
    return tuple(found)


def layers(pdf: pikepdf.Pdf) -> tuple[str, ...]:
    """Names of the optional content groups (ISO 32000-1, 8.11.4.2), in the order of the catalog."""
    groups = members(entry(entry(pdf.Root, "/OCProperties"), "/OCGs"))
    return tuple(text(entry(group, "/Name")) for group in groups if keys_of(group))


def form_of(pdf: pikepdf.Pdf) -> tuple[bool, bool]:
    """Whether there is a form with fields, and whether it asks the viewer to draw them (12.7.2)."""
    form: Any = entry(pdf.Root, "/AcroForm")
    has_form = bool(members(entry(form, "/Fields"))) or entry(form, "/XFA") is not None
    return has_form, entry(form, "/NeedAppearances") is True
