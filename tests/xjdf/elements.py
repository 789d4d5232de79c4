# SPDX-License-Identifier: AGPL-3.0-or-later
"""Job tickets as elements, read by lxml without anything of the project's own reader."""

from __future__ import annotations

from pathlib import Path

from lxml import etree

#: targetNamespace of the published schema
NAMESPACE = "http://www.CIP4.org/JDFSchema_2_0"
NS = {"x": NAMESPACE}
PT = 72 / 25.4  # points in a millimetre (ISO 32000-1, 8.3.2.3: 1/72 in)


def root_of(path: Path) -> etree._Element:
    return etree.parse(str(path)).getroot()


def all_of(root: etree._Element, path: str) -> list[etree._Element]:
    """Elements by an XPath whose steps are of the standard's namespace: ``"Layout/Position"``."""
    return root.xpath(".//" + "/".join(f"x:{step}" for step in path.split("/")), namespaces=NS)


def one_of(root: etree._Element, path: str) -> etree._Element:
    (found,) = all_of(root, path)
    return found


def parts(specific: etree._Element) -> list[dict[str, str]]:
    """The parts of the job that a resource is for."""
    return [dict(part.attrib) for part in specific.getparent().findall("x:Part", NS)]


def numbers(one: etree._Element, name: str) -> list[float]:
    return [float(word) for word in one.get(name).split()]


def millimetres(one: etree._Element, name: str) -> list[float]:
    return [value / PT for value in numbers(one, name)]
