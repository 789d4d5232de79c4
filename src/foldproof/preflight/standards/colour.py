# SPDX-License-Identifier: AGPL-3.0-or-later
"""Clauses on colour and transparency, from what is painted; from what resources name where nobody could look."""

from __future__ import annotations

import re

from foldproof.manuscript.model import PageObjects
from foldproof.preflight.measures import family
from foldproof.preflight.model import Facts, Severity
from foldproof.preflight.standards.claims import RECALLED
from foldproof.preflight.standards.intents import intent_of, intent_space, registered
from foldproof.preflight.standards.model import ALL, OF_2003, X1A, X3, X4, Broken, Clause, Standard
from foldproof.preflight.words import listed, numbers

_DEVICE = re.compile(r"\b(DeviceRGB|DeviceCMYK|DeviceGray)\b")
_MANAGED = re.compile(r"\b(ICCBased|CalRGB|CalGray|Lab)\b")
_PROFILED = re.compile(r"\bICCBased\((\d+)\)")
_BY_CHANNELS = {"1": "grey", "3": "RGB", "4": "CMYK"}
_SPOT = re.compile(r"^(?:(?:Indexed|Pattern)\()*(?:Separation|DeviceN)\b")
#: device spaces that an output intent gives a meaning; grey is printed with black, or with equal parts of RGB
_MEANT = {
    "CMYK": frozenset({"DeviceCMYK", "DeviceGray"}),
    "RGB": frozenset({"DeviceRGB", "DeviceGray"}),
    "GRAY": frozenset({"DeviceGray"}),
    None: frozenset({"DeviceCMYK", "DeviceGray"}),
}
_DEFAULT_OF = {"DefaultRGB": "DeviceRGB", "DefaultCMYK": "DeviceCMYK", "DefaultGray": "DeviceGray"}


def seen_whole(facts: Facts, index: int) -> PageObjects | None:
    """What is painted on a page, ``None`` where it was not looked at, or not to its end."""
    objects = facts.observations.objects
    seen = objects[index] if index < len(objects) else None
    return None if seen is None or seen.cut_short else seen


def spaces_by_page(facts: Facts) -> list[tuple[str, ...]]:
    """Colour spaces of what is painted on every page, in words."""
    named: dict[int, list[str]] = {}
    for where in facts.manuscript.facts.spaces:
        for index in where.pages:
            named.setdefault(index, []).append(where.what)
    found = []
    for index in range(len(facts.manuscript.pages)):
        seen = seen_whole(facts, index)
        if seen is None:
            found.append(tuple(named.get(index, ())))
            continue
        spaces = [use.space for use in seen.colours]
        spaces += [use.space for use in seen.paints] + [use.space for use in seen.texts]
        spaces += [use.space for use in seen.pictures]
        found.append(tuple(dict.fromkeys(space for space in spaces if space != "none")))
    return found


def is_managed(space: str) -> bool:
    """Whether a space says by itself how its colours look; spot inks do not, whatever stands for them."""
    return not _SPOT.match(space) and bool(_MANAGED.search(space))


def _device(space: str) -> str | None:
    found = None if _SPOT.match(space) else _DEVICE.search(space)
    return found[1] if found else None


def _defaults(facts: Facts) -> dict[str, set[int]]:
    """Pages on which a device space has another one to stand for it (ISO 32000-1, 8.6.5.6)."""
    found: dict[str, set[int]] = {}
    for where in facts.manuscript.facts.spaces:
        if where.detail in _DEFAULT_OF:
            found.setdefault(_DEFAULT_OF[where.detail], set()).update(where.pages)
    return found


def _painted(by_space: dict[str, list[int]]) -> Broken | None:
    if not by_space:
        return None
    pages = sorted({index for indices in by_space.values() for index in indices})
    names, verb = listed(list(by_space)), "are" if len(by_space) > 1 else "is"
    return Broken(f"{names} {verb} painted on {numbers(pages)}", names, tuple(pages))


def _told(space: str, default: str = "") -> str:
    """A space for people, with its name in the file: ``"CMYK with a profile (ICCBased(4) as DefaultCMYK)"``."""
    named = f"{space} as {default}" if default else space
    inside = _PROFILED.search(space)
    kind = _BY_CHANNELS.get(inside[1]) if inside else None
    return f"{kind} with a profile ({named})" if kind else named


def _only_inks(facts: Facts, standard: Standard) -> Broken | None:
    by_space: dict[str, list[int]] = {}
    for index, spaces in enumerate(spaces_by_page(facts)):
        for space in spaces:
            if _device(space) == "DeviceRGB" or is_managed(space):
                by_space.setdefault(_told(space), []).append(index)
    for where in facts.manuscript.facts.spaces:  # a default turns the device's own colours into others, unseen
        if where.detail in _DEFAULT_OF and not _device(where.what):
            by_space.setdefault(_told(where.what, where.detail), []).extend(where.pages)
    return _painted(by_space)


def _device_colour(facts: Facts, standard: Standard) -> Broken | None:
    meant, defaults = _meant(facts), _defaults(facts)
    by_space: dict[str, list[int]] = {}
    for index, spaces in enumerate(spaces_by_page(facts)):
        for space in spaces:
            device = _device(space)
            if device and device not in meant and index not in defaults.get(device, ()):
                by_space.setdefault(space, []).append(index)
    return _painted(by_space)


def _meant(facts: Facts) -> frozenset[str]:
    return _MEANT.get(intent_space(facts), _MEANT[None])


def _alternates(facts: Facts, standard: Standard) -> Broken | None:
    meant, found = _meant(facts), []
    pages: set[int] = set()
    defaults = _defaults(facts)
    for spot in facts.manuscript.facts.spots:
        device = _device(spot.alternate)
        if standard in X1A:
            wrong = device not in ("DeviceCMYK", "DeviceGray")
        else:
            wrong = device is not None and device not in meant and not set(spot.pages) <= defaults.get(device, set())
        if wrong and spot.alternate:
            found.append(f'"{spot.name}" in {spot.alternate}')
            pages.update(spot.pages)
    if not found:
        return None
    return Broken(f"what stands for the spot colour is {listed(found)}", listed(found), tuple(sorted(pages)))


def _managed_without(facts: Facts, standard: Standard) -> Broken | None:
    intent = intent_of(facts)
    if intent is None or intent.profile is not None or not registered(intent):
        return None
    pages = tuple(n for n, spaces in enumerate(spaces_by_page(facts)) if any(map(is_managed, spaces)))
    if not pages:
        return None
    return Broken(
        f"colours on {numbers(pages)} have profiles of their own, and the output intent holds none to turn them into",
        "no profile",
        pages,
    )


def _sources(facts: Facts, standard: Standard) -> Broken | None:
    damaged = [one for one in facts.manuscript.facts.images if one.profile is not None and not one.profile.valid]
    if not damaged or damaged[0].profile is None:
        return None
    pages = sorted({index for one in damaged for index in one.pages})
    why = damaged[0].profile.why
    where = f" on {numbers(pages)}" if pages else ""
    return Broken(f"the profile of a picture{where} is damaged: {why}", "damaged", tuple(pages))


def _transparency(facts: Facts, standard: Standard) -> Broken | None:
    kinds: dict[str, None] = {}
    pages: list[int] = []
    named = _named_transparency(facts)
    for index in range(len(facts.manuscript.pages)):
        seen = seen_whole(facts, index)
        found = named.get(index, []) if seen is None else _kinds(seen)
        if found:
            pages.append(index)
            kinds.update(dict.fromkeys(found))
    if not pages:
        return None
    return Broken(
        f"there is transparency on {numbers(pages)} ({listed(list(kinds))})", listed(list(kinds)), tuple(pages)
    )


def _kinds(seen: PageObjects) -> list[str]:
    there = seen.transparency
    found = ["paint that shows through"] if there.alpha else []
    found += ["soft masks"] if there.soft_masks else []
    return found + [f"blend mode {mode}" for mode in there.blends]


_KINDS = {"SMask": "soft masks", "CA": "paint that shows through", "ca": "paint that shows through"}


def _named_transparency(facts: Facts) -> dict[int, list[str]]:
    """Kinds of transparency by page as resources name them; groups alone make nothing transparent."""
    found: dict[int, list[str]] = {}
    for where in facts.manuscript.facts.transparency:
        if where.what != "Group":
            for index in where.pages:
                found.setdefault(index, []).append(_KINDS.get(where.what, f"blend mode {where.detail}"))
    return found


def _unpainted(facts: Facts, standard: Standard) -> Broken | None:
    pages, groups = set[int](), set[int]()
    for where in facts.manuscript.facts.transparency:
        (groups if where.what == "Group" else pages).update(where.pages)
    # pages on which it is painted are told above
    quiet = {
        index
        for index in pages | groups
        if ((seen := seen_whole(facts, index)) is not None and not _kinds(seen))
        or (seen is None and index not in pages)
    }
    if not quiet:
        return None
    what = "transparency groups" if quiet & groups else "means for transparency"
    listed_pages = tuple(sorted(quiet))
    return Broken(
        f"{numbers(listed_pages)} {'have' if len(quiet) > 1 else 'has'} {what}, though nothing is painted through them",
        what,
        listed_pages,
    )


def _blend_space(facts: Facts, standard: Standard) -> Broken | None:
    return _groups(facts, painted=True)


def _blend_space_unused(facts: Facts, standard: Standard) -> Broken | None:
    return _groups(facts, painted=False)


def _groups(facts: Facts, *, painted: bool) -> Broken | None:
    """Groups whose blending space means nothing on this press, on pages with transparency or without."""
    meant, defaults = _meant(facts), _defaults(facts)
    by_space: dict[str, list[int]] = {}
    for page in facts.manuscript.pages:
        seen = seen_whole(facts, page.index)
        transparent = bool(_kinds(seen)) if seen is not None else page.index in _named_transparency(facts)
        if transparent is not painted:
            continue
        own = (page.group_space,) if page.group_space else ()
        for space in dict.fromkeys((*own, *(seen.transparency.group_spaces if seen is not None else ()))):
            device = _device(space)
            odd = device is not None and device not in meant and page.index not in defaults.get(device, ())
            if odd or _no_blending(space):
                by_space.setdefault(space, []).append(page.index)
    if not by_space:
        return None
    pages = sorted({index for indices in by_space.values() for index in indices})
    names = listed(list(by_space))
    ends = "is blended in" if painted else "would be blended in"
    return Broken(f"what lies over one another on {numbers(pages)} {ends} {names}", names, tuple(pages))


def _no_blending(space: str) -> bool:
    """Spaces that no group may have (ISO 32000-1, 11.6.6): Lab, indexed, patterns and spot inks."""
    return family(space) in ("Lab", "spot") or space.startswith(("Indexed", "Pattern"))


CLAUSES = (
    Clause(
        "colour",
        "inks alone",
        X1A,
        Severity.QUERY,
        "all colour has to be in CMYK, grey or spot inks, without profiles",
        "CMYK, grey, spot inks",
        "Convert everything to the CMYK of the printing condition when exporting.",
        "ISO 15930-1 and -4: everything in CMYK, grey or spot colours, no RGB, no Lab (an industry site on PDF/X)",
        _only_inks,
    ),
    Clause(
        "device-colour",
        "device colour as the output intent",
        ALL - X1A,
        Severity.QUERY,
        "colours of a device without a profile have to be those of the output intent",
        "as the output intent",
        "Convert RGB matter to the CMYK of the printing condition when exporting, or let it keep its profile.",
        "ISO 15930-6 and -7, from memory, clause numbers not looked up",
        _device_colour,
    ),
    Clause(
        "intent-managed",
        "an output profile for colours with profiles",
        X3,
        Severity.QUERY,
        "where colours have profiles of their own, the output profile has to be in the file",
        "a profile",
        "Export again with the output profile of the printing condition that the printer names.",
        "ISO 15930-6, from memory, clause number not looked up",
        _managed_without,
    ),
    Clause(
        "spot-alternate",
        "what stands for spot inks",
        ALL,
        Severity.QUERY,
        "it follows the same rule as other colour",
        "as other colour",
        "Define the spot colour with CMYK values in the layout program, and in the placed file it comes from.",
        RECALLED,
        _alternates,
    ),
    Clause(
        "source-profiles",
        "sound profiles of pictures",
        ALL - X1A,
        Severity.QUERY,
        "profiles have to be sound ICC profiles",
        "sound profiles",
        "Give the picture a profile again in the picture program, and place it afresh.",
        "ISO 15076-1, 7.2 and 7.3; and ISO 15930, from memory",
        _sources,
    ),
    Clause(
        "transparency",
        "no transparency",
        OF_2003,
        Severity.QUERY,
        "nothing may show through",
        "none",
        "Flatten transparency when exporting: a setting for PDF 1.3 does it.",
        RECALLED,
        _transparency,
    ),
    Clause(
        "transparency-unpainted",
        "no means for transparency",
        OF_2003,
        Severity.NOTE,
        "the file must not have them at all",
        "none",
        "Export afresh as this standard.",
        RECALLED,
        _unpainted,
    ),
    Clause(
        "blend-space",
        "blending space",
        X4,
        Severity.QUERY,
        "the space for it has to be that of the output intent or have a profile",
        "as the output intent",
        "Set the transparency blend space of the document to the CMYK of the printing condition, and export again.",
        "ISO 15930-7, a blending space rule, from memory; ISO 32000-1, 11.6.6",
        _blend_space,
    ),
    Clause(
        "blend-space-unused",
        "blending space without use",
        X4,
        Severity.NOTE,
        "the space for it has to be that of the output intent or have a profile, even where nothing is transparent",
        "as the output intent",
        "Set the transparency blend space of the document to the CMYK of the printing condition, and export again.",
        "ISO 15930-7, a blending space rule, from memory; ISO 32000-1, 11.6.6",
        _blend_space_unused,
    ),
)
