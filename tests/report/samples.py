# SPDX-License-Identifier: AGPL-3.0-or-later
"""A small book made by hand: two octavo sections of the Lantern Row Press, for tests of what is printed about it.

The places of the pages are typed from the known octavo (handbook entry imp-16-octavo), not reckoned by the project.
"""

from __future__ import annotations

from pathlib import Path

from foldproof.geometry import Matrix, Rect
from foldproof.makeup.instructions import Collation, Fold, FoldingInstructions, Section, Sheet
from foldproof.makeup.plan import CollationBar, GatheredSection, PagePlace, Plan, Press, SheetKind, Side
from foldproof.manuscript.model import (
    Boxes,
    EdgeInk,
    Manuscript,
    Observations,
    PageFact,
    PageInk,
    PageObjects,
    TrimSource,
)
from foldproof.preflight.model import Check, Finding, Findings, Needs, Severity
from foldproof.prove.model import Fault, Leg, PageProof, Proof, Verdict
from foldproof.report.model import Results, Settings
from foldproof.units import mm_to_pt

TRIM_MM = (140.0, 216.0)
SHEET_MM = (620.0, 480.0)
# seen as printed, upper row with heads down: handbook imp-16-octavo
OCTAVO = {
    Side.FRONT: ((5, 12, 9, 8), (4, 13, 16, 1)),
    Side.BACK: ((7, 10, 11, 6), (2, 15, 14, 3)),
}
NASTY = '<script>document.title="pwned"</script><img src=x onerror=alert(1)> & "quoted" \u202e\x07'


def place_of(side: Side, row: int, column: int, sheet: int, page: int | None, position: int) -> PagePlace:
    left, foot = 22.0, 14.0
    crease = left + 144.0 * (1 if column < 2 else 3)
    x0 = crease - TRIM_MM[0] if column % 2 == 0 else crease
    y0 = foot + 5 + (226.0 if row == 0 else 0.0)
    trim = Rect(x0, y0, x0 + TRIM_MM[0], y0 + TRIM_MM[1]).scaled(mm_to_pt(1))
    clip = Rect(trim.x0 - (column % 2 == 0) * 8.5, trim.y0 - 8.5, trim.x1 + (column % 2) * 8.5, trim.y1 + 8.5)
    centre = trim.centre
    sign = -1.0 if row == 0 else 1.0
    return PagePlace(
        page=page,
        position=position,
        sheet=sheet,
        side=side,
        section=f"{sheet}A",
        leaf=position % 16 // 2,
        depth=0,
        creep_mm=0.0,
        matrix=Matrix(sign, 0, 0, sign, *centre),
        clip_pt=clip,
        trim_pt=trim,
        signature=str(sheet),
    )


def sheet_of(number: int) -> Sheet:
    return Sheet(
        number=number,
        width_mm=SHEET_MM[0],
        height_mm=SHEET_MM[1],
        turn="side to side",
        slits_mm=(),
        sections=(
            Section(
                id=f"{number}A",
                rect_mm=(22.0, 14.0, 598.0, 466.0),
                turned=0,
                columns=4,
                rows=2,
                column_mm=(144.0,) * 4,
                row_mm=(226.0, 226.0),
                folds=(
                    Fold("right under", ((310.0, 14.0), (310.0, 466.0))),
                    Fold("top over", ((22.0, 240.0), (310.0, 240.0))),
                    Fold("left over", ((166.0, 14.0), (166.0, 240.0))),
                ),
                head=None,
                head_trim_mm=5.0,
                foot_trim_mm=5.0,
                spine_trim_mm=0.0,
            ),
        ),
    )


def plan(pages: int = 30, title: str = "The Lamplighter’s Almanack", turn: str = "side to side") -> Plan:
    count = -(-pages // 16)
    places = []
    for sheet in range(1, count + 1):
        for side, rows in OCTAVO.items():
            for row, line in enumerate(rows):
                for column, folio in enumerate(line):
                    position = (sheet - 1) * 16 + folio - 1
                    page = position if position < pages else None
                    places.append(place_of(side, row, column, sheet, page, position))
    blanks = count * 16 - pages
    return Plan(
        title=title,
        trim_mm=TRIM_MM,
        bleed_mm=3.0,
        binding="sewn",
        reading="left to right",
        pages=pages,
        blanks_front=0,
        blanks_back=blanks,
        press=Press("Lantern two", 12.0, 6.0, 6.0),
        stock="Row Book Wove 100",
        grammage=100.0,
        caliper_mm=0.13,
        grain="short",
        grain_along_spine=True,
        sheet_mm=SHEET_MM,
        sections=tuple(
            GatheredSection(n, str(n), (f"{n}A",), 16, (n - 1) * 16, blanks if n == count else 0)
            for n in range(1, count + 1)
        ),
        places=tuple(sorted(places, key=lambda p: p.position)),
        bars=tuple(CollationBar(n, Side.FRONT, n - 1, Rect(453.5, 40.0, 454.5, 48.0)) for n in range(1, count + 1)),
        kinds=(SheetKind("16 pages, octavo", "octavo", tuple(range(1, count + 1))),),
        assumptions=(
            "Binding: sewn, read from left to right (assumed).",
            f"Sections: {count} of 16 pages.",
            f"Blanks: {blanks}, at the end.",
            "Stock: Row Book Wove 100, 100 g/m2, a leaf 0.13 mm thick (assumed: the usual stock of the house).",
            "Fold: octavo, right under, top over, left over.",
            "Grain: along the spine.",
            "Sheet: 620 x 480 mm on Lantern two.",
        ),
        offers=("Two pages of notices would use the blanks at the end.",),
        refused=("32 pages a section: the stock is heavier than 90 g/m2, the folder’s limit for 32s.",),
        instructions=FoldingInstructions(
            reading="left to right",
            binding="sewn",
            trim_mm=TRIM_MM,
            bleed_mm=3.0,
            caliper_mm=0.13,
            creep_factor=1.0,
            sheets=tuple(sheet_of(n) for n in range(1, count + 1)),
            gathering=tuple((f"{n}A",) for n in range(1, count + 1)),
            collation=Collation(20.0, 9.0, 12, 8.0, 1.0),
        ),
    )


def page(index: int) -> PageFact:
    width, height = mm_to_pt(TRIM_MM[0]), mm_to_pt(TRIM_MM[1])
    trim = Rect(20.0, 20.0, 20.0 + width, 20.0 + height)
    media = trim.grown(20.0)
    return PageFact(
        index=index,
        boxes=Boxes(media, media, trim.grown(8.5), trim, trim, frozenset({"MediaBox", "TrimBox"}), TrimSource.TRIM_BOX),
        rotate=0,
        user_unit=1.0,
        label=None,
        fonts=(),
        annotations=(),
        has_content=True,
        group_space=None,
    )


def manuscript(path: Path, pages: int = 30, title: str = "The Lamplighter’s Almanack") -> Manuscript:
    return Manuscript(
        path=path,
        sha256="ab" * 32,
        size_bytes=4096,
        title=title,
        author="Lantern Row Press",
        pdf_version="1.7",
        pages=tuple(page(n) for n in range(pages)),
        fonts={},
        spots=("Lantern Gold",),
        output_intents=(),
        layers=(),
        encrypted=False,
        has_form=False,
        reader_warnings=(),
    )


def observations(pages: int = 30) -> Observations:
    roman = ("i", "ii", "iii", "iv")
    return Observations(
        objects=tuple(PageObjects(n, (), (), 3, 0, roman[n] if n < 4 else str(n - 3)) for n in range(pages)),
        ink=tuple(
            PageInk(n, False, None, (EdgeInk("left", False, 0.0, None, None, None),), {"Black": 0.05}, inks=("Black",))
            for n in range(pages)
        ),
    )


def _none(*_: object) -> tuple[Finding, ...]:
    return ()


CHECKS = (
    Check(
        "bleed",
        "Bleed at the trim",
        frozenset({Needs.INK}),
        "How far ink runs on beyond the trim where it reaches it.",
        "Cutting wanders; without bleed a white edge flashes.",
        "Let the picture run on beyond the page.",
        "ISO/TS 21830 (from memory)",
        _none,
        {"least": 3.0},
        Severity.STOP,
    ),
    Check(
        "picture-resolution",
        "Resolution of pictures",
        frozenset({Needs.OBJECTS}),
        "Effective resolution at the placed size.",
        "Coarse pictures print in steps.",
        "Place a larger original.",
        "common practice, no source",
        _none,
        {"contone": 225.0},
        Severity.QUERY,
    ),
    Check(
        "spot-colours",
        "Spot colours",
        frozenset({Needs.STRUCTURE}),
        "Names of spot colours.",
        "Each needs a plate.",
        "Convert them or order the ink.",
        "common practice, no source",
        _none,
        {},
        Severity.NOTE,
    ),
    Check(
        "trim",
        "Trim of the pages",
        frozenset({Needs.STRUCTURE}),
        "The TrimBox of every page.",
        "The sheet is laid out by it.",
        "Export with trim.",
        "ISO 15930",
        _none,
        {},
        Severity.STOP,
    ),
)


def findings(nasty: str = "") -> Findings:
    coarse = tuple(
        Finding(
            "picture-resolution",
            Severity.QUERY,
            f"The picture on page {n} has {60.0 + n:.0f} ppi at its placed size.{nasty}",
            "Place a larger original or a smaller picture.",
            n,
            str(n - 4),
            Rect(20.0, 60.0 + n, 120.0, 160.0),
            60.0 + n,
            225.0,
            "ppi",
            "picture-resolution/contone",
        )
        for n in range(5, 29)
    )
    items = (
        Finding(
            "spot-colours",
            Severity.NOTE,
            "The book uses the spot colour Lantern Gold.",
            "Order the ink, or convert it.",
            measured="Lantern Gold",
            cause="spot-colours/Lantern Gold",
        ),
        Finding(
            "bleed",
            Severity.STOP,
            "Ink reaches the left edge of page 3 and runs on by 0.8 mm only.",
            "Let it run on by 3 mm.",
            3,
            "iii",
            Rect(-0.8, 40.0, 0.0, 90.0),
            0.8,
            3.0,
            "mm",
            "bleed/left",
        ),
        Finding(
            "bleed",
            Severity.STOP,
            "Ink reaches the head of page 7 and stops there.",
            "Let it run on by 3 mm.",
            7,
            "4",
            Rect(10.0, 214.0, 130.0, 216.0),
            0.0,
            3.0,
            "mm",
            "bleed/head",
        ),
        *coarse,
    )
    waived = (Finding("trim", Severity.STOP, "Page 30 has no TrimBox.", "Export with trim.", 30, cause="trim/missing"),)
    return Findings(
        items,
        "lantern",
        ("bleed", "picture-resolution", "spot-colours", "trim"),
        tuple((f, "The last page is empty by wish", "M. Wick") for f in waived),
        not_judged=(("grain", "the stock of the job is not known"),),
        off=("user-unit",),
    )


def proof(made: Plan, swapped: tuple[int, int] | None = None, picture: str | None = None) -> Proof:
    def found(page: int | None) -> int | None:
        if swapped and page in swapped:
            return swapped[1] if page == swapped[0] else swapped[0]
        return page

    rows = tuple(
        PageProof(
            p.position,
            None if p.page is None else p.page + 1,
            found(None if p.page is None else p.page + 1),
            p.sheet,
            p.side.value,
            p.section,
            0.0,
            "blank" if p.page is None else "same",
            p.page not in (None, 10, 11),
        )
        for p in made.places
    )
    faults = tuple(
        Fault(
            Leg.WHICH,
            n - 1,
            n,
            made.places[n - 1].sheet,
            made.places[n - 1].side.value,
            f"Page {n} belongs here, but page {found(n)} came.",
            picture,
        )
        for n in swapped or ()
    )
    return Proof(
        verdict=Verdict.FAILED if swapped else Verdict.PROVED,
        pages=rows,
        faults=faults,
        blanks=tuple(p.position for p in made.places if p.page is None),
        alike=((11, 12),),
        sheets_sha256="cd" * 32,
        manuscript_sha256="ab" * 32,
    )


def results(
    path: Path, *, pages: int = 30, title: str = "The Lamplighter’s Almanack", nasty: str = "", **more: object
) -> Results:
    made = plan(pages, title)
    given: dict[str, object] = {"plan": made, "proof": proof(made)}
    given.update(more)
    return Results(
        manuscript=manuscript(path, pages, title),
        observations=observations(pages),
        findings=findings(nasty),
        settings=Settings("0.1.0", "almanack.toml", "Lantern Row Press", (("pikepdf", "10.18.0"), ("MuPDF", "1.28.2"))),
        checks=CHECKS,
        **given,  # type: ignore[arg-type]
    )
