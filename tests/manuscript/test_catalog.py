# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the file says of itself as a whole, its colorants and its annotations."""

from __future__ import annotations

import hashlib
import pickle
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Pdf, Stream

from foldproof.manuscript.read import read
from tests.build import PT, Picture, book, page, raw_pdf, raw_tree, save


@pytest.fixture
def target(tmp_path: Path) -> Path:
    return tmp_path / "book.pdf"


def test_the_file_itself(target: Path) -> None:
    path = book(2, target)
    before, stamp = path.read_bytes(), path.stat()
    made = read(path)
    assert made.sha256 == hashlib.sha256(before).hexdigest() and made.size_bytes == len(before)
    assert (made.title, made.author) == ("The Lamplighter's Almanac", "Lantern Row Press")
    assert made.mod_date == "D:20240229120000+00'00'"
    assert made.reader_warnings == () and not made.encrypted and not made.has_form
    assert path.read_bytes() == before and path.stat().st_mtime_ns == stamp.st_mtime_ns
    path.rename(path.with_name("moved.pdf"))  # no handle is left on it


def test_a_manuscript_travels_to_a_worker_and_is_the_same_each_time(target: Path) -> None:
    made = read(book(3, target))
    assert pickle.loads(pickle.dumps(made)) == made == read(target)


def test_the_modification_date_goes_before_the_date_of_creation(target: Path) -> None:
    def date(pdf: Pdf) -> None:
        pdf.docinfo["/ModDate"] = "D:20240301"

    assert read(book(1, target, after=date)).mod_date == "D:20240301"


def test_title_from_xmp_where_the_information_dictionary_is_silent(target: Path) -> None:
    # 14.3.2: metadata streams; the information dictionary is deprecated by PDF 2.0
    def silent(pdf: Pdf) -> None:
        del pdf.trailer["/Info"]
        with pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as xmp:
            xmp["dc:title"], xmp["dc:creator"] = "Lamps", ["A. Wick", "B. Oil"]

    made = read(book(1, target, after=silent))
    assert (made.title, made.author) == ("Lamps", "A. Wick, B. Oil")


def test_text_that_no_output_could_carry_is_cleaned(target: Path) -> None:
    # XML 1.0, 2.2 allows no control characters; JUnit and XMP are XML
    def odd(pdf: Pdf) -> None:
        pdf.docinfo["/Title"] = "Two\nlines\x00\x07 of it"

    assert read(book(1, target, after=odd)).title == "Two lines of it"


def test_the_later_version_of_header_and_catalog_counts(target: Path) -> None:
    # 7.5.2: the version of the catalog, if later than that of the header
    path = raw_pdf(
        target,
        {
            1: "<< /Type /Catalog /Pages 2 0 R /Version /2.0 >>",
            2: "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
            3: "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 9 9] >>",
        },
    )
    assert read(path).pdf_version == "2.0"


def test_output_intents_layers_and_form(target: Path) -> None:
    def furnish(pdf: Pdf) -> None:
        profile = pdf.make_indirect(Stream(pdf, b"profile", N=4))
        pdf.Root.OutputIntents = Array(
            [
                Dictionary(S=Name.GTS_PDFX, OutputConditionIdentifier="Press A", DestOutputProfile=profile),
                Dictionary(S=Name.GTS_PDFA1, OutputCondition="Screen"),
                3,
            ]
        )
        groups = [pdf.make_indirect(Dictionary(Type=Name.OCG, Name=name)) for name in ("Text", "Guides")]
        pdf.Root.OCProperties = Dictionary(OCGs=Array(groups), D=Dictionary())
        pdf.Root.AcroForm = Dictionary(Fields=Array([pdf.make_indirect(Dictionary(FT=Name.Tx, T="a"))]))

    made = read(book(1, target, after=furnish))
    assert [(i.subtype, i.condition, i.components) for i in made.output_intents] == [
        ("GTS_PDFX", "Press A", 4), ("GTS_PDFA1", "Screen", None),
    ]  # fmt: skip
    assert made.layers == ("Text", "Guides") and made.has_form


def test_an_empty_form_is_none(target: Path) -> None:
    def furnish(pdf: Pdf) -> None:
        pdf.Root.AcroForm = Dictionary(Fields=Array([]))

    assert not read(book(1, target, after=furnish)).has_form


def test_group_and_content(target: Path) -> None:
    pdf = pikepdf.new()
    page(pdf, "a", Group=Dictionary(S=Name.Transparency, CS=Name.DeviceCMYK))
    profile = pdf.make_indirect(Stream(pdf, b"", N=3))
    page(pdf, "b", Group=Dictionary(S=Name.Transparency, CS=Array([Name.ICCBased, profile])))
    page(pdf, "c")
    page(pdf, "d", Contents=Array([]))
    page(pdf, "e", Contents=pdf.make_indirect(Stream(pdf, b"")))
    page(pdf, "f", Contents=Array([pdf.make_indirect(Stream(pdf, b"")), pdf.make_indirect(Stream(pdf, b"q Q"))]))
    made = read(save(pdf, target, compress_streams=False))
    assert [p.group_space for p in made.pages] == ["DeviceCMYK", "ICCBased(3)", None, None, None, None]
    assert [p.has_content for p in made.pages] == [True, True, True, False, False, True]


# --- spots -----------------------------------------------------------------------------------------------------------


def tint(*names: str) -> Array:
    """A colour space of the colorants named (8.6.6.4 for one, 8.6.6.5 for several)."""
    way = Dictionary(FunctionType=2, Domain=Array([0, 1]), N=1, C0=Array([0, 0, 0, 0]), C1=Array([0, 0, 1, 0]))
    if len(names) == 1:
        return Array([Name.Separation, Name("/" + names[0]), Name.DeviceCMYK, way])
    return Array([Name.DeviceN, Array([Name("/" + name) for name in names]), Name.DeviceCMYK, way])


def spotted(target: Path, furnish: Any) -> tuple[str, ...]:
    pdf = pikepdf.new()
    page(pdf, "Page 1", **furnish(pdf))
    return read(save(pdf, target)).spots


def in_form(pdf: Pdf, **resources: Any) -> pikepdf.Object:
    made = Stream(pdf, b"q Q", Resources=Dictionary({"/" + k: v for k, v in resources.items()}))
    made.Type, made.Subtype, made.BBox = Name.XObject, Name.Form, Array([0, 0, 9, 9])
    return pdf.make_indirect(made)


def picture(pdf: Pdf, space: Array) -> pikepdf.Object:
    made = Stream(pdf, b"\0", Width=1, Height=1, BitsPerComponent=8, ColorSpace=space)
    made.Type, made.Subtype = Name.XObject, Name.Image
    return pdf.make_indirect(made)


SPOTS = {
    "a colour space": lambda pdf: {"ColorSpace": Dictionary(C=tint("Gold"))},
    "a DeviceN space with process colours": lambda pdf: {"ColorSpace": Dictionary(C=tint("Cyan", "Gold", "Black"))},
    "the base of an indexed space": lambda pdf: {
        "ColorSpace": Dictionary(C=Array([Name.Indexed, tint("Gold"), 1, b"\0\1"]))
    },
    "what an uncoloured pattern is painted in": lambda pdf: {
        "ColorSpace": Dictionary(C=Array([Name.Pattern, tint("Gold")]))
    },
    "a picture": lambda pdf: {"XObject": Dictionary(X=picture(pdf, tint("Gold")))},
    "a picture in a form": lambda pdf: {
        "XObject": Dictionary(F=in_form(pdf, XObject=Dictionary(X=picture(pdf, tint("Gold")))))
    },
    "a shading": lambda pdf: {"Shading": Dictionary(S=Dictionary(ShadingType=2, ColorSpace=tint("Gold")))},
    "a shading pattern in a form": lambda pdf: {
        "XObject": Dictionary(
            F=in_form(pdf, Pattern=Dictionary(P=Dictionary(PatternType=2, Shading=Dictionary(ColorSpace=tint("Gold")))))
        )
    },
}


@pytest.mark.parametrize("where", SPOTS)
def test_spots_are_found_in(where: str, target: Path) -> None:
    assert spotted(target, lambda pdf: {"resources": SPOTS[where](pdf)}) == ("Gold",)


# 8.6.6.4: All stands for every colorant, None for no mark; 8.6.6.5: the process colorants by name
@pytest.mark.parametrize("name", ["All", "None", "Cyan", "Magenta", "Yellow", "Black"])
def test_process_names_are_no_spots(name: str, target: Path) -> None:
    assert spotted(target, lambda _: {"resources": {"ColorSpace": Dictionary(C=tint(name))}}) == ()


def test_spots_come_in_order_of_page_each_once(target: Path) -> None:
    pdf = pikepdf.new()
    for names in (["Silver"], ["Gold", "Cyan"], ["Silver"], ["Bronze"], ["Acid Green"]):
        page(pdf, resources={"ColorSpace": Dictionary(C=tint(*names))})
    assert read(save(pdf, target)).spots == ("Silver", "Gold", "Bronze", "Acid Green")


def test_pictures_of_process_colours_bring_no_spots(target: Path) -> None:
    path = book(1, target, pictures=[Picture((0, 0, 9, 9), space="DeviceCMYK", soft_mask=(3, 3))])
    assert read(path).spots == ()


# --- annotations -----------------------------------------------------------------------------------------------------

AP = "/AP << /N 50 0 R >>"
LOOK = {50: "<< /Type /XObject /Subtype /Form /BBox [0 0 9 9] /Length 3 >> stream\nq Q\nendstream"}


# ISO 32000-1, 12.5.3 and table 165: Hidden 2, Print 4, NoView 32; 12.5.5 appearances; tables 164 and 166 borders
@pytest.mark.parametrize(
    ("entries", "prints", "shows"),
    [
        (f"/Subtype /Stamp /F 4 {AP}", True, True),
        (f"/Subtype /Stamp {AP}", False, True),
        (f"/Subtype /Stamp /F 6 {AP}", False, False),
        (f"/Subtype /Stamp /F 36 {AP}", True, False),
        (f"/Subtype /Stamp /F 4 /Rect [9 9 9 9] {AP}", False, False),
        (f"/Subtype /Stamp /F 4 /Rect null {AP}", False, False),
        ("/Subtype /Stamp /F 4 /AP << /N << /A 50 0 R >> >>", False, True),
        ("/Subtype /Stamp /F 4 /AP << /N << /A 50 0 R >> >> /AS /A", True, True),
        ("/Subtype /Stamp /F 4 /AP << /N 7 >>", False, True),
        ("/Subtype /Highlight /F 4", False, True),
        ("/Subtype /Link", False, True),
        ("/Subtype /Link /Border [0 0 0]", False, False),
        ("/Subtype /Link /Border [0 0 1] /BS << /W 0 >>", False, False),
        ("/Subtype /Widget /F 4", False, False),
        ("/Subtype /Popup", False, False),
        ("/F (odd)", False, True),
    ],
)
def test_what_prints_and_what_shows(entries: str, prints: bool, shows: bool, target: Path) -> None:
    rect = "" if "/Rect" in entries else "/Rect [100 50 20 10]"
    made = read(raw_tree(target, "/MediaBox [0 0 300 400]", f"/Annots [7 null << {entries} {rect} >>]", more=LOOK))
    (one,) = made.pages[0].annotations
    assert (one.prints, one.shows) == (prints, shows)
    if rect:
        place = (one.place_mm.x0, one.place_mm.y0, one.place_mm.x1, one.place_mm.y1)
        assert place == pytest.approx((20 / PT, 10 / PT, 100 / PT, 50 / PT))


def test_a_field_shows_where_the_form_asks_the_viewer_to_draw_it(target: Path) -> None:
    # 12.7.2, NeedAppearances
    objects: dict[int, str | bytes] = {
        1: "<< /Type /Catalog /Pages 2 0 R /AcroForm << /Fields [4 0 R] /NeedAppearances true >> >>",
        2: "<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        3: "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 99 99] /Annots [4 0 R] >>",
        4: "<< /Type /Annot /Subtype /Widget /FT /Tx /T (a) /V (b) /F 4 /Rect [0 0 9 9] >>",
    }
    made = read(raw_pdf(target, objects))
    assert made.has_form
    assert [(one.prints, one.shows) for one in made.pages[0].annotations] == [(False, True)]
