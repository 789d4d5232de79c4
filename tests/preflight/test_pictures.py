# SPDX-License-Identifier: AGPL-3.0-or-later
"""The checks on pictures through the real passes, and what is told of pictures against ``pdfimages -list``."""

from __future__ import annotations

import io
import re
import time
import zlib
from collections import defaultdict
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pikepdf
import pytest
from attrs import evolve
from pikepdf import Array, Dictionary, Name, Stream
from PIL import Image

from foldproof.job.model import Job
from foldproof.manuscript.file_facts import FileFacts, ImageFact
from foldproof.manuscript.model import Manuscript, Observations
from foldproof.manuscript.observe import Lot, look_at, observe, turn_of
from foldproof.manuscript.read import read
from foldproof.manuscript.trim import book_trim_mm
from foldproof.pdf.interpreter import Book
from foldproof.preflight.model import Facts, Finding, NotJudged
from foldproof.preflight.pictures import placed
from foldproof.preflight.registry import check_named
from foldproof.preflight.run import check
from foldproof.preflight.specs import load_spec
from foldproof.workers import Workers
from tests.build import book
from tests.preflight.cases import PLAIN
from tests.preflight.cases_pictures import an_image
from tests.preflight.facts import a_picture, an_object, the_house
from tests.preflight.facts import facts as made_facts
from tests.profiles import cmyk_profile

PICTURES = (
    "hidden-picture-matter", "inline-pictures", "jbig2", "jpeg-2000", "jpeg-quality", "picture-colour", "picture-depth",
    "picture-distortion", "picture-interpolation", "picture-mirrored", "picture-resolution", "picture-turned",
)  # fmt: skip
#: 300 x 300 pixels on 25.4 mm are 300 ppi
SIZE, UPRIGHT = (300, 300), "72 0 0 72 100 200"


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers(2) as some:
        yield some


def facts_of(path: Path, workers: Workers) -> Facts:
    manuscript = read(path)
    trim_mm = book_trim_mm(manuscript, None)
    seen = observe(
        manuscript, workers, trim_mm=trim_mm, bleed_mm=3.0, needs=frozenset({"objects"}), advance=lambda steps: None
    )
    return Facts(manuscript, seen, Job(), the_house(), trim_mm, 3.0, grain_along_spine=True)


def found(facts: Facts, spec: str = "colour-on-coated") -> list[Finding]:
    rules = load_spec(spec)
    return [f for name in PICTURES for f in check_named(name).run(facts, rules.limits_of(check_named(name)))]


def causes(findings: list[Finding]) -> list[tuple[int | None, str]]:
    return [(f.page, f.cause) for f in findings]


# --- built pages --------------------------------------------------------------------------------------------------


@cache
def mandelbrot(mode: str = "L", size: tuple[int, int] = SIZE) -> Image.Image:
    grey = Image.effect_mandelbrot(size, (-2.2, -1.4, 0.9, 1.4), 60)
    return grey if mode == "L" else Image.merge(mode, [grey] * len(mode))


class Made(NamedTuple):
    """An image XObject, and how the page paints it."""

    data: bytes
    entries: dict[str, Any]
    matrix: str = UPRIGHT
    before: str = ""


def plain(size: tuple[int, int] = SIZE, *, matrix: str = UPRIGHT, before: str = "", **more: Any) -> Made:
    entries = {"Width": size[0], "Height": size[1], "BitsPerComponent": 8, "ColorSpace": Name.DeviceGray}
    data = zlib.compress(mandelbrot(size=size).tobytes())
    return Made(data, {**entries, "Filter": Name.FlateDecode, **more}, matrix, before)


def coded(form: str, filters: Name, mode: str = "L", **options: Any) -> Made:
    held = io.BytesIO()
    mandelbrot(mode).save(held, form, **options)
    space = {"L": Name.DeviceGray, "CMYK": Name.DeviceCMYK, "RGB": Name.DeviceRGB}[mode]
    return plain(Filter=filters, ColorSpace=space)._replace(data=held.getvalue())


def painted(*made: Made) -> dict[str, Any]:
    """Arguments of a book whose third page paints these, each 90 points above the last."""

    def add(pdf: pikepdf.Pdf) -> None:
        held, operators = Dictionary(), []
        for number, one in enumerate(made):
            image = Stream(pdf, one.data)
            image.Type, image.Subtype = Name.XObject, Name.Image
            for key, value in one.entries.items():
                image["/" + key] = value() if callable(value) else value
            held[f"/P{number}"] = pdf.make_indirect(image)
            operators.append(f"q 1 0 0 1 0 {90 * number} cm {one.before} {one.matrix} cm /P{number} Do Q\n")
        page = pdf.pages[2]
        page.Resources.XObject = held
        page.contents_add("".join(operators).encode())

    return {"after": add}


@pytest.fixture
def judged(workers: Workers, tmp_path: Path) -> Callable[..., list[Finding]]:
    def run(*made: Made, spec: str = "colour-on-coated", **more: Any) -> list[Finding]:
        path = book(4, tmp_path / "a.pdf", **(painted(*made) if made else {}), **more)
        return found(facts_of(path, workers), spec)

    return run


Judged = Callable[..., list[Finding]]


def jbig2(*kinds: int) -> Made:
    """A page of 64 x 64 with segments of these types, as far as their headers go (T.88, 7.2 and 7.4.8)."""
    page = bytes([0, 0, 0, 0, 48, 0, 1, 0, 0, 0, 19, 0, 0, 0, 64, 0, 0, 0, 64]) + bytes(11)
    more = b"".join(bytes([0, 0, 0, n + 1, kind, 0, 1, 0, 0, 0, 30]) + bytes(30) for n, kind in enumerate(kinds))
    made = plain((64, 64), matrix="5 0 0 5 100 200", Filter=Name.JBIG2Decode, BitsPerComponent=1)
    return made._replace(data=page + more)


def sixteen_bits() -> Made:
    made = plain(BitsPerComponent=16)
    return made._replace(data=zlib.compress(bytes(v for g in mandelbrot().tobytes() for v in (g, g))))


CASES: dict[str, tuple[tuple[Made, ...], str | None, str]] = {
    "a sound picture": ((plain(),), None, ""),
    "a sound JPEG": ((coded("JPEG", Name.DCTDecode, quality=85),), None, ""),
    "a sound JPEG in CMYK": ((coded("JPEG", Name.DCTDecode, "CMYK", quality=85),), None, ""),
    "1,800 ppi": ((plain((900, 900), matrix="36 0 0 36 100 200"),), "picture-resolution/contone-high", "1800 ppi"),
    "stretched": ((plain(matrix="108 0 0 72 100 200"),), "picture-distortion", "stretched by 50 % in width"),
    "turned and stretched": ((plain(matrix="0 108 -72 0 200 200"),), "picture-distortion", "50 % in width"),
    "RGB": ((coded("JPEG", Name.DCTDecode, "RGB", quality=85),), "picture-colour/RGB", "a picture is in RGB"),
    "16 bits": ((sixteen_bits(),), "picture-depth", "16 bits"),
    "JPEG 2000": ((coded("JPEG2000", Name.JPXDecode),), "jpeg-2000", "a picture is coded as JPEG 2000"),
    "JBIG2 with shapes": ((jbig2(0, 6),), "jbig2/symbols", "Compare figures"),
    "JBIG2 pixel by pixel": ((jbig2(38),), "jbig2/areas", "as JBIG2"),
    "JPEG of quality 12": ((coded("JPEG", Name.DCTDecode, quality=12),), "jpeg-quality", "quality 12 of 100"),
    "JPEG of quality 30": ((coded("JPEG", Name.DCTDecode, quality=30),), "jpeg-quality", "quality 30 of 100"),
    "one JPEG of two": (
        (coded("JPEG", Name.DCTDecode, quality=90), coded("JPEG", Name.DCTDecode, quality=12)),
        "jpeg-quality", "one of 2 pictures",
    ),
    "mirrored": ((plain(matrix="-72 0 0 72 200 200"),), "picture-mirrored/sides", "left to right"),
    "mirrored top to bottom": ((plain(matrix="72 0 0 -72 100 280"),), "picture-mirrored/upside-down", "top to bottom"),
    "a quarter turn": ((plain(matrix="0 72 -72 0 200 200"),), None, ""),
    "crooked by a degree": (
        (plain(matrix="71.989 1.2566 -1.2566 71.989 100 200"),), "picture-turned/crooked", "turned by 1.0 degrees",
    ),
    "upside down": ((plain(matrix="-72 0 0 -72 200 280"),), "picture-turned/head", "upside down"),
    "slanted": ((plain(matrix="72 0 20 72 100 200"),), "picture-turned/skewed", "slanted"),
    "a corner of it behind the clip": (
        (plain((1200, 1200), matrix="288 0 0 288 60 150", before="100 200 40 40 re W n"),),
        "hidden-picture-matter/clipped", "2 % of a picture is seen",
    ),
    "beyond the page": (
        (plain((1200, 1200), matrix="288 0 0 288 -400 150"),),
        "hidden-picture-matter/clipped", "nothing of a picture is seen",
    ),
    "off the page by a slip": (
        # 23 of 72 points stand on a trim of 140 mm and its bleed of 3 mm
        (plain(matrix="72 0 0 72 390.86 200"),), "hidden-picture-matter/off-page", "32 % of a picture is seen",
    ),
    "clipped along its edge": (
        (plain((1200, 1200), matrix="288 0 0 288 60 150", before="60 150 288 288 re W n"),), None, "",
    ),
    "smoothed": (
        (plain(Interpolate=True, matrix="108 0 0 108 100 200"),), "picture-interpolation", "smoothed (200 ppi)",
    ),
    "smoothed, and fine": ((plain(Interpolate=True),), None, ""),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_a_built_picture(judged: Judged, name: str) -> None:
    made, cause, says = CASES[name]
    findings = judged(*made)
    # 200 ppi are also asked about as such
    kept = [f for f in findings if (name, f.check) != ("smoothed", "picture-resolution")]
    if name == "turned and stretched":  # 200 ppi one way
        kept = [f for f in kept if f.check != "picture-resolution"]
    if name == "stretched":
        kept = [f for f in kept if f.check != "picture-resolution"]
    assert causes(kept) == ([(3, cause)] if cause else []), [f.problem for f in kept]
    for finding in kept:
        assert says in f"{finding.problem} {finding.remedy}"
        assert finding.place_mm is not None


@pytest.mark.parametrize(
    ("spec", "severity"),
    [("any-book", "note"), ("colour-on-uncoated", "query"), ("colour-on-coated", "query"),
     ("one-colour-text-on-uncoated", "query")],
)  # fmt: skip
def test_severities_by_spec(workers: Workers, tmp_path: Path, spec: str, severity: str) -> None:
    """Of a book of which nothing is known stretched pictures and JBIG2 are noted, elsewhere asked about."""
    path = book(4, tmp_path / "a.pdf", **painted(plain(matrix="100 0 0 72 100 200"), jbig2(0, 6)))
    findings = check(facts_of(path, workers), load_spec(spec)).items
    told = {f.check: str(f.severity) for f in findings if f.check in ("picture-distortion", "jbig2")}
    assert told == {"picture-distortion": severity, "jbig2": severity}


def inline(pixels: int) -> str:
    rows = mandelbrot(size=(pixels, pixels)).tobytes().hex()
    return f"q 60 0 0 60 100 200 cm BI /W {pixels} /H {pixels} /CS /G /BPC 8 /F /AHx ID {rows}> EI Q\n"


def test_inline_pictures(judged: Judged) -> None:
    large = judged(each=lambda index: {"content": inline(200)} if index == 2 else {}, spec="any-book")
    assert causes(large) == [(3, "inline-pictures")]
    assert "a picture of 40 KB stands" in large[0].problem
    small = judged(each=lambda index: {"content": inline(60)} if index == 2 else {}, spec="any-book")
    assert "inline-pictures" not in {f.check for f in small}


def test_rules_made_of_one_pixel_say_nothing(judged: Judged) -> None:
    """Staff lines as stencils of 1 x 1 pixel, as music programs write them."""
    rule = "BI /W 1 /H 1 /IM true /BPC 1 ID \x00 EI"
    lines = "".join(f"q 200 0 0 0.4 60 {200 + 4 * n} cm {rule} Q\n" for n in range(5))
    assert judged(each=lambda index: {"content": lines} if index == 2 else {}) == []


@pytest.mark.parametrize(("pixels", "cause"), [(8, None), (40, "picture-resolution/contone")])
def test_a_pattern_is_judged_by_its_tile(judged: Judged, pixels: int, cause: str | None) -> None:
    """Pixels of 1/72 in: a hatching of 2.8 mm says nothing, a picture of 14 mm that is repeated does."""

    def add(pdf: pikepdf.Pdf) -> None:
        image = Stream(pdf, mandelbrot(size=(pixels, pixels)).tobytes())
        image.Type, image.Subtype, image.Width, image.Height = Name.XObject, Name.Image, pixels, pixels
        image.BitsPerComponent, image.ColorSpace = 8, Name.DeviceGray
        pattern = Stream(pdf, f"{pixels} 0 0 {pixels} 0 0 cm /P Do".encode())
        pattern.PatternType = pattern.PaintType = pattern.TilingType = 1
        pattern.XStep = pattern.YStep = pixels
        pattern.BBox = Array([0, 0, pixels, pixels])
        pattern.Resources = Dictionary(XObject=Dictionary(P=pdf.make_indirect(image)))
        page = pdf.pages[2]
        page.Resources.Pattern = Dictionary(T=pdf.make_indirect(pattern))
        page.contents_add(b"q /Pattern cs /T scn 60 150 200 200 re f Q")

    assert causes(judged(after=add)) == ([(3, cause)] if cause else [])


def test_a_picture_that_is_named_and_never_painted_says_nothing(judged: Judged) -> None:
    hard, sound = coded("JPEG", Name.DCTDecode, quality=12), coded("JPEG", Name.DCTDecode, quality=90)
    add = painted(sound, hard)["after"]

    def only_the_first(pdf: pikepdf.Pdf) -> None:
        add(pdf)
        page = pdf.pages[2]
        last = page.Contents[-1]
        last.write(last.read_bytes().split(b"\n")[0])

    assert judged(after=only_the_first) == []


def test_a_profile_other_than_the_output_intents(judged: Judged) -> None:
    def add(pdf: pikepdf.Pdf) -> None:
        def stream(data: bytes) -> pikepdf.Object:
            made = Stream(pdf, data)
            made.N = 4
            return pdf.make_indirect(made)

        image = Stream(pdf, bytes(SIZE[0] * SIZE[1] * 4))
        image.Type, image.Subtype, image.Width, image.Height = Name.XObject, Name.Image, *SIZE
        image.BitsPerComponent = 8
        image.ColorSpace = Array([Name.ICCBased, stream(cmyk_profile("Lantern Row Newsprint"))])
        page = pdf.pages[2]
        page.Resources.XObject = Dictionary(P=pdf.make_indirect(image))
        page.contents_add(b"q 72 0 0 72 100 200 cm /P Do Q")
        intent = Dictionary(
            Type=Name.OutputIntent, S=Name.GTS_PDFX, OutputConditionIdentifier=pikepdf.String("Lantern Coated"),
            DestOutputProfile=stream(cmyk_profile("Lantern Row Coated")),
        )  # fmt: skip
        pdf.Root.OutputIntents = Array([pdf.make_indirect(intent)])

    [finding] = judged(after=add)
    assert finding.cause == "picture-colour/profile"
    assert '"Lantern Row Newsprint"' in finding.problem and '"Lantern Row Coated"' in finding.problem


@pytest.mark.parametrize("check", PICTURES)
def test_pictures_that_were_not_looked_at_are_not_judged(check: str) -> None:
    unseen = evolve(PLAIN, observations=Observations((None,) * 16, (None,) * 16))
    entry = check_named(check)
    with pytest.raises(NotJudged, match="not looked at"):
        list(entry.run(unseen, load_spec("any-book").limits_of(entry)))


def test_joining_takes_time_in_proportion() -> None:
    """20,000 paintings of 2,000 objects in well under a second of work: none is held against all others."""
    images = tuple(an_image(f"{n} 0", pages=(n // 200,), width_px=600 + n % 200) for n in range(2000))
    uses = tuple(a_picture(300, pixels=(600 + n % 200, 400)) for n in range(2000))
    many = made_facts(
        count=10,
        objects={page: an_object(page, pictures=uses) for page in range(10)},
        book={"facts": FileFacts(images=images)},
    )
    start = time.process_time()
    joined = placed(many)
    assert time.process_time() - start < 2.0
    assert len(joined) == 20_000 and all(len(one.images) == 1 for one in joined)


# --- pdfimages ----------------------------------------------------------------------------------------------------

BOOKS = (
    "ctwill-150x240", "debian-edu-manual", "debian-install.ja", "kaytannollista-latexia-a5", "lilypond-learning",
    "musixdoc-595x792", "ngspice-manual", "pari-users", "pgfplots", "r-fullrefman", "r-intro", "tex-by-topic",
)  # fmt: skip
HARD = (
    "debian__colorspace-spot", "ocr__cmyk", "ocr__masks", "ocr__poster", "pdf20__PDF_2.0_with_page_level_output_intent",
    "pdfium__bug_343075986", "pikepdf__cmyk-jpeg", "pikepdf__jbig2", "pikepdf__pike-flate-jp2", "pikepdf__pike-jp2",
    "qpdf__image-streams-small", "sample__009-pdflatex-geotopo__GeoTopo-komprimiert", "ocr__jbig2_baddevicen",
    "pdfjs__images_1bit_grayscale",
)  # fmt: skip
COLOURS = {
    "Indexed": "index", "ICCBased": "icc", "DeviceGray": "gray", "CalGray": "gray", "DeviceRGB": "rgb", "CalRGB": "rgb",
    "DeviceCMYK": "cmyk", "Separation": "sep", "DeviceN": "devn", "Lab": "lab", "none": "-",
}  # fmt: skip
CODINGS = {"DCTDecode": "jpeg", "JPXDecode": "jpx", "JBIG2Decode": "jbig2", "CCITTFaxDecode": "ccitt"}
#: pdfimages tells the bits that the dictionary states; of JPEG 2000 these count for nothing (ISO 32000-1, 7.4.9), and
#: both files are coded in 16
DEEPER = {"pikepdf__pike-jp2": 16, "pikepdf__pike-flate-jp2": 16}


#: its pages put a profile in the place of DeviceCMYK (DefaultCMYK, ISO 32000-1, 8.6.5.6), and pdfimages tells that; the
#: objects are told as they are written
REPLACED = {"ocr__cmyk": {"icc": "cmyk"}}


LookedAt = Callable[[Path], tuple[Manuscript, Observations]]


class Row(NamedTuple):
    """What both sides tell of one painting of an image XObject."""

    page: int
    key: str
    kind: str
    width: int
    height: int
    colour: str
    bits: int
    coding: str
    smoothed: bool


def rows_of(listed: str, path: Path) -> tuple[dict[Row, list[tuple[float, float]]], dict[str, float]]:
    """Rows of ``pdfimages -list`` with their resolutions, inline pictures left out; and stored sizes by object."""
    rows: dict[Row, list[tuple[float, float]]] = defaultdict(list)
    sizes: dict[str, float] = {}
    for line in listed.splitlines()[2:]:
        page, _, kind, width, height, colour, _, bits, coding, smoothed, *rest = line.split()
        if rest[0] == "[inline]":
            continue
        number, generation, x, y, size, _ = rest
        key = f"{number} {generation}"
        colour = REPLACED.get(path.stem, {}).get(colour, colour)
        bits = str(DEEPER.get(path.stem, bits)) if coding == "jpx" else bits
        row = Row(int(page), key, kind, int(width), int(height), colour, int(bits), coding, smoothed == "yes")
        rows[row].append((float(x), float(y)))
        if kind in ("smask", "mask"):  # listed under the object that they are the mask of
            continue
        figure, unit = re.fullmatch(r"([\d.]+)([BKMG])", size).groups()  # type: ignore[union-attr]
        sizes[key] = float(figure) * {"B": 1, "K": 1024, "M": 1024**2, "G": 1024**3}[unit]
    return dict(rows), sizes


def seen_on(manuscript: Manuscript, pages: set[int]) -> Observations:
    """Of these pages alone, in this process."""
    turns = tuple(turn_of(manuscript.pages[index]) for index in sorted(pages))
    seen = []
    while len(seen) < len(turns):  # a lot gives back what it has no time for
        seen += look_at(Lot(Book(manuscript.path, manuscript.sha256), turns[len(seen) :], 3.0, True, False))
    by_page = {look.index: look.objects for look in seen}
    count = len(manuscript.pages)
    return Observations(tuple(by_page.get(index) for index in range(count)), (None,) * count)


def told_of(image: ImageFact, page: int, key: str) -> Row:
    return Row(
        page,
        key,
        "stencil" if image.mask else "smask" if image.role == "mask" else "image",
        image.width_px,
        image.height_px,
        COLOURS[image.space.partition("(")[0]],
        image.bits,
        CODINGS.get(image.filters[-1] if image.filters else "", "image"),
        image.interpolate,
    )


@pytest.mark.corpus
@pytest.mark.parametrize("name", [f"books/{one}" for one in BOOKS] + [f"hard/{one}" for one in HARD])
def test_pictures_and_their_objects_against_pdfimages(
    name: str, corpus: Path, looked_at: LookedAt, pdfimages_list: Callable[[Path], str]
) -> None:
    """Kind, pixels, colour, bits, coding, smoothing and resolution of every painting; the weight of every object."""
    path = corpus / f"{name}.pdf"
    if not path.exists():
        pytest.skip(f"{path.name} is not in the corpus")
    theirs, sizes = rows_of(pdfimages_list(path), path)
    whole = name.startswith("books/")
    manuscript, seen = looked_at(path) if whole else (read(path), None)
    images = {image.key: image for image in manuscript.facts.images if image.role == "picture"}
    if not theirs:  # most books of text
        assert not images
        return
    seen = seen or seen_on(manuscript, {row.page - 1 for row in theirs})
    trim_mm = book_trim_mm(manuscript, None)
    facts = Facts(manuscript, seen, Job(), the_house(), trim_mm, 3.0, grain_along_spine=True)
    # page, object and ppi of every painting on our side; where several objects fit, the painting stands at each
    mine: dict[tuple[int, str], list[tuple[float, float]]] = defaultdict(list)
    fits: dict[tuple[int, str], set[str]] = {}
    for one in placed(facts):
        for image in one.images:
            mine[one.index + 1, image.key].append((one.use.ppi_x, one.use.ppi_y))
            fits[one.index + 1, image.key] = {fit.key for fit in one.images}
    of_others = [image for image in manuscript.facts.images if image.role == "mask"]
    masks = {told_of(image, page + 1, "") for image in of_others for page in image.pages}
    for row, resolutions in theirs.items():
        image = images[row.key]
        if row.kind in ("smask", "mask"):
            assert row._replace(key="", kind="smask" if row.colour != "-" else "stencil") in masks
            assert image.soft_mask == (row.kind == "smask")
            continue
        assert told_of(image, row.page, row.key) == row
        assert row.page - 1 in image.pages
        # pdfimages rounds sizes to three figures
        assert image.stored_bytes == pytest.approx(sizes[row.key], rel=0.05, abs=1)
        here = mine[row.page, row.key]
        # poppler does not count UserUnit
        unit = manuscript.pages[row.page - 1].user_unit
        for x, y in ((x / unit, y / unit) for x, y in resolutions):
            assert any(abs(a - x) <= 0.51 and abs(b - y) <= 0.51 for a, b in here), (row, here)
        if len(fits[row.page, row.key]) == 1:
            assert len(here) == len(resolutions)
    painted_there = {(row.page, row.key) for row in theirs if row.kind in ("image", "stencil")}
    # what is joined with one object alone is what pdfimages says was painted
    assert {where for where, keys in fits.items() if len(keys) == 1} <= painted_there
