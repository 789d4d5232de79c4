# SPDX-License-Identifier: AGPL-3.0-or-later
"""The press sheets of a job ticket: paper, pages and pieces on them, inks, plates, slits.

Each side is stated as its plate prints it, its own gripper edge at the bottom.  ``CTM`` takes the upright page, counted
from the lower left of its trim, to the side; ``Ord`` counts through the run list, which holds the blanks as
reservations, so that it is the page's place in the book.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from collections.abc import Iterable, Mapping, Sequence

from foldproof.geometry import Matrix
from foldproof.quantities.model import PlateNeed
from foldproof.units import mm_to_pt
from foldproof.xjdf.model import HeldPiece, HeldPlace, HeldPlan, HeldSheet
from foldproof.xjdf.terms import (
    LAYS,
    SIDES,
    WORK_STYLES,
    grain_direction,
    number,
    numbers,
    placed_as,
    points,
    sheet_name,
)
from foldproof.xjdf.tree import Amount, Part, Ticket, element

_PROCESS = ("Cyan", "Magenta", "Yellow", "Black")


def add_sheets(
    ticket: Ticket,
    plan: HeldPlan,
    creeps_mm: Mapping[tuple[int, str], tuple[float, float]],
    coated: Iterable[str],
    inks: Mapping[str, str],
) -> None:
    """Everything of the sheets but their plates.

    Args:
        creeps_mm: by sheet and side, by how much the least and the most pushed page is moved towards the spine.
        coated: names of the stocks that are.
        inks: token of every ink.
    """
    media = _add_media(ticket, plan, set(coated))
    _add_run_list(ticket, plan)
    _add_layouts(ticket, plan, creeps_mm, media)
    add_colours(ticket, inks)
    colorants = ticket.resources("ColorantControl", process="ImageSetting")
    colorants.add_alike(
        (_colorants(there, inks), _part(sheet.number, side))
        for sheet in plan.sheets
        for side, there in zip(SIDES, sheet.inks, strict=True)
        if there
    )
    printing = ticket.resources("ConventionalPrintingParams", process="ConventionalPrinting")
    printing.add_alike(
        (
            element("ConventionalPrintingParams", {"SheetLay": LAYS[sheet.lay], "WorkStyle": WORK_STYLES[sheet.way]}),
            _part(sheet.number),
        )
        for sheet in plan.sheets
    )
    _add_presses(ticket, plan.sheets)
    _add_cuts(ticket, plan)


def add_colours(ticket: Ticket, inks: Mapping[str, str]) -> None:
    """The inks by their real names; everywhere else they go by their tokens."""
    colours = ticket.resources("Color", process="ImageSetting")
    for name, token in inks.items():
        colours.add(element("Color", {"ActualColorName": name}), [{"Separation": token}], name=name)


def add_plates(ticket: Ticket, plates: Sequence[PlateNeed], inks: Mapping[str, str]) -> None:
    """Every plate of the job; one that prints both sides names none."""
    if not plates:
        return
    media = ticket.resources("Media", process="ImageSetting")
    media.add(element("Media", {"MediaType": "Plate"}), id_="MPlate")
    made = ticket.resources("ExposedMedia", usage="Output", process="ImageSetting")
    for plate in plates:
        part = {**_part(plate.sheet, plate.side), "Separation": inks[plate.ink]}
        made.add(element("ExposedMedia", {"MediaRef": "MPlate", "PlateType": "Exposed"}), [part], amounts=[Amount(1)])


def _part(sheet: int, side: str = "") -> dict[str, str]:
    part = {"SheetName": sheet_name(sheet)}
    return {"Side": SIDES[side], **part} if side in SIDES else part


def _add_media(ticket: Ticket, plan: HeldPlan, coated: set[str]) -> dict[int, str]:
    """One resource for each stock in each size; which one every sheet takes."""
    kinds: dict[tuple[str, float, float, tuple[float, float], str], list[HeldSheet]] = {}
    for sheet in plan.sheets:
        kinds.setdefault((sheet.stock, sheet.grammage, sheet.caliper_mm, sheet.size_mm, sheet.grain), []).append(sheet)
    resources = ticket.resources("Media", process="ConventionalPrinting")
    named: dict[int, str] = {}
    for nth, ((stock, grammage, caliper_mm, size_mm, grain), sheets) in enumerate(kinds.items(), start=1):
        parts: list[Part] = [_part(sheet.number) for sheet in sheets]
        media = {
            "MediaType": "Paper",
            "MediaUnit": "Sheet",
            "Dimension": points(*size_mm),
            "Weight": number(grammage),
            "Thickness": number(caliper_mm * 1000),
            "GrainDirection": grain_direction(grain, size_mm),
            "Coating": "Coated" if stock in coated else None,
        }
        amounts = [Amount(sheet.gross, least=sheet.net, part=_part(sheet.number)) for sheet in sheets]
        resources.add(element("Media", media), parts, id_=f"M{nth}", name=stock, amounts=amounts)
        named |= {sheet.number: f"M{nth}" for sheet in sheets}
    return named


def _add_run_list(ticket: Ticket, plan: HeldPlan) -> None:
    """The pages in the order of the book: blanks, the manuscript, blanks."""
    runs = ticket.resources("RunList", process="Imposition")
    for name, count, kind in (
        ("BlanksBefore", plan.blanks_front, "Reservation"),
        ("Manuscript", plan.pages, "Content"),
        ("BlanksAfter", plan.blanks_back, "Reservation"),
    ):
        if count:
            runs.add(element("RunList", {"NPage": str(count), "OrdType": kind}), [{"Run": name}])


def _add_layouts(
    ticket: Ticket,
    plan: HeldPlan,
    creeps_mm: Mapping[tuple[int, str], tuple[float, float]],
    media: Mapping[int, str],
) -> None:
    places: dict[tuple[int, str], list[HeldPlace]] = {}
    for place in plan.places:
        places.setdefault((place.sheet, place.side), []).append(place)
    pieces: dict[int, list[HeldPiece]] = {}
    for piece in plan.pieces:
        pieces.setdefault(piece.sheet, []).append(piece)
    wide, high = map(mm_to_pt, plan.trim_mm)
    layouts = ticket.resources("Layout", process="Imposition")
    for sheet in plan.sheets:
        for side in SIDES:
            least, most = creeps_mm.get((sheet.number, side), (0.0, 0.0))
            layout = element(
                "Layout",
                {
                    "WorkStyle": WORK_STYLES[sheet.way],
                    "SheetLay": LAYS[sheet.lay],
                    "PaperRef": media[sheet.number],
                    "SurfaceContentsBox": points(0.0, 0.0, *sheet.size_mm),
                    "OutermostShingling": points(least),
                    "InnermostShingling": points(most),
                },
            )
            layout.extend(_placed(place, wide, high) for place in places.get((sheet.number, side), ()))
            if side == "front":
                layout.extend(_position(piece) for piece in pieces.get(sheet.number, ()))
            layouts.add(layout, [_part(sheet.number, side)])


def _placed(place: HeldPlace, wide_pt: float, high_pt: float) -> ET.Element:
    a, b, c, d, e_mm, f_mm = place.matrix
    from_middle = Matrix(a, b, c, d, mm_to_pt(e_mm), mm_to_pt(f_mm))
    matrix = Matrix.translation(-wide_pt / 2, -high_pt / 2).then(from_middle)
    made = ET.Element(
        "PlacedObject",
        {
            "Ord": str(place.position),
            "CTM": numbers(matrix.as_tuple()),
            "TrimSize": numbers((wide_pt, high_pt)),
            "ClipBox": points(*place.clip_mm),
            "PositionRef": f"P{place.piece}",
        },
    )
    ET.SubElement(made, "ContentObject")
    return made


def _position(piece: HeldPiece) -> ET.Element:
    """Where a piece lies; one printed again goes by the name of the one that it is printed again of."""
    return element(
        "Position",
        {
            "ID": f"P{piece.id}",
            "BlockName": piece.id,
            "BinderySignatureID": piece.copy_of or piece.id,
            "AbsoluteBox": points(*piece.rect_mm),
            "Orientation": placed_as(piece.turned, piece.turned_over),
        },
    )


def _colorants(there: Sequence[str], inks: Mapping[str, str]) -> ET.Element:
    process = any(ink in _PROCESS for ink in there)
    spots = [inks[ink] for ink in there if ink not in _PROCESS]
    return element(
        "ColorantControl",
        {
            "ColorantOrder": " ".join(inks[ink] for ink in there),
            "ColorantParams": " ".join(spots) or None,
            "ProcessColorModel": "DeviceCMYK" if process else "None",
        },
    )


def _add_presses(ticket: Ticket, sheets: Sequence[HeldSheet]) -> None:
    presses: dict[str, list[Part]] = {}
    for sheet in sheets:
        presses.setdefault(sheet.press, []).append(_part(sheet.number))
    devices = ticket.resources("Device", process="ConventionalPrinting")
    for nth, (name, parts) in enumerate(presses.items(), start=1):
        devices.add(element("Device", {"DeviceID": f"Press{nth}", "DescriptiveName": name}), parts, name=name)


def _add_cuts(ticket: Ticket, plan: HeldPlan) -> None:
    """The slits of every sheet as cuts in their order, and each piece as the block that they leave."""
    cutting = ticket.resources("CuttingParams", process="Cutting")
    slit = {sheet.number for sheet in plan.sheets if sheet.slits_mm}
    cutting.add_alike(
        (element("CuttingParams", {"SheetLay": LAYS[sheet.lay]}, *map(_cut, sheet.slits_mm)), _part(sheet.number))
        for sheet in plan.sheets
        if sheet.slits_mm
    )
    for piece in plan.pieces:
        if piece.sheet not in slit:
            continue
        block = {
            "BlockName": piece.id,
            "Box": points(*piece.rect_mm),
            "BinderySignatureIDs": piece.copy_of or piece.id,
        }
        part = {**_part(piece.sheet), "BlockName": piece.id}
        cutting.add(element("CuttingParams", None, element("CutBlock", block)), [part])


def _cut(slit: tuple[tuple[float, float], tuple[float, float]]) -> ET.Element:
    (x0, y0), (x1, y1) = slit
    path = {"StartPosition": points(x0, y0), "WorkingPath": points(x1 - x0, y1 - y0), "WorkingDirection": "Top"}
    return element("Cut", path)
