# SPDX-License-Identifier: AGPL-3.0-or-later
"""What is to be made: the book and its parts, and the processes that make it, in their order."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Mapping

from foldproof.quantities.materials import Leaf, cover_paper_of, jacket_paper_of
from foldproof.quantities.model import Work
from foldproof.quantities.wires import wire_places_mm
from foldproof.xjdf.model import HeldPlan
from foldproof.xjdf.terms import BINDING_SIDES, SIDES, number, points
from foldproof.xjdf.tree import element

#: the process of the standard that a bench does (names of processes from memory; the schema knows their parameters)
PROCESSES = {
    "press": "ConventionalPrinting",
    "folding": "Folding",
    "gathering": "Gathering",
    "sewing": "ThreadSewing",
    "stitching": "Stitching",
    "gluing": "SpinePreparation",
    "covering": "CoverApplication",
    "trimming": "Trimming",
    "case": "CaseMaking",
    "casing-in": "CasingIn",
    "jacketing": "Jacketing",
    "packing": "BoxPacking",
}
#: what a hot die does with foil, in the standard's word
FOIL = "FoilStamping"
_BINDING_TYPES = {"stitched": "SaddleStitch", "leaflet": "None"}
_BACKS = {"flat": "Flat", "rounded": "Round", "rounded and backed": "RoundBacked"}


def types_of(work: Work, plan: HeldPlan) -> tuple[str, ...]:
    """The processes of the job in the order in which they are done; ``Product`` says that intents stand here too."""
    leaflet, stitched = plan.binding == "leaflet", plan.binding == "stitched"
    nested = not stitched and any(len(section.pieces) > 1 for section in plan.sections)
    sewn, glued = plan.binding == "sewn", plan.binding == "glued"
    cased = work.case is not None and not leaflet
    packing = work.quantities.packing
    wanted = (
        ("Product", True),
        ("Imposition", True),
        ("ImageSetting", True),
        ("ConventionalPrinting", True),
        ("Cutting", leaflet or any(sheet.slits_mm for sheet in plan.sheets)),
        ("Folding", True),
        ("Collecting", stitched or nested),
        ("Gathering", sewn or glued),
        ("Stitching", stitched),
        ("ThreadSewing", sewn),
        ("EndSheetGluing", cased and work.job.cover.endpapers == "separate"),
        ("SpinePreparation", glued),
        ("CoverApplication", work.cover is not None and (sewn or glued)),
        ("Trimming", not leaflet),
        ("BlockPreparation", cased),
        ("CaseMaking", cased),
        ("Embossing", cased and bool(stamped_faces(work))),
        ("CasingIn", cased),
        ("Jacketing", work.jacket is not None),
        ("BoxPacking", packing is not None),
        ("Palletizing", packing is not None and packing.pallets > 0),
    )
    return tuple(name for name, there in wanted if there)


def process_of(bench: str, types: tuple[str, ...]) -> str:
    """The process of a bench; what is gathered one in another is collected, a leaflet is cut before it is folded."""
    name = PROCESSES.get(bench, "")
    if name == "Trimming" and name not in types:
        return "Cutting"
    return "Collecting" if name == "Gathering" and name not in types else name


def stamped_faces(work: Work) -> tuple[str, ...]:
    """The faces of the closed book, front up and head at the far side, that the die of the job stamps."""
    stamping = work.job.stamping
    if stamping is None:
        return ()
    spine, front = BINDING_SIDES[work.plan.reading], "Front"
    return tuple(face for face, there in ((spine, stamping.spine), (front, stamping.front)) if there)


def back_of(rounding: str) -> str:
    """The shape of a spine, in the standard's words."""
    return _BACKS[rounding]


def product_list(work: Work, plan: HeldPlan, inks: Mapping[str, str]) -> ET.Element:
    """The book, its block, what goes round it.

    Args:
        inks: token of every ink.
    """
    parts = [_body(plan, inks)]
    if work.case is not None:
        wide, high = work.case.open_mm
        parts.append(_part("Cover", "BookCase", plan, (wide, high, work.case.board_thickness_mm)))
        foil = work.job.stamping.ink if work.job.stamping is not None else ""
        items = [
            element("EmbossingItem", {"EmbossingType": FOIL, "Face": face, "FoilColorDetails": foil})
            for face in stamped_faces(work)
        ]
        if items:
            parts[-1].append(_intent("EmbossingIntent", element("EmbossingIntent", None, *items)))
    if work.cover is not None:
        paper = cover_paper_of(work.plan, work.job, work.house)
        parts.append(_part("Cover", "Cover", plan, (*work.cover.trimmed_mm, work.cover.caliper_mm), paper))
    if work.jacket is not None:
        paper = jacket_paper_of(work.plan, work.job, work.house)
        parts.append(_part("Jacket", "BookJacket", plan, (*work.jacket.trimmed_mm, work.jacket.caliper_mm), paper))
    book = element(
        "Product",
        {
            "ID": "Book",
            "IsRoot": "true",
            "Amount": str(plan.copies),
            "ProductType": "Leaflet" if plan.binding == "leaflet" else "Book",
            "DescriptiveName": plan.title or None,
        },
    )
    if work.isbn:
        book.append(element("GeneralID", {"IDUsage": "ISBN", "IDValue": work.isbn}))
    if work.author:
        book.append(element("GeneralID", {"IDUsage": "Author", "IDValue": work.author}))
    book.append(_intent("LayoutIntent", _layout(plan, work.quantities.thickness.spine_mm)))
    book.append(_intent("BindingIntent", _binding(work, plan, [one.attrib["ID"] for one in parts])))
    return element("ProductList", None, book, *parts)


def _layout(plan: HeldPlan, thick_mm: float) -> dict[str, str]:
    return {
        "Bleed": points(plan.bleed_mm),
        "FinishedDimensions": points(*plan.trim_mm, thick_mm),
        "Pages": str(plan.pages + plan.blanks_front + plan.blanks_back),
        "Sides": "TwoSidedHeadToHead",
    }


def _binding(work: Work, plan: HeldPlan, children: list[str]) -> ET.Element:
    case = work.case
    type_ = _BINDING_TYPES.get(plan.binding) or ("HardCover" if case is not None else "SoftCover")
    orders = {"stitched": "Collecting", "leaflet": "None"}
    made = element(
        "BindingIntent",
        {
            "BindingType": type_,
            "BindingSide": BINDING_SIDES[plan.reading],
            "BindingOrder": orders.get(plan.binding, "Gathering"),
            "ChildRefs": " ".join(children) if len(children) > 1 else None,
        },
    )
    sewn = "true" if plan.binding == "sewn" else "false"
    if type_ == "HardCover" and case is not None:
        jacket = work.jacket
        made.append(
            element(
                "HardCoverBinding",
                {
                    "BlockThreadSewing": sewn,
                    "EndSheets": "true" if work.job.cover.endpapers == "separate" else "false",
                    "Jacket": "Loose" if jacket else "None",
                    "JacketFoldingWidth": points(jacket.flap_mm) if jacket else None,
                    "Thickness": points(case.board_thickness_mm),
                    "TightBacking": back_of(case.rounding),
                },
            )
        )
    elif type_ == "SoftCover":
        flaps = work.cover.flap_mm if work.cover is not None else 0.0
        made.append(
            element("SoftCoverBinding", {"BlockThreadSewing": sewn, "FoldingWidth": points(flaps) if flaps else None})
        )
    elif type_ == "SaddleStitch":
        wires = len(wire_places_mm(plan.trim_mm[1]))
        made.append(element("SaddleStitching", {"StitchNumber": str(wires)}))
    return made


def _body(plan: HeldPlan, inks: Mapping[str, str]) -> ET.Element:
    made = element("Product", {"ID": "Body", "Amount": str(plan.copies), "ProductType": "Body"})
    sides = (tuple(dict.fromkeys(ink for sheet in plan.sheets for ink in sheet.inks[side])) for side in (0, 1))
    used = [
        element("SurfaceColor", {"Surface": name, "ColorsUsed": " ".join(inks[ink] for ink in there)})
        for name, there in zip(SIDES.values(), sides, strict=True)
        if there
    ]
    if used:
        made.append(element("Intent", {"Name": "ColorIntent"}, element("ColorIntent", None, *used)))
    made.append(_paper(plan.stock, plan.grammage, plan.caliper_mm))
    return made


def _paper(stock: str, grammage: float, caliper_mm: float) -> ET.Element:
    media = {
        "MediaType": "Paper",
        "MediaQuality": stock,
        "Thickness": number(caliper_mm * 1000),
        "Weight": number(grammage),
    }
    return _intent("MediaIntent", media)


def _part(
    id_: str, type_: str, plan: HeldPlan, size_mm: tuple[float, float, float], paper: Leaf | None = None
) -> ET.Element:
    made = element("Product", {"ID": id_, "Amount": str(plan.copies), "ProductType": type_})
    made.append(_intent("LayoutIntent", {"FinishedDimensions": points(*size_mm)}))
    if paper is not None:
        made.append(_paper(paper.name, paper.grammage, paper.caliper_mm))
    return made


def _intent(name: str, told: Mapping[str, str] | ET.Element) -> ET.Element:
    return element("Intent", {"Name": name}, element(name, told) if isinstance(told, Mapping) else told)
