# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the report says before it shows anything: the verdict, and the proof as compact runs."""

from __future__ import annotations

from collections import defaultdict

from attrs import frozen

from foldproof.preflight.model import Severity
from foldproof.prove.model import PageProof, Proof, Verdict
from foldproof.report.model import Results
from foldproof.report.plan_facts import cost_words
from foldproof.report.words import clean, count, in_words, listed, pages, ranges, sentence

#: groups of alike pages that are listed one by one
MOST_ALIKE = 60


@frozen
class Run:
    """Pages of the proof that are told in one line."""

    pages: str  #: ``"pages 1–16"``
    section: str  #: ``"section 1 (a)"``
    sheets: str  #: ``"sheet 1"``
    says: str
    holds: bool


@frozen
class Story:
    """The first screen."""

    title: str
    author: str
    well: bool  #: nothing stops the book and nothing failed
    verdict: str  #: one sentence
    next: str  #: what to do now, one sentence
    counts: tuple[tuple[Severity, int], ...]
    proof: str  #: whether the proof holds, in a sentence
    proof_holds: bool | None  #: ``None`` where nothing was proved
    becomes: tuple[str, ...]  #: what the book becomes, the assumptions first


def story(results: Results) -> Story:
    """Put the outcome into words."""
    found = results.findings
    counts = tuple((severity, found.count(severity)) for severity in Severity)
    proof, holds = _proof_words(results)
    verdict, then = _verdict(results, holds)
    return Story(
        title=title_of(results),
        author=clean(results.manuscript.author),
        well=results.refusal is None and results.new_stops == 0 and holds is not False,
        verdict=verdict,
        next=then,
        counts=counts,
        proof=proof,
        proof_holds=holds,
        becomes=_becomes(results),
    )


def _becomes(results: Results) -> tuple[str, ...]:
    plan = results.plan
    if plan is None:
        return ()
    said = [*plan.assumptions]
    if plan.runs:
        bought = sum(run.gross_sheets for run in plan.runs)
        said.append(f"Plates: {plan.plates:,}, by the inks of each side. To be bought: {count(bought, 'sheet')}")
    said.append(cost_words(plan))
    return tuple(clean(sentence(line)) for line in said if line)


def title_of(results: Results) -> str:
    """The book's title, or else the name of its file."""
    stated = (results.plan.title if results.plan else "") or results.manuscript.title
    return clean(stated.strip() or results.manuscript.path.stem)


def _verdict(results: Results, holds: bool | None) -> tuple[str, str]:
    stops, queries = (_causes(results, severity) for severity in (Severity.STOP, Severity.QUERY))
    if results.refusal is not None:
        would = listed([clean(w).rstrip(".") for w in results.refusal.would], "or")
        return f"No plan fits this book. {clean(sentence(results.refusal.says))}", sentence(
            f"What would fit: {would}" if would else "Change the job or the house, and run again"
        )
    if holds is False:
        return (
            "The proof failed: these sheets would not make this book.",
            "Do not print them; the proof names the pages.",
        )
    if stops and results.compared is not None:
        return _since(results)
    if stops:
        return (
            sentence(f"{in_words(stops)} finding{'s' if stops != 1 else ''} of severity stop must be put right first"),
            f"Mend {'them' if stops != 1 else 'it'} in the layout program and export again; "
            f"{'each' if stops != 1 else 'it'} says how." + (f" {sentence(_queries(queries))}" if queries else ""),
        )
    if queries:
        return "Nothing stops this book.", sentence(f"{_queries(queries)} before it is printed")
    return "Nothing stands against this book.", "It can go to press as it is."


def _since(results: Results) -> tuple[str, str]:
    """The verdict on stops beside a baseline."""
    file = results.compared.earlier.file if results.compared is not None else ""
    new, known = (_causes(results, Severity.STOP, known=flag) for flag in (False, True))
    stand = f"{in_words(known)} that {'was' if known == 1 else 'were'} known then still stand{'s' * (known == 1)}"
    if not new:
        return (
            clean(f"Nothing of severity stop is new since {file}; {stand}."),
            "The gate lets the book pass. For the press what is known must be put right all the same.",
        )
    return (
        clean(
            sentence(
                f"{in_words(new)} finding{'s' if new != 1 else ''} of severity stop "
                f"{'are' if new != 1 else 'is'} new since {file}" + (f"; {stand}" if known else "")
            )
        ),
        f"Mend what is new in the layout program and export again; {'each' if new != 1 else 'it'} says how.",
    )


def _causes(results: Results, severity: Severity, known: bool | None = None) -> int:
    """How many rows the findings of a severity fill: those of one cause are one."""
    return len(
        {
            (found.check, found.cause)
            for index, found in enumerate(results.findings.items)
            if found.severity is severity and known in (None, results.is_known(index))
        }
    )


def _queries(number: int) -> str:
    return f"{in_words(number)} {'query wants an answer' if number == 1 else 'queries want an answer'}"


def _proof_words(results: Results) -> tuple[str, bool | None]:
    proof = results.proof
    if proof is None:
        return "No sheets were folded in this run, so nothing is proved.", None
    claimed = sum(p.claimed for p in proof.pages)
    if proof.verdict is Verdict.NOT_COMPARED:
        return "The sheets fold into a book; not proved against content, for no manuscript was given.", None
    if proof.verdict is Verdict.FAILED:
        wrong = sorted({f.page for f in proof.faults if f.page is not None})
        where = f", on {pages(wrong, 12)}" if wrong else ""
        return sentence(f"The proof failed: {count(len(proof.faults), 'fault')}{where}"), False
    left = len(proof.pages) - claimed
    text = f"The written sheets were folded again: all three legs hold for {count(claimed, 'page')}"
    if left:
        them = "is blank or like another, and nothing is claimed for it"
        if left > 1:
            them = "are blank or like others, and nothing is claimed for them"
        text += f"; {count(left, 'page')} {them}"
    return sentence(text), True


def runs(results: Results) -> tuple[Run, ...]:
    """The proof section by section: what holds in one line, what does not with the pages named."""
    proof = results.proof
    if proof is None:
        return ()
    faults: dict[int, set[str]] = defaultdict(set)
    for fault in proof.faults:
        if fault.position is not None:
            faults[fault.position].add(fault.leg.value)
    return tuple(_run(proof, name, rows, faults) for name, rows in _by_section(results, proof))


def _by_section(results: Results, proof: Proof) -> list[tuple[str, list[PageProof]]]:
    rows = sorted(proof.pages, key=lambda p: p.position)
    if results.plan is None:
        pieces: dict[str, list[PageProof]] = defaultdict(list)
        for row in rows:
            pieces[row.section].append(row)
        return [(f"piece {clean(name)}", inner) for name, inner in pieces.items()]
    bounds = [(s, s.first, s.first + s.pages) for s in results.plan.sections]
    at = 0
    found = []
    for section, first, end in bounds:
        inner = []
        while at < len(rows) and rows[at].position < end:
            if rows[at].position >= first:
                inner.append(rows[at])
            at += 1
        name = f"section {section.number}"
        if section.signature and section.signature != str(section.number):
            name += f" ({clean(section.signature)})"
        if inner:
            found.append((name, inner))
    return found


def _run(proof: Proof, name: str, rows: list[PageProof], faults: dict[int, set[str]]) -> Run:
    numbers = [p.expected for p in rows if p.expected is not None]
    bad = [p for p in rows if p.position in faults]
    open_ = sum(not p.claimed for p in rows)
    if bad:
        legs = sorted({leg for p in bad for leg in faults[p.position]})
        named = [p.expected for p in bad if p.expected is not None]
        blanks = len(bad) - len(named)
        who = listed([*([pages(named)] if named else []), *([count(blanks, "blank")] if blanks else [])])
        says = f"fails at {who}: {listed(legs)}"
    elif proof.verdict is Verdict.NOT_COMPARED:
        says = "folds; not compared with a manuscript"
    else:
        says = "all three legs hold" if open_ < len(rows) else "nothing claimed"
        if 0 < open_ < len(rows):
            says += f"; {count(open_, 'page')} not claimed"
    return Run(
        pages=pages(numbers) if numbers else "blanks only",
        section=name,
        sheets=f"{'sheet' if len({p.sheet for p in rows}) == 1 else 'sheets'} {ranges(p.sheet for p in rows)}",
        says=says,
        holds=not bad,
    )


def alike_groups(proof: Proof) -> tuple[str, ...]:
    """Pages alike in every byte, a group a text."""
    shown = [ranges(group, 20) for group in proof.alike[:MOST_ALIKE]]
    left = len(proof.alike) - len(shown)
    return (*shown, *([f"and {count(left, 'more group')}"] if left else []))
