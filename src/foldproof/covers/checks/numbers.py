# SPDX-License-Identifier: AGPL-3.0-or-later
"""The ISBN: its check digit, the same in the job, in the bars, and in type."""

from __future__ import annotations

import re
from collections.abc import Iterable

from foldproof.covers.isbn import PREFIXES, as_ean, bare
from foldproof.covers.model import CoverFacts, over_cover, told
from foldproof.pdf.cover_things import Line
from foldproof.preflight.model import Check, Finding, Limits, Needs, NotJudged, Severity

#: how far from the bars their digits stand, at most (GS1 sets them half a millimetre below; common practice, no source)
_NEAR_MM = 8.0
#: an ISBN in type: the word, then ten to thirteen digits with hyphens or spaces between them
_ISBN = re.compile(r"ISBN(?:\s*-?\s*1[03])?\s*:?\s*([0-9](?:[\s\u2010-\u2015-]*[0-9Xx]){8,12})(?![0-9])", re.IGNORECASE)


def _isbn(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    asked, said = facts.job.book.isbn, None
    if asked is not None:
        try:
            said = as_ean(asked)
        except ValueError as odd:
            yield told(
                "isbn/job",
                Severity.STOP,
                f"The ISBN in the job, {asked}, is none: {odd}.",
                "Put isbn under [book] in the job right; then look at the cover again.",
                measured=asked,
                limit="ISBN",
            )
            return
    bars = facts.looked.bars
    held = bars.digits if bars is not None and bars.valid else None
    if bars is not None and held is not None and said is not None and held != said:
        yield told(
            "isbn/other",
            Severity.STOP,
            f"The bars hold {held}; the ISBN in the job is {asked}"
            + (f", which is {said}" if bare(asked or "") != said else "")
            + ".",
            "Settle which of the two is right; then make the bars afresh, or put the job right.",
            place_mm=bars.box_mm,
            measured=held,
            limit=said,
        )
    elif bars is not None and held is not None and not held.startswith(PREFIXES):
        yield told(
            "isbn/no-book",
            Severity.QUERY,
            f"The bars hold {held}, which is no ISBN: it begins neither with 978 nor with 979.",
            "Make the bars from the ISBN of the book; or tell us that it is sold under this number.",
            place_mm=bars.box_mm,
            measured=held,
            limit="978, 979",
        )
    yield from _in_type(facts, said or held, "job has" if said is not None else "bars have")


def _in_type(facts: CoverFacts, right: str | None, whose: str) -> Iterable[Finding]:
    """Every ISBN that stands in live type.  Beside the right one another may be that of another binding."""
    good: list[tuple[Line, str, str]] = []
    for line in facts.looked.lines:
        for found in _ISBN.finditer(line.text):
            try:
                good.append((line, found[0], as_ean(found[1])))
            except ValueError as odd:
                says = f"“{found[0]}” stands in type and is no ISBN: {odd}."
                yield _wrong_type(line, Severity.STOP, says, found[1], right)
    beside = any(read == right for _, _, read in good)
    for line, words, read in good:
        if right is not None and read != right:
            says = f"“{words}” stands in type; the {whose} {right}."
            yield _wrong_type(line, Severity.QUERY if beside else Severity.STOP, says, read, right)


def _wrong_type(line: Line, severity: Severity, says: str, measured: str, right: str | None) -> Finding:
    return told(
        "isbn/type",
        severity,
        says,
        "Put the number in type right; or tell us that it is that of another binding.",
        place_mm=line.box_mm,
        measured=bare(measured),
        limit=right or "ISBN",
    )


def _digits(facts: CoverFacts, limits: Limits) -> Iterable[Finding]:
    bars = facts.looked.bars
    if bars is None:
        raise NotJudged("No bars could be read on the back.")
    near = bars.box_mm.grown(_NEAR_MM)
    for line in facts.looked.lines:
        if not near.meets(line.box_mm) or "isbn" in line.text.casefold():
            continue
        # the sign > stands in the room behind the bars
        digits = re.sub(r"[\s>\u2010-\u2015-]", "", line.text)
        if len(digits) == 13 and digits.isascii() and digits.isdigit() and digits != bars.digits:
            yield told(
                "barcode-digits",
                Severity.STOP,
                f"The digits beside the bars read {digits}, the bars themselves {bars.digits}.",
                "Make bars and digits afresh together, from the right ISBN.",
                place_mm=line.box_mm,
                measured=digits,
                limit=bars.digits,
            )


_NEEDS = frozenset({Needs.STRUCTURE, Needs.OBJECTS, Needs.INK})

CHECKS = (
    Check(
        id="isbn",
        title="ISBN",
        needs=_NEEDS,
        measures="The ISBN of the job ([book] isbn, of ten or thirteen digits): its check digit; whether the bars hold "
        "the same; whether every ISBN in live type, known by the word before it, is one and the same. What stands as "
        "outlines or in a picture cannot be read.",
        why="Under another number the book is another book, in every till and catalogue.",
        remedy="Settle the ISBN, and make bars and type from it.",
        source="ISO 2108: check digits modulo 10 and, of ten digits, modulo 11; from memory",
        run=over_cover(_isbn),
        limits={},
        severity=Severity.STOP,
    ),
    Check(
        id="barcode-digits",
        title="Digits beside the bars",
        needs=_NEEDS,
        measures="Thirteen digits of live type in one line beside the bars, against what the bars hold.",
        why="Whoever types in what the scanner did not read gets another book.",
        remedy="Make bars and digits together.",
        source="ISO/IEC 15420: the digits stand below their bars; from memory",
        run=over_cover(_digits),
        limits={},
        severity=Severity.STOP,
    ),
)
