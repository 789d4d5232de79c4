# SPDX-License-Identifier: AGPL-3.0-or-later
"""The first job file of a book: commented, guessed from the manuscript, and valid as it stands."""

from __future__ import annotations

import json
from collections import Counter
from typing import TYPE_CHECKING

from foldproof.manuscript.model import TrimSource
from foldproof.units import format_mm, format_size_mm, pt_to_mm

if TYPE_CHECKING:
    from foldproof.job.model import House
    from foldproof.manuscript.model import Manuscript, PageFact

_TEXT = """\
# The job {heading}
# Written by `foldproof start`; what was guessed says so.  Lines behind a # are switched off.
# Lengths are text with a unit: "3 mm", "1/8 in", "10 pt".

[book]
title = {title}
{author}
# width x height of the trimmed page{trim_from}
trim = "{trim}"
# matter that runs off the page is printed this far beyond the trim{bleed_from}
bleed = "{bleed}"
binding = "sewn"                # or "glued", "stitched"
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
# pages = 16                    # of an ordinary section: 4, 6, 8, 12, 16, 24, 32 or 64
# short = "next to last"        # where a shorter section goes; or "last"
# fold = "..."                  # a scheme of the house, by name{schemes}

[press]
{press}

[run]
# copies = 500

[marks]
# every mark is printed unless it is switched off:
# trim = false                  # also: fold, backup, register, lay, collation, signature, job_line

[mend]
# repairs = ["drop-comments"]   # done on a copy, and only those that are named here

[check]
# spec = "colour-on-coated"     # also: any-book, colour-on-uncoated, one-colour-text-on-uncoated, pdf-x-1a, pdf-x-3,
#                               # pdf-x-4, or a file of your own
# a finding that somebody takes on:
# [[check.waived]]
# check = "bleed"
# page = 41                     # without a page: every page
# reason = "the picture is meant to end at the trim"
# by = "the name of whoever says so"
"""


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
        heading=f"for {_clean(manuscript.path.name)}, {len(manuscript.pages)} pages",
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
        schemes="".join(f"\n#   {_clean(scheme.name)}" for scheme in house.schemes) if house else "",
        press="\n".join(f"# name = {_quoted(press.name)}" for press in house.presses) if house else '# name = "..."',
    )


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
