# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the structure of a file says beyond its pages: standards it claims, and everything that a press cannot print.

Pages are 0-based indices in order.  Objects that no page reaches are told with no page.
"""

from __future__ import annotations

from attrs import field, frozen


@frozen
class Where:
    """A thing of one kind and the pages that use it."""

    what: str  #: ``"JavaScript"``, ``"TR"``, ``"OPI 1.3"``: see the field that holds it
    detail: str  #: a name or value for people; ``""`` without
    pages: tuple[int, ...] = ()


@frozen
class Claims:
    """What a file says of itself with regard to ISO 15930 (PDF/X), as written."""

    info_version: str | None = None  #: Info /GTS_PDFXVersion
    info_conformance: str | None = None  #: Info /GTS_PDFXConformance
    xmp_version: str | None = None  #: pdfxid:GTS_PDFXVersion, or pdfx:GTS_PDFXVersion
    xmp_conformance: str | None = None
    info_trapped: str | None = None  #: ``"True"``, ``"False"``, ``"Unknown"``
    xmp_trapped: str | None = None
    #: Info: Title, CreationDate, ModDate, Creator, Producer as far as there
    info: tuple[tuple[str, str], ...] = ()
    #: XMP properties as far as there, prefixed as in the XMP specification: ``("dc:title", "…")``,
    #: ``("xmp:CreateDate", …)``, ``("xmpMM:DocumentID", …)``, ``("xmpMM:RenditionClass", …)``
    xmp: tuple[tuple[str, str], ...] = ()
    has_xmp: bool = False
    has_id: bool = False  #: trailer /ID with two strings


@frozen
class Profile:
    """An ICC profile (ISO 15076-1, 7.2): its header."""

    valid: bool  #: reads as a profile: signature ``acsp``, size as stated, tags within it
    why: str  #: what is wrong with it, ``""`` when valid
    version: str = ""  #: ``"2.1"``
    device_class: str = ""  #: ``"prtr"``, ``"mntr"``, ``"scnr"``, ``"spac"``
    space: str = ""  #: ``"CMYK"``, ``"RGB"``, ``"GRAY"``
    description: str = ""
    components: int = 0  #: of the data colour space


@frozen
class Intent:
    """One output intent in full (ISO 32000-1, 14.11.5)."""

    subtype: str  #: ``"GTS_PDFX"``
    condition_identifier: str
    condition: str
    registry: str
    info: str
    declared_components: int | None  #: /N of the profile stream
    profile: Profile | None  #: embedded
    referenced: bool = False  #: /DestOutputProfileRef


@frozen
class ImageFact:
    """One image XObject."""

    key: str  #: object id
    width_px: int
    height_px: int
    bits: int
    space: str  #: as ``PictureUse.space``
    mask: bool  #: /ImageMask
    filters: tuple[str, ...]  #: ``("DCTDecode",)``
    interpolate: bool
    intent: str | None
    alternates: int  #: entries of /Alternates
    alternate_prints: bool  #: one of them has DefaultForPrinting
    opi: bool
    soft_mask: bool
    #: DCTDecode: quality 1 to 100 that the luminance table stands for (Independent JPEG Group's scale), ``None`` else
    jpeg_quality: int | None
    profile: Profile | None  #: ICCBased: its profile
    pages: tuple[int, ...]
    #: ``"picture"``; ``"mask"``: the /SMask or /Mask of another; ``"alternate"``: stands for another
    role: str = "picture"
    stored_bytes: int = 0  #: of the stream as it stands in the file
    #: JBIG2Decode: ``"symbols"`` where shapes are kept once and put in many places, ``"areas"`` without; ``""`` else
    coding: str = ""


@frozen
class SpotFact:
    """One separation of the file."""

    name: str
    alternate: str  #: alternate space in words
    tint: str  #: digest of alternate space and tint transform: two of one name must agree; ``""`` unknown
    pages: tuple[int, ...]


@frozen
class LayerFact:
    """One optional content group (ISO 32000-1, 8.11)."""

    name: str
    on: bool  #: by the default configuration
    #: usage /Print /PrintState, where /AS of the default configuration has it applied on printing; ``None`` else
    prints: bool | None
    locked: bool
    pages: tuple[int, ...]  #: whose content, XObjects or annotations name it
    #: of these, pages where matter that names it is hidden by the default configuration: the layer is off, or a
    #: membership of several layers says so
    hidden: tuple[int, ...] = ()


@frozen
class FontProgram:
    """What the embedded program of a font says."""

    key: str  #: key into ``Manuscript.fonts``
    fs_type: int | None  #: OS/2 fsType, or FSType of a Type 1 font; ``None`` unsaid
    bitmap: bool  #: Type 3 whose glyphs are pictures
    digest: str = ""  #: of the program's bytes
    damaged: str = ""  #: why it does not read, ``""`` when it does
    size_bytes: int = 0  #: of the stream as it stands in the file


@frozen
class FileFacts:
    """The whole of it."""

    claims: Claims = field(factory=Claims)
    intents: tuple[Intent, ...] = ()
    header_version: str = ""  #: of the first line, ``"1.7"``
    catalog_version: str | None = None
    xref: str = "table"  #: ``"table"``, ``"stream"``, ``"hybrid"``, ``"rebuilt"`` (damaged, put together by the reader)
    object_streams: bool = False
    updates: int = 0  #: incremental updates after the first writing
    encryption: str | None = None  #: ``"RC4, 128 bits"``, ``"AES, 256 bits"``
    #: what the owner does not permit: ``("printing", "changing")``
    forbidden: tuple[str, ...] = ()
    #: JavaScript; detail: where it hangs (``"document, name"``, ``"opening"``, ``"button or field"``)
    scripts: tuple[Where, ...] = ()
    #: all other actions, plain jumps too; what: the kind (``"GoTo"``, ``"URI"``, ``"Launch"``, ``"SubmitForm"``)
    actions: tuple[Where, ...] = ()
    #: what: ``"file"``, detail: its name; or ``"portfolio"``, when the attachments are the document
    attachments: tuple[Where, ...] = ()
    media: tuple[Where, ...] = ()  #: Sound, Movie, Screen, RichMedia, 3D
    fields: int = 0  #: form fields
    xfa: bool = False
    layers: tuple[LayerFact, ...] = ()
    layer_configurations: int = 0  #: beyond the default one
    images: tuple[ImageFact, ...] = ()
    spots: tuple[SpotFact, ...] = ()
    programs: tuple[FontProgram, ...] = ()
    opi: tuple[Where, ...] = ()
    postscript: tuple[Where, ...] = ()  #: PostScript XObjects, and forms with /PS
    #: ``"Ref"``: form XObjects that have it; ``"F"``: forms, pictures, content whose data lie in the file ``detail``
    reference_forms: tuple[Where, ...] = ()
    #: keys of graphics states that meddle with the press: TR, TR2, HT, HTP, BG, BG2, UCR, UCR2, where not Default or
    #: Identity
    device_states: tuple[Where, ...] = ()
    #: transparency as the resources could bring it: ``"SMask"``, ``"CA"``, ``"ca"``, ``"BM"``, ``"Group"``; detail:
    #: value
    transparency: tuple[Where, ...] = ()
    #: colour spaces as the resources name them, in words; what: the space; detail: ``"DefaultRGB"`` and the like for
    #: one that stands in for a device space
    spaces: tuple[Where, ...] = ()
    filters: tuple[Where, ...] = ()  #: of all streams that pages reach; what: ``"LZWDecode"``
    #: places of the page tree that name no page that can be read, where it does not hold as many as it says
    absent_pages: int = 0
    #: pages with a /UserUnit
    page_user_units: tuple[int, ...] = ()
    #: pages that state both TrimBox and ArtBox, and those that state neither
    both_boxes: tuple[int, ...] = ()
    neither_box: tuple[int, ...] = ()
    #: digest of a page's content and everything it reaches: pages alike have the same, also when copied with all that
    #: they use; good within the file only
    page_digests: tuple[str, ...] = ()
