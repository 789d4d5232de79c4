# SPDX-License-Identifier: AGPL-3.0-or-later
"""The print stage: results become files."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from foldproof.files import write_bytes
from foldproof.manuscript.folios import printed_folios
from foldproof.report.as_json import findings_json, plan_json, proof_json, written
from foldproof.report.causes import causes
from foldproof.report.content import MOST_CAUSES, MOST_KINDS
from foldproof.report.html import report_html
from foldproof.report.junit import junit_xml
from foldproof.report.kept import pages_json
from foldproof.report.letter import letter_text
from foldproof.report.model import Format, Results
from foldproof.report.pictures import take
from foldproof.report.printed import report_pdf
from foldproof.report.sarif import sarif_bytes
from foldproof.tickets.diagram import drawings
from foldproof.workers import Workers

ALL = frozenset(Format)


def write_reports(
    results: Results, out: Path, workers: Workers | None = None, formats: Collection[Format] = ALL
) -> tuple[Path, ...]:
    """Write what the formats ask for into the folder ``out``; the paths written, in order.

    Pictures are drawn in ``workers``, or in a process started and ended here when there are none.

    Raises:
        NotWritten: the folder does not take a file.
        OurFault: a layout of ours does not take the data.
    """
    made: list[Path] = []

    def write(name: str, content: bytes) -> None:
        write_bytes(out / name, content)
        made.append(out / name)

    plan, proof = results.plan, results.proof
    grouped = causes(results)
    if Format.JSON in formats:
        write("findings.json", written(findings_json(results)))
        if plan is not None:
            kept = {"date": results.date, "manuscript_pages": pages_json(results)}
            write(
                "plan.json",
                written({**plan_json(plan, results.manuscript, printed_folios(results.observations)), **kept}),
            )
        if proof is not None:
            write("proof.json", written(proof_json(proof)))
    if Format.JUNIT in formats:
        write("junit.xml", junit_xml(results))
    if Format.SARIF in formats:
        write("findings.sarif", sarif_bytes(results))
    if Format.LETTER in formats:
        write("letter.txt", letter_text(results, grouped).encode("utf-8"))
    if Format.HTML in formats or Format.PDF in formats:
        drawn = () if plan is None else drawings(plan, MOST_KINDS, printed_folios(results.observations))
        pictures = take(results, grouped[:MOST_CAUSES], drawn if Format.HTML in formats else (), workers)
        if Format.PDF in formats:
            write("report.pdf", report_pdf(results, grouped, pictures))
        if Format.HTML in formats:
            write("report.html", report_html(results, grouped, pictures, drawn))
    return tuple(made)
