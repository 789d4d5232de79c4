# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which plates a page asks for: those that it marks inside trim and bleed.

Matter in Separation /All is on every plate that is made (ISO 32000-1, 8.6.6.4); it asks for none.  The raster shows it
in each, so that what other matter there is must be told from it: where the page names that colour space and every
plate is marked, it is drawn once more with one plate that no other matter can print in.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from attrs import frozen
from numpy.typing import NDArray
from pymupdf import mupdf

from foldproof.manuscript.seen import in_plate_order

_mu: Any = mupdf

Samples = NDArray[np.uint8]

#: samples of 255: a tint of 1 % comes out as 2, MuPDF cuts fractions off; one of 3 % as 7.  Both tests are of bits
_LEAST, _HOLDS = 2, 8
#: arrays that name Separation /All are short; a page that holds more things than this is drawn without looking
_SHORT, _MOST_THINGS = 16, 20_000


@frozen
class Marked:
    """The plates of one page; see :class:`foldproof.manuscript.model.PageInk` for the three."""

    inks: tuple[str, ...]
    faint: tuple[tuple[str, float], ...]
    every_plate: bool


def marked(
    samples: Samples,
    laid: Sequence[int],
    names: Sequence[str],
    trim: tuple[slice, slice],
    every_plate: Callable[[], Samples | None],
) -> Marked:
    """The plates of a raster of trim and bleed.

    Args:
        samples: one a colorant, row 0 at the head.
        laid: of every colorant all samples laid over one another (bit by bit).
        names: of the colorants.
        trim: rows and columns of the raster that are the trim.
        every_plate: draws what prints in every plate alone; ``None`` where the page holds nothing of the kind.
    """
    own = [bits >= _LEAST for bits in laid]
    everywhere = every_plate() if all(own) else None
    in_trim = False
    if everywhere is not None and (everywhere >= _LEAST).any():
        in_trim = bool((everywhere[trim] >= _LEAST).any())
        above = everywhere.astype(np.int16) + _LEAST
        own = [bool((samples[:, :, plate] >= above).any()) for plate in range(len(names))]
    inks = {name for name, is_own in zip(names, own, strict=True) if is_own}
    strong = {name for name, bits in zip(names, laid, strict=True) if bits >= _HOLDS}
    faint: dict[str, float] = {}
    for plate, (name, bits) in enumerate(zip(names, laid, strict=True)):
        if bits and name not in strong:
            faint[name] = max(faint.get(name, 0.0), round(int(samples[:, :, plate].max()) / 255, 4))
    return Marked(in_plate_order(inks), tuple((name, faint[name]) for name in in_plate_order(faint)), in_trim)


def names_every_plate(page: Any) -> bool:
    """Whether the resources of a loaded page, or what its annotations look like, name Separation /All."""
    todo = [_mu.pdf_page_resources(page)]
    annotations = _mu.pdf_dict_gets(page.obj(), "Annots")
    for number in range(_mu.pdf_array_len(annotations)):
        todo.append(_mu.pdf_dict_gets(_mu.pdf_array_get(annotations, number), "AP"))
    seen: set[int] = set()
    for _ in range(_MOST_THINGS):
        if not todo:
            return False
        thing = todo.pop()
        if _mu.pdf_is_indirect(thing):
            number = _mu.pdf_to_num(thing)
            if number in seen:
                continue
            seen.add(number)
        if _mu.pdf_is_array(thing):
            # a colour space begins with its name; other arrays hold numbers, a thousand at a time
            if not _mu.pdf_is_name(_mu.pdf_array_get(thing, 0)):
                continue
            parts = [_mu.pdf_array_get(thing, n) for n in range(min(_SHORT, _mu.pdf_array_len(thing)))]
            if [_mu.pdf_to_name(part) for part in parts[:2]] == ["Separation", "All"]:
                return True
            todo += parts[1:]
        elif _mu.pdf_is_dict(thing) and not _is_plain_font(thing):
            todo += [_mu.pdf_dict_get_val(thing, n) for n in range(_mu.pdf_dict_len(thing))]
    return True


def _is_plain_font(thing: Any) -> bool:
    """Fonts hold no colour, but those of Type 3."""
    kind, sort = (_mu.pdf_to_name(_mu.pdf_dict_gets(thing, key)) for key in ("Type", "Subtype"))
    return bool(kind == "Font" and sort != "Type3")
