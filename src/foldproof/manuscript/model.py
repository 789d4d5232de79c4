# SPDX-License-Identifier: AGPL-3.0-or-later
"""The noun of the read stage: what the PDF says, page by page, as frozen facts without handles.

Frames used here.  *media*: the page's default user space, as written, in PDF units (a unit is ``user_unit`` points).
*trim*: origin at the lower left corner of the trim, y up, the page upright as a reader sees it after /Rotate, in
points or millimetres of paper (``user_unit`` already counted).
"""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path

from attrs import field, frozen

from foldproof.geometry import Matrix, Rect
from foldproof.manuscript.file_facts import FileFacts
from foldproof.manuscript.seen import InkPeak, PaintUse, PrintedNumber, TextUse, Transparency, TypeArea


class TrimSource(StrEnum):
    """Where the trim of a page was taken from."""

    TRIM_BOX = "TrimBox"
    JOB = "job"
    CROP_BOX = "CropBox"
    MEDIA_BOX = "MediaBox"


class FontKind(StrEnum):
    """How a font is built (ISO 32000-1, 9.6 to 9.7)."""

    TYPE1 = "Type 1"
    TYPE1_CFF = "Type 1 (CFF)"
    TRUETYPE = "TrueType"
    TRUETYPE_CFF = "TrueType (OpenType CFF)"
    CID_CFF = "CID (CFF)"
    CID_TRUETYPE = "CID (TrueType)"
    TYPE3 = "Type 3"
    MULTIPLE_MASTER = "Type 1 (multiple master)"
    UNKNOWN = "unknown"


class PictureKind(StrEnum):
    """What a picture is made of, as far as resolution is concerned."""

    CONTONE = "contone"  #: more than one bit a sample
    LINE_WORK = "line work"  #: one bit a pixel
    STENCIL = "stencil"  #: an image mask painted with the current colour, one bit
    SOFT_MASK = "soft mask"  #: the transparency of another picture


@frozen
class Boxes:
    """The five boxes of a page, in the media frame, defaults filled in and corners in order.

    Defaults and clipping to the MediaBox follow ISO 32000-1, 14.11.2; swapped corners 7.9.5.
    """

    media: Rect
    crop: Rect
    bleed: Rect
    trim: Rect
    art: Rect
    #: names of the boxes that the file itself states (own or inherited): ``{"MediaBox", "TrimBox"}``
    stated: frozenset[str]
    trim_source: TrimSource
    #: names of the boxes that run beyond the MediaBox as written; here they are cut back to it
    beyond: frozenset[str] = frozenset()


@frozen
class FontFact:
    """One font object of the file."""

    key: str  #: object id such as ``"12 0"``; for direct objects a made-up one, stable for a file
    name: str  #: BaseFont without slash, subset prefix included; ``""`` for nameless Type 3
    kind: FontKind
    embedded: bool
    subset: bool


@frozen
class AnnotationFact:
    """One annotation of a page."""

    subtype: str  #: without slash: ``"Link"``, ``"Widget"``, ``"Text"``
    prints: bool  #: would appear on paper: Print flag set, not Hidden, an appearance to draw
    shows: bool  #: would appear on screen
    place_mm: Rect  #: trim frame


@frozen
class PageFact:
    """What the structure of the file says of one page."""

    index: int  #: 0-based
    boxes: Boxes
    rotate: int  #: 0, 90, 180 or 270, clockwise, normalised
    user_unit: float
    label: str | None  #: from /PageLabels; ``None`` where the file has none
    fonts: tuple[str, ...]  #: keys into ``Manuscript.fonts``, those of forms, patterns, Type 3, appearances included
    annotations: tuple[AnnotationFact, ...]
    has_content: bool
    group_space: str | None  #: colour space of the page's transparency group, ``None`` without one

    @property
    def number(self) -> int:
        """1-based, as people and PDF readers count."""
        return self.index + 1

    @property
    def to_trim(self) -> Matrix:
        """Media frame (PDF units) to trim frame (points)."""
        trim, unit = self.boxes.trim, self.user_unit
        move = Matrix.translation(-trim.x0, -trim.y0).then(Matrix.scaling(unit, unit))
        width, height = trim.width * unit, trim.height * unit
        # /Rotate turns clockwise (ISO 32000-1, table 30); afterwards the corner is brought back to the origin.
        match self.rotate:
            case 90:
                return move.then(Matrix.quarter_turns(-1)).then(Matrix.translation(0, width))
            case 180:
                return move.then(Matrix.quarter_turns(2)).then(Matrix.translation(width, height))
            case 270:
                return move.then(Matrix.quarter_turns(1)).then(Matrix.translation(height, 0))
        return move

    @property
    def trim_size_pt(self) -> tuple[float, float]:
        """Width and height of the trim as a reader sees it (after /Rotate and UserUnit)."""
        width, height = self.boxes.trim.width * self.user_unit, self.boxes.trim.height * self.user_unit
        return (height, width) if self.rotate in (90, 270) else (width, height)


@frozen
class OutputIntentFact:
    """One entry of the catalog's /OutputIntents."""

    subtype: str
    condition: str
    components: int | None  #: channels of the embedded profile, ``None`` without one


@frozen
class Manuscript:
    """A finished interior as the file states it.  Holds no handle; cheap to pickle."""

    path: Path
    sha256: str
    size_bytes: int
    title: str
    author: str
    pdf_version: str
    pages: tuple[PageFact, ...]
    fonts: dict[str, FontFact]
    spots: tuple[str, ...]  #: names of Separation and DeviceN colorants, process names left out, in order of page
    output_intents: tuple[OutputIntentFact, ...]
    layers: tuple[str, ...]  #: names of the optional content groups
    encrypted: bool  #: opened with the empty user password
    has_form: bool
    #: what had to be put right while reading: our own sentences first ("Page 3: …"), then the library's remarks
    reader_warnings: tuple[str, ...]
    mod_date: str | None = None  #: /ModDate or else /CreationDate of the info dictionary, as written
    facts: FileFacts = field(factory=FileFacts)  #: what the structure says beyond the pages


# --- what the interpreter saw -------------------------------------------------------------------------------------


@frozen
class PictureUse:
    """One painting of one picture."""

    kind: PictureKind
    width_px: int
    height_px: int
    bits: int  #: bits a sample
    #: ``"DeviceRGB"``, ``"ICCBased(3)"``, ``"Indexed(DeviceRGB)"``, ``"Separation(Gold)"``, ``"none"`` for a stencil
    space: str
    ppi_x: float  #: along the picture's own width, from the length of the CTM's x vector on paper
    ppi_y: float
    place_mm: Rect  #: trim frame, upright rectangle round the four corners
    inline: bool = False
    #: part of ``place_mm`` that the clip (its upright box) and the MediaBox let through, ``None`` when all of it, an
    #: empty rectangle when nothing of it: see ``hidden``
    shown_mm: Rect | None = None
    mirrored: bool = False  #: flipped left to right before it was turned: the CTM has a negative determinant on paper
    turned: float = 0.0  #: degrees, counter-clockwise on paper, 0 to 360, rounded to 0.1: where its head points to
    skewed: bool = False  #: its axes are not at right angles
    overprint: bool = False
    #: stencils: the colour that fills them, native values
    values: tuple[float, ...] = ()

    @property
    def hidden(self) -> bool:
        """Nothing of it gets through its clip, or it lies outside the MediaBox: it is not printed."""
        return self.shown_mm is not None and self.shown_mm.is_empty


@frozen
class ColourUse:
    """How often a kind of paint occurs on a page."""

    space: str  #: as ``PictureUse.space``
    what: str  #: ``"fill"``, ``"stroke"``, ``"text"``, ``"picture"``, ``"shading"``
    count: int
    first_mm: Rect | None  #: trim frame: where it occurs first


@frozen
class PageObjects:
    """What the object pass saw on one page."""

    index: int
    pictures: tuple[PictureUse, ...]
    colours: tuple[ColourUse, ...]
    text_count: int  #: spans of text painted
    path_count: int
    folio: str | None  #: the printed page number, where it could be read from the page and its neighbours bear it out
    #: rules that look like trim marks: straight hairlines standing at a corner inside the page, trim frame
    mark_like: tuple[Rect, ...] = ()
    cut_short: bool = False  #: more objects than the cap: the facts are of the first ones only
    paints: tuple[PaintUse, ...] = ()
    texts: tuple[TextUse, ...] = ()
    transparency: Transparency = field(factory=Transparency)
    type_area: TypeArea | None = None
    #: numbers at head and foot that might be a folio
    numbers: tuple[PrintedNumber, ...] = ()
    #: without a folio: the number that stands where the pages round about have theirs, and does not count on with them
    odd_folio: PrintedNumber | None = None
    #: what the interpreter could not follow in the content, a clause each: ``"a stream does not unpack"``
    remarks: tuple[str, ...] = ()
    #: number of objects painted, for figures of speed
    objects: int = 0


@frozen
class EdgeInk:
    """Ink near one edge of the trim, from the raster; lengths along and across the edge in mm, trim frame."""

    edge: str  #: ``"left"``, ``"right"``, ``"foot"``, ``"head"``
    reaches: bool  #: ink touches the trim line (within a pixel)
    #: where ink touches the line: the least distance that it runs on beyond it, in mm (0 where it stops at the line)
    bleed_mm: float
    bleed_place_mm: Rect | None  #: the stretch where it runs on least
    #: ink that stays inside: distance of the nearest one from the line, ``None`` for an empty edge
    nearest_mm: float | None
    nearest_place_mm: Rect | None


@frozen
class PageInk:
    """What the ink pass saw on one page: a CMYK + spots raster, reduced to facts."""

    index: int
    blank: bool  #: no ink inside the trim
    ink_mm: Rect | None  #: box round all ink inside trim and bleed, trim frame
    edges: tuple[EdgeInk, ...]
    #: mean coverage of the trim by colorant, 0 to 1; only colorants that occur
    coverage: dict[str, float]
    peak: InkPeak | None = None  #: ``None`` for a blank page
    #: plates that it marks inside trim and bleed with a tint of 1 % or more: process in their order, then spots by
    #: name.  What is set in Separation /All asks for no plate and is left out
    inks: tuple[str, ...] = ()
    #: plates on which its strongest tint there is below 3 %, and that tint, 0 to 1
    faint: tuple[tuple[str, float], ...] = ()
    every_plate: bool = False  #: matter in Separation /All inside the trim
    #: spots among ``inks`` that the raster does not show, but may show in the colour that stands in for them: in
    #: glyphs of Type 3 and in shadings by function
    stand_in: tuple[str, ...] = ()
    #: every plate that it marks inside trim and bleed, and a digest of what the raster shows on it: two pages whose
    #: digests are alike print alike, as far as 72 dpi tell
    plates: tuple[tuple[str, str], ...] = ()


@frozen
class Observations:
    """What the two passes saw of all pages; ``lost`` names pages whose content could not be interpreted."""

    objects: tuple[PageObjects | None, ...]
    ink: tuple[PageInk | None, ...]
    lost: dict[int, str] = field(factory=dict)  #: page index: why, in words
    #: those of the lost at which a process had to be ended, or went down: whoever draws them meets the same
    ended: frozenset[int] = frozenset()
