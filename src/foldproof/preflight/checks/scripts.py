# SPDX-License-Identifier: AGPL-3.0-or-later
"""Scripts, and other things that a file starts by itself or at a click."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.uses import on_pages, pages_of
from foldproof.preflight.words import counted, in_book, listed

#: what sets off a script that nobody asked for; others wait for a click, or are kept with the file for those to use
_BY_ITSELF = {
    "opening": "as the file opens",
    "printing": "on printing",
    "turning to the page": "on turning to the page",
}
#: actions that change what is seen, or reach out of the file (ISO 32000-1, table 198); jumps and web links do neither
_REACHING = {
    "Launch": "opens another program",
    "SubmitForm": "sends the form",
    "ImportData": "takes in data",
    "ResetForm": "empties the form",
    "Hide": "hides annotations",
    "SetOCGState": "switches layers",
}


def _run(facts: Facts, limits: Limits) -> Iterable[Finding]:
    scripts = facts.manuscript.facts.scripts
    alone = [one for one in scripts if one.detail in _BY_ITSELF]
    waiting = [one for one in scripts if one.detail not in _BY_ITSELF]
    if alone:
        when = listed(list(dict.fromkeys(_BY_ITSELF[one.detail] for one in alone)))
        yield in_book(
            "scripts/alone",
            Severity.QUERY,
            f"The file holds {counted(len(alone), 'script')} that may run without anybody asking: {when}"
            f"{on_pages(pages_of(alone))}; what a viewer shows after that need not be what is printed.",
            "Export without scripts, and compare the pages with what the screen showed.",
            measured=len(alone),
            limit=0,
        )
    if waiting:
        kept = [one for one in waiting if not one.pages]
        clicked = pages_of(waiting)
        where = [f"kept with the file ({len(kept)})"] if kept else []
        where += [f"on buttons, fields or links{on_pages(clicked)}"] if clicked else []
        yield in_book(
            "scripts/waiting",
            Severity.NOTE,
            f"The file holds scripts, {listed(where)}; on paper they do nothing.",
            "Nothing for the print. Export without them if the print shop asks for a file without scripts.",
            measured=len(waiting),
            limit=0,
        )
    reaching = [one for one in facts.manuscript.facts.actions if one.what in _REACHING]
    if reaching:
        does = listed(sorted({_REACHING[one.what] for one in reaching}))
        yield in_book(
            "scripts/actions",
            Severity.NOTE,
            f"Something in the file {does} when it is clicked or opened{on_pages(pages_of(reaching))}; on paper it "
            "does nothing.",
            "Nothing for the print. Export without actions if the print shop asks for a file without them.",
            measured=len(reaching),
            limit=0,
        )


CHECK = Check(
    id="scripts",
    title="Scripts and actions",
    needs=frozenset({Needs.STRUCTURE}),
    measures="JavaScript in the file: what may run by itself, and what waits for a click or is kept for it; also "
    "actions that reach out of the file or change what is seen. Links are passed over.",
    why="A script may change what stands on the page while it is looked at; the plate shows the page without it.",
    remedy="Export without scripts and actions.",
    source="ISO 15930 (PDF/X): no actions and no JavaScript; the clause from memory. Actions: ISO 32000-1, 12.6.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
