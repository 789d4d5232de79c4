# SPDX-License-Identifier: AGPL-3.0-or-later
"""What stands in a job ticket, held against the standard and against numbers reckoned here."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve
from lxml import etree

from foldproof.case.cover_sizes import cover_sizes, jacket_sizes
from foldproof.case.sizes import case_sizes
from foldproof.job.finishing import JacketChoice
from foldproof.quantities.model import Work
from foldproof.xjdf.held import held
from foldproof.xjdf.write import job_ticket
from tests.conftest import SHARED
from tests.handbook.facts import given, told
from tests.xjdf.elements import NS, all_of, millimetres, one_of, parts, root_of
from tests.xjdf.jobs import HOUSE, TITLE, planned, written

TRIM_MM = (140.0, 216.0)  # of the house's usual book
CASED = {"book": {"binding": "sewn"}, "jacket": {}, "sections": {"pages": 16}, "run": {"copies": 1000}}
PROCESS_INKS = ("Cyan", "Magenta", "Yellow", "Black")


@cache
def cased() -> Work:
    """A sewn book of 150 pages in a case, with a jacket, in cartons."""
    work = planned(150, CASED, TRIM_MM, date="2024-02-29", isbn="978-0-00-000000-2", author="A. Chandler")
    given_ = (work.plan, work.job, HOUSE, work.quantities.thickness)
    case = case_sizes(*given_)
    return evolve(work, case=case, jacket=jacket_sizes(*given_, case))


def ticket(work: Work) -> etree._Element:
    return etree.fromstring(job_ticket(work, held(work.plan)))


@cache
def root() -> etree._Element:
    return ticket(cased())


def test_the_whole_job_is_valid(tmp_path: Path, schema_errors: Callable[[Path], list[str]]) -> None:
    assert cased().case is not None and cased().jacket is not None and cased().quantities.packing is not None
    assert schema_errors(written(tmp_path, cased())) == []


def test_a_covered_book_is_valid(tmp_path: Path, schema_errors: Callable[[Path], list[str]]) -> None:
    work = planned(64, {"book": {"binding": "glued"}}, TRIM_MM)
    work = evolve(work, cover=cover_sizes(work.plan, work.job, HOUSE, work.quantities.thickness))
    assert work.cover is not None
    path = written(tmp_path, work)
    assert schema_errors(path) == []
    types = root_of(path).get("Types").split()
    assert types.index("SpinePreparation") < types.index("CoverApplication") < types.index("Trimming")
    # ground off by custom: 3 mm (the house's allowances)
    milled = one_of(root_of(path), "SpinePreparationParams")
    assert millimetres(milled, "MillingDepth") == [pytest.approx(HOUSE.allowances.spine_grind, abs=0.001)]


def test_wires_are_told_by_their_middles(tmp_path: Path, schema_errors: Callable[[Path], list[str]]) -> None:
    """A fold of 216 mm and two wires, each in the middle of its half: 54 and 162 mm (common practice, no source)."""
    path = written(tmp_path, planned(32, {"book": {"binding": "stitched"}}, TRIM_MM))
    assert schema_errors(path) == []
    made = one_of(root_of(path), "StitchingParams")
    assert millimetres(made, "StitchPositions") == pytest.approx([54.0, 162.0], abs=0.001)
    assert made.get("NumberOfStitches") == one_of(root_of(path), "SaddleStitching").get("StitchNumber") == "2"


@pytest.mark.parametrize(("reading", "spine"), [("left to right", "Left"), ("right to left", "Right")])
def test_foil_is_asked_for_on_the_case(
    reading: str, spine: str, tmp_path: Path, schema_errors: Callable[[Path], list[str]]
) -> None:
    job = {**CASED, "book": {"binding": "sewn", "reading": reading}, "stamping": {"ink": "Lantern Gold"}}
    work = planned(150, job, TRIM_MM)
    work = evolve(work, case=case_sizes(work.plan, work.job, HOUSE, work.quantities.thickness))
    path = written(tmp_path, work)
    assert schema_errors(path) == []
    types = root_of(path).get("Types").split()
    # on the case, before the block hangs in it
    assert types[types.index("CaseMaking") : types.index("CasingIn") + 1] == ["CaseMaking", "Embossing", "CasingIn"]
    case = root_of(path).xpath("x:ProductList/x:Product[@ID='Cover']", namespaces=NS)[0]
    items = all_of(case, "EmbossingItem")
    assert [(one.get("EmbossingType"), one.get("Face")) for one in items] == [
        ("FoilStamping", spine),
        ("FoilStamping", "Front"),
    ]
    assert {one.get("FoilColorDetails") for one in items} == {"Lantern Gold"}
    assert [one.get("Face") for one in all_of(root_of(path), "Emboss")] == [spine, "Front"]
    assert "Embossing" not in root().get("Types").split() and not all_of(root(), "EmbossingParams")


def test_processes_stand_in_their_order() -> None:
    types = root().get("Types").split()
    assert types == [
        "Product",
        "Imposition",
        "ImageSetting",
        "ConventionalPrinting",
        "Cutting",
        "Folding",
        "Gathering",
        "ThreadSewing",
        "EndSheetGluing",
        "Trimming",
        "BlockPreparation",
        "CaseMaking",
        "CasingIn",
        "Jacketing",
        "BoxPacking",
        "Palletizing",
    ]  # fmt: skip - common practice, no source; names from memory of the standard
    for group in all_of(root(), "ResourceSet"):
        index = group.get("CombinedProcessIndex")
        assert index is not None and 0 <= int(index) < len(types)
    wanted = {
        "FoldingParams": "Folding", "TrimmingParams": "Trimming", "CaseMakingParams": "CaseMaking",
        "ThreadSewingParams": "ThreadSewing", "Layout": "Imposition", "CuttingParams": "Cutting",
        "JacketingParams": "Jacketing", "ExposedMedia": "ImageSetting", "Assembly": "Gathering",
    }  # fmt: skip
    for name, process in wanted.items():
        (group,) = root().xpath(f"x:ResourceSet[@Name='{name}']", namespaces=NS)
        assert types[int(group.get("CombinedProcessIndex"))] == process


def test_the_product() -> None:
    book = root().xpath("x:ProductList/x:Product[@ID='Book']", namespaces=NS)[0]
    assert (book.get("Amount"), book.get("IsRoot"), book.get("DescriptiveName")) == ("1000", "true", TITLE)
    layout = one_of(book, "LayoutIntent")
    # 140 x 216 mm: 140 / 25.4 x 72 = 396.850 points, 216 / 25.4 x 72 = 612.283 (ISO 32000-1, 8.3.2.3)
    assert layout.get("FinishedDimensions").split()[:2] == ["396.850394", "612.283465"]
    assert layout.get("Bleed") == "8.503937"  # 3 mm
    binding = one_of(book, "BindingIntent")
    assert (binding.get("BindingType"), binding.get("BindingSide")) == ("HardCover", "Left")
    assert binding.get("ChildRefs").split() == ["Body", "Cover", "Jacket"]
    assert one_of(book, "HardCoverBinding").get("BlockThreadSewing") == "true"
    assert {one.get("IDUsage"): one.get("IDValue") for one in book.findall("x:GeneralID", NS)} == {
        "ISBN": "978-0-00-000000-2", "Author": "A. Chandler",
    }  # fmt: skip


def test_paper_is_in_the_units_of_the_standard() -> None:
    """g/m2 and microns: 90 g/m2 x 1.3 cm3/g = 117 microns (ISO 534); the sheet in points."""
    media = root().xpath(".//x:Media[@MediaType='Paper']", namespaces=NS)
    assert {(one.get("Weight"), one.get("Thickness")) for one in media} == {("90", "117")}
    for one in media:
        size = millimetres(one, "Dimension")
        sheets = [sheet.size for stock in HOUSE.stocks for sheet in stock.sheets if stock.name == "Hearth Book 90"]
        presses = [press.sheet_max for press in HOUSE.presses]
        # as the paper lies in the press, so either way round; or as large as a press takes
        assert any(sorted(size) == pytest.approx(sorted(sheet), abs=0.001) for sheet in (*sheets, *presses))
    amounts = [one for one in all_of(root(), "PartAmount") if one.get("MinAmount")]
    assert len(amounts) == cased().plan.sheets
    for one in amounts:
        assert float(one.get("Amount")) > float(one.get("MinAmount")) > 0


def test_grain_is_told_by_the_sides_of_the_sheet() -> None:
    for long_side, direction in (("long", "XDirection"), ("short", "YDirection")):
        plan = evolve(cased().plan, runs=tuple(evolve(run, grain=long_side) for run in cased().plan.runs))
        media = ticket(evolve(cased(), plan=plan)).xpath(".//x:Media[@MediaType='Paper']", namespaces=NS)[0]
        wide, high = millimetres(media, "Dimension")
        assert wide > high
        assert media.get("GrainDirection") == direction


@pytest.mark.parametrize("way", ["two formes", "work and turn", "work and tumble", "perfecting", "one side"])
def test_every_way_to_print_has_its_work_style(way: str) -> None:
    """jdf-workstyle: the five values of the schema, each with its partner here."""
    names = {ours: name for name, ours in told("jdf-workstyle").items()}
    pages = 32
    inks = [("Black",) if way != "one side" or page % 4 in (0, 3) else () for page in range(pages)]
    job = {"press": {"way": way}, "sections": {"fold": "4"}} if way == "one side" else {"press": {"way": way}}
    made = ticket(planned(pages, job, TRIM_MM, inks=inks))
    styles = {one.get("WorkStyle") for one in (*all_of(made, "Layout"), *all_of(made, "ConventionalPrintingParams"))}
    assert styles == {names[way]}
    lays = {one.get("SheetLay") for one in all_of(made, "Layout")}
    assert lays <= set(told("jdf-sheetlay")["values"])


def test_a_catalogue_name_is_given_to_the_single_half_fold_alone() -> None:
    """jdf-half-fold, jdf-no-rotation: a left and a right cell; jdf-name-pattern for its name; folds are listed anyway.

    jdf-bindery-sig: a piece of the catalogue is of type Fold, one that states its grid of type Grid.
    """
    half = ticket(planned(8, {"sections": {"fold": "4"}}, TRIM_MM))
    other = root()
    names = {one.get("FoldCatalog") for one in all_of(half, "FoldingParams")}
    assert names == {"F4-1"}
    assert re.fullmatch(told("jdf-name-pattern")["regex"], "F4-1")
    assert not any(one.get("FoldCatalog") for one in all_of(other, "FoldingParams"))
    for one in (*all_of(half, "BinderySignature"), *all_of(other, "BinderySignature")):
        catalogue = one.get("FoldCatalog")
        assert one.get("BinderySignatureType") in told("jdf-bindery-sig")["types"]
        assert (one.get("BinderySignatureType") == "Fold") == (catalogue is not None) == (one.get("NumberUp") is None)
        assert one.get("Bottling") in told("jdf-bindery-sig")["bottling"]
    (signature,) = all_of(half, "BinderySignature")
    left, right = signature.findall("x:SignatureCell", NS)
    assert left.get("TrimSize") == right.get("TrimSize")
    wide, _ = millimetres(signature, "BinderySignatureSize")
    fold = one_of(half, "Fold")
    assert millimetres(fold, "Travel") == [pytest.approx(wide / 2, abs=0.001)]


def test_folds_are_told_from_the_left_and_the_front() -> None:
    """jdf-fold-attrs, jdf-fold-sem: the 16 of the house, "right under, top over, left over", by hand.

    144 x 226 mm a panel (the trim, 4 mm at the fore-edge, 5 mm at head and foot: the house's allowances).  Right under
    is left under, turned over: two panels from the left.  Turned over side to side over is under: the top goes under,
    which is the front going under, turned over head to tail as well: one panel from the front.  Turned over twice, left
    is right and over is over: the right goes over, one panel before the end, which is one panel from the left.
    """
    scheme = next(scheme for scheme in HOUSE.schemes if scheme.name == "16")
    assert scheme.folds == ("right under", "top over", "left over")
    folding = all_of(root(), "FoldingParams")
    four = next(one for one in folding if len(one.findall("x:Fold", NS)) == 3)
    folds = [(fold.get("From"), fold.get("To"), millimetres(fold, "Travel")[0]) for fold in four.findall("x:Fold", NS)]
    assert [fold[:2] for fold in folds] == [("Left", "Down"), ("Front", "Down"), ("Left", "Up")]
    assert [fold[2] for fold in folds] == pytest.approx([288.0, 226.0, 144.0], abs=0.001)
    attributes = told("jdf-fold-attrs")
    for fold in all_of(root(), "Fold"):
        assert fold.get("From") in attributes["From"]
        assert fold.get("To") in attributes["To"]
    assert told("jdf-fold-sem")["measured_from"] == "that edge"
    tags = {etree.QName(one).localname for one in four}
    assert tags <= set(told("jdf-sheetlay")["children"])
    assert four.get("SheetLay") == "Left"


def test_stitched_sections_are_collected_the_outermost_first() -> None:
    """jdf-example-f16-6: three 16s, 48 pages, collected; the outermost holds the first 8 and the last 8 pages."""
    fact = given("jdf-example-f16-6")
    book = {"binding": "stitched"}
    job = {"book": book, "sections": {"fold": "16"}, "paper": {"stock": "Hearth Book 80"}, "bindery": {"lip": "none"}}
    made = ticket(planned(48, job, TRIM_MM))
    assembly = one_of(made, "Assembly")
    assert assembly.get("Order") == fact["order"]
    ids = assembly.get("BinderySignatureIDs").split()
    assert len(ids) == fact["signatures"]
    held_by: dict[str, set[int]] = {}
    pieces = {one.get("ID"): one.get("BinderySignatureID") for one in all_of(made, "Layout/Position")}
    for one in all_of(made, "PlacedObject"):
        held_by.setdefault(pieces[one.get("PositionRef")], set()).add(int(one.get("Ord")))
    assert held_by[ids[0]] == {*range(8), *range(40, 48)}
    assert sum(map(len, held_by.values())) == told("jdf-example-f16-6")["pages_total"]
    assert {len(pages) for pages in held_by.values()} == {fact["pages_each"]}


def test_push_out_is_stated_for_every_sheet() -> None:
    """jdf-shingling: innermost and outermost.  Eight leaves: 3 x 0.117 mm (handbook creep-arc)."""
    inner, outer = told("jdf-shingling")["attributes"]
    most = {round(millimetres(one, inner)[0], 4) for one in all_of(root(), "Layout")}
    least = {one.get(outer) for one in all_of(root(), "Layout")}
    assert max(most) == pytest.approx(3 * 0.117, abs=0.0005)
    assert least == {"0"}


def test_every_cell_states_its_trims_and_bleeds() -> None:
    """jdf-trims: one bleed for each edge; of a sewn book none at the spine; the house's 5, 5 and 4 mm are cut off."""
    names = told("jdf-trims")["attributes"]
    for cell in all_of(root(), "SignatureCell"):
        bleeds = {name: round(millimetres(cell, name)[0], 3) for name in names}
        assert bleeds == {"BleedFace": 3.0, "BleedFoot": 3.0, "BleedHead": 3.0, "BleedSpine": 0.0}
        cuts = [round(millimetres(cell, name)[0], 3) for name in ("TrimHead", "TrimFoot", "TrimFace")]
        assert cuts == [HOUSE.allowances.head, HOUSE.allowances.foot, HOUSE.allowances.fore_edge]
    trim = one_of(root(), "TrimmingParams")
    assert [*millimetres(trim, "Width"), *millimetres(trim, "Height")] == pytest.approx(TRIM_MM, abs=0.001)


def test_the_case() -> None:
    """jdf-casemaking: two boards, a strip, two joints and two turn-ins side by side are as wide as the cloth."""
    fact, case = told("jdf-casemaking"), cased().case
    made = one_of(root(), "CaseMakingParams")
    assert case is not None
    assert set(made.attrib) <= set(fact["attributes"])
    size = {name: millimetres(made, name)[0] for name in made.attrib}
    across = fact["boards"] * size["CoverWidth"] + size["SpineWidth"] + fact["joints"] * size["JointWidth"]
    assert across + fact["turn_ins_across"] * size["FrontFoldIn"] == pytest.approx(case.cloth_mm[0], abs=0.01)
    up = size["Height"] + size["TopFoldIn"] + size["BottomFoldIn"]
    assert up == pytest.approx(case.cloth_mm[1], abs=0.01)
    jacket = cased().jacket
    assert jacket is not None
    flap = one_of(root(), "JacketingParams")
    assert millimetres(flap, "FoldingWidth") == [pytest.approx(jacket.flap_mm, abs=0.001)]


def test_the_jacket_states_its_own_paper() -> None:
    """Glaze Silk 135 of the shipped house: 135 g/m2, a leaf of 0.122 mm; the text is on Hearth Book 90."""
    work = cased()
    made = ticket(evolve(work, job=work.job.model_copy(update={"jacket": JacketChoice(stock="Glaze Silk 135")})))
    papers = {
        product.get("ID"): [dict(media.attrib) for media in all_of(product, "MediaIntent")]
        for product in all_of(made, "Product")
    }
    ((jacket,), (body,)) = papers["Jacket"], papers["Body"]
    assert (jacket["MediaQuality"], float(jacket["Weight"]), float(jacket["Thickness"])) == ("Glaze Silk 135", 135, 122)
    assert (body["MediaQuality"], float(body["Weight"])) == ("Hearth Book 90", 90)
    assert papers["Book"] == []


def test_needles_are_counted_from_the_foot() -> None:
    """Holes are known from the head of the trimmed book; the untrimmed section has 5 mm more at its foot."""
    thread = cased().quantities.thread
    assert thread is not None
    sewing = one_of(root(), "ThreadSewingParams")
    needles = millimetres(sewing, "NeedlePositions")
    assert needles == sorted(needles)
    assert int(sewing.get("NumberOfNeedles")) == len(needles) == len(thread.holes_mm)
    # the last hole from the head is the first from the foot
    first = HOUSE.allowances.foot + TRIM_MM[1] - max(thread.holes_mm)
    assert needles[0] == pytest.approx(first, abs=0.001)


def test_plates_and_inks() -> None:
    inks = ("Black", "Lamp Red", "Lamp_Red")
    work = planned(32, {"press": {"way": "two formes"}}, TRIM_MM, inks=[inks] * 32)
    made = ticket(work)
    colours = {parts(one)[0]["Separation"]: one.get("ActualColorName") for one in all_of(made, "Color")}
    assert sorted(colours.values()) == sorted(inks)
    assert all(re.fullmatch(r"[A-Za-z0-9._-]+", name) for name in colours)  # NMTOKEN (XML Schema part 2, 3.3.4)
    plates = [parts(one)[0] for one in all_of(made, "ExposedMedia")]
    assert len(plates) == work.plan.plates == 2 * len(inks) * work.plan.sheets
    assert {(one["SheetName"], one["Side"], colours[one["Separation"]]) for one in plates} == {
        (f"S{nth + 1}", side, ink) for nth in range(work.plan.sheets) for side in ("Front", "Back") for ink in inks
    }  # fmt: skip
    for one in all_of(made, "ColorantControl"):
        assert [colours[token] for token in one.get("ColorantOrder").split()] == list(inks)
        assert [colours[token] for token in one.get("ColorantParams").split()] == ["Lamp Red", "Lamp_Red"]


def test_one_set_of_plates_prints_both_sides() -> None:
    work = planned(32, {"press": {"way": "work and turn"}}, TRIM_MM)
    plates = [parts(one)[0] for one in all_of(ticket(work), "ExposedMedia")]
    assert len(plates) == work.plan.plates
    assert all("Side" not in plate for plate in plates)


def test_every_bench_says_what_comes_out_and_what_is_spoilt() -> None:
    types = root().get("Types").split()
    found = []
    for one in all_of(root(), "Component"):
        (amount,) = one.getparent().findall("x:AmountPool/x:PartAmount", NS)
        group = one.getparent().getparent()
        found.append((types[int(group.get("CombinedProcessIndex"))], amount.get("Amount"), amount.get("Waste")))
    for count in cased().quantities.counts:
        assert any(
            good == str(count.comes_out) and waste == str(count.goes_in - count.comes_out) for _, good, waste in found
        )
    benches = {process for process, _, _ in found}
    assert {"ConventionalPrinting", "Folding", "Gathering", "ThreadSewing", "Trimming", "CasingIn"} <= benches
    packing = cased().quantities.packing
    assert packing is not None
    assert ("BoxPacking", str(packing.cartons), None) in found


def test_slits_and_blocks_are_told_of_every_sheet_that_is_cut() -> None:
    plan = cased().plan
    cuts = {parts(one)[0]["SheetName"]: one.findall("x:Cut", NS) for one in all_of(root(), "CuttingParams")
            if one.findall("x:Cut", NS)}  # fmt: skip
    slit = {f"S{sheet.number}": sheet.slits_mm for sheet in plan.instructions.sheets if sheet.slits_mm}
    told_of = {name for one in all_of(root(), "CuttingParams") if one.findall("x:Cut", NS) for name in
               (part["SheetName"] for part in parts(one))}  # fmt: skip
    assert told_of == set(slit)
    for name, elements in cuts.items():
        for one, ((ax, ay), (bx, by)) in zip(elements, slit[name], strict=True):
            assert millimetres(one, "StartPosition") == pytest.approx([ax, ay], abs=0.001)
            assert millimetres(one, "WorkingPath") == pytest.approx([bx - ax, by - ay], abs=0.001)
    blocks = {one.get("BlockName"): millimetres(one, "Box") for one in all_of(root(), "CutBlock")}
    sections = [one for sheet in plan.instructions.sheets if sheet.slits_mm for one in sheet.sections]
    assert set(blocks) == {one.id for one in sections}
    for one in sections:
        assert blocks[one.id] == pytest.approx(one.rect_mm, abs=0.001)


# --- text, dates, sameness --------------------------------------------------------------------------------------------

ODD = "Wicks & <Wax> \"of\" Lantern 'Row'\r\n\t\x00\x1b[2J\u202e\ud800 \u706f\u706b"


def test_any_title_makes_a_whole_file(tmp_path: Path, schema_errors: Callable[[Path], list[str]]) -> None:
    work = planned(32, {}, TRIM_MM, title=ODD * 20, author=ODD, isbn=ODD, inks=[("Black", ODD)] * 32)
    path = written(tmp_path, work)
    assert schema_errors(path) == []
    name = root_of(path).get("DescriptiveName")
    assert "Wicks & <Wax> \"of\" Lantern 'Row'" in name and "\u706f\u706b" in name
    assert "\x1b" not in name and "\u202e" not in name


def test_dates_are_the_jobs_own(tmp_path: Path) -> None:
    head = one_of(root(), "Header")
    assert head.get("Time") == "2024-02-29T00:00:00Z"
    for no_day in ("", "29 February 2024", "2024-13-01"):
        made = ticket(evolve(cased(), date=no_day))
        assert all_of(made, "AuditPool") == []
        assert not any("T00:00" in value for one in made.iter() for value in one.attrib.values())


def test_the_same_work_is_the_same_file(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    one, two = written(tmp_path / "one", cased()), written(tmp_path / "two", cased())
    assert one.read_bytes() == two.read_bytes()
    assert b"/tmp" not in one.read_bytes() and str(tmp_path).encode() not in one.read_bytes()


def test_names_that_are_not_of_the_standard_say_so() -> None:
    for one in root().findall("x:GeneralID", NS):
        assert one.get("IDUsage").startswith("foldproof.")
    assert "Names that begin with foldproof. are not of the standard." in [
        one.text for one in root().findall("x:Comment", NS)
    ]


def test_all_elements_are_of_the_published_schema() -> None:
    """Also without a validator: every element and attribute by name."""
    file = SHARED / "xjdf" / "xjdf.xsd"
    if not file.exists():
        pytest.skip(f"{file} is not here")
    schema: Any = etree.parse(str(file))
    elements = set(schema.xpath("//*[local-name()='element']/@name"))
    attributes = set(schema.xpath("//*[local-name()='attribute']/@name"))
    for one in root().iter():
        assert etree.QName(one).namespace == NS["x"]
        assert etree.QName(one).localname in elements
        assert set(one.attrib) <= attributes
