# SPDX-License-Identifier: AGPL-3.0-or-later
"""The impose stage: a manuscript and a plan become press sheets.

Every page is placed by one matrix: its media frame to the centre of its own trim (upright, /Rotate and UserUnit
counted), from there by the plan to its place on the side.  Never scaled.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from pathlib import Path

from foldproof.errors import AskedWrong, OurFault
from foldproof.files import placed, sha256_of
from foldproof.geometry import Matrix, Rect
from foldproof.impose.marks.sheet import MarkMaker
from foldproof.impose.model import Sheets
from foldproof.job.model import Job
from foldproof.makeup.plan import PagePlace, Plan, Side
from foldproof.manuscript.model import Manuscript, PageFact
from foldproof.manuscript.same import hold_same
from foldproof.pdf import sheets as sheets_file
from foldproof.units import mm_to_pt

#: the form's BBox runs past the clip by this much, so that rounding never cuts what the clip shows
_SLACK_PT = 0.02
_MARK_WORDS = {
    "trim": "trim marks", "fold": "fold marks", "slit": "slit marks", "centre": "centre marks",
    "lay": "gripper and side lay signs", "register": "register targets", "backup": "back-up crosses",
    "collation": "collation marks", "signature": "signature marks", "job_line": "a job line",
    "colour_strip": "a colour strip", "code": "a scannable code",
}  # fmt: skip


def write_sheets(
    manuscript: Manuscript,
    plan: Plan,
    job: Job,
    target: Path,
    *,
    date: str,
    password: str | None = None,
    advance: Callable[[int], None] | None = None,
) -> Sheets:
    """Write the press sheets of a plan, side after side, and say what was written.

    Args:
        date: for the job line; never taken from the clock.
        advance: told how many sides were done since it was last called.

    Raises:
        NotWritten: the folder does not take the file.
        NeedsPassword, Unreadable: the manuscript is locked, has changed since it was read, or is broken.
        AskedWrong: the sheets would be written over the manuscript.
    """
    if target.exists() and manuscript.path.exists() and target.samefile(manuscript.path):
        raise AskedWrong(f"The sheets would be written over the manuscript {target.name}. Choose another name.")
    hold_same(manuscript)
    maker = MarkMaker(plan, job.marks, plan.title, date, job.sections.signed_leaves)
    by_side = _by_side(plan)
    sides: list[sheets_file.SideToWrite] = []
    marks = maker.sides()
    for sheet in plan.instructions.sheets:
        for which in (Side.FRONT, Side.BACK):
            pages = tuple(
                _placed(manuscript.pages[place.page], place, mm_to_pt(plan.bleed_mm))
                for place in by_side[sheet.number, which]
                if place.page is not None
            )
            sides.append(
                sheets_file.SideToWrite(
                    mm_to_pt(sheet.width_mm), mm_to_pt(sheet.height_mm), pages, next(marks).drawings
                )
            )
    with placed(target) as beside:
        written = sheets_file.write(
            manuscript.path, beside, sides, pages=len(manuscript.pages), password=password, advance=advance
        )
    return Sheets(
        path=target,
        sha256=sha256_of(target),
        size_bytes=target.stat().st_size,
        sheets=plan.sheets,
        sides=len(sides),
        sheet_mm=plan.sheet_mm,
        pages=sum(len(side.pages) for side in sides),
        blanks=sum(place.page is None for place in plan.places),
        annotations=written.annotations,
        marks=tuple(name for name in _MARK_WORDS if name in maker.drawn),
        notes=(*written.notes, *_missing(maker)),
    )


def _by_side(plan: Plan) -> dict[tuple[int, Side], list[PagePlace]]:
    out: dict[tuple[int, Side], list[PagePlace]] = defaultdict(list)
    for place in (*plan.places, *plan.again):
        if place.page is not None and not 0 <= place.page < plan.pages:
            raise OurFault(f"The plan places page {place.page + 1} of a manuscript of {plan.pages} pages.")
        out[place.sheet, place.side].append(place)
    return out


def _placed(page: PageFact, place: PagePlace, bleed_pt: float) -> sheets_file.Placed:
    """One page: its matrix from the media frame, its clip and its BBox.

    What may print is the page's own trim and the bleed asked for, as far as its MediaBox goes; the marks and notes
    that stand round a page of a smaller trim are no part of the book.  The CropBox is for screens and cuts nothing.
    """
    wide, high = page.trim_size_pt
    matrix = page.to_trim.then(Matrix.translation(-wide / 2, -high / 2)).then(place.matrix)
    # What lies off the MediaBox is no part of the page (ISO 32000-1, 14.11.2.1).
    own = Rect(-wide / 2, -high / 2, wide / 2, high / 2).grown(bleed_pt)
    page_pt = place.matrix.rect(own).common(matrix.rect(page.boxes.media))
    clip = (page_pt and place.clip_pt.common(page_pt)) or Rect(
        place.clip_pt.x0, place.clip_pt.y0, place.clip_pt.x0, place.clip_pt.y0
    )
    box = matrix.inverse().rect(clip.grown(_SLACK_PT))
    return sheets_file.Placed(
        page=page.index,
        matrix=matrix,
        clip=clip,
        box=box,
        rotate=page.rotate,
        annotations=any(annotation.prints for annotation in page.annotations),
    )


def _missing(maker: MarkMaker) -> list[str]:
    """A sentence for every kind of mark that was asked for and found no room."""
    out = []
    for name, words in _MARK_WORDS.items():
        numbers = sorted(set(maker.missing.get(name, [])))
        if numbers:
            which = "sheet" if len(numbers) == 1 else "sheets"
            shown = ", ".join(str(number) for number in numbers[:8]) + (" …" if len(numbers) > 8 else "")
            out.append(f"There is no room for {words} on {which} {shown}; a larger sheet would give it.")
    return out
