# SPDX-License-Identifier: AGPL-3.0-or-later
"""Elements of a job ticket, put together in the order that the schema wants.  Every text is made fit for XML."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterable, Mapping, Sequence

from attrs import frozen

from foldproof.report.words import clean
from foldproof.xjdf.terms import NAMESPACE, OURS, VERSION

#: values of the ``Part`` by which a resource belongs to a sheet, a side, a piece ...
Part = Mapping[str, str]
#: name and value of what the standard has no place for
Ours = tuple[tuple[str, str], ...]


@frozen
class Amount:
    """How many of something, of the parts named."""

    good: float
    waste: float | None = None
    least: float | None = None  #: that nothing spoilt would need
    part: Part | None = None


def element(tag: str, attributes: Mapping[str, str | None] | None = None, *inside: ET.Element) -> ET.Element:
    """An element of the standard; attributes that are ``None`` are left out."""
    made = ET.Element(tag, {name: clean(value) for name, value in (attributes or {}).items() if value is not None})
    made.extend(inside)
    return made


class Ticket:
    """One job ticket being written."""

    def __init__(self, job: str, title: str, types: Sequence[str]) -> None:
        self.types = tuple(types)
        self.root = element(
            "XJDF",
            {
                "xmlns": NAMESPACE,
                "Version": VERSION,
                "JobID": job,
                "Types": " ".join(types),
                "DescriptiveName": title or None,
            },
        )

    def created(self, date: str) -> None:
        """When, as the job states it: midnight of a day, no clock."""
        head = {"AgentName": "foldproof", "DeviceID": "foldproof", "Time": f"{date}T00:00:00Z"}
        self.root.append(element("AuditPool", None, element("AuditCreated", None, element("Header", head))))

    def comment(self, text: str) -> None:
        made = element("Comment")
        made.text = clean(text)
        self.root.append(made)

    def ours(self, told: Ours) -> None:
        for name, value in told:
            self.root.append(general(name, value))

    def add(self, one: ET.Element) -> None:
        self.root.append(one)

    def resources(self, name: str, *, usage: str = "Input", process: str = "", nth: int = 0) -> Resources:
        """A set of resources of one kind; ``process``: whose they are, where the ticket lists it."""
        index = [str(at) for at, one in enumerate(self.types) if one == process]
        attributes = {
            "Name": name,
            "Usage": usage,
            "CombinedProcessIndex": index[nth] if nth < len(index) else None,
        }
        return Resources(self.root, element("ResourceSet", attributes))

    def as_bytes(self) -> bytes:
        """The whole file, UTF-8."""
        ET.indent(self.root)
        text: bytes = ET.tostring(self.root, encoding="utf-8", xml_declaration=True)
        return text + b"\n"


class Resources:
    """One set of resources; it joins the ticket with its first resource, so that none is empty."""

    def __init__(self, root: ET.Element, own: ET.Element) -> None:
        self._root = root
        self._own = own

    def add(
        self,
        specific: ET.Element,
        parts: Iterable[Part] = (),
        *,
        id_: str | None = None,
        name: str | None = None,
        amounts: Sequence[Amount] = (),
        ours: Ours = (),
    ) -> None:
        """One resource: what it is, and which parts of the job it is for."""
        if not len(self._own):
            self._root.append(self._own)
        made = element("Resource", {"ID": id_, "DescriptiveName": name})
        if amounts:
            made.append(element("AmountPool", None, *(_amount(one) for one in amounts)))
        made.extend(general(called, value) for called, value in ours)
        made.extend(element("Part", part) for part in parts)
        made.append(specific)
        self._own.append(made)

    def add_alike(self, told: Iterable[tuple[ET.Element, Part] | tuple[ET.Element, Part, Ours]]) -> None:
        """Resources of several parts; those that say the same are stated once, for all the parts they are for."""
        alike: dict[tuple[bytes, Ours], tuple[ET.Element, list[Part]]] = {}
        for one in told:
            ours = one[2] if len(one) == 3 else ()
            alike.setdefault((ET.tostring(one[0]), ours), (one[0], []))[1].append(one[1])
        for (_, ours), (specific, parts) in alike.items():
            self.add(specific, parts, ours=ours)


def general(name: str, value: str) -> ET.Element:
    """What the standard has no place for, under a name of our own."""
    return element("GeneralID", {"IDUsage": OURS + name, "IDValue": value})


def _amount(one: Amount) -> ET.Element:
    def told(value: float | None) -> str | None:
        return None if value is None else f"{value:g}" if value != int(value) else str(int(value))

    attributes = {"Amount": told(one.good), "MinAmount": told(one.least), "Waste": told(one.waste)}
    made = element("PartAmount", attributes)
    if one.part is not None:
        made.append(element("Part", one.part))
    return made
