# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which plates a page asks for: those that it marks inside trim and bleed.

Matter in Separation /All is on every plate that is made (ISO 32000-1, 8.6.6.4); it asks for none.  The raster shows it
in each, so that what other matter there is must be told from it: where the page names that colour space and every
plate is marked, it is drawn once more with one plate that no other matter can print in.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Sequence
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
#: colour spaces are short arrays, those of separations have so many parts; a page that holds more things than this is
#: not looked through
_SHORT, _LEAST_PARTS, _MOST_THINGS = 16, 4, 20_000


@frozen
class Marked:
    """The plates of one page; see :class:`foldproof.manuscript.model.PageInk`."""

    inks: tuple[str, ...]
    faint: tuple[tuple[str, float], ...]
    every_plate: bool
    stand_in: tuple[str, ...] = ()


def marked(
    samples: Samples,
    laid: Sequence[int],
    names: Sequence[str],
    trim: tuple[slice, slice],
    every_plate: Callable[[], Samples | None],
    stand_in: Iterable[str] = (),
) -> Marked:
    """The plates of a raster of trim and bleed.

    Args:
        samples: one a colorant, row 0 at the head.
        laid: of every colorant all samples laid over one another (bit by bit).
        names: of the colorants.
        trim: rows and columns of the raster that are the trim.
        every_plate: draws what prints in every plate alone; ``None`` where the page holds nothing of the kind.
        stand_in: spots of the page that the raster may show in their stand-in colour.
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
    # in doubt a spot counts, and what it is drawn in counts with it
    shown_otherwise = {name for name in stand_in if name not in inks} if inks else set()
    return Marked(
        in_plate_order(inks | shown_otherwise),
        tuple((name, faint[name]) for name in in_plate_order(faint)),
        in_trim,
        in_plate_order(shown_otherwise),
    )


def plate_digests(samples: Samples, names: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Plates that a raster of trim and bleed marks at all, in their order, each with a digest of what stands on it."""
    found = {}
    for plate, name in enumerate(names):
        plane = np.ascontiguousarray(samples[:, :, plate])
        if plane.any():
            shape = f"{plane.shape[0]}x{plane.shape[1]}:".encode("ascii")
            found[name] = hashlib.blake2b(shape + plane.tobytes(), digest_size=12).hexdigest()
    return tuple((name, found[name]) for name in in_plate_order(found))


@frozen
class Colorants:
    """Colorants that a page names: spots, process, ``All``."""

    named: frozenset[str] = frozenset()
    #: of these, what stands in glyphs of Type 3 or in shadings by function, which MuPDF draws in their stand-in colour
    stand_in: frozenset[str] = frozenset()
    whole: bool = True  #: the page was looked through to its end


def colorants(page: Any) -> Colorants:
    """What the resources of a loaded page, and what its annotations look like, name.

    MuPDF's own list of separations leaves out what stands in tiling patterns and glyphs alone.
    """
    todo = [(_mu.pdf_page_resources(page), False)]
    annotations = _mu.pdf_dict_gets(page.obj(), "Annots")
    for number in range(_mu.pdf_array_len(annotations)):
        todo.append((_mu.pdf_dict_gets(_mu.pdf_array_get(annotations, number), "AP"), False))
    seen: set[tuple[int, bool]] = set()
    found: dict[bool, set[str]] = {False: set(), True: set()}
    for _ in range(_MOST_THINGS):
        if not todo:
            break
        thing, stand_in = todo.pop()
        if _mu.pdf_is_indirect(thing):
            key = _mu.pdf_to_num(thing), stand_in
            if key in seen:
                continue
            seen.add(key)
        if _mu.pdf_is_array(thing):
            # a colour space begins with its name; other arrays hold numbers, a thousand at a time
            if _mu.pdf_is_name(_mu.pdf_array_get(thing, 0)):
                parts = [_mu.pdf_array_get(thing, n) for n in range(min(_SHORT, _mu.pdf_array_len(thing)))]
                found[stand_in] |= _named(parts)
                todo += [(part, stand_in) for part in parts[1:]]
        elif _mu.pdf_is_dict(thing) and not _is_font(thing, of_type_3=False):
            stand_in |= _is_font(thing, of_type_3=True) or _mu.pdf_to_int(_mu.pdf_dict_gets(thing, "ShadingType")) == 1
            todo += [(_mu.pdf_dict_get_val(thing, n), stand_in) for n in range(_mu.pdf_dict_len(thing))]
    return Colorants(frozenset(found[False] | found[True]), frozenset(found[True]), not todo)


def _named(parts: Sequence[Any]) -> set[str]:
    """Colorants of a Separation or DeviceN space (ISO 32000-1, 8.6.6.4 and 8.6.6.5), none of another array."""
    if len(parts) >= _LEAST_PARTS:
        match _mu.pdf_to_name(parts[0]):
            case "Separation":
                return {_mu.pdf_to_name(parts[1])}
            case "DeviceN":
                return {_mu.pdf_to_name(_mu.pdf_array_get(parts[1], n)) for n in range(_mu.pdf_array_len(parts[1]))}
    return set()


def _is_font(thing: Any, *, of_type_3: bool) -> bool:
    """Fonts hold no colour, but those of Type 3."""
    kind, sort = (_mu.pdf_to_name(_mu.pdf_dict_gets(thing, key)) for key in ("Type", "Subtype"))
    return bool(kind == "Font" and (sort == "Type3") == of_type_3)
