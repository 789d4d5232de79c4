# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the structure of a PDF says, as written: plain frozen values, nothing interpreted, no handle.

The frame of every rectangle is the page's default user space (*media*), in PDF units, corners in the order of the file.
"""

from __future__ import annotations

from attrs import frozen

from foldproof.manuscript.file_facts import FileFacts

#: four numbers as written: two opposite corners, in any order (ISO 32000-1, 7.9.5)
Corners = tuple[float, float, float, float]

BOX_NAMES = ("MediaBox", "CropBox", "BleedBox", "TrimBox", "ArtBox")


@frozen
class WrittenFont:
    """One font dictionary (ISO 32000-1, 9.6 and 9.7)."""

    key: str  #: object id ``"12 0"``, or ``"direct 1"`` for one that has none
    subtype: str  #: ``"Type1"``, ``"TrueType"``, ``"Type0"``, ``"Type3"``, ``"MMType1"``, ``""`` without
    base_font: str  #: without slash, ``""`` without
    descendant: str  #: subtype of the descendant of a Type0 font, else ``""``
    #: key and subtype of the embedded program: ``"FontFile"``, ``"FontFile2"``, ``"Type1C"``, ``"CIDFontType0C"``,
    #: ``"OpenType"``, another FontFile3 subtype as written; ``None`` when nothing is embedded
    program: str | None


@frozen
class WrittenAnnotation:
    """One annotation dictionary (ISO 32000-1, 12.5.2)."""

    subtype: str
    flags: int
    corners: Corners | None  #: /Rect, ``None`` when it is no rectangle
    draws: bool  #: has a normal appearance for its present state
    bordered: bool  #: without an appearance, a border wider than nought, which is the default (table 164)
    filled: bool  #: a form field without an appearance that holds something for the viewer to draw


@frozen
class WrittenPage:
    """One page object with what it inherits (ISO 32000-1, 7.7.3.4)."""

    #: boxes that are stated and read as four numbers; MediaBox and CropBox perhaps inherited
    boxes: dict[str, Corners]
    rotate: float | None
    user_unit: float | None
    #: names of entries that are there and make no sense: ``("Rotate",)``
    odd: tuple[str, ...]
    fonts: tuple[str, ...]  #: keys of ``WrittenFile.fonts``
    annotations: tuple[WrittenAnnotation, ...]
    has_content: bool
    group_space: str | None
    is_group: bool  #: is a transparency group (11.6.6)


@frozen
class LabelRange:
    """One entry of the /PageLabels number tree (ISO 32000-1, 12.4.2, table 159)."""

    start: int  #: 0-based index of its first page
    style: str  #: ``"D"``, ``"R"``, ``"r"``, ``"A"``, ``"a"``, or ``""`` for a prefix alone
    prefix: str
    first: int  #: number of its first page


@frozen
class WrittenIntent:
    """One entry of the catalog's /OutputIntents (ISO 32000-1, 14.11.5)."""

    subtype: str
    condition: str
    components: int | None


@frozen
class WrittenFile:
    """A whole PDF, as its structure states it."""

    title: str
    author: str
    version: str
    mod_date: str | None
    pages: tuple[WrittenPage, ...]
    fonts: tuple[WrittenFont, ...]  #: in order of page
    spots: tuple[str, ...]  #: in order of page
    labels: tuple[LabelRange, ...]
    intents: tuple[WrittenIntent, ...]
    layers: tuple[str, ...]
    encrypted: bool
    has_form: bool
    needs_appearances: bool  #: the form asks the viewer to draw its fields (12.7.2)
    facts: FileFacts
    warnings: tuple[str, ...]
