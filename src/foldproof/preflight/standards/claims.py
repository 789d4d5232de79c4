# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a file says that it is, and the clauses on how it has to say so."""

from __future__ import annotations

import re

from attrs import frozen

from foldproof.preflight.model import Facts, Severity
from foldproof.preflight.standards.model import ALL, OF_2003, X1A, X4, Broken, Clause, Standard
from foldproof.preflight.words import listed

#: recalled, as the handbook of check values does; nobody has looked up the numbers of the clauses
RECALLED = "ISO 15930-4, -6 and -7, from memory, clause numbers not looked up"

_INFO_KEYS = ("Title", "CreationDate", "ModDate")
_XMP_KEYS = (
    "dc:title", "xmp:CreateDate", "xmp:ModifyDate", "xmp:MetadataDate",
    "xmpMM:DocumentID", "xmpMM:VersionID", "xmpMM:RenditionClass",
)  # fmt: skip
_SAID = ("True", "False")
_VERSION = re.compile(r"^(\d+)\.(\d+)$")
#: the latest PDF that a standard knows
_LATEST = {Standard.X1A: (1, 4), Standard.X3: (1, 4), Standard.X4: (1, 6)}


@frozen
class Claimed:
    """The standards that a file claims."""

    standards: tuple[Standard, ...]  #: known ones, each once, in the order of the standards
    unknown: tuple[str, ...]  #: others, as written


def claimed(facts: Facts) -> Claimed:
    """From the information dictionary and the XMP."""
    claims = facts.manuscript.facts.claims
    said = [claims.info_version, claims.xmp_version]
    # PDF/X-1a:2001 stands in the conformance key, over a version that names the family
    for n, conformance in enumerate((claims.info_conformance, claims.xmp_conformance)):
        if conformance and said[n] == "PDF/X-1:2001":
            said[n] = conformance
    words = [one for one in dict.fromkeys(said) if one]
    known = {one.value: one for one in Standard}
    return Claimed(
        standards=tuple(one for one in Standard if one.value in words),
        unknown=tuple(one for one in words if one not in known),
    )


def _version_key(facts: Facts, standard: Standard) -> Broken | None:
    claims = facts.manuscript.facts.claims
    here, there = (claims.xmp_version, "XMP") if standard in X4 else (claims.info_version, "information dictionary")
    if here == standard.value:
        names = {key for key, _ in claims.xmp}
        if standard in X4 and "pdfx:GTS_PDFXVersion" in names and "pdfxid:GTS_PDFXVersion" not in names:
            return Broken("the XMP says so in an older schema (pdfx)", "pdfx:GTS_PDFXVersion")
        return None
    if standard in claimed(facts).standards:
        return Broken(f"it says so in the wrong place, not in the {there}", "wrong place")
    other = [one.value for one in claimed(facts).standards] + list(claimed(facts).unknown)
    if other:
        return Broken(f"the file says that it is {listed(other)}", listed(other))
    return Broken("nothing in the file says that it is", "not said")


def _conformance(facts: Facts, standard: Standard) -> Broken | None:
    said = facts.manuscript.facts.claims.info_conformance
    if not said or said == standard.value:
        return None
    return Broken(f'the information dictionary also speaks of conformance to "{said}"', said)


def _info_keys(facts: Facts, standard: Standard) -> Broken | None:
    return _lacking(dict(facts.manuscript.facts.claims.info), _INFO_KEYS, "information dictionary")


def _xmp_keys(facts: Facts, standard: Standard) -> Broken | None:
    claims = facts.manuscript.facts.claims
    if not claims.has_xmp:
        return Broken("the file has no XMP at all", "no XMP")
    return _lacking(dict(claims.xmp), _XMP_KEYS, "XMP")


def _lacking(there: dict[str, str], asked: tuple[str, ...], where: str) -> Broken | None:
    lacks = [key for key in asked if not there.get(key, "").strip()]
    if not lacks:
        return None
    return Broken(f"the {where} does not say {listed(lacks, 8)}", f"no {listed(lacks, 8)}")


def _trapped(facts: Facts, standard: Standard) -> Broken | None:
    claims = facts.manuscript.facts.claims
    if standard in OF_2003:
        if claims.info_trapped in _SAID:
            return None
        said = claims.info_trapped
        return Broken(
            f'Trapped is "{said}"' if said else "the file does not say whether it is trapped", said or "unsaid"
        )
    if claims.xmp_trapped not in _SAID:
        said = claims.xmp_trapped
        where = f'pdf:Trapped is "{said}"' if said else "the XMP does not say whether the file is trapped"
        return Broken(where, said or "unsaid")
    if claims.info_trapped in _SAID and claims.info_trapped != claims.xmp_trapped:
        return Broken(
            f"the XMP says {claims.xmp_trapped} to being trapped, the information dictionary {claims.info_trapped}",
            "both",
        )
    return None


def _file_id(facts: Facts, standard: Standard) -> Broken | None:
    return None if facts.manuscript.facts.claims.has_id else Broken("the file has no ID", "no ID")


def _encryption(facts: Facts, standard: Standard) -> Broken | None:
    return Broken("the file is encrypted", "encrypted") if facts.manuscript.encrypted else None


def _pdf_version(facts: Facts, standard: Standard) -> Broken | None:
    found = _VERSION.match(facts.manuscript.pdf_version)
    version = (int(found[1]), int(found[2])) if found else (0, 0)
    # X-4 files with 1.7 in the first line are everywhere, and nothing of 1.7 need be in them
    if version <= _LATEST[standard] or (standard in X4 and version < (2, 0)):
        return None
    return Broken(f"the file is PDF {facts.manuscript.pdf_version}", f"PDF {facts.manuscript.pdf_version}")


def _streams(facts: Facts, standard: Standard) -> Broken | None:
    there = facts.manuscript.facts
    found = ["a cross-reference stream"] if there.xref in ("stream", "hybrid") else []
    found += ["object streams"] if there.object_streams else []
    if not found:
        return None
    return Broken(f"the file is written with {listed(found)}", listed(found).removeprefix("a "))


CLAUSES = (
    Clause(
        "version-key",
        "the claim itself",
        OF_2003,
        Severity.QUERY,
        "a file has to say what it is in the information dictionary (GTS_PDFXVersion)",
        "the claim",
        "Export with the standard chosen by its name in the export settings.",
        RECALLED,
        _version_key,
    ),
    Clause(
        "version-key",
        "the claim itself",
        X4,
        Severity.QUERY,
        "a file has to say what it is in the XMP (pdfxid:GTS_PDFXVersion)",
        "the claim",
        "Export with the standard chosen by its name in the export settings.",
        RECALLED,
        _version_key,
    ),
    Clause(
        "conformance",
        "no second claim of conformance",
        X1A,
        Severity.NOTE,
        "the key of 2001 must not say something else",
        "none",
        "Export afresh with the standard chosen by its name.",
        "ISO 15930-4, from memory, clause number not looked up",
        _conformance,
    ),
    Clause(
        "info-keys",
        "title and dates",
        OF_2003,
        Severity.NOTE,
        "title, date of creation and date of the last change have to stand in the information dictionary",
        listed(_INFO_KEYS),
        "Give the document a title in the layout program, and export as this standard.",
        RECALLED,
        _info_keys,
    ),
    Clause(
        "xmp-keys",
        "title, dates and identity in the XMP",
        X4,
        Severity.NOTE,
        "title, dates, identity, version and rendition have to stand in the XMP",
        listed(_XMP_KEYS, 8),
        "Give the document a title in the layout program, and export as this standard.",
        "ISO 15930-7, from memory, clause number not looked up",
        _xmp_keys,
    ),
    Clause(
        "trapped",
        "trapped or not",
        ALL,
        Severity.QUERY,
        "it has to say True or False",
        "True or False",
        "Say in the layout program's document settings whether the file is trapped; as a rule it is not.",
        "ISO 15930: the file says whether it is trapped, and unknown is not enough (an industry site on PDF/X)",
        _trapped,
    ),
    Clause(
        "file-id",
        "an identifier of the file",
        ALL,
        Severity.NOTE,
        "the trailer has to hold an ID of two strings",
        "an ID",
        "Export afresh; a program that writes the standard writes an ID.",
        RECALLED,
        _file_id,
    ),
    Clause(
        "encryption",
        "no encryption",
        ALL,
        Severity.QUERY,
        "nothing may be locked",
        "not encrypted",
        "Export with security switched off.",
        RECALLED,
        _encryption,
    ),
    Clause(
        "pdf-version",
        "version of PDF",
        OF_2003,
        Severity.QUERY,
        "it rests on PDF 1.4 and knows nothing later",
        "PDF 1.4",
        "Export afresh as this standard, not as a general PDF.",
        "ISO 15930-4 and -6, their titles, from memory",
        _pdf_version,
    ),
    Clause(
        "pdf-version",
        "version of PDF",
        X4,
        Severity.QUERY,
        "it rests on PDF 1.6",
        "PDF 1.6",
        "Export afresh as this standard, not as a general PDF.",
        "ISO 15930-7, its title, from memory",
        _pdf_version,
    ),
    Clause(
        "compressed-structure",
        "no compressed structure",
        OF_2003,
        Severity.QUERY,
        "PDF 1.4 has neither cross-reference streams nor object streams",
        "none",
        "Save with compatibility to PDF 1.4, or export afresh as this standard.",
        RECALLED,
        _streams,
    ),
)
