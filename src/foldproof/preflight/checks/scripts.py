# SPDX-License-Identifier: AGPL-3.0-or-later
"""Scripts, and other things that a file starts by itself or at a click."""

from __future__ import annotations

from collections.abc import Iterable

from foldproof.manuscript.file_facts import Where
from foldproof.preflight.model import Check, Facts, Finding, Limits, Needs, Severity
from foldproof.preflight.uses import on_pages, pages_of
from foldproof.preflight.words import counted, in_book, listed

#: scripts that wait until somebody clicks
_AT_A_CLICK = ("button or field", "link", "bookmark", "field ")
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
    clicked = [one for one in scripts if one.detail.startswith(_AT_A_CLICK)]
    alone = [one for one in scripts if one not in clicked]
    if alone:
        when = listed(sorted({_when(one) for one in alone}))
        yield in_book(
            "scripts/alone",
            Severity.QUERY,
            f"The file holds {counted(len(alone), 'script')} that may run without anybody asking ({when})"
            f"{on_pages(pages_of(alone))}; what a viewer shows after that need not be what is printed.",
            "Export without scripts, and compare the pages with what the screen showed.",
            measured=len(alone),
            limit=0,
        )
    if clicked:
        yield in_book(
            "scripts/clicked",
            Severity.NOTE,
            f"Buttons, fields or links start scripts{on_pages(pages_of(clicked))}; on paper they do nothing.",
            "Nothing for the print. Export without them if the print shop asks for a file without scripts.",
            measured=len(pages_of(clicked)) or len(clicked),
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


def _when(script: Where) -> str:
    """``"document, Init"`` is kept with the document, to be run as it opens (12.6.4.16)."""
    where = script.detail.partition(",")[0]
    return {"document": "as the file opens", "opening": "as the file opens", "annotation": "at a place on a page"}.get(
        where, f"on {where}"
    )


CHECK = Check(
    id="scripts",
    title="Scripts and actions",
    needs=frozenset({Needs.STRUCTURE}),
    measures="JavaScript in the file: what may run by itself, and what waits for a click; also actions that reach out "
    "of the file or change what is seen. Links are passed over.",
    why="A script may change what stands on the page while it is looked at; the plate shows the page without it.",
    remedy="Export without scripts and actions.",
    source="ISO 15930 (PDF/X): no actions and no JavaScript; the clause from memory. Actions: ISO 32000-1, 12.6.",
    run=_run,
    limits={},
    severity=Severity.QUERY,
)
