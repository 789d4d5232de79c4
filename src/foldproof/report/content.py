# SPDX-License-Identifier: AGPL-3.0-or-later
"""The words of the report, as plain data for the page and for the printed report."""

from __future__ import annotations

from typing import Any

from foldproof.preflight.model import Severity
from foldproof.prove.model import Verdict
from foldproof.report.causes import Cause, causes
from foldproof.report.model import Results
from foldproof.report.story import Run, alike_groups, runs, story
from foldproof.report.words import clean, count, pages, ranges, sentence
from foldproof.tickets.diagram import TURN_BACK, SheetDrawing

#: rows of findings, faults of the proof; the JSON files hold the others
MOST_CAUSES = 150
MOST_FAULTS = 60
#: kinds of sheets shown, front and back of one sheet of each
MOST_KINDS = 8
#: pages listed one by one in the list by page
MOST_PAGES = 500
_MOST_FAULT_PICTURES = 24
#: a fault's picture larger than this is left out, base64 characters
_MOST_PICTURE = 250_000
#: pages of a cause that are named beside it; more are listed below it
_FEW_PAGES = 3
#: units of what is measured with a rule or a lens; other figures are counts
_MEASURES = ("mm", "ppi", "pt", "%")
#: sections listed openly; more go behind a line that can be opened
_OPEN_RUNS = 40


def content(results: Results) -> dict[str, Any]:
    """Everything that is said, without a picture or a drawing."""
    plan, proof = results.plan, results.proof
    grouped = causes(results)
    lines = runs(results)
    left = len(grouped) - MOST_CAUSES
    kinds_left = max(0, len(plan.kinds) - MOST_KINDS) if plan else 0
    faults_left = len(proof.faults) - MOST_FAULTS if proof else 0
    return {
        "story": story(results),
        "file": clean(results.manuscript.path.name),
        "made_nothing": "No make-up was asked for." if results.refusal is None else "Nothing: no plan fits.",
        "notes": [clean(sentence(note)) for note in (*results.settings.overrides, *results.notes)],
        "causes": [_cause(cause) for cause in grouped[:MOST_CAUSES]],
        "by_page": _by_page(results),
        "causes_left": f"{count(left, 'more cause')} of lesser weight: see findings.json." if left > 0 else "",
        "lost": _uninterpreted(results),
        "kinds_left": f"{count(kinds_left, 'more kind')} of sheet: see plan.json." if kinds_left else "",
        "runs": lines,
        "runs_short": _runs_short(lines),
        "proof_legs": _legs(results),
        "proof_notes": [clean(sentence(note)) for note in proof.notes] if proof else [],
        "faults": _faults(results),
        "faults_left": f"{count(faults_left, 'more fault')}: see proof.json." if faults_left > 0 else "",
        "blanks": ranges((n + 1 for n in proof.blanks), 80) + " of the folded book" if proof and proof.blanks else "",
        "alike": alike_groups(proof) if proof else (),
        "offers": [clean(sentence(line)) for line in plan.offers] if plan else [],
        "refused": [clean(sentence(line)) for line in plan.refused] if plan else [],
        "waived": _waived(results),
        "colophon": _colophon(results),
    }


def kind_words(drawing: SheetDrawing) -> str:
    """Which sheets are laid out so, and how they turn."""
    sheets = drawing.kind.sheets
    named = f"Sheet {sheets[0]}" if len(sheets) == 1 else f"{len(sheets):,} sheets: {ranges(sheets, 40)}"
    return f"{named}. Between front and back it turns {drawing.turn}."


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


def _cause(cause: Cause) -> dict[str, Any]:
    rule = f"Limit: {cause.limit}. " if cause.limit else ""
    single = len(cause.findings) == 1
    measured = cause.places[0].measured
    if cause.findings[0].unit not in _MEASURES:
        # a count that stands in the sentence already
        rule = ""
    elif single and measured and cause.limit:
        rule = f"Measured {measured}, limit {cause.limit}. "
    rule += cause.why
    if cause.source:
        rule += f" Rule: {sentence(cause.source, capital=False)}"
    numbers = {f.page for f in cause.findings if f.page is not None}
    # a table of places is worth its room only where the places differ
    differ = len({p.measured for p in cause.places}) > 1
    rows = [p for p in cause.places if p.page is not None and (p.where or (p.measured and differ))]
    return {
        "severity": cause.severity.value,
        "title": cause.title,
        "where": pages(numbers)
        if 0 < len(numbers) <= _FEW_PAGES
        else count(len(numbers), "page")
        if numbers
        else "whole book",
        "summary": cause.summary,
        "problem": cause.problem,
        "remedy": cause.remedy,
        "rule": f"{rule} Check: {cause.check}.".strip(),
        "rows": [{"named": p.named, "measured": p.measured, "where": p.where} for p in rows] if not single else [],
        "measures": differ and any(p.measured for p in rows),
        "placed": any(p.where for p in rows),
        "page_list": cause.page_list if len(numbers) > _FEW_PAGES else "",
    }


def _legs(results: Results) -> str:
    if results.proof is None:
        return ""
    if results.proof.verdict is Verdict.NOT_COMPARED:
        return ""
    return (
        "Three legs, each read in its own way: which page of the manuscript it is, where it stands once the sheet is"
        " folded, cut and trimmed, and how it looks there."
    )


def _by_page(results: Results) -> dict[str, Any]:
    """The same findings for somebody who goes through the book page by page."""
    rows: dict[int, dict[tuple[int, str], int]] = {}
    for found in results.findings.items:
        if found.page is not None:
            checks = rows.setdefault(found.page, {})
            key = found.severity.rank, found.check
            checks[key] = checks.get(key, 0) + 1
    listed = []
    for page in sorted(rows)[:MOST_PAGES]:
        known = []
        for (rank, check), times in sorted(rows[page].items()):
            entry = results.check_named(check)
            title = entry.title if entry else check.replace("-", " ")
            known.append(
                {"severity": list(Severity)[rank].value, "says": clean(title[:1].lower() + title[1:]), "times": times}
            )
        listed.append({"page": f"{page:,}", "also": clean(results.also(page)), "findings": known})
    left = len(rows) - len(listed)
    return {"rows": listed, "left": f"{count(left, 'more page')}: see findings.json." if left else ""}


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


def _uninterpreted(results: Results) -> list[str]:
    lost = results.observations.lost
    reasons: dict[str, list[int]] = {}
    for index, why in sorted(lost.items()):
        reasons.setdefault(why, []).append(index + 1)
    return [
        f"The content of {pages(numbers, 30)} could not be looked into: {sentence(why)}"
        for why, numbers in reasons.items()
    ]


def _waived(results: Results) -> list[str]:
    rows: dict[tuple[str, str, str, str], list[int]] = {}
    for found, reason, by in results.findings.waived:
        rows.setdefault((found.severity.value, found.problem, reason, by), []).append(found.page or 0)
    return [
        clean(f"{severity}: {sentence(problem)} Waived by {by}: {sentence(reason)}")
        for (severity, problem, reason, by) in rows
    ]


def _colophon(results: Results) -> list[tuple[str, str, bool]]:
    settings, read, proof = results.settings, results.manuscript, results.proof
    rows = [
        (
            "manuscript",
            f"{read.path.name}, {count(len(read.pages), 'page')}, {read.size_bytes:,} bytes, PDF {read.pdf_version}",
            False,
        ),
        ("its sha256", read.sha256, True),
    ]
    if proof is not None:
        rows.append(("sha256 of the sheets", proof.sheets_sha256, True))
    rows += [
        ("job", settings.job or "none; everything was assumed", False),
        ("house", settings.house, False),
        ("spec", results.findings.spec, False),
        ("checks that ran", ", ".join(results.findings.checks) or "none", False),
        *(("not judged", f"{check}: {why}", False) for check, why in results.findings.not_judged),
        *([("switched off", ", ".join(results.findings.off), False)] if results.findings.off else []),
        ("made by", f"Foldproof {settings.version}", False),
        ("with", ", ".join(f"{name} {version}" for name, version in settings.libraries) or "nothing else", False),
    ]
    rows += [("departure", line, False) for line in settings.overrides]
    return [(name, clean(value), digest) for name, value, digest in rows]
