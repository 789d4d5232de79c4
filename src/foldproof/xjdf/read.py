# SPDX-License-Identifier: AGPL-3.0-or-later
"""A job ticket read back: what it holds of the plan, and from that what the bindery is told."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

from attrs import frozen

from foldproof.errors import AskedWrong
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.xjdf.model import HeldPlan, HeldSection, HeldSheet, Point
from foldproof.xjdf.read_pieces import pieces_and_places
from foldproof.xjdf.rebuild import instructions
from foldproof.xjdf.source import Odd, beyond, child, children, parsed, resources, told
from foldproof.xjdf.terms import BINDING_SIDES, LAYS, WORK_STYLES, finite, grain_of
from foldproof.xjdf.values import count, in_mm, mm, mms, pair, sheet_number

_WAYS = {name: way for way, name in WORK_STYLES.items()}
_READINGS = {name: reading for reading, name in BINDING_SIDES.items()}
_LAYS = {name: lay for lay, name in LAYS.items()}


def read_xjdf(path: Path) -> HeldPlan:
    """What a job ticket holds of a plan.

    Raises:
        AskedWrong: the file cannot be read, is no job ticket, or lacks what a plan needs; the message says what.
    """
    root = parsed(path)
    try:
        return _plan(root)
    except Odd as odd:
        raise AskedWrong(f"{path} is no job ticket that a plan can be read from: {odd}.") from None
    except (KeyError, ValueError, OverflowError) as odd:
        what = str(odd.args[0]) if odd.args else "a value"
        raise AskedWrong(
            f"{path} is no job ticket that a plan can be read from: {what[:80]!r} is not what it should be."
        ) from None


def told_by(path: Path) -> FoldingInstructions:
    """What the bindery is told, from a job ticket alone.

    Raises:
        AskedWrong: see :func:`read_xjdf`; or a piece cannot be folded.
    """
    return instructions(read_xjdf(path))


# --- the plan ---------------------------------------------------------------------------------------------------------


def _plan(root: ET.Element) -> HeldPlan:
    book, layout, binding, media = _product(root)
    runs = _runs(root)
    reading = _READINGS[told(binding, "BindingSide")]
    bound_by = _binding(root, binding)
    wide, high, _ = mms(layout, "FinishedDimensions", 3)
    ours = beyond(root)
    sheets = _sheets(root)
    pieces, places = pieces_and_places(root, reading, (wide, high), runs, {sheet.number for sheet in sheets})
    sections = _sections(root)
    gathered = sorted(piece for section in sections for piece in section.pieces)
    if gathered != sorted(piece.id for piece in pieces if piece.copy_of is None):
        raise Odd("the pieces on its sheets are not those that are gathered, each once")
    return HeldPlan(
        title=root.get("DescriptiveName", ""),
        trim_mm=(wide, high),
        bleed_mm=mm(layout, "Bleed"),
        binding=bound_by,
        reading=reading,
        copies=count(told(book, "Amount")),
        pages=runs[1],
        blanks_front=runs[0],
        blanks_back=runs[2],
        stock=told(media, "MediaQuality"),
        grammage=finite(told(media, "Weight")),
        caliper_mm=finite(told(media, "Thickness")) / 1000,
        creep_factor=finite(_ours(ours, "CreepFactor")),
        creep_by=_ours(ours, "CreepBy"),
        collation=_collation(ours.get("Collation")),
        sections=sections,
        sheets=sheets,
        pieces=pieces,
        places=places,
    )


def _ours(found: dict[str, str], name: str) -> str:
    if name not in found:
        raise Odd(f"it has no {name} under a name of ours")
    return found[name]


def _product(root: ET.Element) -> tuple[ET.Element, ET.Element, ET.Element, ET.Element]:
    """The book, its layout and binding, and the paper of its block."""
    products = {one.get("ID", ""): one for one in children(child(root, "ProductList"), "Product")}
    if not {"Book", "Body"} <= set(products):
        raise Odd("it has no product Book with a Body")

    def intent(product: str, name: str) -> ET.Element:
        for one in children(products[product], "Intent"):
            if one.get("Name") == name:
                return child(one, name)
        raise Odd(f"its {product} has no {name}")

    return (
        products["Book"],
        intent("Book", "LayoutIntent"),
        intent("Book", "BindingIntent"),
        intent("Body", "MediaIntent"),
    )


def _binding(root: ET.Element, intent: ET.Element) -> str:
    """By its type, and for blocks that go into a cover by whether they are sewn."""
    type_ = told(intent, "BindingType")
    if type_ in ("SaddleStitch", "None"):
        return {"SaddleStitch": "stitched", "None": "leaflet"}[type_]
    if type_ not in ("HardCover", "SoftCover"):
        raise ValueError(type_)
    return "sewn" if "ThreadSewing" in told(root, "Types").split() else "glued"


def _runs(root: ET.Element) -> tuple[int, int, int]:
    """Blanks before the manuscript, its pages, blanks behind it."""
    before, pages, after = 0, 0, 0
    for _, run, _ in resources(root, "RunList"):
        many = count(told(run, "NPage"))
        if run.get("OrdType") != "Reservation":
            pages += many
        elif pages:
            after += many
        else:
            before += many
    if not pages:
        raise Odd("its run list has no pages")
    return before, pages, after


def _collation(text: str | None) -> tuple[float, float, int, float, float, float] | None:
    if text is None:
        return None
    first, step, steps, length, width, gap = text.split()
    lengths = [in_mm(finite(word)) for word in (first, step, length, width, gap)]
    return lengths[0], lengths[1], count(steps), lengths[2], lengths[3], lengths[4]


def _sections(root: ET.Element) -> tuple[HeldSection, ...]:
    for resource, assembly, _ in resources(root, "Assembly"):
        signatures = beyond(resource).get("Signatures", "").split()
        order = told(assembly, "Order")
        units: list[tuple[str, ...]] = []
        if order == "List":
            units = [_nest(section) for section in children(assembly, "AssemblySection")]
        else:
            ids = told(assembly, "BinderySignatureIDs").split()
            units = [tuple(ids)] if order == "Collecting" else [(one,) for one in ids]
        if len(signatures) != len(units):
            raise Odd(f"it has {len(units)} gathered sections and {len(signatures)} signatures")
        return tuple(
            HeldSection(nth, signature, unit)
            for nth, (signature, unit) in enumerate(zip(signatures, units, strict=True), start=1)
        )
    raise Odd("it has no Assembly")


def _nest(section: ET.Element) -> tuple[str, ...]:
    """Pieces one in another, the outermost first."""
    at, found = section, [told(section, "BinderySignatureID")]
    while inner := children(at, "AssemblySection"):
        if len(inner) > 1:
            raise Odd("two sections lie beside one another in a third")
        at = inner[0]
        found.append(told(at, "BinderySignatureID"))
    return tuple(found)


# --- sheets -----------------------------------------------------------------------------------------------------------


@frozen
class _Paper:
    media: ET.Element
    name: str
    amounts: dict[str, tuple[int, int]]  #: by sheet: needed at the least, to be bought


def _sheets(root: ET.Element) -> tuple[HeldSheet, ...]:
    papers = {}
    for resource, media, _ in resources(root, "Media"):
        amounts = {}
        for pool in children(resource, "AmountPool"):
            for one in children(pool, "PartAmount"):
                for sheet in children(one, "Part"):
                    amounts[told(sheet, "SheetName")] = count(told(one, "MinAmount")), count(told(one, "Amount"))
        papers[resource.get("ID", "")] = _Paper(media, resource.get("DescriptiveName", ""), amounts)
    names = {
        part.get("Separation"): told(colour, "ActualColorName")
        for _, colour, parts in resources(root, "Color")
        for part in parts
    }
    inks = {
        (part.get("SheetName"), part.get("Side")): tuple(names[one] for one in told(colorants, "ColorantOrder").split())
        for _, colorants, parts in resources(root, "ColorantControl")
        for part in parts
    }
    presses = {
        part.get("SheetName"): device.get("DescriptiveName", "")
        for _, device, parts in resources(root, "Device")
        for part in parts
    }
    slits = {
        part.get("SheetName"): tuple(_slit(cut) for cut in children(cutting, "Cut"))
        for _, cutting, parts in resources(root, "CuttingParams")
        for part in parts
        if "BlockName" not in part
    }
    found = []
    for _, layout, parts in resources(root, "Layout"):
        for part in parts:
            if part.get("Side") != "Front":
                continue
            name = part["SheetName"]
            paper = papers[told(layout, "PaperRef")]
            *_, wide, high = mms(layout, "SurfaceContentsBox", 4)
            net, gross = paper.amounts[name]
            found.append(
                HeldSheet(
                    number=sheet_number(name),
                    size_mm=(wide, high),
                    stock=paper.name,
                    grammage=finite(told(paper.media, "Weight")),
                    caliper_mm=finite(told(paper.media, "Thickness")) / 1000,
                    grain=grain_of(told(paper.media, "GrainDirection"), pair(paper.media, "Dimension")),
                    press=presses.get(name, ""),
                    way=_WAYS[told(layout, "WorkStyle")],
                    lay=_LAYS[told(layout, "SheetLay")],
                    inks=(inks.get((name, "Front"), ()), inks.get((name, "Back"), ())),
                    slits_mm=slits.get(name, ()),
                    net=net,
                    gross=gross,
                )
            )
    if [sheet.number for sheet in found] != list(range(1, len(found) + 1)):
        raise Odd("its sheets are not numbered from S1 on")
    return tuple(found)


def _slit(cut: ET.Element) -> tuple[Point, Point]:
    (x, y), (dx, dy) = pair(cut, "StartPosition"), pair(cut, "WorkingPath")
    return (x, y), (x + dx, y + dy)
