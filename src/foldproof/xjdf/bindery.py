# SPDX-License-Identifier: AGPL-3.0-or-later
"""The bindery's part of a job ticket: pieces, folds, gathering, sewing, trimming, case, jacket, packing, amounts.

A fold goes by a name of the fold catalogue only where it is certainly that one: a sheet folded once in its middle,
``F4-1`` (handbook jdf-half-fold, jdf-no-rotation).  Every other piece states its grid and its folds one by one.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET

from foldproof.quantities.model import Count, Work
from foldproof.quantities.wires import wire_places_mm
from foldproof.xjdf.model import HeldCell, HeldPiece, HeldPlan
from foldproof.xjdf.product import FOIL, back_of, process_of, stamped_faces
from foldproof.xjdf.terms import HEADS, bound_as, points, sheet_name
from foldproof.xjdf.tree import Amount, Part, Ticket, element

HALF_FOLD = "F4-1"
_AT_EDGE = {"left": "Left", "front": "Front"}
_SLACK_MM = 1e-6


def add_bindery(ticket: Ticket, work: Work, plan: HeldPlan) -> None:
    """Everything after the press."""
    firsts = [piece for piece in plan.pieces if piece.copy_of is None]
    _add_pieces(ticket, plan, firsts)
    _add_gathering(ticket, plan)
    if plan.binding == "sewn":
        _add_sewing(ticket, work, firsts)
    if plan.binding == "stitched":
        ticket.resources("StitchingParams", process="Stitching").add(_stitching(plan))
    # what is ground off is stated of any binding, since a piece is as wide as its pages and their trims
    spines = ticket.resources("SpinePreparationParams", process="SpinePreparation")
    spines.add_alike(
        (
            element(
                "SpinePreparationParams",
                {"MillingDepth": points(piece.spine_trim_mm), "Operations": "Milling" if piece.spine_trim_mm else None},
            ),
            _part(piece),
        )
        for piece in firsts
        if piece.spine_trim_mm or plan.binding == "glued"
    )
    if plan.binding != "leaflet":
        foot = firsts[0].foot_trim_mm if firsts else 0.0
        size = {"Width": points(plan.trim_mm[0]), "Height": points(plan.trim_mm[1]), "TrimmingOffset": points(foot)}
        ticket.resources("TrimmingParams", process="Trimming").add(element("TrimmingParams", size))
    _add_covers(ticket, work)
    _add_packing(ticket, work)
    _add_amounts(ticket, work.quantities.counts)


def is_half_fold(piece: HeldPiece) -> bool:
    """Whether it is the catalogue's single half fold: a left and a right cell, equally wide."""
    if (piece.columns, piece.rows, len(piece.folds)) != (2, 1, 1):
        return False
    return abs(piece.column_mm[0] - piece.column_mm[1]) < _SLACK_MM


def _part(piece: HeldPiece) -> Part:
    return {"BinderySignatureID": piece.id}


def _add_pieces(ticket: Ticket, plan: HeldPlan, firsts: list[HeldPiece]) -> None:
    signatures = ticket.resources("BinderySignature", process="Imposition")
    signatures.add_alike(
        (
            _signature(piece, plan),
            _part(piece),
            (("BottlingLean", points(piece.bottling_mm)),) if piece.bottling_mm else (),
        )
        for piece in firsts
    )
    folding = ticket.resources("FoldingParams", process="Folding")
    folding.add_alike((_folding(piece), _part(piece)) for piece in firsts)


def _signature(piece: HeldPiece, plan: HeldPlan) -> ET.Element:
    half = is_half_fold(piece)
    made = element(
        "BinderySignature",
        {
            "BinderySignatureType": "Fold" if half else "Grid",
            "FoldCatalog": HALF_FOLD if half else None,
            "NumberUp": None if half else f"{piece.columns} {piece.rows}",
            "BinderySignatureSize": points(sum(piece.column_mm), sum(piece.row_mm)),
            "BindingOrientation": bound_as(piece.head, piece.spine, plan.reading),
            "Bottling": "All" if piece.bottling_mm else "None",
        },
    )
    for nth, cell in enumerate(piece.cells):
        across, up = nth % piece.columns, piece.rows - 1 - nth // piece.columns
        # a head that stands up or down has its spine beside it
        wide = piece.row_mm[up] if cell.turns % 2 else piece.column_mm[across]
        trim = min(plan.trim_mm[0], wide - piece.spine_trim_mm)
        made.append(element("SignatureCell", _cell(cell, piece, plan, trim, wide - piece.spine_trim_mm - trim)))
    return made


def _cell(cell: HeldCell, piece: HeldPiece, plan: HeldPlan, trim_mm: float, face_mm: float) -> dict[str, str]:
    """``trim_mm``: width of the page, ``face_mm``: what the knife takes off beside it.  What bleeds ends at the cut."""
    told = {
        "FrontPages": str(cell.front),
        "BackPages": str(cell.back),
        "Orientation": HEADS[cell.turns],
        "TrimSize": points(trim_mm, plan.trim_mm[1]),
        "TrimFace": points(face_mm),
        "TrimHead": points(piece.head_trim_mm),
        "TrimFoot": points(piece.foot_trim_mm),
    }
    if plan.binding == "leaflet":  # cut before it is folded: what bleeds where follows from its place on the sheet
        return told
    bleeds = {
        "BleedFace": face_mm,
        "BleedHead": piece.head_trim_mm,
        "BleedFoot": piece.foot_trim_mm,
        "BleedSpine": piece.spine_trim_mm,
    }
    return {**told, **{name: points(min(plan.bleed_mm, room)) for name, room in bleeds.items()}}


def _folding(piece: HeldPiece) -> ET.Element:
    folds = (
        element(
            "Fold",
            {
                "From": _AT_EDGE[fold.edge],
                "To": "Up" if fold.up else "Down",
                "Travel": points(fold.travel_mm),
            },
        )
        for fold in piece.folds
    )
    return element(
        "FoldingParams", {"FoldCatalog": HALF_FOLD if is_half_fold(piece) else None, "SheetLay": "Left"}, *folds
    )


def _add_gathering(ticket: Ticket, plan: HeldPlan) -> None:
    """The block: sections behind one another, pieces one in another, or both, as the standard's ``List`` has it."""
    nested = any(len(section.pieces) > 1 for section in plan.sections)
    ids = " ".join(piece for section in plan.sections for piece in section.pieces)
    orders = {"leaflet": "None", "stitched": "Collecting"}
    simple = orders.get(plan.binding, "Gathering")
    if nested and (simple != "Collecting" or len(plan.sections) > 1):
        made = element("Assembly", {"Order": "List"})
        for section in plan.sections:
            into = made
            for nth, piece in enumerate(section.pieces):
                into.append(
                    element(
                        "AssemblySection",
                        {
                            "BinderySignatureID": piece,
                            "DescriptiveName": None if nth else f"Section {section.number}, {section.signature}",
                        },
                    )
                )
                into = into[-1]
    else:
        made = element("Assembly", {"Order": simple, "BinderySignatureIDs": ids})
    process = "Collecting" if simple == "Collecting" else "Gathering"
    signatures = " ".join(section.signature for section in plan.sections)
    ticket.resources("Assembly", process=process).add(made, ours=(("Signatures", signatures),))


def _add_sewing(ticket: Ticket, work: Work, firsts: list[HeldPiece]) -> None:
    """Needles are counted upwards from the foot of the untrimmed section."""
    thread = work.quantities.thread
    told: dict[str, str | None] = {"SewingPattern": "Normal"}
    if thread is not None and thread.holes_mm and firsts:
        from_foot = firsts[0].foot_trim_mm + work.plan.trim_mm[1]
        told["NumberOfNeedles"] = str(len(thread.holes_mm))
        told["NeedlePositions"] = points(*sorted(from_foot - hole for hole in thread.holes_mm))
    ticket.resources("ThreadSewingParams", process="ThreadSewing").add(element("ThreadSewingParams", told))


def _stitching(plan: HeldPlan) -> ET.Element:
    """Wires by their middles; they lie alike from head and foot of the trimmed book, whichever side it is jogged at."""
    wires = wire_places_mm(plan.trim_mm[1])
    return element(
        "StitchingParams",
        {
            "StitchType": "Saddle",
            "NumberOfStitches": str(len(wires)),
            "StitchOrigin": "TrimBoxJogSide",
            "StitchPositions": points(*wires),
        },
    )


def _add_covers(ticket: Ticket, work: Work) -> None:
    case, cover, jacket = work.case, work.cover, work.jacket
    if case is not None:
        if work.job.cover.endpapers == "separate":
            glue = element("Glue", {"GluingTechnique": "SideGluingFront"})
            ticket.resources("EndSheetGluingParams", process="EndSheetGluing").add(
                element("EndSheetGluingParams", None, glue)
            )
        ticket.resources("BlockPreparationParams", process="BlockPreparation").add(
            element("BlockPreparationParams", {"TightBacking": back_of(case.rounding)})
        )
        made = element(
            "CaseMakingParams",
            {
                "CoverWidth": points(case.board_mm[0]),
                "Height": points(case.board_mm[1]),
                "SpineWidth": points(case.strip_mm[0]),
                "JointWidth": points(case.joint_mm),
                "TopFoldIn": points(case.turn_in_mm),
                "BottomFoldIn": points(case.turn_in_mm),
                "FrontFoldIn": points(case.turn_in_mm),
            },
        )
        ticket.resources("CaseMakingParams", process="CaseMaking").add(made, name=f"{case.board}, {case.cloth}")
        stamped = [
            element("Emboss", {"Direction": "Flat", "EmbossingType": FOIL, "Face": face})
            for face in stamped_faces(work)
        ]
        if stamped and work.job.stamping is not None:
            ticket.resources("EmbossingParams", process="Embossing").add(
                element("EmbossingParams", None, *stamped), name=work.job.stamping.ink
            )
        ticket.resources("CasingInParams", process="CasingIn").add(
            element("CasingInParams", {"CoverWidth": points(case.board_mm[0]), "SpineWidth": points(case.strip_mm[0])})
        )
    if cover is not None:
        ticket.resources("CoverApplicationParams", process="CoverApplication").add(element("CoverApplicationParams"))
    if jacket is not None:
        ticket.resources("JacketingParams", process="Jacketing").add(
            element("JacketingParams", {"FoldingWidth": points(jacket.flap_mm)})
        )


def _add_packing(ticket: Ticket, work: Work) -> None:
    packing = work.quantities.packing
    if packing is None:
        return
    ticket.resources("BoxPackingParams", process="BoxPacking").add(
        element(
            "BoxPackingParams",
            {"BoxType": "Carton", "BoxTypeDetails": packing.carton, "Copies": str(packing.per_carton)},
        )
    )
    cartons = ticket.resources("Component", usage="Output", process="BoxPacking")
    cartons.add(element("Component", {"ProductType": "Carton"}), name=packing.carton, amounts=[Amount(packing.cartons)])
    if packing.pallets:
        ticket.resources("PalletizingParams", process="Palletizing").add(
            element("PalletizingParams", {"LayerAmount": str(packing.per_layer)})
        )


def _add_amounts(ticket: Ticket, counts: tuple[Count, ...]) -> None:
    """What must come out of every bench and what it may spoil, setting up counted in; a set for each operation."""
    for count in counts:
        parts: list[Part] = [{"SheetName": sheet_name(sheet)} for sheet in count.sheets]
        components = ticket.resources("Component", usage="Output", process=process_of(count.bench, ticket.types))
        components.add(
            element("Component"), parts, name=count.what, amounts=[Amount(count.comes_out, count.set_up + count.spoil)]
        )
