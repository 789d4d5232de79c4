# SPDX-License-Identifier: AGPL-3.0-or-later
"""Facts made by hand: a plain book of 16 pages, 140 x 216 mm with 3 mm of bleed, in which every check is content.

facts(pages={3: a_page(3, trim_mm=(150, 216))})        one page is another
facts(ink={4: an_ink(4, head=bleeds(1.2))})            matter at the head of page 5 runs on for 1.2 mm
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any

from foldproof.geometry import Rect
from foldproof.job.load import load_house
from foldproof.job.model import House, Job
from foldproof.manuscript.model import (
    Boxes,
    ColourUse,
    EdgeInk,
    FontFact,
    FontKind,
    Manuscript,
    Observations,
    PageFact,
    PageInk,
    PageObjects,
    PictureKind,
    PictureUse,
    TrimSource,
)
from foldproof.manuscript.seen import in_plate_order
from foldproof.preflight.model import Facts
from foldproof.units import mm_to_pt

TRIM = (140.0, 216.0)
FONTS = {"5 0": FontFact("5 0", "ABCDEF+Serif", FontKind.CID_CFF, True, True)}


def a_page(
    index: int,
    *,
    trim_mm: tuple[float, float] = TRIM,
    bleed_box_mm: float | None = 3.0,
    room_mm: float = 3.0,
    trim_source: TrimSource = TrimSource.TRIM_BOX,
    rotate: int = 0,
    user_unit: float = 1.0,
    boxes: dict[str, Rect] | None = None,
    **fields: Any,
) -> PageFact:
    """A page whose trim is seen as ``trim_mm``, with ``room_mm`` of paper round it; no BleedBox with None."""
    wide, high = (trim_mm[1], trim_mm[0]) if rotate in (90, 270) else trim_mm
    trim = Rect(0, 0, mm_to_pt(wide) / user_unit, mm_to_pt(high) / user_unit).moved(20, 30)
    media = trim.grown(mm_to_pt(room_mm) / user_unit)
    stated = {"MediaBox"} | ({"TrimBox"} if trim_source is TrimSource.TRIM_BOX else set())
    bleed = media
    if bleed_box_mm is not None:
        stated.add("BleedBox")
        bleed = trim.grown(mm_to_pt(bleed_box_mm) / user_unit)
    made = {"media": media, "crop": media, "bleed": bleed, "trim": trim, "art": trim, **(boxes or {})}
    named = {"crop": "CropBox", "bleed": "BleedBox"}
    stated |= {named[box] for box in boxes or {} if box in named}
    return PageFact(
        **{
            "index": index,
            "boxes": Boxes(**made, stated=frozenset(stated), trim_source=trim_source),
            "rotate": rotate,
            "user_unit": user_unit,
            "label": None,
            "fonts": ("5 0",),
            "annotations": (),
            "has_content": True,
            "group_space": None,
            **fields,
        }
    )


def a_manuscript(pages: list[PageFact], **fields: Any) -> Manuscript:
    return Manuscript(
        **{
            "path": Path("almanac.pdf"),
            "sha256": "0" * 64,
            "size_bytes": 1000,
            "title": "The Lamplighter's Almanac",
            "author": "Lantern Row Press",
            "pdf_version": "1.6",
            "pages": tuple(pages),
            "fonts": FONTS,
            "spots": (),
            "output_intents": (),
            "layers": (),
            "encrypted": False,
            "has_form": False,
            "reader_warnings": (),
            **fields,
        }
    )


def bleeds(by_mm: float, place_mm: Rect | None = None) -> dict[str, Any]:
    """Ink touches the trim and runs on."""
    return {"reaches": True, "bleed_mm": by_mm, "bleed_place_mm": place_mm or Rect(20, 200, 60, 216)}


def stands(off_mm: float) -> dict[str, Any]:
    """Ink stays inside, so far from the trim."""
    return {"nearest_mm": off_mm, "nearest_place_mm": Rect(20, 20, 60, 30)}


def an_ink(index: int, *, blank: bool = False, ink_mm: Rect | None = None, **more: Any) -> PageInk:
    """``head``, ``foot``, ``left``, ``right``: from :func:`bleeds` or :func:`stands`, else an edge 15 mm clear."""
    usual = {"reaches": False, "bleed_mm": 0.0, "bleed_place_mm": None, "nearest_mm": 15.0, "nearest_place_mm": None}
    if blank:
        return PageInk(index, True, ink_mm, (), {})
    edges = [EdgeInk(edge=edge, **{**usual, **more.get(edge, {})}) for edge in ("left", "right", "foot", "head")]
    coverage = more.get("coverage", {"Black": 0.05})
    inks = in_plate_order(coverage)
    return PageInk(index, False, ink_mm or Rect(15, 15, 125, 200), tuple(edges), coverage, inks=inks)


def an_object(index: int, **fields: Any) -> PageObjects:
    return PageObjects(
        **{
            "index": index,
            "pictures": (),
            "colours": (ColourUse("DeviceGray", "text", 40, Rect(20, 20, 30, 24)),),
            "text_count": 40,
            "path_count": 0,
            "folio": str(index + 1),
            **fields,
        }
    )


def a_picture(
    ppi: float, *, kind: PictureKind = PictureKind.CONTONE, pixels: tuple[int, int] = (600, 400), **fields: Any
) -> PictureUse:
    """A picture at its lower left corner (20, 40) mm, as large as its pixels make it at ``ppi``."""
    width, height = (side / ppi * 25.4 for side in pixels)
    return PictureUse(
        **{
            "kind": kind,
            "width_px": pixels[0],
            "height_px": pixels[1],
            "bits": 8 if kind is PictureKind.CONTONE else 1,
            "space": "DeviceCMYK" if kind is PictureKind.CONTONE else "DeviceGray",
            "ppi_x": ppi,
            "ppi_y": ppi,
            "place_mm": Rect(20, 40, 20 + width, 40 + height),
            **fields,
        }
    )


@cache
def the_house() -> House:
    """The shipped house, read once for the hundreds of books that are judged by it; it is frozen."""
    return load_house(None)


def facts(
    *,
    count: int = 16,
    pages: dict[int, PageFact] | None = None,
    ink: dict[int, PageInk | None] | None = None,
    objects: dict[int, PageObjects | None] | None = None,
    lost: dict[int, str] | None = None,
    job: dict[str, Any] | None = None,
    book: dict[str, Any] | None = None,
    trim_mm: tuple[float, float] = TRIM,
    bleed_mm: float = 3.0,
    **more: Any,
) -> Facts:
    """A plain book, but for what is said: ``book`` are fields of the manuscript, ``more`` those of :class:`Facts`."""
    return Facts(
        manuscript=a_manuscript([(pages or {}).get(n) or a_page(n) for n in range(count)], **(book or {})),
        observations=Observations(
            objects=tuple((objects or {}).get(n, an_object(n)) for n in range(count)),
            ink=tuple((ink or {}).get(n, an_ink(n)) for n in range(count)),
            lost=lost or {},
        ),
        job=Job.model_validate(job or {}),
        house=the_house(),
        trim_mm=trim_mm,
        bleed_mm=bleed_mm,
        **{"grain_along_spine": True, **more},
    )
