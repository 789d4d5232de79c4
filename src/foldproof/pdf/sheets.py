# SPDX-License-Identifier: AGPL-3.0-or-later
"""Writing press sheets: the manuscript's own objects in a new page tree.

The manuscript is opened, its page tree taken out, every page's content stream turned into a form where it stands, and
sheets put in place of the pages.  Fonts, pictures, colour spaces and content bytes are never decoded, so they come
out as they went in.  What a sheet's content stream says of a placed page is fixed, because the proof reads it: ``q x
y w h re W n  a b c d e f cm /Name Do  Q``, the clip in the side frame in points, annotations inside the same pair.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import pikepdf
from attrs import frozen
from pikepdf import Dictionary, Name

from foldproof.errors import NeedsPassword, Unreadable
from foldproof.files import patient
from foldproof.geometry import Matrix, Rect
from foldproof.pdf.bounds import hold_qpdf
from foldproof.pdf.memory import give_back
from foldproof.pdf.sheets_annotations import appearances
from foldproof.pdf.sheets_blending import Blending
from foldproof.pdf.sheets_drawing import Stroke, Words, numbers, operators, spots
from foldproof.pdf.sheets_font import mark_font
from foldproof.pdf.sheets_forms import Forms
from foldproof.pdf.sheets_inks import SpotSpaces

#: what the catalog of the sheets keeps.  Outlines, names, scripts, forms, structure, labels, threads, actions and
#: signatures speak of pages that are no longer there.
_KEPT = frozenset({"/Type", "/Version", "/Extensions", "/Metadata", "/OutputIntents", "/OCProperties"})
#: and the trailer; that of a mended file may hold the keys of a cross-reference stream that no longer hold
_TRAILER = frozenset({"/Root", "/Info", "/ID", "/Size", "/Encrypt"})
_LAYER = "Printer's marks"


@frozen
class Placed:
    """One page on one side."""

    page: int  #: 0-based
    matrix: Matrix  #: media frame → side frame, points
    clip: Rect  #: side frame, points
    box: Rect  #: media frame: the form's BBox, covers the clip
    rotate: int  #: of the page, clockwise
    annotations: bool  #: whether it has any that print


@frozen
class SideToWrite:
    """One printed side.  ``drawings`` that are the same object are written once."""

    width_pt: float
    height_pt: float
    pages: tuple[Placed, ...]
    drawings: tuple[tuple[Stroke, ...], ...]


@frozen
class Written:
    """What was done on the way."""

    annotations: int  #: drawn into the sheets
    notes: tuple[str, ...]


def write(
    source: Path,
    target: Path,
    sides: Sequence[SideToWrite],
    *,
    pages: int,
    password: str | None = None,
    advance: Callable[[int], None] | None = None,
) -> Written:
    """Write ``sides`` as the pages of ``target`` (a path that may be overwritten).

    Args:
        pages: of the manuscript, as it was read: places speak of them by number.
        advance: told how many sides were done since it was last called.

    Raises:
        NeedsPassword: the password is missing or wrong, or the owner forbids that pages be put together anew.
        Unreadable: the manuscript is broken beyond what can be placed; the message names the page.
    """
    hold_qpdf()
    try:
        with pikepdf.open(source, password=password or "") as pdf:
            writer = _Writer(pdf, source)
            if writer.pages != pages:
                raise Unreadable(
                    f"The page tree of {source.name} is damaged: it was read as {pages} pages and now as "
                    f"{writer.pages}. Export the book again from the layout program."
                )
            written = writer.write(target, sides, advance)
        del writer, pdf  # a closed file still holds what was read of it
        give_back(source)
        return written
    except pikepdf.PasswordError as locked:
        raise NeedsPassword(
            f"{source.name} is locked by a password. Give it with --password-file, or export the book without one."
        ) from locked
    except pikepdf.PdfError as broken:
        raise Unreadable(
            f"{source.name} cannot be read as a PDF ({_first_line(broken)}). Export it again from the layout program."
        ) from broken


class _Writer:
    """One document on its way from pages to sheets."""

    def __init__(self, pdf: pikepdf.Pdf, source: Path) -> None:
        self._pdf = pdf
        self._notes: list[str] = []
        self._annotations = 0
        if pdf.is_encrypted:
            self._unlock(source)
        self._pages = [page.obj for page in pdf.pages]
        self._forms = Forms(pdf, self._pages)
        self._blending = Blending("/OutputIntents" in pdf.Root)
        self._appearances: dict[int, list[tuple[str, bytes, pikepdf.Object, pikepdf.Object | None]]] = {}
        self._drawn: dict[int, pikepdf.Object] = {}
        self._kept_alive: list[tuple[Stroke, ...]] = []
        claim = str(pdf.docinfo.get("/GTS_PDFXVersion", "")) if pdf.trailer.get("/Info") is not None else ""
        #: PDF/X-1a and X-3 (ISO 15930-1, -3, -4, -6) know neither layers nor object streams
        self._plain = claim.startswith(("PDF/X-1", "PDF/X-3"))
        self._layer: pikepdf.Object | None = None
        self._every: pikepdf.Object | None = None
        self._spots = SpotSpaces(pdf, self._pages)

    @property
    def pages(self) -> int:
        return len(self._pages)

    def _unlock(self, source: Path) -> None:
        """The sheets are written without encryption; only where the owner lets pages be printed and put together."""
        allowed = self._pdf.allow
        if not self._pdf.owner_password_matched and not (
            allowed.print_highres and (allowed.modify_assembly or allowed.modify_other)
        ):
            raise NeedsPassword(
                f"The owner of {source.name} does not allow that its pages are printed and put together anew. Give the "
                "owner's password with --password-file, or ask for a file without restrictions."
            )
        self._notes.append("The manuscript is encrypted and its owner allows assembly; the sheets are not encrypted.")

    def write(self, target: Path, sides: Sequence[SideToWrite], advance: Callable[[int], None] | None) -> Written:
        pdf = self._pdf
        font = self._font(sides)
        tree = pdf.make_indirect(Dictionary(Type=Name.Pages))
        kids = []
        for side in sides:
            kids.append(pdf.make_indirect(self._side(side, tree, font)))
            if advance is not None:
                advance(1)
        tree["/Count"] = len(kids)
        tree["/Kids"] = kids
        for page in self._pages:
            if "/Annots" in page:  # or the library counts fields without a page and warns of each
                del page["/Annots"]
        root = pdf.Root
        for key in [key for key in root.keys() if key not in _KEPT]:  # noqa: SIM118 - a PDF object, not a dict
            del root[key]
        if "/Metadata" in root and not _unpacks(root["/Metadata"]):
            del root["/Metadata"]  # the library looks into them, and gives up
        for key in [key for key in pdf.trailer.keys() if key not in _TRAILER]:  # noqa: SIM118
            del pdf.trailer[key]
        if "/Size" not in pdf.trailer:
            pdf.trailer["/Size"] = 1  # the library writes the right one, but only where there was one
        root["/Type"] = Name.Catalog
        root["/Pages"] = tree
        with patient(target) as stream:
            pdf.save(
                stream,
                encryption=False,
                deterministic_id=True,
                object_stream_mode=pikepdf.ObjectStreamMode.disable
                if self._plain
                else pikepdf.ObjectStreamMode.generate,
                # Flate and every lossy filter stay byte for byte; what has no filter, LZW, run lengths and the ASCII
                # filters come out as Flate with the same content
                stream_decode_level=pikepdf.StreamDecodeLevel.none,
                compress_streams=True,
                # the version in the metadata is put right where there are any that can be read
                fix_metadata_version=_metadata_open(pdf),
            )
        return Written(self._annotations, tuple(self._notes))

    def _font(self, sides: Sequence[SideToWrite]) -> pikepdf.Object | None:
        """The face of the marks, embedded once, when there is a word to letter."""
        seen: set[int] = set()
        letters: set[str] = set()
        for side in sides:
            for drawing in side.drawings:
                if id(drawing) not in seen:
                    seen.add(id(drawing))
                    letters.update(letter for stroke in drawing if isinstance(stroke, Words) for letter in stroke.text)
        return mark_font().embed(self._pdf, letters) if letters else None

    def _side(self, side: SideToWrite, tree: pikepdf.Object, font: pikepdf.Object | None) -> pikepdf.Object:
        objects: dict[str, pikepdf.Object] = {}
        layers: dict[str, pikepdf.Object] = {}
        content: list[bytes] = []
        for placed in side.pages:
            name = f"/P{placed.page + 1}"
            while name in objects:
                name += "x"
            objects[name] = self._forms.form(placed.page, placed.box)
            clip, matrix = placed.clip, placed.matrix
            content.append(
                f"q {numbers(clip.x0, clip.y0, clip.width, clip.height)} re W n "
                f"{numbers(*matrix.as_tuple())} cm {name} Do".encode("ascii")
            )
            if placed.annotations:
                for call, operator, form, layer in self._annotation_calls(placed):
                    objects[call] = form
                    if layer is not None:
                        layers[f"/L{call[1:]}"] = layer
                    content.append(operator)
            content.append(b"Q")
        for count, drawing in enumerate(side.drawings):
            if drawing:
                name = "/Marks" if count == 0 else f"/Marks{count + 1}"
                objects[name] = self._drawing(drawing, side, font)
                content.append(f"q {name} Do Q".encode("ascii"))
        resources = Dictionary()
        if objects:
            resources["/XObject"] = Dictionary(objects)
        if layers:
            resources["/Properties"] = Dictionary(layers)
        # The paper comes cut to the press: nothing is drawn beyond it and nothing is cut from it before folding, so
        # that trim and bleed of a *sheet* are the sheet.  A box round the pages would let a workflow crop the marks
        # away.
        sheet = [0, 0, round(side.width_pt, 4), round(side.height_pt, 4)]
        page = Dictionary(
            Type=Name.Page, Parent=tree, MediaBox=sheet, BleedBox=sheet, TrimBox=sheet, Resources=resources,
            Contents=self._pdf.make_stream(b"\n".join(content)),
        )  # fmt: skip
        own = [self._pages[placed.page] for placed in side.pages]
        group = self._blending.sheet_group(own)
        if group is not None:
            page["/Group"] = group
        self._keep_intents(own, page)
        return page

    def _annotation_calls(self, placed: Placed) -> list[tuple[str, bytes, pikepdf.Object, pikepdf.Object | None]]:
        calls = self._appearances.get(placed.page)
        if calls is None:
            calls = self._appearances[placed.page] = []
            found = appearances(self._pdf, self._pages[placed.page], placed.rotate)
            for count, seen in enumerate(found, start=1):
                name = f"/P{placed.page + 1}A{count}"
                draw = f"q {numbers(*seen.matrix.as_tuple())} cm {name} Do Q"
                if seen.layer is not None:
                    draw = f"/OC /L{name[1:]} BDC {draw} EMC"
                calls.append((name, draw.encode("ascii"), seen.form, seen.layer))
            self._annotations += len(calls)
        return calls

    def _drawing(self, drawing: tuple[Stroke, ...], side: SideToWrite, font: pikepdf.Object | None) -> pikepdf.Object:
        made = self._drawn.get(id(drawing))
        if made is not None:
            return made
        spaces = {name: self._spots.space(ink) for ink, name in spots(drawing).items()}
        resources = Dictionary(ColorSpace=Dictionary({"/Every": self._every_plate(), **spaces}))
        if font is not None:
            resources["/Font"] = Dictionary(F=font)
        made = self._pdf.make_stream(operators(drawing, mark_font()))
        made["/Type"] = Name.XObject
        made["/Subtype"] = Name.Form
        made["/BBox"] = [0, 0, round(side.width_pt, 4), round(side.height_pt, 4)]
        made["/Resources"] = resources
        if not self._plain:
            made["/OC"] = self._marks_layer()
        self._drawn[id(drawing)] = made
        self._kept_alive.append(drawing)  # an id is only good while its object lives
        return made

    def _every_plate(self) -> pikepdf.Object:
        if self._every is None:
            tint = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[1, 1, 1, 1], N=1)
            space = pikepdf.Array([Name.Separation, Name.All, Name.DeviceCMYK, tint])
            self._every = self._pdf.make_indirect(space)
        return self._every

    def _marks_layer(self) -> pikepdf.Object:
        """The optional content group of the marks, on by default; the manuscript's own layers keep their states."""
        if self._layer is not None:
            return self._layer
        root = self._pdf.Root
        usage = Dictionary(Print=Dictionary(Subtype=Name.PrintersMarks, PrintState=Name.ON))
        layer = self._layer = self._pdf.make_indirect(Dictionary(Type=Name.OCG, Name=_LAYER, Usage=usage))
        properties = root.get("/OCProperties")
        if not isinstance(properties, Dictionary):
            root["/OCProperties"] = Dictionary()
            properties = root["/OCProperties"]
        groups = properties.get("/OCGs")
        properties["/OCGs"] = [*(groups.as_list() if isinstance(groups, pikepdf.Array) else []), layer]
        usual = properties.get("/D")
        if not isinstance(usual, Dictionary):
            properties["/D"] = Dictionary(Order=[])
            usual = properties["/D"]
        listed = ["/Order"] if "/Order" in usual else []
        if usual.get("/BaseState", Name.ON) != Name.ON:
            listed.append("/ON")
        for key in listed:
            given = usual.get(key)
            usual[key] = [*(given.as_list() if isinstance(given, pikepdf.Array) else []), layer]
        return layer

    def _keep_intents(self, pages: Sequence[pikepdf.Object], page: pikepdf.Object) -> None:
        """PDF 2.0 lets a page state output intents of its own: a sheet keeps them when its pages agree."""
        stated = [own.get("/OutputIntents") for own in pages]
        intents = [array for array in stated if isinstance(array, pikepdf.Array)]
        if not intents:
            return
        first = intents[0]
        if len(intents) == len(stated) and all(array == first for array in intents):
            page["/OutputIntents"] = first
            return
        note = (
            "Pages of one sheet state different output intents of their own (PDF 2.0); a sheet can have only one, so "
            "those of the document hold."
        )
        if note not in self._notes:
            self._notes.append(note)


def _unpacks(stream: object) -> bool:
    if not isinstance(stream, pikepdf.Stream):  # a number, even
        return False
    try:
        stream.read_bytes()
    except pikepdf.PdfError:
        return False
    return True


def _metadata_open(pdf: pikepdf.Pdf) -> bool:
    try:
        pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False).get("pdf:PDFVersion")
    except Exception:  # a broken packet fails in the XML parser in many ways; it stays as it is
        return False
    return True


def _first_line(error: Exception) -> str:
    """The library's own sentence, without the path it begins with."""
    lines = str(error).strip().splitlines()
    return lines[0].rsplit(": ", 1)[-1] if lines else "no reason given"
