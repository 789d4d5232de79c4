# SPDX-License-Identifier: AGPL-3.0-or-later
"""What is spoilt: small files of the corpus, single leaves of its books, and books built here that hold a little of
everything."""

from __future__ import annotations

import io
import zlib
from pathlib import Path
from random import Random

import pikepdf
from attrs import frozen
from pikepdf import Array, Dictionary, Name, Stream, String

from tests import build
from tests.build import Fill, Picture
from tests.profiles import cmyk_profile, matrix_profile

#: larger files of the corpus are left out: every one of them costs as much as ten others
_MOST_BYTES = 150_000
#: these take five seconds and more as they are, for one page: tens of thousands of steps of a function, a large scan
_TOO_SLOW = frozenset({
    "pdfjs__function_based_shading_cmyk.pdf", "ocr__jbig2_baddevicen.pdf", "pdfium__bug_555784.pdf", "ocr__masks.pdf",
})  # fmt: skip
_LEAVES_A_BOOK = 3


@frozen
class Source:
    """A file to be spoilt."""

    name: str
    data: bytes


def sources(folder: Path, shared: Path | None) -> tuple[Source, ...]:
    """All of them in order; the same whenever the corpus is the same.  Kept in ``folder`` once they are made.

    Args:
        shared: folder that holds ``corpus``; without it, the built ones alone.
    """
    corpus = shared / "corpus" if shared is not None and (shared / "corpus").is_dir() else None
    kept = folder / ("with-corpus" if corpus else "built")
    if not (kept / "made").is_file():
        kept.mkdir(parents=True, exist_ok=True)
        _built(kept)
        if corpus is not None:
            for path in sorted((corpus / "hard").glob("*.pdf")):
                if path.stat().st_size <= _MOST_BYTES and path.name not in _TOO_SLOW:
                    (kept / f"hard-{path.name}").write_bytes(path.read_bytes())
            for path in sorted((corpus / "books").glob("*.pdf")):
                _leaves(path, kept)
        (kept / "made").write_bytes(b"")
    return tuple(Source(path.stem, path.read_bytes()) for path in sorted(kept.glob("*.pdf")))


def _leaves(path: Path, folder: Path) -> None:
    """Some leaves of a long book, each pair a file of its own."""
    rng = Random(path.name)
    with pikepdf.open(path) as pdf:
        for number in range(_LEAVES_A_BOOK):
            first = rng.randrange(len(pdf.pages) - 1)
            with pikepdf.new() as leaf:
                for index in range(first, first + rng.choice((1, 2))):
                    leaf.pages.append(pdf.pages[index])
                for page in leaf.pages:
                    for key in ("/Annots", "/B", "/AA"):  # they hold the rest of the book
                        if key in page.obj:
                            del page.obj[key]
                leaf.remove_unreferenced_resources()
                held = io.BytesIO()
                leaf.save(held, deterministic_id=True)
            if len(held.getvalue()) <= _MOST_BYTES:
                (folder / f"leaf-{path.stem}-{number}.pdf").write_bytes(held.getvalue())


def _built(folder: Path) -> None:
    build.book(4, folder / "built-text.pdf")
    build.book(1, folder / "built-bare-fonts.pdf", embedded=False, face="tiro")
    build.book(2, folder / "built-object-streams.pdf",
               save_options={"object_stream_mode": pikepdf.ObjectStreamMode.generate})  # fmt: skip
    locked = pikepdf.Encryption(owner="lantern", user="", R=4)
    build.book(2, folder / "built-locked.pdf", save_options={"encryption": locked, "static_id": False})
    build.book(
        4, folder / "built-turned.pdf",
        each=lambda i: [
            {"rotate": 90}, {"rotate": 180, "user_unit": 2.0}, {"origin_pt": (-300, 77)},
            {"boxes": {"CropBox": [0, 0, 300, 300], "ArtBox": [20, 20, 200, 200]}, "slug_mm": 12},
        ][i],
    )  # fmt: skip
    shades = [
        Picture((10, 10, 60, 60), (40, 30)), Picture((10, 70, 60, 120), (30, 40), "DeviceRGB"),
        Picture((70, 10, 120, 60), (50, 50), "DeviceCMYK", soft_mask=(20, 20)),
        Picture((70, 70, 120, 120), (64, 64), bits=1), Picture((30, 130, 90, 190), (99, 9), stencil=True, turned=30),
    ]  # fmt: skip
    fills = [Fill((-3, -3, 143, 40)), Fill((20, 90, 60, 160), "1 0 0 rg"), Fill((0, 0, 5, 5), "0.2 g")]
    build.book(2, folder / "built-pictures.pdf", pictures=shades, fills=fills)
    build.book(1, folder / "built-painted.pdf", content=_PAINTED, after=_paints)
    build.book(4, folder / "built-furnished.pdf", content="/OC /Layer BDC 0 0 50 50 re f EMC\n", after=_furnish)


_PAINTED = """
/Spot cs 0.7 scn 10 400 60 60 re f
/Inks cs 0.2 0.9 scn 80 400 60 60 re f
/Profiled cs 0.1 0.2 0.3 0.4 scn 150 400 60 60 re f
/Listed cs 1 scn 220 400 60 60 re f
/Measured cs 50 10 -20 scn 290 400 60 60 re f
/Pattern cs /Tiles scn 10 300 60 60 re f
/Pattern cs /Shade scn 80 300 60 60 re f
q 150 300 60 60 re W n /Along sh Q
q 220 300 60 60 re W n /Round sh Q
q 290 300 60 60 re W n /Mesh sh Q
q 10 200 60 60 re W n /Reckoned sh Q
/Thin gs 0 0 1 0 k 80 200 60 60 re B
/Masked gs 150 200 60 60 re f
q 1 0 0 1 220 200 cm /Group Do Q
BT /Drawn 20 Tf 10 150 Td (ab) Tj ET
BT 3 Tr /F1 12 Tf 80 150 Td (unseen) Tj ET
q 40 0 0 40 150 140 cm BI /W 4 /H 4 /BPC 8 /CS /G /F /AHx ID 00112233445566778899aabbccddeeff> EI Q
q 40 0 0 40 220 140 cm /Photo Do Q
q 40 0 0 40 290 140 cm /Listing Do Q
0.05 w 0 100 m 300 100 l S [3 2] 1 d 0 90 m 300 90 l 2 J 1 j S
"""


def _stream(pdf: pikepdf.Pdf, data: bytes, *, packed: bool = True, **entries: object) -> pikepdf.Object:
    made = Stream(pdf, zlib.compress(data) if packed else data)
    for key, value in entries.items():
        made[Name("/" + key)] = value
    if packed:
        made.Filter = Name.FlateDecode
    return pdf.make_indirect(made)


def _paints(pdf: pikepdf.Pdf) -> None:
    """Colour spaces, patterns, shadings, functions, groups, masks, a drawn font, pictures: one of most kinds."""
    tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 1, 0.5, 0], N=1)
    mixed = _stream(pdf, b"{ pop 0.3 mul dup 0 exch 0 }", FunctionType=4, Domain=[0, 1, 0, 1], Range=[0, 1] * 4)
    sampled = _stream(pdf, bytes(range(48)), FunctionType=0, Domain=[0, 1], Range=[0, 1] * 3, Size=[16],
                      BitsPerSample=8)  # fmt: skip
    joined = Dictionary(FunctionType=3, Domain=[0, 1], Functions=[sampled, sampled], Bounds=[0.5], Encode=[0, 1, 1, 0])
    reckoned = _stream(pdf, b"{ 2 copy add sin abs 3 1 roll }", FunctionType=4, Domain=[0, 1, 0, 1], Range=[0, 1] * 3)
    profile = _stream(pdf, cmyk_profile(), N=4, Alternate=Name.DeviceCMYK)
    screen = _stream(pdf, matrix_profile("RGB"), N=3)
    spot = Array([Name.Separation, Name("/Hearth Red"), Name.DeviceCMYK, tint])
    lab = Array([Name.Lab, Dictionary(WhitePoint=[0.9642, 1, 0.8249], Range=[-100, 100, -100, 100])])
    spaces = Dictionary(
        Spot=spot, Inks=Array([Name.DeviceN, [Name.Black, Name("/Gilt")], Name.DeviceCMYK, mixed]),
        Profiled=Array([Name.ICCBased, profile]), Listed=Array([Name.Indexed, Name.DeviceRGB, 2, String("abcdefghi")]),
        Measured=lab, Screen=Array([Name.ICCBased, screen]),
    )  # fmt: skip
    tiles = _stream(pdf, b"0 0 4 4 re f", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 8, 8], XStep=8,
                    YStep=8, Resources=Dictionary())  # fmt: skip
    along = Dictionary(ShadingType=2, ColorSpace=Name.DeviceRGB, Coords=[150, 300, 210, 360], Function=joined,
                       Extend=[True, False])  # fmt: skip
    round_ = Dictionary(ShadingType=3, ColorSpace=spot, Coords=[250, 330, 5, 250, 330, 40],
                        Function=Dictionary(FunctionType=2, Domain=[0, 1], C0=[0], C1=[1], N=2))  # fmt: skip
    corners = bytes.fromhex("00 00 00 00 ff0000 00 ff 00 00ff00 00 80 ff 0000ff")
    mesh = _stream(pdf, corners, ShadingType=4, ColorSpace=Name.DeviceRGB, BitsPerCoordinate=8, BitsPerComponent=8,
                   BitsPerFlag=8, Decode=[290, 350, 300, 360, 0, 1, 0, 1, 0, 1])  # fmt: skip
    plane = Dictionary(ShadingType=1, ColorSpace=Name.DeviceRGB, Function=reckoned, Matrix=[60, 0, 0, 60, 10, 200])
    group = _stream(pdf, b"0.5 g 0 0 30 30 re f 0 1 0 0 k 15 15 30 30 re f", Type=Name.XObject, Subtype=Name.Form,
                    BBox=[0, 0, 60, 60], Resources=Dictionary(), Group=Dictionary(
                        S=Name.Transparency, CS=Name.DeviceCMYK, I=True, K=True))  # fmt: skip
    drawn = Dictionary(
        Type=Name.Font, Subtype=Name.Type3, FontBBox=[0, 0, 1000, 1000], FontMatrix=[0.001, 0, 0, 0.001, 0, 0],
        FirstChar=97, LastChar=98, Widths=[1000, 900], Encoding=Dictionary(Differences=[97, Name.a, Name.b]),
        CharProcs=Dictionary(a=_stream(pdf, b"1000 0 0 0 900 900 d1 0 0 900 900 re f"),
                             b=_stream(pdf, b"900 0 d0 1 0 0 rg 0 0 m 800 0 l 400 800 l f")),
        Resources=Dictionary(),
    )  # fmt: skip
    photo = _stream(pdf, _jpeg(), packed=False, Type=Name.XObject, Subtype=Name.Image, Width=16, Height=16,
                    BitsPerComponent=8, ColorSpace=Name.DeviceRGB, Filter=Name.DCTDecode)  # fmt: skip
    listing = _stream(pdf, bytes(range(64)), Type=Name.XObject, Subtype=Name.Image, Width=16, Height=4,
                      BitsPerComponent=8, ColorSpace=Array([Name.Indexed, Name.DeviceGray, 63, String("x" * 64)]),
                      Mask=[3, 9], Decode=[63, 0])  # fmt: skip
    for page in pdf.pages:
        held = page.obj.Resources
        held.ColorSpace, held.XObject = spaces, Dictionary(Group=group, Photo=photo, Listing=listing)
        held.Pattern = Dictionary(Tiles=tiles, Shade=Dictionary(PatternType=2, Shading=along))
        held.Shading = Dictionary(Along=along, Round=round_, Mesh=mesh, Reckoned=plane)
        held.Font.Drawn = drawn
        held.ExtGState = Dictionary(
            Thin=Dictionary(ca=0.4, CA=0.5, BM=Name.Multiply, OP=True, op=True, OPM=1, LW=0.1, D=[[2, 1], 0]),
            Masked=Dictionary(SMask=Dictionary(S=Name.Luminosity, G=group, TR=tint, BC=[0, 0, 0, 0])),
        )
        page.obj.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceCMYK)


def _jpeg() -> bytes:
    from PIL import Image

    held = io.BytesIO()
    Image.frombytes("RGB", (16, 16), bytes(n % 251 for n in range(768))).save(held, "JPEG")
    return held.getvalue()


def _furnish(pdf: pikepdf.Pdf) -> None:
    """What stands round the pages: layers, annotations, a form, actions, labels, outlines, metadata, an attachment."""
    layer = pdf.make_indirect(Dictionary(Type=Name.OCG, Name="Shop notes", Usage=Dictionary(
        Print=Dictionary(PrintState=Name.OFF))))  # fmt: skip
    pdf.Root.OCProperties = Dictionary(
        OCGs=[layer], D=Dictionary(ON=[layer], Order=[layer], AS=[Dictionary(
            Event=Name.Print, OCGs=[layer], Category=[Name.Print])]),
    )  # fmt: skip
    look = _stream(pdf, b"1 0 0 RG 0 0 40 20 re S", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 40, 20])
    act = Dictionary(S=Name.JavaScript, JS="app.alert(1)", Next=Dictionary(S=Name.Launch, F="lamp"))
    for number, page in enumerate(pdf.pages):
        page.obj.Resources.Properties = Dictionary(Layer=layer)
        rect = [50, 50, 90, 70]
        field = pdf.make_indirect(Dictionary(
            Type=Name.Annot, Subtype=Name.Widget, FT=Name.Tx, T=f"field{number}", V="told", F=4, Rect=rect,
            AP=Dictionary(N=look), A=act, P=page.obj))  # fmt: skip
        page.obj.Annots = Array([
            field,
            Dictionary(Type=Name.Annot, Subtype=Name.Link, Rect=rect, Border=[0, 0, 1],
                       A=Dictionary(S=Name.URI, URI="https://lantern.invalid/")),
            pdf.make_indirect(Dictionary(Type=Name.Annot, Subtype=Name.Stamp, F=4, Rect=[5, 5, 45, 25],
                                         AP=Dictionary(N=Dictionary(On=look)), AS=Name.On, OC=layer)),
            Dictionary(Type=Name.Annot, Subtype=Name.Text, Contents="<b>please</b>", Rect=[9, 9, 20, 20]),
        ])  # fmt: skip
        page.obj.PieceInfo = Dictionary(Bench=Dictionary(Private=String("kept")))
    fields = Array([page.obj.Annots[0] for page in pdf.pages])
    pdf.Root.AcroForm = Dictionary(Fields=fields, NeedAppearances=True, DA="/F1 9 Tf")
    pdf.Root.OpenAction, pdf.Root.AA = act, Dictionary(WC=act)
    pdf.Root.Names = Dictionary(JavaScript=Dictionary(Names=["all", act]))
    pdf.Root.PageLabels = Dictionary(Nums=[0, Dictionary(S=Name.r, P="x"), 2, Dictionary(S=Name.D, St=9)])
    profile = _stream(pdf, cmyk_profile(), N=4)
    pdf.Root.OutputIntents = Array([Dictionary(
        Type=Name.OutputIntent, S=Name.GTS_PDFX, OutputConditionIdentifier="Hearth 1", DestOutputProfile=profile,
        Info="the shop's own")])  # fmt: skip
    pdf.docinfo["/Trapped"], pdf.docinfo["/GTS_PDFXVersion"] = Name.true, "PDF/X-4"
    with pdf.open_outline() as outline:
        outline.root.append(pikepdf.OutlineItem("The first lamp", 0))
    with pdf.open_metadata() as told:
        told["dc:title"], told["pdfx:GTS_PDFXVersion"] = "The Lamplighter's Almanac", "PDF/X-4"
        told["xmp:ModifyDate"] = "2024-02-29T12:00:00Z"
    pdf.attachments["notes.txt"] = pikepdf.AttachedFileSpec(pdf, b"trim by hand", filename="notes.txt")
