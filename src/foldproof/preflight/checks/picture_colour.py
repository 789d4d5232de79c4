# SPDX-License-Identifier: AGPL-3.0-or-later
"""Pictures in the colours of a screen, or tied to another printing condition than the book's."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from foldproof.geometry import Rect
from foldproof.manuscript.file_facts import ImageFact
from foldproof.manuscript.model import PictureKind
from foldproof.preflight.measures import family
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.pictures import Placed, count_in_words, placed, true_of
from foldproof.preflight.words import counted, on_page

_SCREEN = frozenset({"RGB", "Lab"})
_ENDS = {
    "cmyk": ("the book is printed in four inks.", "Convert to the CMYK of the printing condition when exporting."),
    "black": ("the book is printed in black alone.", "Turn the picture to grey, and look at it: colours that differ "
              "may come out as the same grey."),
    "any": ("the plate-setter turns that into inks.", "Convert it yourself when exporting, if the colours "
            "matter."),
}  # fmt: skip
_LIMIT = {"any": "any", "cmyk": "CMYK", "black": "black"}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    inks = limits.text("inks")
    seen = [one for one in placed(facts) if one.seen_mm is not None and one.use.kind is not PictureKind.STENCIL]
    yield from _screen_colours(facts, inks, seen)
    if inks == "cmyk":
        yield from _other_profiles(facts, seen)


def _screen_colours(facts: Facts, inks: str, seen: list[Placed]) -> Iterator[Finding]:
    ends, remedy = _ENDS[inks]
    found: dict[tuple[int, str], list[Rect]] = defaultdict(list)
    for one in seen:
        kind = family(one.use.space)
        if kind in _SCREEN:
            found[one.index, kind].append(one.use.place_mm)
    for (index, kind), places in found.items():
        which = "a picture is" if len(places) == 1 else f"{counted(len(places), 'picture')} are"
        yield on_page(
            facts,
            index,
            f"picture-colour/{kind}",
            Severity.NOTE if inks == "any" else Severity.QUERY,
            f"{which} in {kind}; {ends}",
            remedy,
            place_mm=places[0],
            measured=kind,
            limit=_LIMIT[inks],
            count=len(places),
        )


def _other_profiles(facts: Facts, seen: list[Placed]) -> Iterator[Finding]:
    """CMYK pictures with a profile of their own, where the output intent embeds another one."""
    ours = {
        intent.profile.description
        for intent in facts.manuscript.facts.intents
        if intent.profile is not None and intent.profile.valid and intent.profile.description
    }
    if not ours:
        return

    def other(image: ImageFact) -> bool:
        profile = image.profile
        return (
            profile is not None
            and profile.valid
            and profile.space == "CMYK"
            and bool(profile.description)
            and profile.description not in ours
        )

    for index, told in true_of(seen, other).items():
        profile = told[0].image.profile
        theirs = profile.description if profile else ""
        yield on_page(
            facts,
            index,
            "picture-colour/profile",
            Severity.NOTE,
            f'{count_in_words(told)} in CMYK {"carries" if len(told) == 1 else "carry"} the profile "{theirs}"; the '
            f'book is made for "{min(ours)}". A plate-setter that heeds both converts it once more.',
            "Export CMYK pictures without a profile of their own, or convert them to that of the printing condition.",
            place_mm=told[0].place_mm,
            measured=theirs,
            limit=min(ours),
            count=len(told),
        )


CHECK = Check(
    id="picture-colour",
    title="Colour of pictures",
    needs=frozenset({Needs.STRUCTURE, Needs.OBJECTS}),
    measures="The colour space of every picture: RGB, Lab, or a three-channel profile, where the spec says which inks "
    "are printed (without that it only lists them); and CMYK pictures with another profile than the output intent.",
    why="Somebody's defaults turn screen colours into inks: they shift, and a grey picture may come out in four inks.",
    remedy="Convert with the profile of the printing condition when exporting.",
    source="ISO 15930-1 (PDF/X-1a): all matter in CMYK, grey or spot colours, no RGB, no Lab; the clause from memory",
    run=_run,
    limits={"inks": "any"},
    limit_sources={"inks": "the inks that the check rgb-matter is set to"},
    choices={"inks": ("any", "cmyk", "black")},
    follows={"inks": "rgb-matter/inks"},
    severity=Severity.QUERY,
)
