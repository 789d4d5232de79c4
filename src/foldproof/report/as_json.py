# SPDX-License-Identifier: AGPL-3.0-or-later
"""findings.json, plan.json, proof.json and lists of plans: for other people's programs.

Keys stand in a fixed order, lengths are millimetres with at most four places, files go by their name without a
folder.  A list of plain rows is written one row a line, so that a change shows as a changed line.  The shapes are
published as JSON Schemas (draft 2020-12) in ``foldproof/report/schemas``.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from importlib import resources
from importlib.metadata import version
from typing import Any

from foldproof.geometry import Matrix, Rect
from foldproof.makeup.cost import Cost
from foldproof.makeup.plan import PagePlace, Plan, SheetRun
from foldproof.manuscript.model import Manuscript
from foldproof.preflight.fingerprints import fingerprints
from foldproof.preflight.known import Compared
from foldproof.preflight.model import Finding, Severity
from foldproof.prove.model import PageProof, Proof
from foldproof.report.explained import whose_limit
from foldproof.report.model import Results
from foldproof.report.words import clean
from foldproof.units import pt_to_mm

FINDINGS_SCHEMA = "foldproof/findings/1"
PLAN_SCHEMA = "foldproof/plan/2"
PLANS_SCHEMA = "foldproof/plans/1"
PROOF_SCHEMA = "foldproof/proof/1"

_PLACES = 4
_ENCODER = json.JSONEncoder(ensure_ascii=False, allow_nan=False)
#: a list of longer texts than this is written one text a line
_WORD = 40


def schema(name: str) -> dict[str, Any]:
    """The published JSON Schema of a kind of file.

    Kinds: ``"findings"``, ``"plan"``, ``"plans"``, ``"estimate"``, ``"proof"``, ``"checks"``, ``"error"``, ``"batch"``,
    ``"times"``.
    That of plans names the one of a plan by its id; here it comes with it, as draft 2020-12 bundles schemas (9.3.1).
    """
    text = resources.files("foldproof.report").joinpath("schemas", f"{name}.schema.json").read_text("utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return {**loaded, "$defs": {"plan": schema("plan")}} if name == "plans" else loaded


def findings_json(results: Results) -> dict[str, Any]:
    """What is wrong, as plain data."""
    findings = results.findings
    worst = findings.worst()
    prints = fingerprints((*findings.items, *(found for found, _, _ in findings.waived)), results.digests)
    waived_prints = prints[len(findings.items) :]
    return {
        "schema": FINDINGS_SCHEMA,
        "foldproof": results.settings.version,
        "manuscript": _manuscript(results.manuscript),
        "spec": findings.spec,
        "job": results.settings.job,
        "house": results.settings.house,
        "overrides": list(results.settings.overrides),
        "worst": worst.value if worst else None,
        "counts": {severity.value: findings.count(severity) for severity in Severity},
        "baseline": None if results.compared is None else _baseline(results, results.compared),
        "checks": list(findings.checks),
        "not_judged": [{"check": check, "why": why} for check, why in findings.not_judged],
        "off": list(findings.off),
        "findings": [
            {**_finding(results, found, prints[index]), **_since(results, index)}
            for index, found in enumerate(findings.items)
        ],
        "waived": [
            {**_finding(results, found, print_), "reason": reason, "by": by}
            for print_, (found, reason, by) in zip(waived_prints, findings.waived, strict=True)
        ],
        "notes": list(results.notes),
        "lost": [{"page": index + 1, "why": why} for index, why in sorted(results.observations.lost.items())],
        "page_digests": list(results.digests),
    }


def plans_json(plans: Sequence[Plan], folios: Sequence[str] = ()) -> dict[str, Any]:
    """Alternatives, the best first, as plain data."""
    return {
        "schema": PLANS_SCHEMA,
        "foldproof": version("foldproof"),
        "plans": [plan_json(plan, folios=folios) for plan in plans],
    }


def plan_json(plan: Plan, manuscript: Manuscript | None = None, folios: Sequence[str] = ()) -> dict[str, Any]:
    """The make-up, as plain data: what the bindery is told, and apart from it where the pages stand.

    Args:
        folios: printed folio of every page of the manuscript, ``""`` where it bears none; none at all: not known.
    """
    return {
        "schema": PLAN_SCHEMA,
        "foldproof": version("foldproof"),
        "manuscript": None if manuscript is None else _manuscript(manuscript),
        "title": plan.title,
        "trim_mm": _numbers(plan.trim_mm),
        "bleed_mm": _mm(plan.bleed_mm),
        "binding": plan.binding,
        "reading": plan.reading,
        "pages": plan.pages,
        "blanks_front": plan.blanks_front,
        "blanks_back": plan.blanks_back,
        "press": {
            "name": plan.press.name,
            "gripper_mm": _mm(plan.press.gripper_mm),
            "tail_mm": _mm(plan.press.tail_mm),
            "side_mm": _mm(plan.press.side_mm),
            "lay": plan.press.lay,
        },
        "paper": {
            "stock": plan.stock,
            "grammage": _mm(plan.grammage),
            "caliper_mm": _mm(plan.caliper_mm),
            "grain": plan.grain,
            "grain_along_spine": plan.grain_along_spine,
            "sheet_mm": _numbers(plan.sheet_mm),
        },
        "folder": plan.folder,
        "line": plan.line,
        "run_copies": plan.run_copies,
        "cost": None if plan.cost is None else cost_json(plan.cost),
        "assumptions": list(plan.assumptions),
        "rules": list(plan.rules),
        "reasons": list(plan.reasons),
        "offers": list(plan.offers),
        "refused": list(plan.refused),
        "kinds": [{"label": k.label, "scheme": k.scheme, "sheets": list(k.sheets)} for k in plan.kinds],
        "runs": [_run(run) for run in plan.runs],
        "sections": [
            {
                "number": s.number,
                "signature": s.signature,
                "pieces": list(s.pieces),
                "pages": s.pages,
                "first": s.first,
                "blanks": s.blanks,
            }
            for s in plan.sections
        ],
        "collation_bars": [
            {"sheet": b.sheet, "side": b.side.value, "section": b.unit + 1, "rect_mm": _rect(b.rect_mm)}
            for b in plan.bars
        ],
        "places": [_place(p, folios) for p in plan.places],
        "again": [_place(p, folios) for p in plan.again],
        "instructions": plan.instructions.as_json(),
    }


def proof_json(proof: Proof) -> dict[str, Any]:
    """What came where when the written file was folded, as plain data."""
    return {
        "schema": PROOF_SCHEMA,
        "foldproof": version("foldproof"),
        "verdict": proof.verdict.value,
        "sheets_sha256": proof.sheets_sha256,
        "manuscript_sha256": proof.manuscript_sha256,
        "notes": list(proof.notes),
        "faults": [
            {
                "leg": f.leg.value,
                "position": f.position,
                "page": f.page,
                "sheet": f.sheet,
                "side": f.side,
                "says": f.says,
                # pictures held in memory belong to the report; here only the name of a file makes sense
                "picture": None if f.picture is None or f.picture.startswith("data:") else f.picture,
            }
            for f in proof.faults
        ],
        "blanks": list(proof.blanks),
        "alike": [list(group) for group in proof.alike],
        "pages": [_page_proof(page) for page in proof.pages],
        "copies": [_page_proof(page) for page in proof.copies],
    }


def _page_proof(page: PageProof) -> dict[str, Any]:
    return {
        "position": page.position,
        "expected": page.expected,
        "found": page.found,
        "sheet": page.sheet,
        "side": page.side,
        "section": page.section,
        "shift_mm": None if page.shift_mm is None else _mm(page.shift_mm),
        "look": page.look,
        "claimed": page.claimed,
    }


def written(data: Mapping[str, Any]) -> bytes:
    """JSON as UTF-8 bytes: short rows on a line of their own, two blanks a level, one line end at the end."""
    return (_laid_out(data, 0) + "\n").encode("utf-8")


def turn_of(matrix: Matrix) -> int:
    """How far counter-clockwise a page is turned on its side: 0, 90, 180 or 270."""
    return round(math.degrees(math.atan2(matrix.b, matrix.a)) / 90) * 90 % 360


def _laid_out(value: Any, depth: int) -> str:
    if not isinstance(value, dict | list) or not value or (depth > 0 and _is_row(value)):
        return _flat(value)
    inner, outer = "  " * (depth + 1), "  " * depth
    if isinstance(value, dict):
        rows = [f"{inner}{_flat(str(k))}: {_laid_out(v, depth + 1)}" for k, v in value.items()]
        return "{\n" + ",\n".join(rows) + f"\n{outer}}}"
    return "[\n" + ",\n".join(inner + _laid_out(v, depth + 1) for v in value) + f"\n{outer}]"


def _is_row(value: Any) -> bool:
    """Whether it goes on one line: an object of plain values, coordinates and words; a list of numbers or of words."""
    if isinstance(value, dict):
        return all(not isinstance(v, dict) and (not isinstance(v, list) or _is_row(v)) for v in value.values())
    return all(not isinstance(v, dict) and (not isinstance(v, list) or _is_row(v)) for v in value) and not any(
        isinstance(v, str) and len(v) > _WORD for v in value
    )


def _flat(value: Any) -> str:
    text = _ENCODER.encode(value)
    return text if text.isascii() else clean(text)


def _manuscript(read: Manuscript) -> dict[str, Any]:
    return {
        "file": read.path.name,
        "sha256": read.sha256,
        "pages": len(read.pages),
        "title": read.title,
        "author": read.author,
    }


def _baseline(results: Results, compared: Compared) -> dict[str, Any]:
    """The earlier run, and what became of its findings."""
    return {
        "file": compared.earlier.file,
        "manuscript": compared.earlier.manuscript,
        "spec": compared.earlier.spec,
        "new": {severity.value: results.counted(severity, known=False) for severity in Severity},
        "known": {severity.value: results.counted(severity, known=True) for severity in Severity},
        "gone": [
            {"check": found.check, "severity": found.severity.value, "page": found.page, "problem": found.problem}
            for found in compared.gone
        ],
    }


def _since(results: Results, index: int) -> dict[str, Any]:
    return {
        "known": results.is_known(index),
        "worse": results.compared.worse[index] if results.compared is not None else "",
    }


def _finding(results: Results, found: Finding, fingerprint: str) -> dict[str, Any]:
    return {
        "check": found.check,
        "severity": found.severity.value,
        "page": found.page,
        "folio": found.folio,
        "place_mm": None if found.place_mm is None else _rect(found.place_mm),
        "measured": _value(found.measured),
        "limit": _value(found.limit),
        "unit": found.unit,
        "whose": whose_limit(found, results.check_named(found.check), results.spec),
        "problem": found.problem,
        "remedy": found.remedy,
        "cause": found.cause,
        "count": found.count,
        "fingerprint": fingerprint,
    }


def cost_json(cost: Cost) -> dict[str, Any]:
    """Every line of a cost, and their sum."""
    return {
        "copies": cost.copies,
        "currency": cost.currency,
        "total": cost.total,
        "lines": [
            {
                "what": line.what,
                "says": line.says,
                "quantity": _mm(line.quantity),
                "unit": line.unit,
                "price": line.price,
                "amount": line.amount,
            }
            for line in cost.lines
        ],
    }


def _run(run: SheetRun) -> dict[str, Any]:
    return {
        "sheet": run.sheet,
        "press": run.press.name,
        "gripper_mm": _mm(run.press.gripper_mm),
        "tail_mm": _mm(run.press.tail_mm),
        "side_mm": _mm(run.press.side_mm),
        "lay": run.press.lay,
        "way": run.way,
        "stock": run.stock,
        "grammage": _mm(run.grammage),
        "caliper_mm": _mm(run.caliper_mm),
        "grain": run.grain,
        "grain_along_spine": run.grain_along_spine,
        "sheet_mm": _numbers(run.sheet_mm),
        "copies_on": run.copies_on,
        "inks_front": list(run.inks[0]),
        "inks_back": list(run.inks[1]),
        "plates": run.plates,
        "folder": run.folder,
        "net_sheets": run.net_sheets,
        "gross_sheets": run.gross_sheets,
    }


def _place(place: PagePlace, folios: Sequence[str]) -> dict[str, Any]:
    known = place.page is not None and place.page < len(folios)
    return {
        "position": place.position,
        "page": None if place.page is None else place.page + 1,
        "folio": (folios[place.page] or None) if known and place.page is not None else None,
        "sheet": place.sheet,
        "side": place.side.value,
        "section": place.section,
        "signature": place.signature,
        "leaf": place.leaf,
        "depth": place.depth,
        "trim_mm": _rect(place.trim_pt.scaled(pt_to_mm(1))),
        "clip_mm": _rect(place.clip_pt.scaled(pt_to_mm(1))),
        "turn": turn_of(place.matrix),
        "creep_mm": _mm(place.creep_mm),
    }


def _value(value: float | str | None) -> float | str | None:
    return _mm(value) if isinstance(value, float) else value


def _mm(value: float) -> float | None:
    """At most four places; what is no number (a ratio over nothing) is none in JSON either."""
    return round(value, _PLACES) + 0.0 if math.isfinite(value) else None


def _numbers(values: tuple[float, ...]) -> list[float | None]:
    return [_mm(v) for v in values]


def _rect(rect: Rect) -> list[float | None]:
    return [_mm(v) for v in (rect.x0, rect.y0, rect.x1, rect.y1)]
