# SPDX-License-Identifier: AGPL-3.0-or-later
"""The folding bench: the sheet with its folds, what must be seen after every fold, three pages to find on the section.

Where folds, slits and sizes lie is told from the plan.  Which pages must be seen is told from the proof alone: from the
written sheets as they were folded again.  A plan that says otherwise does not come into it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from foldproof.makeup.instructions import Section
from foldproof.pdf.proof_affine import Point
from foldproof.prove.shown import PageSeen, SectionSeen, sections_seen
from foldproof.quantities.model import Work
from foldproof.tickets.bench import Bench, due
from foldproof.tickets.cautions import cautions_of
from foldproof.tickets.diagram import TURN_BACK, SheetDrawing
from foldproof.tickets.labels import Labels, sheets_words
from foldproof.tickets.lay_sizes import lay_sizes
from foldproof.tickets.printing import again_words, over_words, printing
from foldproof.tickets.side import side_data
from foldproof.tickets.size_rows import size_rows
from foldproof.tickets.trimming import lip_words, sizes_folded

#: of pieces that are not drawn, so many are told of, fold by fold
_MOST_TOLD = 12
#: labels longer than this want the whole width of the page
_SHORT = 15
_NOT_PROVED = "These sheets were not proved: which pages must be seen is not told."
_SIZES_SAY = (
    "mm: across from the side lay edge, up from the gripper edge of the front; the same corner of the paper for press,"
    " knife and folder, whatever side lies up. Sizes in the last two columns are from the piece’s own corner, the one"
    " that lay nearest to the sheet’s."
)


def entry(work: Work, drawing: SheetDrawing) -> Bench:
    """The ticket of one kind of sheet.

    Args:
        drawing: an example of the kind.
    """
    plan, kind = work.plan, drawing.kind
    sheet = next(s for s in plan.instructions.sheets if s.number == drawing.number)
    told = printing(plan, kind, drawing.turn)
    labels = Labels(plan, work.folios)
    seen = _seen(work, kind.sheets)
    slits, lines = size_rows(lay_sizes(plan, drawing.number))
    rows = _check_rows(work, kind.sheets, seen, labels)
    pieces = _pieces(sheet.sections)
    drawn = [piece["ids"][0] for piece in pieces]
    here = {one.id: one for one in seen if one.sheet == drawing.number}
    most = max((len(cell) for row in rows for cell in row[2:]), default=0)
    return Bench(
        bench="folding",
        name="Folding",
        what=f"{kind.label}: {sheets_words(kind.sheets)}",
        layout="folding",
        facts=(
            ("folder", told["folder"]),
            ("sheet", told["sheet"]),
            ("stock", told["stock"]),
            ("folded, untrimmed", "; ".join(sizes_folded(plan, kind))),
        ),
        body={
            "side": side_data(drawing.front),
            "caption": (
                f"Front of sheet {drawing.number}, lying face up, pieces by letter; gripper edge at the foot, side lay"
                f" at the {drawing.front.lay}. Broken lines: folds by number, each drawn on the part that stays where"
                " it lies."
            ),
            "pieces": pieces,
            "slits": ""
            if not sheet.slits_mm
            else f"Slit first, along the dash-dotted line{'s'[: len(sheet.slits_mm) - 1]}.",
            "says": [
                words
                for words in (over_words(sheet.sections), again_words(sheet.sections), lip_words(work, kind))
                if words
            ],
            "seen": _all_shown([here[name] for name in drawn if name in here], labels),
            "seen_words": _seen_words(work, drawing.number),
            "others": _others(here, drawn, labels),
            "others_left": _left(here, drawn),
            "check_heads": _check_heads(seen),
            "checks": rows,
            "checks_wide": most > _SHORT,
            "check_words": _check_words(work),
            "slit_rows": slits,
            "size_rows": lines,
            "sizes_say": _SIZES_SAY,
        },
        cautions=cautions_of("folding"),
        checks=("a sheet folded by hand agrees", "the three pages found on the first section"),
        due=due(work, "folding", kind.sheets),
        most_pages=5 + (len(rows) + len(lines) + len(here)) // 10,
    )


# --- what must be seen ---


def _seen(work: Work, sheets: Sequence[int]) -> tuple[SectionSeen, ...]:
    """Every section of the sheets, as the proof found it; none without a proof."""
    if work.proof is None:
        return ()
    told, wanted = work.plan.instructions, set(sheets)
    ids = {section.id for sheet in told.sheets if sheet.number in wanted for section in sheet.sections}
    return tuple(one for one in sections_seen(told, work.proof, ids) if one.sheet in wanted)


def _all_shown(sections: Sequence[SectionSeen], labels: Labels) -> list[dict[str, Any]]:
    """The piles of every piece; pieces that show the same pages, as copies do, share one entry."""
    alike: list[tuple[list[str], list[dict[str, Any]]]] = []
    for section in sections:
        piles = _piles(section, labels)
        same = next((ids for ids, known in alike if known == piles), None)
        if same is None:
            alike.append(([section.id], piles))
        else:
            same.append(section.id)
    return [{"id": ", ".join(ids), "piles": piles} for ids, piles in alike]


def _piles(section: SectionSeen, labels: Labels) -> list[dict[str, Any]]:
    """A piece after each of its folds."""
    return [
        {
            "fold": pile.fold,
            "words": pile.words,
            "size_mm": [round(length, 3) for length in pile.size_mm],
            "closed_mm": _rounded(pile.closed_mm),
            "next_mm": _rounded(pile.next_mm),
            "top": [_page(one, labels) for one in pile.top],
            "under": [_page(one, labels) for one in pile.under],
        }
        for pile in section.piles[1:]
    ]


def _rounded(line: tuple[Point, Point] | None) -> list[list[float]] | None:
    """Coordinates that were reckoned in different corners of a sheet are alike to a thousandth."""
    return None if line is None else [[round(x, 3) + 0.0 for x in end] for end in line]


def _page(seen: PageSeen, labels: Labels) -> dict[str, Any]:
    box = [round(length, 3) + 0.0 for length in seen.box_mm]
    return {**labels.figure(seen.page), "box_mm": box, "turn": seen.turn}


def _seen_words(work: Work, sheet: int) -> str:
    if work.proof is None:
        return _NOT_PROVED
    words = (
        f"Sheet {sheet} as the proof folded it. Left, the pile as it lies; right, the same turned over, side to side."
        " Thick edge: closed by this fold; broken line: the next fold."
    )
    if any(work.folios):
        words += " Figures are printed folios; underlined, pages of the PDF that print none."
    else:
        words += " Figures are pages of the PDF, counted from 1."
    return words


def _others(seen: dict[str, SectionSeen], drawn: Sequence[str], labels: Labels) -> list[list[str]]:
    """Pieces of the example sheet that are folded as one that is drawn: what shows, in words; alike ones once."""
    alike: dict[tuple[tuple[str, str, str], ...], list[str]] = {}
    for section in _undrawn(seen, drawn):
        key = tuple((str(p.fold), _in_rows(p.top, labels), _in_rows(p.under, labels)) for p in section.piles[1:])
        alike.setdefault(key, []).append(section.id)
    return [[", ".join(ids), *row] for rows, ids in [*alike.items()][:_MOST_TOLD] for row in rows]


def _undrawn(seen: dict[str, SectionSeen], drawn: Sequence[str]) -> list[SectionSeen]:
    return [section for name, section in seen.items() if name not in drawn]


def _left(seen: dict[str, SectionSeen], drawn: Sequence[str]) -> str:
    over = len(_undrawn(seen, drawn)) - _MOST_TOLD
    return "Of further pieces of the sheet find the three pages below." if over > 0 else ""


def _in_rows(pages: Sequence[PageSeen], labels: Labels) -> str:
    """``"5 12 / 4 13"``: rows from the head."""
    rows: list[list[PageSeen]] = []
    for page in pages:
        if rows and abs(rows[-1][0].box_mm[3] - page.box_mm[3]) < 1:
            rows[-1].append(page)
        else:
            rows.append([page])
    return " / ".join(" ".join(labels.figure(page.page)["text"] for page in row) for row in rows)


# --- three pages to find ---


def _check_words(work: Work) -> str:
    if work.proof is None:
        return _NOT_PROVED
    words = "Fold one sheet by hand first. Find these pages, at their lower outer corner: on the front of the folded"
    words += " section, on its back, and where it opens in its middle"
    if any(work.folios):
        return f"{words}; each by its printed folio and, where that is another, its page of the PDF."
    return f"{words}; counted as the manuscript’s own pages from 1."


def _check_heads(seen: Sequence[SectionSeen]) -> list[str]:
    if not seen:
        return []
    first = seen[0]
    return [
        "sheet",
        "piece",
        f"front, {first.front.corner}",
        f"back, {first.back.corner}",
        "middle, left and right page",
    ]


def _check_rows(work: Work, sheets: Sequence[int], seen: Sequence[SectionSeen], labels: Labels) -> list[list[str]]:
    told = work.plan.instructions
    signatures = {piece: s.signature for s in work.plan.sections for piece in s.pieces}
    of = {
        section.id: section.copy_of
        for sheet in told.sheets
        if sheet.number in set(sheets)
        for section in sheet.sections
    }
    rows = []
    for one in seen:
        copy_of = of.get(one.id)
        # the left page first, whichever way the book is read
        left, right = sorted(one.middle, key=lambda corner: corner.corner != "lower left")
        rows.append(
            [
                str(one.sheet),
                f"{one.id} ({signatures.get(copy_of or one.id, '')}{', copy' if copy_of else ''})",
                labels.page(one.front.page),
                labels.page(one.back.page),
                f"{labels.page(left.page)} and {labels.page(right.page)}",
            ]
        )
    return rows


# --- how it is folded ---


def _pieces(sections: tuple[Section, ...]) -> list[dict[str, Any]]:
    """Folds in words; pieces folded alike share one entry."""
    alike: dict[tuple[tuple[str, ...], int, bool], list[str]] = {}
    for section in sections:
        key = (tuple(f.words for f in section.folds), section.turned, section.turned_over)
        alike.setdefault(key, []).append(section.id)
    return [
        {
            "ids": ids,
            "title": f"piece{'s' if len(ids) > 1 else ''} {', '.join(ids)}",
            "folds": [{"number": n, "words": words} for n, words in enumerate(folds, 1)],
            "note": _before(turned, over),
        }
        for (folds, turned, over), ids in alike.items()
    ]


def _before(turned: int, over: bool) -> str:
    """What is done to a piece before it is folded."""
    if not over:
        return TURN_BACK[turned]
    then = TURN_BACK[turned].removeprefix("Before folding, turn the piece ").removesuffix(".")
    return f"Before folding, turn the piece over, side to side{', then ' + then if then else ''}."
