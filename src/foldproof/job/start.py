# SPDX-License-Identifier: AGPL-3.0-or-later
"""The first job file of a book: commented, guessed from the manuscript, and valid as it stands."""

from __future__ import annotations

import json
from collections import Counter
from typing import TYPE_CHECKING

from foldproof.job.model import Marks
from foldproof.manuscript.model import TrimSource
from foldproof.units import format_mm, format_size_mm, pt_to_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from foldproof.job.model import House
    from foldproof.manuscript.model import Manuscript, PageFact

_TEXT = """\
# The job {heading}
# Written by `foldproof start`; what was guessed says so.  Lines behind a # are switched off.
# Lengths are text with a unit: "3 mm", "1/8 in", "10 pt".  A table behind a # is switched on with its lines.

[book]
title = {title}
{author}
# isbn = "978-0-00-000000-2"     # as it stands on the cover
# width x height of the trimmed page{trim_from}
trim = "{trim}"
# matter that runs off the page is printed this far beyond the trim{bleed_from}
bleed = "{bleed}"
binding = "sewn"                # or "glued", "stitched"; or "leaflet": folded, and bound by nothing
reading = "left to right"       # or "right to left"
# blanks_front = 2              # empty pages before the first; an even number

[paper]
{stock}
# without a stock of the house, say what the paper is like:
# grammage = 90                 # g/m2
# bulk = 1.3                    # cm3/g: thickness over grammage
# sheet = "640 x 900 mm"
# grain = "long"                # the side of the sheet that the fibres run along; or "short"

[sections]
# pages = 16                    # of an ordinary section: 4, 6, 8, 12, 16, 18, 24, 32 or 64
# short = "next to last"        # where a shorter section goes; or "wrapped" round a full one, "inside" one, "last"
# a scheme of the house, by name:
{fold}
# head = "closed"               # the head of the folded section: closed by a bolt, or "open"
# creep = "shift"               # push-out moves the pages towards the spine; "scale" narrows them
# signatures = "figures"        # or "letters": the 23 without J, U, W, then 2A, 2B
# signed_leaves = [1]           # leaves of a section that carry its signature; [1, 3]: the third too
# blanks = 3                    # empty pages at the end, at most

[press]
{press}
# way = "two formes"            # or "work and turn", "work and tumble", "perfecting", "one side"

[bindery]
{folder}
{line}
# lip = "high folio"            # the half of a section that stands out for the feeder; or "low folio", "none"

[run]
# copies = 500

# pages of the book that go on a stock of their own:
# [[insert]]
# first_page = 17               # page of the PDF, counted from 1, with which it begins
# pages = 4                     # a multiple of 4
# how = "round"                 # it goes round a section; or "between" two, or "inside" one
# holds = 16                    # pages of text that it goes round; only with "round"
{insert_stock}

# a picture over two pages, kept whole on the centre of a section where that can be:
# [[spread]]
# first_page = 40               # the page of the PDF on which it begins

[cover]
# kind = "case"                 # boards and cloth, as sewn books have; or "paper", as the others have, or "none"
# rounding = "flat"             # or "rounded", "rounded and backed"
# endpapers = "separate"        # or "self": the first and last leaf of the block are pasted down; or "none"
# names of the house:
{board}
{cloth}
{endpaper_stock}
{cover_stock}
# instead of what the house does by custom:
# square = "3 mm"               # board beyond the block at head, foot and fore-edge
# joint = "7 mm"                # gap between board and spine strip
# turn_in = "15 mm"
# of a paper cover:
# flaps = "0 mm"                # fold in; 0: none
# hinge = "6 mm"                # creased so far from the spine

# a paper jacket round the book:
# [jacket]
# flaps = "90 mm"
{jacket_stock}

# what a die prints in foil on spine and front board:
# [stamping]
# ink = "Gold foil"             # the spot colour that the die is drawn in
# title = "..."                 # as the book's when unsaid; "" leaves it away
# author = "..."
# spine = true
# front = true
# spine_reads = "head to foot"  # or "foot to head"
# emblem = "emblem.pdf"         # a vector drawing beside this file
# emblem_on = "front"           # or "spine", "both"
# mirror = false                # true: as the die is engraved

[marks]
# every mark is printed unless it is switched off:
{marks}

[mend]
# repairs = ["drop-comments"]   # done on a copy, and only those that are named here

[check]
# spec = "colour-on-coated"     # also: any-book, colour-on-uncoated, one-colour-text-on-uncoated, pdf-x-1a, pdf-x-3,
#                               # pdf-x-4, or a file of your own
# a finding that somebody takes on:
# [[check.waived]]
# check = "bleed"
# page = 41                     # without a page: every page
# on = "book"                   # or "cover", "jacket"; unsaid: both of them for their own checks, else the book
# reason = "the picture is meant to end at the trim"
# by = "the name of whoever says so"
"""

_MARKS = tuple(field.alias or name for name, field in Marks.model_fields.items())


def job_text(manuscript: Manuscript, *, trim_mm: tuple[float, float] | None = None, house: House | None = None) -> str:
    """A job file for this book, as TOML text that loads again.

    ``trim_mm`` is the trim to write, by default the most common one; the names come from ``house`` where it is given.
    """
    usual_mm, alike = _usual_trim_mm(manuscript)
    trim_mm = trim_mm or usual_mm
    others = len(manuscript.pages) - alike
    sources = {page.boxes.trim_source for page in manuscript.pages}
    stated = sources == {TrimSource.TRIM_BOX}
    bleed_mm = _usual_bleed_mm(manuscript)
    return _TEXT.format(
        heading=f"for {_clean(manuscript.path.name)}, {_pages(len(manuscript.pages))}",
        title=_quoted(manuscript.title.strip() or manuscript.path.stem),
        author=f"author = {_quoted(manuscript.author.strip())}" if manuscript.author.strip() else '# author = "..."',
        trim=format_size_mm(*trim_mm),
        trim_from=(
            (
                ": the TrimBox of the pages"
                if stated
                else ": guessed from the size of the pages; not all state a TrimBox"
            )
            + (f" ({others} of {len(manuscript.pages)} differ)" if others else "")
        ),
        bleed=format_mm(bleed_mm if bleed_mm else house.allowances.bleed if house else 3.0),
        bleed_from=": as the BleedBox of the pages" if bleed_mm else ": the usual of the house; the file states none",
        stock=f"stock = {_quoted(house.usual_stock)}" if house else '# stock = "..."',
        fold=_named("fold", [scheme.name for scheme in house.schemes] if house else []),
        press=_named("name", [press.name for press in house.presses] if house else []),
        folder=_named("folder", [folder.name for folder in house.folders] if house else []),
        board=_named("board", [board.name for board in house.boards] if house else []),
        cloth=_named("cloth", [cloth.name for cloth in house.cloths] if house else []),
        endpaper_stock=_named("endpaper_stock", [stock.name for stock in house.stocks] if house else []),
        cover_stock=_named("stock", [stock.name for stock in house.stocks] if house else []),
        jacket_stock=_named("stock", [house.usual_stock] if house else []),
        line=_named("line", [line.name for line in house.lines] if house else []),
        insert_stock=_named("stock", [house.usual_stock] if house else []),
        marks="\n".join(f"# {name} = false" for name in _MARKS),
    )


def _pages(count: int) -> str:
    return "1 page" if count == 1 else f"{count} pages"


def _named(key: str, names: Sequence[str]) -> str:
    """A switched-off line for every name of the house; one to be filled in where there is none."""
    return "\n".join(f"# {key} = {_quoted(name)}" for name in names) or f'# {key} = "..."'


def _usual_trim_mm(manuscript: Manuscript) -> tuple[tuple[float, float], int]:
    """The most common trim, to a tenth of a millimetre, and on how many pages; the first met wins a draw."""
    sizes: Counter[tuple[float, float]] = Counter()
    for page in manuscript.pages:
        width_pt, height_pt = page.trim_size_pt
        sizes[round(pt_to_mm(width_pt), 1), round(pt_to_mm(height_pt), 1)] += 1
    return sizes.most_common(1)[0]


def _usual_bleed_mm(manuscript: Manuscript) -> float | None:
    """What most BleedBoxes add to the trim at head, foot and fore-edge; ``None`` when they add nothing."""
    bleeds: Counter[float] = Counter(_bleed_mm(page) for page in manuscript.pages if "BleedBox" in page.boxes.stated)
    usual = bleeds.most_common(1)[0][0] if bleeds else 0.0
    return usual if usual >= 0.5 else None


def _bleed_mm(page: PageFact) -> float:
    bleed, trim = page.boxes.bleed, page.boxes.trim
    # three of the four: facing pages often have no bleed at the spine
    beyond = sorted((trim.x0 - bleed.x0, trim.y0 - bleed.y0, bleed.x1 - trim.x1, bleed.y1 - trim.y1))
    return round(pt_to_mm(max(0.0, beyond[1]) * page.user_unit), 1)


def _clean(text: str) -> str:
    """One line of characters that a UTF-8 file can hold."""
    kept = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(" " if ord(c) < 32 or 127 <= ord(c) < 160 or c in "\u2028\u2029" else c for c in kept)


def _quoted(text: str) -> str:
    return json.dumps(_clean(text), ensure_ascii=False)
