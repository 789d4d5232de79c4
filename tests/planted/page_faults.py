# SPDX-License-Identifier: AGPL-3.0-or-later
"""Faults of boxes, bleed, margins, type area, folios and whole pages."""

from __future__ import annotations

import zlib

import pikepdf
from pikepdf import Array, Name

from tests.planted.planting import MM, Fault, Page


def _other_size(page: Page) -> None:
    width, height = page.size
    page.leaf.MediaBox = page.leaf.CropBox = Array([0, 0, width + 30, height - 40])


def _box_outside(page: Page) -> None:
    width, height = page.size
    page.leaf.TrimBox = Array([-20, -20, width + 20, height + 20])


def _cropped(page: Page) -> None:
    width, height = page.size
    page.leaf.TrimBox = Array([0, 0, width, height])
    page.leaf.CropBox = Array([15, 15, width - 15, height - 15])


def _user_unit(page: Page) -> None:
    page.leaf.UserUnit = 1.5


def _rotated(page: Page) -> None:
    page.leaf.Rotate = 90


def _spread(page: Page) -> None:
    width, height = page.size
    page.leaf.MediaBox = page.leaf.CropBox = Array([0, 0, 2 * width, height])


def _cover(page: Page) -> None:
    width, height = page.size
    page.leaf.MediaBox = page.leaf.CropBox = Array([0, 0, 2 * width + 40, height])


def with_bleed(page: Page) -> tuple[float, float]:
    """Give a page 3 mm and more of paper round its trim; what was painted stays where it was in the trim."""
    width, height = page.size
    room = 6 * MM
    page.leaf.MediaBox = page.leaf.CropBox = Array([-room, -room, width + room, height + room])
    page.leaf.TrimBox = Array([0, 0, width, height])
    page.leaf.BleedBox = Array([-3 * MM, -3 * MM, width + 3 * MM, height + 3 * MM])
    return width, height


def _no_bleed(page: Page) -> None:
    width, height = with_bleed(page)
    page.paint(f"0.6 0 0 0 k {width - 60} 0 60 {height} re f")


def _little_bleed(page: Page) -> None:
    width, height = with_bleed(page)
    page.paint(f"0.6 0 0 0 k {width - 60} 0 {60 + 1.5 * MM} {height} re f")


def _small_bleed_box(page: Page) -> None:
    width, height = with_bleed(page)
    page.leaf.BleedBox = Array([-1 * MM, -1 * MM, width + 1 * MM, height + 1 * MM])
    page.paint(f"0.6 0 0 0 k {width - 60} {-4 * MM} {60 + 4 * MM} {height + 8 * MM} re f")


def _near_trim(page: Page) -> None:
    _, height = page.size
    page.text("1", 9, "0 0 0 1 k", at=(200, height - 9))


def _shifted_trim(page: Page) -> None:
    width, height = with_bleed(page)
    page.leaf.TrimBox = Array([4 * MM, 0, width + 4 * MM, height])


def _marks_inside(page: Page) -> None:
    width, height = page.size
    marks = []
    for x, along in ((12, 1), (width - 12, -1)):
        for y, up in ((12, 1), (height - 12, -1)):
            marks.append(f"{x} {y - up * 9} m {x} {y - up * 2} l S {x - along * 9} {y} m {x - along * 2} {y} l S")
    page.paint(f"0 0 0 1 K 0.25 w {' '.join(marks)}")


def _endless(page: Page) -> None:
    page.paint("0 0 0 1 k " + "9 9 1 1 re f\n" * 200_010)


def _spoilt(page: Page) -> None:
    page.leaf.Contents = page.stream(b"q \x00\xff\x13" * 40, Filter=Name.FlateDecode)


def _cut_short(page: Page) -> None:
    whole = zlib.compress(bytes(page.pdf.pages[page.index].Contents.read_bytes()))
    page.leaf.Contents = page.stream(whole[: len(whole) // 2], Filter=Name.FlateDecode)


def _unknown(page: Page) -> None:
    page.paint("/PlNothing Do")


def _blank(page: Page) -> None:
    page.leaf.Contents = page.stream(b" ")


def _drifted(page: Page) -> None:
    page.paint("", first=True)
    old = page.leaf.Contents
    before = page.stream(b"q 1 0 0 1 -22 0 cm\n")
    after = page.stream(b"\nQ\n")
    page.leaf.Contents = Array([before, *old, after])


def _under(page: Page, matrix: str) -> None:
    """Everything on the page through a matrix."""
    page.paint("", first=True)
    page.leaf.Contents = Array(
        [page.stream(f"q {matrix} cm\n".encode()), *page.leaf.Contents, page.stream(b"\nQ\n")]  # type: ignore[misc]
    )


def _wider(page: Page) -> None:
    _under(page, "1.05 0 0 1.05 -9 -12")


def _master_of_the_other_side(page: Page) -> None:
    _under(page, f"1 0 0 1 {10.13 * MM:.3f} 0")  # the margins of the book, 15.7 and 25.8 mm


def _near_the_spine(page: Page) -> None:
    page.text("a word in the gutter", 9, "0 0 0 1 k", at=(14, 60))


def _over_the_spine(page: Page) -> None:
    width, _ = page.size
    page.paint("0 0 0 0.4 k 0 200 150 180 re f")
    Page(page.pdf, page.index - 1).paint(f"0 0 0 0.4 k {width - 150} 200 150 180 re f")


def _sheets(page: Page) -> None:
    """Every page turned into a printer's pair of a stitched book: two folios at its foot."""
    width, height = page.size
    count = len(page.pdf.pages)
    del page.pdf.pages[count // 2 :]
    for index in range(count // 2):
        ends = (count - index, index + 1) if index % 2 == 0 else (index + 1, count - index)
        leaf = Page(page.pdf, index)
        leaf.leaf.Contents = leaf.stream(b" ")
        for x, number in zip((width / 4, width / 4 * 3), ends, strict=True):
            leaf.text(str(number), 9, "0 0 0 1 k", at=(x, height / 12))


def _doubled(page: Page) -> None:
    page.pdf.pages.insert(page.index + 1, page.pdf.pages[page.index])


def _missing(page: Page) -> None:
    del page.pdf.pages[page.index : page.index + 2]


def _exchanged(page: Page) -> None:
    taken = pikepdf.Page(page.pdf.pages[page.index])
    del page.pdf.pages[page.index]
    page.pdf.pages.insert(page.index + 2, taken)


def _one_more(page: Page) -> None:
    page.pdf.add_blank_page(page_size=page.size)
    blank = pikepdf.Page(page.pdf.pages[-1])
    del page.pdf.pages[-1]
    page.pdf.pages.insert(page.index, blank)


FAULTS = (
    Fault("a page of another size", "trim-size", _other_size),
    Fault("a TrimBox that lies outside the MediaBox", "reader-mends", _box_outside, anywhere=True),
    Fault("a CropBox that cuts into the trim", "box-order", _cropped),
    Fault("a UserUnit on one page", "user-unit", _user_unit),
    Fault("a page turned by a quarter", "page-turn", _rotated, anywhere=True),
    Fault("a page supplied as a spread", "spreads", _spread),
    Fault("the cover among the pages", "cover-among-pages", _cover, alone=True, first=True),
    Fault("matter that ends at the trim", "bleed", _no_bleed),
    Fault("half the bleed", "bleed", _little_bleed),
    Fault("a BleedBox that is too small", "bleed-box", _small_bleed_box, anywhere=True),
    Fault("a word at the trim", "live-margin", _near_trim),
    Fault("a trim that stands aside", "trim-offset", _shifted_trim, anywhere=True),
    Fault("trim marks inside the page", "trim-marks", _marks_inside),
    Fault("a page of more objects than anybody looks at", "lost-pages", _endless, alone=True),
    Fault("content that does not unpack", "broken-content", _spoilt),
    Fault("content that is cut short", "broken-content", _cut_short),
    Fault("a picture that is not there", "broken-content", _unknown),
    Fault("a page without content", "blank-pages", _blank, anywhere=True),
    Fault("a page whose type stands aside", "type-area-drift", _drifted, anywhere=True),
    Fault("a page set wider", "page-of-other-measure", _wider),
    Fault("a recto on the master of versos", "gutter-side", _master_of_the_other_side),
    Fault("a word in the gutter", "inner-margin", _near_the_spine),
    Fault("a tint over the spine", "crossovers", _over_the_spine, anywhere=True),
    Fault("printer's pairs for pages", "already-imposed", _sheets, alone=True, anywhere=True),
    Fault("a page twice", "twin-pages", _doubled, alone=True, anywhere=True),
    Fault("a folio twice", "folios", _doubled, alone=True, anywhere=True),
    Fault("two pages missing", "folios", _missing, alone=True, anywhere=True),
    Fault("pages in the wrong order", "folios", _exchanged, alone=True, anywhere=True),
    Fault("an even folio on a recto", "folios", _one_more, alone=True, anywhere=True),
)
