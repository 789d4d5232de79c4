# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which findings were there already in an earlier version of the book, and which are new.

A finding is known when an earlier one of the same check and cause stands on the same page (``pairing``), and it has not
got worse: no worse severity, no more things that it stands for, no measure farther from its limit.  Each earlier
finding answers for one.  In doubt a finding is new: a gate that asks once too often does less harm than one that lets a
spoilt page through.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence

from attrs import frozen

from foldproof.geometry import Rect
from foldproof.preflight.model import Finding, Findings
from foldproof.preflight.page_digests import without_subset
from foldproof.preflight.pairing import Pairing, paired

#: by how much two measures of one fault may differ, by unit: figures are told to two places, and what is read off the
#: raster of the ink pass holds to 0.09 mm (the check bleed says so) when a page moves from one side to the other
_TOLERANCE = {"mm": 0.1, "pt": 0.02, "ppi": 1.0, "%": 0.5, "degrees": 0.1}
#: or by this part of the measure; counts, whole numbers of other units, must be the same
_RELATIVE = 0.01
#: units of a number of pages
_COUNTS = ("", "pages")
#: corners and sides of one thing on a page that was changed elsewhere may differ by so much
_PLACE_MM = 3.0
#: sides of a thing that may have moved to another page
_SIZE_MM = 0.5
#: more findings of a cause on one page than this are paired in their order, not each with its nearest
_MOST_TRIED = 60


@frozen
class Earlier:
    """What an earlier run found: a ``findings.json``, as far as it is compared with."""

    file: str  #: its name, without a folder
    manuscript: str  #: name of the file that was read then
    spec: str
    version: str  #: of Foldproof
    pages: int
    digests: tuple[str, ...]  #: of the pages, in order; empty: the file holds none
    findings: tuple[Finding, ...]


@frozen
class Compared:
    """The findings of a run beside those of an earlier one."""

    earlier: Earlier
    #: of every finding of the run, in order: the earlier one that it is, ``None``: there was none
    was: tuple[Finding | None, ...]
    #: of every finding of the run, in order: what is worse than it was, a clause; ``""``: nothing
    worse: tuple[str, ...]
    gone: tuple[Finding, ...]  #: earlier ones that are not there any more

    def is_known(self, index: int) -> bool:
        """Whether a finding (its place in ``Findings.items``) was there before, and no better than now."""
        return self.was[index] is not None and not self.worse[index]


def compared(findings: Findings, digests: Sequence[str], earlier: Earlier) -> Compared:
    """Hold the findings of a run against those of an earlier one.

    Args:
        digests: of the pages of this run (:mod:`foldproof.preflight.page_digests`).
    """
    if len(earlier.digests) == earlier.pages:
        pairing = paired(earlier.digests, digests)
    elif earlier.pages == len(digests):
        # nothing is known of the earlier pages but their number: each is taken for the one of its number, changed
        same = {index: index for index in range(len(digests))}
        pairing = Pairing(same, frozenset(), dict.fromkeys(same, 0), dict.fromkeys(same, 0), len(same), len(same))
    else:
        pairing = Pairing(old_pages=earlier.pages, new_pages=len(digests))
    # what is waived now is not gone
    items = (*findings.items, *(found for found, _, _ in findings.waived))
    was: list[int | None] = [None] * len(items)
    _on_their_pages(items, earlier.findings, pairing, was)
    _moved(items, earlier.findings, pairing, was)
    used = {old for old in was if old is not None}
    judged = list(zip(findings.items, was, strict=False))
    return Compared(
        earlier,
        was=tuple(None if old is None else earlier.findings[old] for _, old in judged),
        worse=tuple("" if old is None else _worse(earlier.findings[old], found, pairing) for found, old in judged),
        gone=tuple(found for index, found in enumerate(earlier.findings) if index not in used),
    )


def _on_their_pages(
    items: Sequence[Finding], before: Sequence[Finding], pairing: Pairing, was: list[int | None]
) -> None:
    """Pair findings of one check and cause on one page, or of the whole book."""
    olds: dict[tuple[str, str, int | None], list[int]] = defaultdict(list)
    for index, found in enumerate(before):
        olds[(*_kind(found), None if found.page is None else found.page - 1)].append(index)
    news: dict[tuple[str, str, int | None], list[int]] = defaultdict(list)
    for index, found in enumerate(items):
        if found.page is None:
            news[(*_kind(found), None)].append(index)
        elif (page := pairing.pairs.get(found.page - 1)) is not None:
            news[(*_kind(found), page)].append(index)
    for key, here in news.items():
        there = olds.get(key, [])
        for new, old in _nearest(items, here, before, there):
            page = items[new].page
            as_it_was = page is None or page - 1 in pairing.alike
            if as_it_was or _same_place(before[old], items[new]):
                was[new] = old


def _nearest(
    items: Sequence[Finding], here: Sequence[int], before: Sequence[Finding], there: Sequence[int]
) -> Iterable[tuple[int, int]]:
    """Each new finding with at most one old one, those that are most alike first."""
    if len(here) == 1 == len(there) or max(len(here), len(there)) > _MOST_TRIED:
        yield from zip(here, there, strict=False)
        return
    ranked = sorted((_unlike(before[old], items[new]), new, old) for new in here for old in there)
    taken_new, taken_old = set(), set()
    for _, new, old in ranked:
        if new not in taken_new and old not in taken_old:
            taken_new.add(new)
            taken_old.add(old)
            yield new, old


def _moved(items: Sequence[Finding], before: Sequence[Finding], pairing: Pairing, was: list[int | None]) -> None:
    """Pair findings whose thing moved with the text to another page of a stretch that was set anew.

    Only what can be known again goes: it has a measure and a size, and both are the same.
    """
    used = {old for old in was if old is not None}
    waiting: dict[tuple[str, str, int], list[int]] = defaultdict(list)
    for index, found in enumerate(before):
        stretch = None if found.page is None else pairing.old_stretch.get(found.page - 1)
        if stretch is not None and index not in used:
            waiting[(*_kind(found), stretch)].append(index)
    for index, found in enumerate(items):
        stretch = None if found.page is None else pairing.new_stretch.get(found.page - 1)
        if was[index] is not None or stretch is None:
            continue
        there = waiting[(*_kind(found), stretch)]
        again = next((old for old in there if _same_thing(before[old], found)), None)
        if again is not None:
            was[index] = again
            there.remove(again)


def _kind(found: Finding) -> tuple[str, str]:
    return found.check, without_subset(found.cause)


def _same_thing(old: Finding, new: Finding) -> bool:
    before, now = _number(old.measured), _number(new.measured)
    if before is None or now is None or old.place_mm is None or new.place_mm is None:
        return False
    alike = old.count == new.count and old.unit == new.unit and not _differ(before, now, new.unit)
    return alike and _size_apart(old.place_mm, new.place_mm) <= _SIZE_MM


def _same_place(old: Finding, new: Finding) -> bool:
    """Whether they may speak of one thing on a page that was changed: it lies where it lay, or is as large as it was.

    Of several things on a page the worst is told: where it is put right, the next one is told, somewhere else.
    """
    if old.place_mm is None or new.place_mm is None or new.count < old.count:
        return True
    touch = old.place_mm.grown(_PLACE_MM).meets(new.place_mm)
    return touch or _size_apart(old.place_mm, new.place_mm) <= _PLACE_MM


def _worse(old: Finding, new: Finding, pairing: Pairing) -> str:
    """What is worse than it was, a clause."""
    if new.severity.rank < old.severity.rank:
        return f"it was a {old.severity.value} before"
    if new.count > old.count:
        return f"it stands for {new.count} things now, for {old.count} before"
    before, now = _number(old.measured), _number(new.measured)
    if before is not None and now is not None:
        return _farther(before, now, old, new, pairing)
    if isinstance(old.measured, str) and isinstance(new.measured, str):
        if old.measured.isdigit() and new.measured.isdigit():  # folios, which count on when a page is put in
            return ""
        return f"it was {old.measured} before" if set(_words(new.measured)) - set(_words(old.measured)) else ""
    if isinstance(old.measured, str | bool) or isinstance(new.measured, str | bool) or before is not now:
        return "" if old.measured == new.measured else "it was measured otherwise before"
    return ""  # neither is a figure: JSON writes none for what is not finite


def _farther(before: float, now: float, old: Finding, new: Finding, pairing: Pairing) -> str:
    if old.unit != new.unit:
        return f"it was told in {old.unit or 'numbers'} before"
    if new.unit == "page":
        # a page that the finding points to
        stands = pairing.pairs.get(int(now) - 1)
        return "" if stands is None or stands == int(before) - 1 else f"it pointed to page {before:g} before"
    if not _differ(before, now, new.unit):
        return ""
    if new.page is None and new.unit in _COUNTS and (before, now) == (pairing.old_pages, pairing.new_pages):
        return ""  # every page then, every page now
    limit = _number(new.limit)
    if limit is None:
        better = new.unit not in _TOLERANCE and now < before
    else:
        better = abs(now - limit) < abs(before - limit) and (now < limit) == (before < limit)
    told = f"{before:.0f}" if new.unit == "ppi" else f"{before:g}"
    return "" if better else f"it was {told}{f' {new.unit}' if new.unit else ''} before"


def _words(measured: str) -> list[str]:
    return measured.replace(" and ", ", ").split(", ")


def _differ(before: float, now: float, unit: str) -> bool:
    if unit not in _TOLERANCE and now.is_integer() and before.is_integer():
        return now != before
    return abs(now - before) > max(_TOLERANCE.get(unit, 0.0), _RELATIVE * abs(before))


def _unlike(old: Finding, new: Finding) -> tuple[float, float]:
    """How far two findings of one cause are from each other: by place, then by measure."""
    apart = 0.0
    if old.place_mm is not None and new.place_mm is not None:
        (ox, oy), (nx, ny) = old.place_mm.centre, new.place_mm.centre
        apart = abs(ox - nx) + abs(oy - ny) + _size_apart(old.place_mm, new.place_mm)
    before, now = _number(old.measured), _number(new.measured)
    if before is not None and now is not None:
        return round(apart, 1), abs(now - before)
    return round(apart, 1), float(old.measured != new.measured)


def _size_apart(old: Rect, new: Rect) -> float:
    return max(abs(old.width - new.width), abs(old.height - new.height))


def _number(value: float | str | None) -> float | None:
    """A measure that is a number; JSON knows no other than finite ones."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if math.isfinite(value) else None
