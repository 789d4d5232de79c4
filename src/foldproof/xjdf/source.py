# SPDX-License-Identifier: AGPL-3.0-or-later
"""A job ticket's file as elements, from a hand that need not be friendly.

A document type, and with it every entity, is refused before anything is parsed, so that nothing can be drawn in from
elsewhere or grow while it is read; size and number of elements are bounded.  Files are UTF-8, as they are written:
a text in which the two words could hide behind another encoding is not looked into.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from pathlib import Path

from foldproof.errors import AskedWrong
from foldproof.xjdf.terms import NAMESPACE, OURS

#: a book of 17,000 pages takes about 10 MB and 80,000 elements
MOST_BYTES = 64_000_000
MOST_ELEMENTS = 1_000_000
_DECLARED = re.compile(r"""<\?xml\s[^>]*?encoding\s*=\s*["']([^"']*)["']""")
_FORBIDDEN = ("<!DOCTYPE", "<!ENTITY", "<!ELEMENT", "<!ATTLIST")
_TAG = f"{{{NAMESPACE}}}"

#: values of the ``Part`` of a resource
Part = Mapping[str, str]


class Odd(Exception):
    """Something in the file is not as a job ticket has it; the message is a clause for people."""


def parsed(path: Path) -> ET.Element:
    """The root of a job ticket.

    Raises:
        AskedWrong: the file cannot be read, or is no job ticket.
    """
    try:
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except OSError as refused:
        reason = (refused.strerror or str(refused)).lower()
        raise AskedWrong(f"The job ticket {path} cannot be read: {reason}.") from refused
    try:
        return _root(content)
    except Odd as odd:
        raise AskedWrong(f"{path} is no job ticket that can be read: {odd}.") from None


def _root(content: bytes) -> ET.Element:
    if len(content) > MOST_BYTES:
        raise Odd(f"it is larger than {MOST_BYTES // 1_000_000} MB")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise Odd("it is not UTF-8") from None
    # two bytes a character, of which the parser would take the one for a sign of it
    if "\0" in text:
        raise Odd("it has characters that no XML has")
    declared = _DECLARED.match(text)
    if declared and declared[1].lower() not in ("utf-8", "utf8", "us-ascii", "ascii"):
        raise Odd("it says that it is not UTF-8")
    if any(word in text for word in _FORBIDDEN):
        raise Odd("it declares a document type or entities, which no job ticket needs")
    if text.count("<") > MOST_ELEMENTS:
        raise Odd(f"it has more than {MOST_ELEMENTS:,} elements")
    try:
        root = ET.fromstring(content, parser=ET.XMLParser(encoding="utf-8"))
    except ET.ParseError as broken:
        raise Odd(f"it is no whole XML ({broken})") from None
    if root.tag != f"{_TAG}XJDF":
        raise Odd("its first element is not XJDF in the standard's namespace")
    return root


def child(parent: ET.Element, *names: str) -> ET.Element:
    """The element that one reaches by these names.

    Raises:
        Odd: it is not there.
    """
    at = parent
    for name in names:
        found = at.find(_TAG + name)
        if found is None:
            raise Odd(f"it has no {name}")
        at = found
    return at


def children(parent: ET.Element, name: str) -> list[ET.Element]:
    return parent.findall(_TAG + name)


def told(one: ET.Element, name: str) -> str:
    """An attribute.

    Raises:
        Odd: it is not there.
    """
    value = one.get(name)
    if value is None:
        raise Odd(f"a {one.tag.removeprefix(_TAG)} has no {name}")
    return value


def resources(root: ET.Element, name: str) -> Iterator[tuple[ET.Element, ET.Element, list[Part]]]:
    """Every resource of a kind: the resource, what it is, and the parts that it is for."""
    for group in children(root, "ResourceSet"):
        if group.get("Name") != name:
            continue
        for resource in children(group, "Resource"):
            specific = resource.find(_TAG + name)
            if specific is not None:
                yield resource, specific, [part.attrib for part in children(resource, "Part")]


def beyond(one: ET.Element) -> dict[str, str]:
    """What is stated under names of our own."""
    found = {}
    for general in children(one, "GeneralID"):
        usage = general.get("IDUsage", "")
        if usage.startswith(OURS):
            found[usage.removeprefix(OURS)] = general.get("IDValue", "")
    return found
