# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a clause is: one thing that a standard asks of a file, in words of our own, and how to see that it is not so."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum

from attrs import frozen

from foldproof.preflight.model import Facts, Severity


class Standard(StrEnum):
    """The parts of ISO 15930 that are known here, by the words in which a file claims them."""

    X1A = "PDF/X-1a:2003"
    X3 = "PDF/X-3:2003"
    X4 = "PDF/X-4"


#: where each is published
PARTS = {
    Standard.X1A: "ISO 15930-4:2003",
    Standard.X3: "ISO 15930-6:2003",
    Standard.X4: "ISO 15930-7:2010",
}

ALL = frozenset(Standard)
#: those of 2003, which rest on PDF 1.4
OF_2003 = frozenset({Standard.X1A, Standard.X3})
X1A, X3, X4 = (frozenset({one}) for one in Standard)


@frozen
class Broken:
    """How a file goes against a clause."""

    says: str  #: what is found, as the middle of a sentence: ``"DeviceRGB is painted on page 3"``
    measured: str  #: the same in a word or two
    pages: tuple[int, ...] = ()  #: 0-based, where pages are at fault


@frozen
class Clause:
    """One clause of one or more standards."""

    id: str  #: kebab-case; the cause of a finding is ``check/id``
    subject: str  #: two to five words
    standards: frozenset[Standard]
    severity: Severity
    asks: str  #: what has to be, as the end of a sentence
    wants: str  #: the same in a word or two
    remedy: str  #: a sentence
    source: str  #: where it is to be found; ``from memory`` where nobody looked it up
    broken: Callable[[Facts, Standard], Broken | None]
