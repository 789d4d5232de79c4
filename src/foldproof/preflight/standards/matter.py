# SPDX-License-Identifier: AGPL-3.0-or-later
"""Clauses on what a file may hold: fonts, codings, pictures, and everything that is not meant for paper."""

from __future__ import annotations

import re
from collections.abc import Sequence

from foldproof.manuscript.file_facts import Where
from foldproof.preflight.model import Facts, Severity
from foldproof.preflight.standards.claims import RECALLED
from foldproof.preflight.standards.colour import seen_whole
from foldproof.preflight.standards.model import ALL, OF_2003, X4, Broken, Clause, Standard
from foldproof.preflight.words import counted, listed, numbers

_SUBSET = re.compile(r"^[A-Z]{6}\+")
_SOUND_HALFTONE = re.compile(r"^type [15]$")
#: goes to another page of the same file
_INSIDE = frozenset({"GoTo"})


def _there(found: Sequence[Where], what: str, measured: str = "") -> Broken | None:
    """``what`` as the start of a sentence in the middle: ``"JavaScript is in it"``; pages are added."""
    if not found:
        return None
    pages = tuple(sorted({index for one in found for index in one.pages}))
    return Broken(what + (f" ({numbers(pages)})" if pages else ""), measured or found[0].what, pages)


def _fonts(facts: Facts, standard: Standard) -> Broken | None:
    fonts = facts.manuscript.fonts
    missing = {key for key, font in fonts.items() if not font.embedded}
    pages: list[int] = []
    names: dict[str, None] = {}
    for page in facts.manuscript.pages if missing else ():
        lacking = [fonts[key].name for key in page.fonts if key in missing]
        if lacking and not _unused(facts, page.index, {fonts[key].name for key in page.fonts if key not in missing}):
            pages.append(page.index)
            names.update(dict.fromkeys(sorted(lacking)))
    if not pages:
        return None
    who = listed([name or "a font without a name" for name in names])
    verb = "are" if len(names) > 1 else "is"
    return Broken(f"{who} on {numbers(pages)} {verb} not in the file", who, tuple(pages))


def _unused(facts: Facts, index: int, embedded: set[str]) -> bool:
    """Whether all text that shows on a page is in fonts of the file, so that one that lacks is named and not used.

    Appearances of annotations are not among what is looked at: where some print, nobody knows.
    """
    seen = seen_whole(facts, index)
    if seen is None or (seen.text_count and not seen.texts):
        return False
    if any(one.prints for one in facts.manuscript.pages[index].annotations):
        return False
    # the interpreter keeps 31 letters of a name, and of a composite font the name without its CMap
    plain = {_SUBSET.sub("", re.sub(r"-Identity-[HV]$", "", name)[:31]) for name in embedded}
    return all(_SUBSET.sub("", use.font) in plain or use.type3 or use.how == "invisible" for use in seen.texts)


def _coded(facts: Facts, name: str, words: str) -> Broken | None:
    return _there([one for one in facts.manuscript.facts.filters if one.what == name], f"{words} is used", words)


def _lzw(facts: Facts, standard: Standard) -> Broken | None:
    return _coded(facts, "LZWDecode", "LZW")


def _jpx(facts: Facts, standard: Standard) -> Broken | None:
    return _coded(facts, "JPXDecode", "JPEG 2000")


def _jbig2(facts: Facts, standard: Standard) -> Broken | None:
    return _coded(facts, "JBIG2Decode", "JBIG2")


def _sixteen(facts: Facts, standard: Standard) -> Broken | None:
    deep = [one for one in facts.manuscript.facts.images if one.bits > 8]
    pages = tuple(sorted({index for one in deep for index in one.pages}))
    if not deep:
        return None
    where = f" on {numbers(pages)}" if pages else ""
    bits, have = f"{deep[0].bits} bits", "has" if len(deep) == 1 else "have"
    return Broken(f"{counted(len(deep), 'picture')}{where} {have} {bits} a channel", bits, pages)


def _halftones(facts: Facts, standard: Standard) -> Broken | None:
    odd = [
        one
        for one in facts.manuscript.facts.device_states
        if one.what == "HT" and not _SOUND_HALFTONE.match(one.detail)
    ]
    return _there(odd, f"it brings a halftone of {listed([one.detail for one in odd])}" if odd else "", "halftone")


def _transfer(facts: Facts, standard: Standard) -> Broken | None:
    curves = [one for one in facts.manuscript.facts.device_states if one.what in ("TR", "TR2")]
    return _there(curves, "it brings transfer curves")


def _postscript(facts: Facts, standard: Standard) -> Broken | None:
    return _there(facts.manuscript.facts.postscript, "it holds PostScript", "PostScript")


def _alternates(facts: Facts, standard: Standard) -> Broken | None:
    found = [one for one in facts.manuscript.facts.images if one.alternate_prints]
    pages = tuple(sorted({index for one in found for index in one.pages}))
    if not found:
        return None
    where = f" on {numbers(pages)}" if pages else ""
    return Broken(f"{counted(len(found), 'picture')}{where} would be printed from a stand-in", "a stand-in", pages)


def _opi(facts: Facts, standard: Standard) -> Broken | None:
    found = list(facts.manuscript.facts.opi)
    return _there(found, "it asks a picture server for pictures (OPI)", "OPI")


def _reference(facts: Facts, standard: Standard) -> Broken | None:
    return _there(facts.manuscript.facts.reference_forms, "it asks for pages of other files", "Ref")


def _scripts(facts: Facts, standard: Standard) -> Broken | None:
    return _there(facts.manuscript.facts.scripts, "it holds JavaScript", "JavaScript")


def _actions(facts: Facts, standard: Standard) -> Broken | None:
    found = [one for one in facts.manuscript.facts.actions if one.what not in _INSIDE]
    kinds = listed(sorted({one.what for one in found}))
    return _there(found, f"it holds actions ({kinds})", kinds)


def _links(facts: Facts, standard: Standard) -> Broken | None:
    found = [one for one in facts.manuscript.facts.actions if one.what in _INSIDE]
    return _there(found, "links or bookmarks lead on by an action", "GoTo")


def _forms(facts: Facts, standard: Standard) -> Broken | None:
    there = facts.manuscript.facts
    if there.xfa:
        return Broken("it is a form (XFA)", "form")
    if there.fields:
        return Broken(f"it is a form of {counted(there.fields, 'field')}", counted(there.fields, "field"))
    return None


def _layers(facts: Facts, standard: Standard) -> Broken | None:
    layers = facts.manuscript.facts.layers
    if not layers:
        return None
    names = listed([f'"{one.name}"' for one in layers])
    return Broken(
        f"it has {counted(len(layers), 'layer')} that can be switched, {names}", counted(len(layers), "layer")
    )


def _configurations(facts: Facts, standard: Standard) -> Broken | None:
    more = facts.manuscript.facts.layer_configurations
    if not more:
        return None
    return Broken(f"its layers can be switched in {more + 1} ways", f"{more + 1} ways")


def _attachments(facts: Facts, standard: Standard) -> Broken | None:
    found = facts.manuscript.facts.attachments
    names = listed([f'"{one.detail}"' for one in found if one.detail])
    return _there(found, f"files are attached to it{f': {names}' if names else ''}", "attached files")


_AFRESH = "Export afresh as this standard; if it comes from a placed file, export that one again first."

CLAUSES = (
    Clause(
        "fonts", "fonts in the file", ALL, Severity.QUERY,
        "every font that is used has to be in the file", "embedded",
        "Embed all fonts when exporting; if one comes from a placed file, export that one again with its fonts.",
        "ISO 15930: all fonts and images embedded (an industry site on PDF/X)",
        _fonts,
    ),
    Clause(
        "lzw", "no LZW", ALL, Severity.QUERY,
        "that compression must not occur", "none", _AFRESH, RECALLED, _lzw,
    ),
    Clause(
        "jpeg-2000", "no JPEG 2000", OF_2003, Severity.QUERY,
        "PDF 1.4 does not know it", "none", _AFRESH, f"{RECALLED}; ISO 32000-1, table 6: from PDF 1.5 on", _jpx,
    ),
    Clause(
        "jbig2", "no JBIG2", OF_2003, Severity.QUERY,
        "that compression must not occur", "none", _AFRESH, RECALLED, _jbig2,
    ),
    Clause(
        "bits", "no pictures of 16 bits", OF_2003, Severity.QUERY,
        "PDF 1.4 knows 8 bits a channel at most", "8 bits",
        "Reduce the picture to 8 bits a channel in the picture program.",
        f"{RECALLED}; ISO 32000-1, table 89: 16 from PDF 1.5 on", _sixteen,
    ),
    Clause(
        "halftones", "plain halftones", ALL, Severity.QUERY,
        "halftones have to be of type 1 or 5 and have no name", "type 1 or 5",
        "Export without halftone screens; the screen is the plate-setter's.", RECALLED, _halftones,
    ),
    Clause(
        "transfer", "no transfer curves", ALL, Severity.QUERY,
        "curves are the plate-setter's alone", "none",
        "Export without transfer functions; if a placed picture brings them, save that one again without.",
        "ISO 15930-1: no transfer curves (prepress notes on PDF/X-1a); TR and TR2, from memory", _transfer,
    ),
    Clause(
        "postscript", "no PostScript", ALL, Severity.QUERY,
        "nothing in it may be in PostScript", "none", _AFRESH, RECALLED, _postscript,
    ),
    Clause(
        "alternates", "no stand-ins for pictures", ALL, Severity.QUERY,
        "no other picture may be printed in the place of one", "none", _AFRESH, RECALLED, _alternates,
    ),
    Clause(
        "opi", "no picture server", ALL, Severity.QUERY,
        "every picture has to be in the file", "none",
        "Export with the pictures themselves, not with links to a picture server.",
        "ISO 15930-1: no OPI (prepress notes on PDF/X-1a); for -6 and -7 from memory", _opi,
    ),
    Clause(
        "references", "no pages of other files", ALL, Severity.QUERY,
        "everything has to be in the file", "none", _AFRESH,
        "ISO 15930-1: a file is complete in itself (Library of Congress); /Ref, from memory", _reference,
    ),
    Clause(
        "scripts", "no JavaScript", ALL, Severity.QUERY,
        "nothing in it may run", "none", _AFRESH,
        "ISO 15930-1: the family forbids scripts (Library of Congress)", _scripts,
    ),
    Clause(
        "actions", "no actions", ALL, Severity.QUERY,
        "nothing may be started from it", "none", "Export without hyperlinks, buttons and media.",
        "ISO 15930-1: actions are banned everywhere (notes on PDF/X-1a after PDFX-ready); for -7 from memory", _actions,
    ),
    Clause(
        "links-by-action", "no actions for links", ALL, Severity.NOTE,
        "actions must not occur; a link can name its page without one", "none",
        "Export without bookmarks and cross-reference links.",
        "ISO 15930-1: actions are banned everywhere (notes on PDF/X-1a after PDFX-ready); for -7 from memory", _links,
    ),
    Clause(
        "forms", "no form fields", OF_2003, Severity.QUERY,
        "forms have no place in it", "none", "Export without form fields.",
        "ISO 15930-1: no forms (prepress notes on PDF/X-1a)", _forms,
    ),
    Clause(
        "layers", "no layers", OF_2003, Severity.QUERY,
        "PDF 1.4 has no layers", "none", "Export without layers (one visible state of the document).",
        RECALLED, _layers,
    ),
    Clause(
        "layer-configurations", "one state of the layers", X4, Severity.NOTE,
        "one way has to be settled as the one that prints", "one way",
        "Say which way is to be printed, or export that one alone.",
        "ISO 15930-7: one default configuration, from memory", _configurations,
    ),
    Clause(
        "attachments", "no attached files", ALL, Severity.QUERY,
        "nothing may be attached", "none", "Export without attachments.", RECALLED, _attachments,
    ),
)  # fmt: skip
