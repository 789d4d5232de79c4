# SPDX-License-Identifier: AGPL-3.0-or-later
"""The first line of text of some pages, to be held against the section in the hand.

Running heads and folios are not it, where they can be told: a line in the head band is a running head when it stands
off from what follows and bears the folio, is set smaller than the text, or stands on another of the pages as well.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Sequence
from itertools import pairwise
from statistics import median

from foldproof.manuscript.folios import printed_folios
from foldproof.manuscript.model import Manuscript, Observations
from foldproof.pdf.page_lines import LinesJob, LinesOf, TextLine, page_lines
from foldproof.workers import Lost, Workers

#: letters of a line that are told
LETTERS = 60
#: depth of the head band as a part of the trim's height: running heads stand in it
_BAND = 0.17
#: a head stands off from the text by more than so many leadings
_STANDS_OFF = 1.3
#: leading of a page with too few lines to tell, in sizes of the type
_LEADING = 1.2
#: type smaller than the text by so much, points, is set smaller
_SMALLER_PT = 0.3
#: a line of fewer letters tells little
_BRIEF = 8
#: seconds for a job of so many pages
_SECONDS, _PAGES = 30.0, 8
_FIGURES = re.compile(r"[\W\d_]*|[\W_]*[ivxlcdm]+[\W_]*", re.IGNORECASE)


def first_lines(
    observations: Observations,
    manuscript: Manuscript,
    pages: Collection[int],
    workers: Workers,
    password: str | None = None,
) -> tuple[str, ...]:
    """The first line of text of every page of the manuscript in order; ``""`` where none is, or none was asked for.

    Args:
        observations: with the object pass, which reads the folios.
        pages: the pages that are asked for, from 0.
        workers: processes that read; a page that brings one down has no line.
    """
    wanted = [
        LinesOf(page.index, page.to_trim.as_tuple(), page.trim_size_pt)
        for page in manuscript.pages
        if page.index in set(pages) and page.index not in observations.ended
    ]
    read = _read(manuscript, wanted, workers, password)
    folios = printed_folios(observations)
    heads: Counter[str] = Counter()
    for page in wanted:
        heads.update({_bare(line.text) for line in _band(read.get(page.index, ()), page.size_pt[1])})
    found = {
        page.index: _first(read[page.index], page.size_pt[1], _folio(folios, page.index), heads)
        for page in wanted
        if page.index in read
    }
    return tuple(cut_at_word(found.get(page.index, ""), LETTERS) for page in manuscript.pages)


def _read(
    manuscript: Manuscript, wanted: Sequence[LinesOf], workers: Workers, password: str | None
) -> dict[int, tuple[TextLine, ...]]:
    """The lines of the pages; those of a job that took its worker along are read one by one."""
    read: dict[int, tuple[TextLine, ...]] = {}
    chunks = [tuple(wanted[at : at + _PAGES]) for at in range(0, len(wanted), _PAGES)]
    while chunks:
        jobs = [LinesJob(manuscript.path, chunk, password) for chunk in chunks]
        again: list[tuple[LinesOf, ...]] = []
        for number, result in workers.map(page_lines, jobs, seconds=_SECONDS):
            if not isinstance(result, Lost):
                read |= {page.index: lines for page, lines in zip(chunks[number], result, strict=True)}
            elif len(chunks[number]) > 1:
                again += [(page,) for page in chunks[number]]
        chunks = again
    return read


def _folio(folios: Sequence[str], index: int) -> str:
    return folios[index].strip().lower() if index < len(folios) else ""


def _band(lines: Sequence[TextLine], height_pt: float) -> list[TextLine]:
    return [line for line in lines if line.foot <= height_pt * _BAND]


def _bare(text: str) -> str:
    """A running head without its folio."""
    return re.sub(r"[\W\d_]+", " ", text).strip().lower()


def _first(lines: Sequence[TextLine], height_pt: float, folio: str, heads: Counter[str]) -> str:
    """The first line that is neither folio nor running head."""
    told = [line for line in lines if not _is_folio(line, folio, height_pt)]
    if not told:
        return ""
    size = _body_size(told)
    leading = _leading(told, size)
    for line, after in zip(told, [*told[1:], None], strict=True):
        if line not in _band(told, height_pt):
            return _with_next(line, after)
        stands_off = after is not None and after.foot - line.foot > _STANDS_OFF * leading
        words = [word.lower() for word in re.split(r"\W+", line.text) if word]
        bears = bool(folio) and bool(words) and folio in (words[0], words[-1])
        repeated = heads[_bare(line.text)] > 1 and bool(_bare(line.text))
        if not (repeated or (stands_off and (bears or line.size < size - _SMALLER_PT))):
            return _with_next(line, after)
    return ""


def _with_next(line: TextLine, after: TextLine | None) -> str:
    """A line; the number of a chapter, say, with what stands below it, since others have numbers too."""
    return f"{line.text} {after.text}" if after is not None and len(line.text) < _BRIEF else line.text


def _is_folio(line: TextLine, folio: str, height_pt: float) -> bool:
    """A figure alone at head or foot."""
    edge = line.foot <= height_pt * _BAND or line.top >= height_pt * (1 - _BAND)
    bare = line.text.strip(" .,:;|/·•*~-–—[](){}<>").lower()
    return edge and (bare == folio or (bool(_FIGURES.fullmatch(line.text)) and len(bare) <= 6))


def _body_size(lines: Sequence[TextLine]) -> float:
    letters: Counter[float] = Counter()
    for line in lines:
        letters[line.size] += len(line.text)
    return max(letters, key=lambda size: (letters[size], -size))


def _leading(lines: Sequence[TextLine], size: float) -> float:
    steps = [b.foot - a.foot for a, b in pairwise(lines) if a.size == b.size == size]
    return median(steps) if len(steps) > 2 else _LEADING * size


def cut_at_word(text: str, letters: int) -> str:
    """A text of so many letters at the most, cut at a space where one is near."""
    if len(text) <= letters:
        return text
    cut = text[: letters - 1]
    if text[letters - 1] != " ":
        space = cut.rfind(" ")
        cut = cut[:space] if space > letters * 2 // 3 else cut
    return cut.rstrip(" ,;:") + "…"
