# SPDX-License-Identifier: AGPL-3.0-or-later
"""Fonts whose own flags do not permit that they are embedded, or not so."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.model import FontFact
from foldproof.preflight.matter import face
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.words import in_book, numbers

# bits of fsType (OpenType specification, table OS/2)
_RESTRICTED, _PREVIEW_AND_PRINT, _EDITABLE = 0x0002, 0x0004, 0x0008
_NO_SUBSET, _PICTURES_ONLY = 0x0100, 0x0200

_ASK = (
    "Ask whoever supplied the font whether the licence allows it in a PDF for print, or choose another; that is for "
    "the publisher to settle, the letters print all the same."
)


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    said: dict[tuple[str, str], tuple[Severity, str, int, list[str]]] = {}
    for program in facts.manuscript.facts.programs:
        font = facts.manuscript.fonts.get(program.key)
        if font is None or program.fs_type is None:
            continue
        for cause, severity, words in _odd(program.fs_type, font):
            said.setdefault((cause, face(font.name)), (severity, words, program.fs_type, []))[3].append(program.key)
    for (cause, name), (severity, words, flags, keys) in sorted(said.items()):
        wanted = frozenset(keys)
        pages = [page.index for page in facts.manuscript.pages if wanted.intersection(page.fonts)]
        yield in_book(
            f"font-licence/{cause}/{name}",
            severity,
            f"The font {name}{f' ({numbers(pages)})' if pages else ''} says of itself that {words}.",
            _ASK,
            measured=f"fsType {flags}",
        )


def _odd(flags: int, font: FontFact) -> Iterable[tuple[str, Severity, str]]:
    # older fonts set several of the three: the mildest holds
    if flags & _RESTRICTED and not flags & (_PREVIEW_AND_PRINT | _EDITABLE):
        yield "restricted", Severity.QUERY, "it must not be embedded without leave of its owner"
    if flags & _PICTURES_ONLY:
        yield "pictures-only", Severity.QUERY, "only its pictures may be embedded, and its outlines are"
    if flags & _NO_SUBSET and font.subset:
        yield "no-subset", Severity.NOTE, "it may be embedded only whole, and a part of it is"


CHECK = Check(
    id="font-licence",
    title="Leave to embed fonts",
    needs=frozenset({Needs.STRUCTURE}),
    measures="The flags of the embedded fonts that say what their maker permits: fsType of TrueType and OpenType "
    "fonts, FSType of Type 1 and CFF. Leave to view and print is enough.",
    why="Nothing goes wrong on paper. But who hands on a font without leave may be asked for a fee, and some programs "
    "refuse to open the file.",
    remedy="See to a licence, or choose another font.",
    source="OpenType specification, table OS/2, fsType, and Adobe Technical Note 5147, FSType; from memory",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
