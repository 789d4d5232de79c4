# SPDX-License-Identifier: AGPL-3.0-or-later
"""Clauses on the output intent: for which printing condition the file is made."""

from __future__ import annotations

import re

from foldproof.manuscript.file_facts import Intent, Profile
from foldproof.preflight.model import Facts, Severity
from foldproof.preflight.standards.claims import RECALLED
from foldproof.preflight.standards.model import ALL, OF_2003, X1A, X4, Broken, Clause, Standard

#: the registry of characterised printing conditions (ISO 32000-1, table 365)
REGISTRY = "http://www.color.org"
_CHANNELS = {"GRAY": 1, "RGB": 3, "CMYK": 4}
#: latest major version of ICC profiles that a PDF knows (ISO 32000-1, table 67): 1.4 has ICC.1:1998-09 (version 2), 1.6
#: has ICC.1:2003-09 (version 4)
_LATEST = {Standard.X1A: 2, Standard.X3: 2, Standard.X4: 4}


def intent_of(facts: Facts) -> Intent | None:
    """The one output intent for PDF/X; ``None`` where there is none, or more than one."""
    found = [one for one in facts.manuscript.facts.intents if one.subtype == "GTS_PDFX"]
    return found[0] if len(found) == 1 else None


def intent_space(facts: Facts) -> str | None:
    """``"CMYK"``, ``"RGB"``, ``"GRAY"``: what device colours mean in the file; ``None`` where nothing says so.

    A condition that is only named is taken for inks: the registry holds nothing else.
    """
    intent = intent_of(facts)
    if intent is None:
        return None
    if intent.profile is None:
        return "CMYK" if intent.condition_identifier else None
    return intent.profile.space or None


def registered(intent: Intent) -> bool:
    """Whether an intent says that the registry holds its condition."""
    return bool(re.match(r"^https?://(www\.)?color\.org/?$", intent.registry.strip().casefold()))


def _one(facts: Facts, standard: Standard) -> Broken | None:
    found = [one for one in facts.manuscript.facts.intents if one.subtype == "GTS_PDFX"]
    if len(found) == 1:
        return None
    if found:
        return Broken(f"the file has {len(found)} output intents for PDF/X", str(len(found)))
    return Broken("nothing says for which printing condition the file is made", "no output intent")


def _identifier(facts: Facts, standard: Standard) -> Broken | None:
    intent = intent_of(facts)
    if intent is None or intent.condition_identifier:
        return None
    return Broken("the output intent does not name its printing condition", "no name")


def _registry(facts: Facts, standard: Standard) -> Broken | None:
    intent = intent_of(facts)
    if intent is None or intent.profile is not None or registered(intent):
        return None
    where = f'names the registry "{intent.registry}"' if intent.registry else "names no registry"
    return Broken(f"the output intent {where} and holds no profile", intent.registry or "no registry")


def _info(facts: Facts, standard: Standard) -> Broken | None:
    intent = intent_of(facts)
    if intent is None or intent.info or registered(intent):
        return None
    return Broken("the output intent names a condition outside the registry and does not describe it", "no description")


def _embedded(facts: Facts, standard: Standard) -> Broken | None:
    intent = intent_of(facts)
    if intent is None or intent.profile is not None:
        return None
    if intent.referenced:
        return Broken("the profile of the output intent is not in the file but elsewhere", "outside the file")
    return Broken("the output intent holds no profile", "no profile")


def _valid(facts: Facts, standard: Standard) -> Broken | None:
    intent = intent_of(facts)
    if intent is None or intent.profile is None or intent.profile.valid:
        return None
    return Broken(f"the profile of the output intent is damaged: {intent.profile.why}", "damaged")


def _class(facts: Facts, standard: Standard) -> Broken | None:
    profile = _read(facts)
    if profile is None or profile.device_class == "prtr":
        return None
    kinds = {"mntr": "a screen", "scnr": "a scanner or camera", "spac": "a colour space", "link": "two devices at once"}
    kind = kinds.get(profile.device_class, "no device")
    return Broken(
        f"the profile of the output intent{_named(profile.description)} is one of {kind}", profile.device_class
    )


def _space(facts: Facts, standard: Standard) -> Broken | None:
    profile = _read(facts)
    right = {"CMYK", "GRAY"} if standard in X1A else set(_CHANNELS)
    if profile is None or profile.space in right:
        return None
    return Broken(
        f"the profile of the output intent{_named(profile.description)} is for {profile.space} colour", profile.space
    )


def _components(facts: Facts, standard: Standard) -> Broken | None:
    intent, profile = intent_of(facts), _read(facts)
    if intent is None or profile is None or intent.declared_components == profile.components:
        return None
    said = "nothing" if intent.declared_components is None else str(intent.declared_components)
    return Broken(
        f"the file states {said} as the number of inks of the output profile, and it has {profile.components}", said
    )


def _version(facts: Facts, standard: Standard) -> Broken | None:
    profile = _read(facts)
    if profile is None or int(profile.version.partition(".")[0] or 0) <= _LATEST[standard]:
        return None
    return Broken(
        f"the profile of the output intent{_named(profile.description)} is of version {profile.version}",
        f"version {profile.version}",
    )


def _read(facts: Facts) -> Profile | None:
    """The profile of the output intent, where it can be read."""
    intent = intent_of(facts)
    return intent.profile if intent is not None and intent.profile is not None and intent.profile.valid else None


def _named(description: str) -> str:
    return f' ("{description}")' if description else ""


_AFRESH = "Export again with the output profile of the printing condition that the printer names."

CLAUSES = (
    Clause(
        "intent-one",
        "one output intent",
        ALL,
        Severity.QUERY,
        "there has to be exactly one output intent for PDF/X",
        "one",
        _AFRESH,
        "ISO 15930: an output intent is required (an industry site on PDF/X); exactly one, from memory",
        _one,
    ),
    Clause(
        "intent-identifier",
        "name of the condition",
        ALL,
        Severity.QUERY,
        "the condition has to be named (OutputConditionIdentifier)",
        "a name",
        _AFRESH,
        f"{RECALLED}; ISO 32000-1, table 365",
        _identifier,
    ),
    Clause(
        "intent-registry",
        "registry or profile",
        OF_2003,
        Severity.QUERY,
        f"it has to name a condition of the registry {REGISTRY} or hold a profile",
        "registry or profile",
        _AFRESH,
        RECALLED,
        _registry,
    ),
    Clause(
        "intent-info",
        "description of the condition",
        ALL,
        Severity.NOTE,
        "a condition that no registry holds has to be described in words (Info)",
        "a description",
        _AFRESH,
        "ISO 32000-1, table 365: Info; and ISO 15930, from memory",
        _info,
    ),
    Clause(
        "intent-embedded",
        "output profile in the file",
        X4,
        Severity.QUERY,
        "the output profile has to be in the file",
        "a profile",
        _AFRESH,
        "ISO 15930-7, from memory, clause number not looked up",
        _embedded,
    ),
    Clause(
        "intent-valid",
        "a sound output profile",
        ALL,
        Severity.QUERY,
        "the output profile has to be a sound ICC profile",
        "a sound profile",
        _AFRESH,
        "ISO 15076-1, 7.2 and 7.3; and ISO 15930, from memory",
        _valid,
    ),
    Clause(
        "intent-class",
        "a profile of a press",
        ALL,
        Severity.QUERY,
        "the output profile has to be one of an output device (class prtr)",
        "prtr",
        _AFRESH,
        RECALLED,
        _class,
    ),
    Clause(
        "intent-space",
        "colours of the output profile",
        X1A,
        Severity.QUERY,
        "it has to be for CMYK or grey",
        "CMYK or GRAY",
        _AFRESH,
        RECALLED,
        _space,
    ),
    Clause(
        "intent-space",
        "colours of the output profile",
        ALL - X1A,
        Severity.QUERY,
        "it has to be for CMYK, grey or RGB",
        "CMYK, GRAY or RGB",
        _AFRESH,
        RECALLED,
        _space,
    ),
    Clause(
        "intent-components",
        "number of inks stated",
        ALL,
        Severity.QUERY,
        "both numbers have to agree",
        "the profile's number",
        _AFRESH,
        "ISO 32000-1, table 66 (N); and ISO 15930, from memory",
        _components,
    ),
    Clause(
        "intent-version",
        "version of the output profile",
        OF_2003,
        Severity.NOTE,
        "PDF 1.4 knows profiles up to version 2",
        "version 2",
        _AFRESH,
        "ISO 32000-1, table 67: ICC specifications by version of PDF, from memory",
        _version,
    ),
    Clause(
        "intent-version",
        "version of the output profile",
        X4,
        Severity.NOTE,
        "PDF 1.6 knows profiles up to version 4",
        "version 4",
        _AFRESH,
        "ISO 32000-1, table 67: ICC specifications by version of PDF, from memory",
        _version,
    ),
)
