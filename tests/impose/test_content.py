# SPDX-License-Identifier: AGPL-3.0-or-later
"""What becomes of a page's content, resources, annotations and of the document round it."""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pikepdf
import pypdf
import pytest
from pikepdf import Array, Dictionary, Name
from PIL import Image

from foldproof.errors import FoldproofError, NeedsPassword, Unreadable
from foldproof.job.model import Job
from foldproof.makeup.plan import Side
from foldproof.manuscript.read import read
from tests.build import PT, Fill, Picture, book
from tests.impose.plans import FOLIO, plan
from tests.impose.sheets import NO_MARKS, difference, impose, mupdf, side_index

ROOT = Path(__file__).parents[2]
EMPTY = {"folio": "", "text": ""}


OPEN: list[pikepdf.Pdf] = []


@pytest.fixture(autouse=True)
def _close():
    yield
    while OPEN:
        OPEN.pop().close()


def forms(path: Path) -> dict[str, pikepdf.Object]:
    """The forms of all sheets by name; the file stays open until the test ends."""
    pdf = pikepdf.open(path)
    OPEN.append(pdf)
    return {
        name: form for page in pdf.pages for name, form in page.obj.get("/Resources", {}).get("/XObject", {}).items()
    }


def test_content_bytes_and_filters_are_untouched(tmp_path: Path) -> None:
    """Raw bytes of every stream that the pages use come out as they went in: nothing is decoded or compressed anew."""

    def each(index: int) -> dict:
        return {"pictures": [Picture((10, 10, 60, 60), space="DeviceCMYK", seed=index + 1)]}

    source = book(4, tmp_path / "book.pdf", each=each, save_options={"compress_streams": False})
    impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf")
    made = forms(tmp_path / "sheets.pdf")
    with pikepdf.open(source) as before:
        for index, page in enumerate(before.pages):
            form = made[f"/P{index + 1}"]
            assert form.read_bytes() == page.Contents.read_bytes()
            for kind in ("/XObject", "/Font"):
                for name, old in page.Resources[kind].items():
                    new = form.Resources[kind][name]
                    if kind == "/Font":
                        old, new = old.FontDescriptor.FontFile3, new.FontDescriptor.FontFile3
                    assert new.read_raw_bytes() == old.read_raw_bytes()
                    assert new.get("/Filter") == old.get("/Filter")


def test_a_lossy_picture_is_kept_byte_for_byte_and_old_filters_keep_their_content(tmp_path: Path) -> None:
    made = io.BytesIO()
    Image.new("CMYK", (40, 30), (0, 200, 100, 20)).save(made, "JPEG", quality=40)
    content: list[bytes] = []

    def after(pdf: pikepdf.Pdf) -> None:
        picture = pdf.make_stream(
            made.getvalue(), Type=Name.XObject, Subtype=Name.Image, Width=40, Height=30, BitsPerComponent=8,
            ColorSpace=Name.DeviceCMYK, Filter=Name.DCTDecode,
        )  # fmt: skip
        pdf.pages[0].Resources.XObject = Dictionary(Im=picture)
        content.append(pdf.pages[0].Contents.read_bytes() + b"q 90 0 0 60 50 50 cm /Im Do Q")
        pdf.pages[0].Contents = pdf.make_stream(content[0].hex().encode() + b">", Filter=Name.ASCIIHexDecode)

    keep = {"stream_decode_level": pikepdf.StreamDecodeLevel.none, "compress_streams": False}
    source = book(4, tmp_path / "book.pdf", after=after, save_options=keep)
    impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf")
    form = forms(tmp_path / "sheets.pdf")["/P1"]
    assert form.read_bytes() == content[0]
    assert form.Resources.XObject.Im.read_raw_bytes() == made.getvalue()
    assert form.Resources.XObject.Im.Filter == Name.DCTDecode


def test_content_arrays_are_joined_by_newlines_even_inside_a_token(tmp_path: Path) -> None:
    """ISO 32000-1, table 30: the parts are one stream, split between tokens only; a reader puts white space between."""
    parts = [b"1 0 0 r", b"g 20 20 50 60 re f", b"BT /F1 9 Tf 10 10 Td (joi", b"ned) Tj ET"]

    def after(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].Contents = Array([pdf.make_stream(part) for part in parts])
        pdf.pages[1].Contents = Array([])
        pdf.pages[2].Contents = Array([pdf.make_stream(b"0 1 0 rg 0 0 40 40 re f")])

    source = book(4, tmp_path / "book.pdf", after=after)
    impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf")
    made = forms(tmp_path / "sheets.pdf")
    assert made["/P1"].read_bytes() == b"\n".join(parts)
    assert made["/P2"].read_bytes() == b""
    assert made["/P3"].read_bytes() == b"0 1 0 rg 0 0 40 40 re f"


def test_pages_that_share_a_stream_get_a_copy_each(tmp_path: Path) -> None:
    def after(pdf: pikepdf.Pdf) -> None:
        shared = pdf.pages[0].Contents
        pdf.pages[1].Contents = shared
        pdf.pages[1].MediaBox = [-50, -50, 500, 700]
        pdf.pages[1].TrimBox = [0, 0, 396.85, 612.28]
        pdf.pages[2].Contents = Array([shared, pdf.make_stream(b"0 0 1 rg 0 0 30 30 re f")])
        pdf.pages.append(pdf.pages[3])

    source = book(4, tmp_path / "book.pdf", after=after)
    impose(source, plan(5, table=FOLIO), tmp_path / "sheets.pdf")
    made = forms(tmp_path / "sheets.pdf")
    one = made["/P1"].read_bytes()
    assert made["/P2"].read_bytes() == one
    assert made["/P3"].read_bytes() == one + b"\n0 0 1 rg 0 0 30 30 re f"
    assert made["/P4"].read_bytes() == made["/P5"].read_bytes()
    assert len({form.objgen for form in made.values()}) == 5
    assert [float(v) for v in made["/P1"].BBox] != [float(v) for v in made["/P2"].BBox]


def test_pages_without_contents_or_resources_and_inherited_resources(tmp_path: Path) -> None:
    def after(pdf: pikepdf.Pdf) -> None:
        del pdf.pages[0]["/Contents"]
        del pdf.pages[0]["/Resources"]
        shared = pdf.make_indirect(pdf.pages[1].Resources)
        for page in pdf.pages:
            if "/Resources" in page:
                del page["/Resources"]
        pdf.Root.Pages["/Resources"] = shared
        del pdf.pages[3]["/Contents"]
        pdf.pages[3]["/Resources"] = Dictionary()

    source = book(4, tmp_path / "book.pdf", after=after)
    impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf")
    made = forms(tmp_path / "sheets.pdf")
    assert made["/P1"].read_bytes() == b""
    assert "/F1" in made["/P2"].Resources.Font
    assert dict(made["/P4"].Resources.items()) == {}


def test_the_document_is_swept_and_what_still_holds_is_kept(tmp_path: Path) -> None:
    def after(pdf: pikepdf.Pdf) -> None:
        with pdf.open_outline() as outline:
            outline.root.append(pikepdf.OutlineItem("Chapter", 0))
        root = pdf.Root
        root.Names = Dictionary(JavaScript=Dictionary(Names=["a", Dictionary(S=Name.JavaScript, JS="app.beep()")]))
        root.OpenAction = Dictionary(S=Name.JavaScript, JS="app.beep()")
        root.AcroForm = Dictionary(Fields=[])
        root.StructTreeRoot = pdf.make_indirect(Dictionary(Type=Name.StructTreeRoot))
        root.MarkInfo = Dictionary(Marked=True)
        root.PageLabels = Dictionary(Nums=[0, Dictionary(S=Name.D)])
        root.AA = Dictionary()
        root.PieceInfo = Dictionary()
        root.Threads = Array([])
        root.Metadata = pdf.make_stream(b"<x:xmpmeta xmlns:x='adobe:ns:meta/'/>", Type=Name.Metadata, Subtype=Name.XML)
        profile = pdf.make_stream(b"not a real profile", N=4)
        root.OutputIntents = Array([
            Dictionary(
                Type=Name.OutputIntent, S=Name.GTS_PDFX, OutputConditionIdentifier="Custom", DestOutputProfile=profile
            )
        ])  # fmt: skip
        for page in pdf.pages:
            page.StructParents = 0
            page.PieceInfo = Dictionary(Foo=Dictionary(LastModified="D:2024", Private="old"))
            page.AA = Dictionary(O=Dictionary(S=Name.JavaScript, JS="app.beep()"))

    source = book(4, tmp_path / "book.pdf", after=after)
    impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf")
    with pikepdf.open(tmp_path / "sheets.pdf") as sheets:
        assert set(sheets.Root.keys()) == {"/Type", "/Pages", "/Metadata", "/OutputIntents"}
        assert sheets.Root.OutputIntents[0].DestOutputProfile.read_bytes() == b"not a real profile"
        assert sheets.docinfo["/Title"] == "The Lamplighter's Almanac"
        kinds = [thing.get("/Type") for thing in sheets.objects if isinstance(thing, Dictionary)]
        assert kinds.count(Name.Page) == 2  # no page of the manuscript is left behind
        for form in forms(tmp_path / "sheets.pdf").values():
            assert not {"/StructParents", "/PieceInfo", "/AA", "/Annots", "/MediaBox"} & set(form.keys())
    assert b"app.beep" not in uncompressed(tmp_path / "sheets.pdf", tmp_path)


def uncompressed(path: Path, folder: Path) -> bytes:
    with pikepdf.open(path) as pdf:
        pdf.save(folder / "plain.pdf", object_stream_mode=pikepdf.ObjectStreamMode.disable, static_id=True)
    return (folder / "plain.pdf").read_bytes()


def test_layers_keep_their_states_and_marks_have_one_of_their_own(tmp_path: Path) -> None:
    def after(pdf: pikepdf.Pdf) -> None:
        on, off = (pdf.make_indirect(Dictionary(Type=Name.OCG, Name=name)) for name in ("Shown", "Hidden"))
        pdf.Root.OCProperties = Dictionary(OCGs=[on, off], D=Dictionary(BaseState=Name.OFF, ON=[on], Order=[on, off]))
        for page in pdf.pages:
            page.Resources.Properties = Dictionary(A=on, B=off)
            page.Contents = pdf.make_stream(
                b"/OC /A BDC 1 0 0 rg 100 100 50 50 re f EMC /OC /B BDC 0 0 1 rg 200 100 50 50 re f EMC"
            )

    source = book(4, tmp_path / "book.pdf", after=after)
    made = plan(4, table=FOLIO)
    impose(source, made, tmp_path / "sheets.pdf", Job())
    with pikepdf.open(tmp_path / "sheets.pdf") as sheets:
        properties = sheets.Root.OCProperties
        names = [str(group.Name) for group in properties.OCGs]
        assert names == ["Shown", "Hidden", "Printer's marks"]
        assert [str(group.Name) for group in properties.D.ON] == ["Shown", "Printer's marks"]
        assert properties.D.BaseState == Name.OFF
        drawn = sheets.pages[0].Resources.XObject
        assert {name for name, form in drawn.items() if "/OC" in form} == {"/Marks", "/Marks2"}
    front = mupdf(tmp_path / "sheets.pdf")[0]
    colours = {tuple(pixel) for row in front for pixel in row.tolist()}
    assert (255, 0, 0) in colours  # shown
    assert (0, 0, 255) not in colours  # hidden


@pytest.mark.parametrize("claim", ["PDF/X-1a:2001", "PDF/X-3:2002"])
def test_marks_are_drawn_plainly_where_layers_are_forbidden(claim: str, tmp_path: Path) -> None:
    """ISO 15930-1 and -3 rest on PDF 1.3: neither optional content nor object streams."""
    source = book(4, tmp_path / "book.pdf", after=lambda pdf: pdf.docinfo.__setitem__("/GTS_PDFXVersion", claim))
    impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf", Job())
    with pikepdf.open(tmp_path / "sheets.pdf") as sheets:
        assert "/OCProperties" not in sheets.Root
        assert not any("/OC" in form for page in sheets.pages for _, form in page.Resources.XObject.items())
        assert "/Marks" in sheets.pages[0].Resources.XObject
    assert b"/ObjStm" not in (tmp_path / "sheets.pdf").read_bytes()
    for page in pypdf.PdfReader(tmp_path / "sheets.pdf").pages:
        for name in ("/Marks", "/Marks2"):
            for font in page["/Resources"]["/XObject"][name]["/Resources"].get("/Font", {}).values():
                descriptor = font["/DescendantFonts"][0]["/FontDescriptor"]
                assert descriptor["/FontFile3"].get_data()[:1] == b"\x01"  # embedded, as PDF/X asks


def annotation(flags: int, colour: str, rect: list[float], bbox: list[float], **more: object) -> object:
    """A stamp whose appearance fills the left half of its BBox."""

    def make(pdf: pikepdf.Pdf) -> pikepdf.Object:
        x0, y0, x1, y1 = bbox
        look = pdf.make_stream(
            f"{colour} rg {x0} {y0} {(x1 - x0) / 2} {y1 - y0} re f".encode(),
            Type=Name.XObject, Subtype=Name.Form, BBox=Array(bbox), **more,
        )  # fmt: skip
        return Dictionary(Type=Name.Annot, Subtype=Name.Stamp, F=flags, Rect=Array(rect), AP=Dictionary(N=look))

    return make


PRINTS, HIDDEN, NO_ROTATE = 4, 2, 16


def test_printing_annotations_come_along_as_they_are_drawn_alone(tmp_path: Path) -> None:
    """Rect, BBox and Matrix fitted by ISO 32000-1, 12.5.5; MuPDF draws the page alone with its annotations."""
    stamps = {
        0: [annotation(PRINTS, "1 0 0", [50, 50, 150, 90], [0, 0, 10, 10])],
        1: [annotation(PRINTS, "0 0 1", [250, 190, 150, 90], [5, 5, 25, 35], Matrix=Array([0, 2, -1, 0, 7, 3]))],
        2: [
            annotation(PRINTS | HIDDEN, "1 0 0", [50, 50, 150, 90], [0, 0, 10, 10]),
            annotation(0, "1 0 0", [50, 150, 150, 190], [0, 0, 10, 10]),
        ],
        3: [annotation(PRINTS | NO_ROTATE, "0 1 0", [100, 300, 180, 340], [0, 0, 10, 10])],
    }

    def after(pdf: pikepdf.Pdf) -> None:
        for index, makers in stamps.items():
            pdf.pages[index].Annots = Array([pdf.make_indirect(make(pdf)) for make in makers])
        pdf.pages[3].Rotate = 90

    def each(index: int) -> dict:
        return {"trim_mm": (216, 140)} if index == 3 else {}

    source = book(4, tmp_path / "book.pdf", each=each, after=after, bleed_mm=0, text="", folio="")
    made = plan(4, table=FOLIO, bleed_mm=0)
    sheets = impose(source, made, tmp_path / "sheets.pdf")
    assert sheets.annotations == 3
    alone, sides = mupdf(source), mupdf(tmp_path / "sheets.pdf")
    for place in made.places:
        page = alone[place.page]
        if place.page == 2:  # on screen MuPDF shows the stamp that does not print
            page = np.full_like(page, 255)
        assert difference(page, sides[side_index(place)], place, made.sheet_mm[1] * PT) <= 8, place.page
    assert [(side[:, :, 0] != side[:, :, 2]).any() for side in sides] == [True, True]


def test_a_layer_of_an_annotation_is_kept(tmp_path: Path) -> None:
    def after(pdf: pikepdf.Pdf) -> None:
        hidden = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="Proof stamp"))
        pdf.Root.OCProperties = Dictionary(OCGs=[hidden], D=Dictionary(OFF=[hidden]))
        stamp = annotation(PRINTS, "1 0 0", [50, 50, 150, 90], [0, 0, 10, 10])(pdf)
        stamp.OC = hidden
        pdf.pages[0].Annots = Array([pdf.make_indirect(stamp)])

    source = book(4, tmp_path / "book.pdf", after=after, **EMPTY)
    assert impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf").annotations == 1
    front = mupdf(tmp_path / "sheets.pdf")[0]
    assert (front[:, :, 0] == front[:, :, 2]).all()  # no red


def encrypted(pdf_path: Path, **allowed: bool) -> Path:
    target = pdf_path.with_name("locked.pdf")
    with pikepdf.open(pdf_path) as pdf:
        pdf.save(
            target,
            encryption=pikepdf.Encryption(owner="owner", user="", allow=pikepdf.Permissions(**allowed)),
            static_id=True,
        )
    return target


def test_an_empty_password_is_enough_where_the_owner_allows(tmp_path: Path) -> None:
    source = encrypted(book(4, tmp_path / "book.pdf"))
    sheets = impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf")
    assert any("encrypted" in note for note in sheets.notes)
    assert not pypdf.PdfReader(sheets.path).is_encrypted


def test_what_the_owner_forbids_is_not_done(tmp_path: Path) -> None:
    source = encrypted(book(4, tmp_path / "book.pdf"), modify_assembly=False, modify_other=False)
    with pytest.raises(NeedsPassword, match="does not allow"):
        impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf")
    assert not (tmp_path / "sheets.pdf").exists()
    assert impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf", password="owner").pages == 4


def test_a_stream_that_cannot_be_decoded_is_placed_as_it_is(tmp_path: Path) -> None:
    broken = b"\x78\x9c this is no deflate stream"

    def after(pdf: pikepdf.Pdf) -> None:
        pdf.pages[1].Contents = pdf.make_stream(broken, Filter=Name.FlateDecode)

    keep = {"stream_decode_level": pikepdf.StreamDecodeLevel.none, "compress_streams": False}
    source = book(4, tmp_path / "book.pdf", after=after, save_options=keep)
    impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf")
    assert forms(tmp_path / "sheets.pdf")["/P2"].read_raw_bytes() == broken


def test_a_broken_part_of_a_content_array_names_the_page(tmp_path: Path) -> None:
    def after(pdf: pikepdf.Pdf) -> None:
        broken = pdf.make_stream(b"\x78\x9c this is no deflate stream", Filter=Name.FlateDecode)
        pdf.pages[2].Contents = Array([pdf.make_stream(b"q"), broken, pdf.make_stream(b"Q")])

    keep = {"stream_decode_level": pikepdf.StreamDecodeLevel.none, "compress_streams": False}
    source = book(4, tmp_path / "book.pdf", after=after, save_options=keep)
    with pytest.raises(Unreadable, match="page 3"):
        impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf")
    assert not (tmp_path / "sheets.pdf").exists()


def test_page_level_output_intents_stay_with_a_sheet_whose_pages_agree(tmp_path: Path) -> None:
    """PDF 2.0 (ISO 32000-2, 14.11.5): a page may state output intents of its own."""

    def after(pdf: pikepdf.Pdf) -> None:
        def intent(name: str) -> pikepdf.Object:
            return pdf.make_indirect(
                Dictionary(Type=Name.OutputIntent, S=Name.GTS_PDFX, OutputConditionIdentifier=name)
            )

        a, b = intent("A"), intent("B")
        for index, page in enumerate(pdf.pages):
            page.OutputIntents = Array([b if index == 1 else a])  # folio: 4 and 1 in front, 2 and 3 behind

    source = book(4, tmp_path / "book.pdf", after=after)
    made = plan(4, table=FOLIO)
    sheets = impose(source, made, tmp_path / "sheets.pdf")
    with pikepdf.open(sheets.path) as pdf:
        kept = [page.obj.get("/OutputIntents") for page in pdf.pages]
        assert str(kept[0][0].OutputConditionIdentifier) == "A"
        assert kept[1] is None
    assert [side for side in Side if any(p.side is side and p.page == 1 for p in made.places)] == [Side.BACK]
    assert any("output intents" in note for note in sheets.notes)


def test_the_file_is_sound(tool, tmp_path: Path) -> None:
    source = book(20, tmp_path / "book.pdf", fills=[Fill((-3, -3, 50, 50))], each=lambda i: {"rotate": 90 * i})
    impose(source, plan(20), tmp_path / "sheets.pdf", Job())
    done = subprocess.run(
        [tool("qpdf"), "--check", tmp_path / "sheets.pdf"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    read_it = subprocess.run(
        [tool("gs"), "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=nullpage", tmp_path / "sheets.pdf"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert read_it.returncode == 0
    assert "error" not in (read_it.stdout + read_it.stderr).lower()


def test_the_same_bytes_whatever_the_hash_seed_folder_and_time_zone(tmp_path: Path) -> None:
    script = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from pathlib import Path\n"
        "from foldproof.job.model import Job\n"
        "from tests.build import book\n"
        "from tests.impose.plans import plan\n"
        "from tests.impose.sheets import impose\n"
        "source = book(40, Path('book.pdf'), each=lambda i: {'rotate': 90 * i})\n"
        "impose(source, plan(40), Path('sheets.pdf'), Job())\n"
    )
    digests = set()
    for seed, zone in (("0", "UTC"), ("1", "Pacific/Auckland"), ("4242", "America/St_Johns")):
        folder = tmp_path / f"run {seed}"
        folder.mkdir()
        env = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone}
        subprocess.run([sys.executable, "-c", script, str(ROOT)], cwd=folder, env=env, check=True)
        digests.add(hashlib.sha256((folder / "sheets.pdf").read_bytes()).hexdigest())
    assert len(digests) == 1


@pytest.mark.corpus
def test_odd_and_broken_files_end_in_sheets_or_one_clear_sentence(corpus: Path, tool, tmp_path: Path) -> None:
    placed = refused = 0
    for path in sorted((corpus / "hard").glob("*.pdf")):
        target = tmp_path / (path.stem + "-sheets.pdf")
        before = path.read_bytes()
        try:
            manuscript = read(path)
            if len(manuscript.pages) > 64:
                continue
            wide, high = (v / PT for v in manuscript.pages[0].trim_size_pt)
            impose(path, plan(len(manuscript.pages), trim_mm=(wide, high), table=FOLIO), target)
            placed += 1
            if path.name == "pdfium__bug_555784.pdf":  # qpdf decodes its one picture for a minute, in the source too
                continue
            done = subprocess.run([tool("qpdf"), "--check", target], capture_output=True, text=True, check=False)
            assert done.returncode in (0, 3), (path.name, done.stderr)  # 3: warnings, such as a stream broken before
        except FoldproofError as told:
            refused += 1
            assert len(str(told)) < 400
            assert "\n" not in str(told)
            assert not target.exists()
        assert path.read_bytes() == before
    assert placed > 30
    assert refused > 3


def test_no_marks_leave_no_drawing_and_no_layer(tmp_path: Path) -> None:
    source = book(4, tmp_path / "book.pdf")
    sheets = impose(source, plan(4, table=FOLIO), tmp_path / "sheets.pdf", NO_MARKS)
    assert sheets.marks == ()
    assert set(forms(sheets.path)) == {"/P1", "/P2", "/P3", "/P4"}
    with pikepdf.open(sheets.path) as pdf:
        assert "/OCProperties" not in pdf.Root
