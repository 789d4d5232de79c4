# SPDX-License-Identifier: AGPL-3.0-or-later
"""findings.json, plan.json, proof.json, junit.xml, findings.sarif."""

from __future__ import annotations

import json
from pathlib import Path
from types import ModuleType
from xml.etree import ElementTree as ET

import jsonschema
import pytest

from foldproof.job.load import load_house
from foldproof.job.model import Book, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.report.as_json import findings_json, plan_json, proof_json, schema, written
from foldproof.report.junit import junit_xml
from foldproof.report.sarif import sarif_bytes, sarif_log

BOOK = Path("/somewhere/else/almanack.pdf")


def made(samples: ModuleType, name: str, **more: object) -> dict[str, object]:
    results = samples.results(BOOK, **more)
    if name == "plan":
        return plan_json(results.plan, results.manuscript)
    return findings_json(results) if name == "findings" else proof_json(results.proof)


@pytest.mark.parametrize("name", ["findings", "plan", "proof"])
def test_each_file_is_valid_against_its_published_schema(samples: ModuleType, name: str) -> None:
    published = schema(name)
    jsonschema.Draft202012Validator.check_schema(published)
    assert published["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    read_back = json.loads(written(made(samples, name)))
    jsonschema.validate(read_back, published, cls=jsonschema.Draft202012Validator)


@pytest.mark.parametrize("name", ["findings", "plan", "proof"])
def test_the_schema_refuses_what_is_missing_or_unknown(samples: ModuleType, name: str) -> None:
    whole = json.loads(written(made(samples, name)))
    for key in whole:
        less = {k: v for k, v in whole.items() if k != key}
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(less, schema(name))
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**whole, "more": 1}, schema(name))


@pytest.mark.parametrize("name", ["findings", "plan", "proof"])
def test_written_json_says_the_same_as_the_data_and_holds_no_folder(samples: ModuleType, name: str) -> None:
    data = made(samples, name)
    text = written(data)
    assert json.loads(text) == json.loads(json.dumps(data))
    assert list(json.loads(text)) == list(data), "keys keep their order"
    assert b"/somewhere" not in text
    assert text == written(made(samples, name))


def test_lone_surrogates_and_odd_numbers_do_not_break_json(samples: ModuleType) -> None:
    text = written({"schema": "x", "title": "a\ud800b\x00", "list": [{"a": 1}, {"b": "é"}]})
    assert json.loads(text)["title"] == "a\ufffdb\x00"


def test_the_plan_is_enough_to_prove_from_instructions_alone(samples: ModuleType) -> None:
    data = json.loads(written(made(samples, "plan")))
    told = FoldingInstructions.from_json(data["instructions"])
    assert told == samples.plan().instructions
    assert "place" not in json.dumps(data["instructions"]), "no page places in what the bindery is told"


def test_places_in_the_plan_stand_where_the_octavo_puts_them(samples: ModuleType) -> None:
    # handbook imp-16-octavo: front, seen as printed, lower row from the left 4 13 16 1, upper row 5 12 9 8 heads down
    data = json.loads(written(made(samples, "plan")))
    front = [p for p in data["places"] if p["sheet"] == 1 and p["side"] == "front"]
    lower = sorted((p for p in front if p["turn"] == 0), key=lambda p: p["trim_mm"][0])
    upper = sorted((p for p in front if p["turn"] == 180), key=lambda p: p["trim_mm"][0])
    assert [p["page"] for p in lower] == [4, 13, 16, 1]
    assert [p["page"] for p in upper] == [5, 12, 9, 8]
    assert lower[0]["trim_mm"] == [26.0, 19.0, 166.0, 235.0]  # typed in the sample: crease at 166 mm, trim 140 x 216
    assert [p["page"] for p in data["places"]][-2:] == [None, None]


def test_numbers_have_at_most_four_places(samples: ModuleType) -> None:
    def numbers(value: object) -> list[float]:
        if isinstance(value, dict):
            return [n for v in value.values() for n in numbers(v)]
        if isinstance(value, list):
            return [n for v in value for n in numbers(v)]
        return [value] if isinstance(value, float) else []

    data = made(samples, "plan")
    del data["instructions"]  # these keep six, the proof reckons with them
    assert numbers(data)
    assert all(round(n, 4) == n for n in numbers(data))


def test_junit_fails_for_stops_alone(samples: ModuleType) -> None:
    top = ET.fromstring(junit_xml(samples.results(BOOK)))
    assert top.tag == "testsuites"
    assert top.get("failures") == "1", "bleed; the queries on pictures do not fail the gate"
    suites = {s.get("name"): s for s in top}
    checks = {c.get("name"): c for c in suites["foldproof.check"]}
    assert set(checks) == {"bleed", "picture-resolution", "spot-colours", "trim", "grain"}
    assert checks["grain"].find("skipped") is not None, "a check that could not judge has not passed"
    assert checks["bleed"].find("failure") is not None
    assert "page 7" in (checks["bleed"].findtext("failure") or "")
    assert checks["picture-resolution"].find("failure") is None
    assert (checks["picture-resolution"].findtext("system-out") or "").count("query:") == 24
    for suite in top:
        assert suite.get("tests") == str(len(suite.findall("testcase")))
        assert suite.get("failures") == str(len(suite.findall("testcase/failure")))
    assert suites["foldproof.prove"].get("failures") == "0"


def test_junit_fails_for_a_failed_proof(samples: ModuleType) -> None:
    made_plan = samples.plan()
    top = ET.fromstring(junit_xml(samples.results(BOOK, proof=samples.proof(made_plan, swapped=(6, 7)))))
    failed = {c.get("name") for c in top.iter("testcase") if c.find("failure") is not None}
    assert failed == {"bleed", "which page", "verdict"}


def test_junit_is_read_by_a_general_reader(samples: ModuleType, tmp_path: Path) -> None:
    junitparser = pytest.importorskip("junitparser", reason="the general reader of JUnit files is not installed")
    target = tmp_path / "junit.xml"
    target.write_bytes(junit_xml(samples.results(BOOK, nasty=samples.NASTY)))
    read = junitparser.JUnitXml.fromfile(str(target))
    assert (read.tests, read.failures, read.errors) == (5 + 1 + 6, 1, 0)


def test_sarif_holds_what_the_standard_requires(samples: ModuleType) -> None:
    # OASIS SARIF 2.1.0: required properties and value sets, clause by clause
    log = json.loads(sarif_bytes(samples.results(BOOK, nasty=samples.NASTY)))
    assert log["version"] == "2.1.0"  # 3.13.2
    assert isinstance(log["runs"], list) and len(log["runs"]) == 1  # 3.13.4
    run = log["runs"][0]
    driver = run["tool"]["driver"]  # 3.14.6, 3.18.2: driver required
    assert driver["name"]  # 3.19.8: name required
    ids = [rule["id"] for rule in driver["rules"]]  # 3.49.3: id required
    assert len(ids) == len(set(ids)), "3.49.3: ids are unique"
    for rule in driver["rules"]:
        assert rule["help"]["text"] and rule["shortDescription"]["text"] and rule["fullDescription"]["text"]  # 3.12.3
        assert rule["defaultConfiguration"]["level"] in {"none", "note", "warning", "error"}  # 3.50.3
    assert all(isinstance(i["executionSuccessful"], bool) for i in run["invocations"])  # 3.20.14: required
    told = run["invocations"][0]["toolExecutionNotifications"]  # 3.20.21
    assert [n["message"]["text"] for n in told] == ["grain could not be judged: The stock of the job is not known."]
    assert run["columnKind"] in {"utf16CodeUnits", "unicodeCodePoints"}  # 3.14.17
    artifact = run["artifacts"][0]
    assert set(artifact["roles"]) <= {"analysisTarget"}  # 3.24.6
    assert artifact["hashes"]["sha-256"] == "ab" * 32  # 3.24.11
    assert len(run["results"]) == 28
    for result in run["results"]:
        assert result["message"]["text"]  # 3.27.11: message required; 3.11
        assert result["level"] in {"none", "note", "warning", "error"}  # 3.27.10
        assert ids[result["ruleIndex"]] == result["ruleId"]  # 3.27.6
        where = result["locations"][0]["physicalLocation"]["artifactLocation"]
        assert run["artifacts"][where["index"]]["location"]["uri"] == where["uri"]  # 3.4.5
        assert ":" not in where["uri"] and "/" not in where["uri"]  # a relative reference (3.4.3)
        for suppression in result.get("suppressions", []):
            assert suppression["kind"] in {"inSource", "external"}  # 3.35.3: required
            assert suppression["status"] in {"accepted", "underReview", "rejected"}  # 3.35.4
    levels = [r["level"] for r in run["results"]]
    assert (levels.count("error"), levels.count("warning"), levels.count("note")) == (3, 24, 1)
    waived = [r for r in run["results"] if r.get("suppressions")]
    assert [r["ruleId"] for r in waived] == ["trim"] and "M. Wick" in waived[0]["suppressions"][0]["justification"]


def test_sarif_is_the_same_every_time(samples: ModuleType) -> None:
    assert sarif_bytes(samples.results(BOOK)) == sarif_bytes(samples.results(Path("/other/almanack.pdf")))
    assert "/somewhere" not in json.dumps(sarif_log(samples.results(BOOK)))


@pytest.mark.parametrize("binding", ["sewn", "glued", "stitched", "leaflet"])
def test_plans_of_real_make_ups_are_valid_and_complete(binding: str) -> None:
    pages = 6 if binding == "leaflet" else 62
    job = Job(book=Book(binding=binding))
    plan = plans(pages, (140.0, 216.0), job, load_house(None), title="Nightwatch Songs", most=1)[0]
    data = json.loads(written(plan_json(plan)))
    jsonschema.validate(data, schema("plan"), cls=jsonschema.Draft202012Validator)
    assert [p["page"] for p in data["places"] if p["page"]] == list(range(1, pages + 1)), "every page once, in order"
    told = {s["id"]: (sheet, s) for sheet in data["instructions"]["sheets"] for s in sheet["sections"]}
    first = sorted(name for name, (_, section) in told.items() if section["copy_of"] is None)
    assert sorted(piece for unit in data["instructions"]["gathering"] for piece in unit) == first
    copies = {name for name in told if name not in first}
    assert {place["section"] for place in data["again"]} == copies, "pages of every further copy, and of nothing else"
    for place in (*data["places"], *data["again"]):
        sheet, section = told[place["section"]]
        x0, y0, x1, y1 = place["trim_mm"]
        if place["side"] == "back":  # seen from the front again
            flat = sheet["turn"] == "side to side"
            x0, x1 = (sheet["width_mm"] - x1, sheet["width_mm"] - x0) if flat else (x0, x1)
            y0, y1 = (y0, y1) if flat else (sheet["height_mm"] - y1, sheet["height_mm"] - y0)
        left, low, right, high = section["rect_mm"]
        assert left - 0.01 <= x0 < x1 <= right + 0.01 and low - 0.01 <= y0 < y1 <= high + 0.01
        # a panel that is tucked in is 1 to 2 mm narrower (common practice, no source)
        least = 138.0 if binding == "leaflet" else 140.0
        across, along = sorted((x1 - x0, y1 - y0))
        assert least - 0.001 <= across <= 140.001 and along == pytest.approx(216.0, abs=0.001)
