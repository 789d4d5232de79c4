# SPDX-License-Identifier: AGPL-3.0-or-later
"""The words of the report, as plain data for the page and for the printed report."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from foldproof.makeup.plan import Plan
from foldproof.preflight.model import Severity
from foldproof.prove.model import Verdict
from foldproof.report.causes import Cause
from foldproof.report.looked_at import checks_told, colophon, uninterpreted, waivers
from foldproof.report.model import Results
from foldproof.report.plan_facts import cost_lines_words, cost_words, printed_words
from foldproof.report.since import baseline_lines
from foldproof.report.story import Run, alike_groups, runs, story
from foldproof.report.words import clean, count, ranges, sentence
from foldproof.tickets.diagram import TURN_BACK, SheetDrawing
from foldproof.tickets.printing import again_words, over_words, printing

#: rows of findings, faults of the proof; the JSON files hold the others
MOST_CAUSES = 150
MOST_FAULTS = 60
#: kinds of sheets shown, front and back of one sheet of each
MOST_KINDS = 8
#: pages listed one by one in the list by page, and causes named for each
MOST_PAGES = 3000
_MOST_ON_PAGE = 8
#: causes of one severity on the first screen, and letters of each
MOST_FIRST = 8
_MOST_LETTERS = 110
_MOST_FAULT_PICTURES = 24
#: a fault's picture larger than this is left out, base64 characters
_MOST_PICTURE = 250_000
#: sections listed openly; more go behind a line that can be opened
_OPEN_RUNS = 40


def content(results: Results, grouped: Sequence[Cause]) -> dict[str, Any]:
    """Everything that is said, without a picture or a drawing.  ``grouped``: all causes, in order."""
    plan, proof = results.plan, results.proof
    lines = runs(results)
    left = len(grouped) - MOST_CAUSES
    kinds_left = max(0, len(plan.kinds) - MOST_KINDS) if plan else 0
    faults_left = len(proof.faults) - MOST_FAULTS if proof else 0
    return {
        "story": story(results),
        "file": clean(results.manuscript.path.name),
        "made_nothing": "No make-up was asked for." if results.refusal is None else "Nothing: no plan fits.",
        "notes": [
            clean(sentence(note)) for note in (*results.settings.overrides, *baseline_lines(results), *results.notes)
        ],
        "first": [row for row in (_first_screen(grouped, s) for s in (Severity.STOP, Severity.QUERY)) if row["rows"]],
        "causes": [_cause(number, cause) for number, cause in enumerate(grouped[:MOST_CAUSES], 1)],
        "by_page": _by_page(results, grouped),
        "checks": checks_told(results),
        "causes_left": f"{count(left, 'more cause')} of lesser weight: see findings.json." if left > 0 else "",
        "lost": uninterpreted(results),
        "kinds_left": f"{count(kinds_left, 'more kind')} of sheet: see plan.json." if kinds_left else "",
        "runs": lines,
        "runs_short": _runs_short(lines),
        "proof_legs": _legs(results),
        "proof_notes": [clean(sentence(note)) for note in proof.notes] if proof else [],
        "faults": _faults(results),
        "faults_left": f"{count(faults_left, 'more fault')}: see proof.json." if faults_left > 0 else "",
        "blanks": ranges((n + 1 for n in proof.blanks), 80) + " of the folded book" if proof and proof.blanks else "",
        "alike": alike_groups(proof) if proof else (),
        "cost_told": cost_told(plan),
        "prices_of": f"Prices of {clean(results.settings.house)}"
        + ("." if results.settings.house_given else ", the house that comes with the program: an invented shop."),
        "reasons": [clean(sentence(line)) for line in plan.reasons] if plan else [],
        "rules": [clean(sentence(line)) for line in plan.rules] if plan else [],
        "offers": [clean(sentence(line)) for line in plan.offers] if plan else [],
        "refused": [clean(sentence(line)) for line in plan.refused] if plan else [],
        "waived": waivers(results),
        "colophon": colophon(results),
    }


def kind_words(drawing: SheetDrawing) -> str:
    """Which sheets are laid out so, and how they turn."""
    sheets = drawing.kind.sheets
    named = f"Sheet {sheets[0]}" if len(sheets) == 1 else f"{len(sheets):,} sheets: {ranges(sheets, 40)}"
    return f"{named}. Between front and back it turns {drawing.turn}."


def printing_told(plan: Plan, drawing: SheetDrawing) -> dict[str, Any]:
    """How the sheets of a kind are printed: a sentence, and a table with the inks and plates of either side."""
    told = printing(plan, drawing.kind, drawing.turn)
    again = again_words(plan.instructions.sheets[drawing.number - 1].sections)
    over = over_words(plan.instructions.sheets[drawing.number - 1].sections)
    return {
        "says": [clean(line) for line in (printed_words(told), again, over) if line] if plan.runs else [],
        "heads": told["heads"],
        "rows": [[clean(cell) for cell in row] for row in told["rows"]],
    }


def cost_told(plan: Plan | None) -> dict[str, Any]:
    """The cost as a sentence and a table; no rows where none was reckoned."""
    cost = plan.cost if plan else None
    if plan is None or cost is None:
        return {"says": "", "heads": [], "rows": [], "total": "", "unit": ""}
    return {
        "says": clean(cost_words(plan)),
        "heads": ["", "how much", "quantity", "price of one", f"cost, {cost.currency}" if cost.currency else "cost"],
        "rows": [[clean(cell) for cell in row] for row in cost_lines_words(cost)],
        "total": "not known" if cost.total is None else f"{cost.total:,.2f}",
        "unit": "for 1 copy" if cost.copies == 1 else f"for {cost.copies:,} copies",
    }


def piece_words(drawing: SheetDrawing) -> list[str]:
    """How each piece is folded, pieces folded alike in one sentence."""
    pieces: dict[tuple[int, tuple[str, ...]], list[str]] = {}
    for piece in drawing.front.pieces:
        folds = tuple(f"{f.number} {f.words}" for f in drawing.front.folds if f.section == piece.id)
        pieces.setdefault((piece.turned, folds), []).append(clean(piece.id))
    return [
        f"{'Piece' if len(ids) == 1 else 'Pieces'} {', '.join(ids)}: "
        + (f"folds {', '.join(folds)}." if folds else "not folded.")
        + (f" {TURN_BACK[turned]}" if folds and turned else "")
        for (turned, folds), ids in pieces.items()
    ]


def _cause(number: int, cause: Cause) -> dict[str, Any]:
    # a table of places is worth its room only where the places differ
    differ = len({p.measured for p in cause.places}) > 1
    rows = [p for p in cause.places if p.page is not None and (p.where or (p.measured and differ))]
    return {
        "number": number,
        "check": cause.check,
        "severity": cause.severity.value,
        "since": cause.since,
        "title": cause.title,
        "headline": cause.headline,
        "where": cause.where,
        "summary": cause.summary,
        "problem": cause.problem,
        "remedy": cause.remedy,
        "measured": cause.measured,
        "limit": cause.limit,
        "whose": sentence(cause.whose) if cause.whose else "",
        "explained": cause.explained,
        "rows": [{"named": p.named, "measured": p.measured, "where": p.where} for p in rows]
        if len(cause.findings) > 1
        else [],
        "measures": differ and any(p.measured for p in rows),
        "placed": any(p.where for p in rows),
        "page_list": cause.page_list,
        # for the filter: 1-4 7
        "on": ranges(cause.pages).replace(", ", " ").replace("–", "-"),
    }


def _first_screen(grouped: Sequence[Cause], severity: Severity) -> dict[str, Any]:
    """Causes of one severity as lines of the first screen, those that touch most pages first."""
    here = [(number, cause) for number, cause in enumerate(grouped, 1) if cause.severity is severity]
    shown = here[:MOST_FIRST]
    left = len(here) - len(shown)
    return {
        "severity": severity.value,
        "rows": [
            # a cause past the last one that is shown has nothing to lead to
            {
                "number": number if number <= MOST_CAUSES else 0,
                "title": cause.title,
                "since": cause.since.partition(":")[0],
                "headline": _shortened(cause.headline),
                "where": cause.where,
            }
            for number, cause in shown
        ],
        "left": f"{count(left, 'more cause')} below" if left else "",
    }


def _shortened(text: str) -> str:
    if len(text) <= _MOST_LETTERS:
        return text
    return text[:_MOST_LETTERS].rsplit(" ", 1)[0].rstrip(",;:") + " …"


def _legs(results: Results) -> str:
    if results.proof is None:
        return ""
    if results.proof.verdict is Verdict.NOT_COMPARED:
        return ""
    return (
        "Three legs, each read in its own way: which page of the manuscript it is, where it stands once the sheet is"
        " folded, cut and trimmed, and how it looks there."
    )


def _by_page(results: Results, grouped: Sequence[Cause]) -> dict[str, Any]:
    """The same findings for somebody who goes through the book page by page; each leads to its cause."""
    rows: dict[int, list[dict[str, Any]]] = {}
    for number, cause in enumerate(grouped[:MOST_CAUSES], 1):
        times = Counter(f.page for f in cause.findings)
        title = cause.title[:1].lower() + cause.title[1:]
        for page in cause.pages:
            rows.setdefault(page, []).append(
                {"severity": cause.severity.value, "says": title, "times": times[page], "number": number}
            )
    listed = [
        {
            "page": page,
            "also": clean(results.also(page)),
            "findings": rows[page][:_MOST_ON_PAGE],
            "left": max(0, len(rows[page]) - _MOST_ON_PAGE),
        }
        for page in sorted(rows)[:MOST_PAGES]
    ]
    left = len(rows) - len(listed)
    return {
        "rows": listed,
        "says": f"{count(len(rows), 'page')} with findings, one by one",
        "left": f"{count(left, 'more page')}: see findings.json." if left else "",
    }


def _faults(results: Results) -> list[dict[str, str]]:
    proof = results.proof
    if proof is None:
        return []
    shown = []
    left = _MOST_FAULT_PICTURES
    for fault in proof.faults[:MOST_FAULTS]:
        picture = fault.picture or ""
        embeds = picture.startswith(("data:image/png;base64,", "data:image/jpeg;base64,"))
        if not embeds or len(picture) > _MOST_PICTURE or not left:
            picture = ""
        left -= bool(picture)
        if fault.position is not None:
            at = f"place {fault.position + 1:,} of the folded book"
        else:
            at = f"sheet {fault.sheet}, {fault.side}" if fault.sheet else ""
        shown.append(
            {
                "leg": fault.leg.value,
                "says": clean(sentence(fault.says)),
                "at": at,
                "picture": picture,
                "alt": (f"Page {fault.page:,}" if fault.page else "The leaf")
                + ": as it came, as wanted, the difference",
            }
        )
    return shown


def _runs_short(lines: tuple[Run, ...]) -> str:
    if len(lines) <= _OPEN_RUNS:
        return ""
    bad = sum(not line.holds for line in lines)
    return f"{count(len(lines), 'section')}, one by one" + (f"; {bad:,} of them failed" if bad else "")
