# SPDX-License-Identifier: AGPL-3.0-or-later
"""Specs: shipped ones, ones of a shop's own, and slips in them."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from importlib import resources
from pathlib import Path

import pytest

from foldproof.errors import AskedWrong
from foldproof.job.model import Job
from foldproof.preflight.model import Check, Severity
from foldproof.preflight.registry import CHECKS, check_named
from foldproof.preflight.specs import default_spec, load_spec, shipped

Write = Callable[..., Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def written(text: str, name: str = "ours.toml") -> Path:
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return written


def test_the_shipped_specs() -> None:
    papers = ("any-book", "colour-on-coated", "colour-on-uncoated", "one-colour-text-on-uncoated")
    assert shipped() == (*papers, "pdf-x-1a", "pdf-x-3", "pdf-x-4")


@pytest.mark.parametrize("name", shipped())
def test_a_shipped_spec_states_a_source_beside_every_limit(name: str) -> None:
    text = resources.files("foldproof.preflight.specs").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text)
    assert data["title"] and data["says"]
    for rule in data["check"].values():
        for limit in rule.get("limits", {}).values():
            assert set(limit) == {"value", "source"} and len(limit["source"]) > 10
    assert load_spec(name).name == name


@pytest.mark.parametrize("name", shipped())
def test_stop_is_never_above_query(name: str) -> None:
    limits = load_spec(name).limits_of(check_named("picture-resolution"))
    assert limits.number("contone_stop_ppi") < limits.number("contone_query_ppi")
    assert limits.number("line_stop_ppi") < limits.number("line_query_ppi")


def test_extends_lays_one_over_another() -> None:
    coated, pictures = load_spec("colour-on-coated"), check_named("picture-resolution")
    limits = coated.limits_of(pictures)
    assert limits.number("contone_query_ppi") == 225  # its own
    assert limits.number("contone_stop_ppi") == 150  # of colour-on-uncoated
    assert coated.limits_of(check_named("rgb-matter")).text("inks") == "cmyk"
    assert coated.is_off(check_named("extra-inks"))  # of any-book
    assert "225" in str(limits.values) and "warning" in coated.source_of(pictures, "contone_query_ppi")


def test_without_a_job_no_inks_are_assumed() -> None:
    assert default_spec(Job()).name == "any-book"
    assert default_spec(Job()).limits_of(check_named("rgb-matter")).text("inks") == "any"
    job = Job.model_validate({"check": {"spec": "colour-on-uncoated"}})
    assert default_spec(job).name == "colour-on-uncoated"


def test_a_spec_of_ones_own(write: Write) -> None:
    path = write(
        'title = "Ours"\nextends = "colour-on-coated"\n'
        '[check.bleed]\nseverity = "note"\n[check.bleed.limits]\nstop_below_mm = "1/16 in"\n'
        "[check.page-turn]\noff = true\n"
        '[check.picture-resolution.limits]\ncontone_query_ppi = { value = 260, source = "our tests" }\n'
    )
    ours, bleed = load_spec(path), check_named("bleed")
    assert (ours.name, ours.title) == ("ours", "Ours")
    assert ours.severity_of(bleed) is Severity.NOTE
    assert ours.limits_of(bleed).number("stop_below_mm") == pytest.approx(1.5875)
    assert ours.source_of(bleed, "stop_below_mm") == "the spec: Ours"
    assert ours.source_of(bleed, "tolerance_mm") == bleed.limit_sources["tolerance_mm"]
    assert ours.is_off(check_named("page-turn"))
    assert ours.source_of(check_named("picture-resolution"), "contone_query_ppi") == "our tests"
    assert load_spec(str(path)) == ours


def test_a_condition_may_be_any_words(write: Write) -> None:
    intent = check_named("output-intent")
    ours = load_spec(write('[check.output-intent.limits]\ncondition = "FOGRA 52"'))
    assert ours.limits_of(intent).text("condition") == "FOGRA 52"
    for odd in ("52", '" "', "true"):
        with pytest.raises(AskedWrong, match="condition: text in double quotes is asked for"):
            load_spec(write(f"[check.output-intent.limits]\ncondition = {odd}"))


def test_a_limit_that_follows_another(write: Write) -> None:
    declared, asked = check_named("declared-standard"), check_named("asked-standard")

    def follows(text: str) -> str:
        return load_spec(write(text)).limits_of(declared).text("asked")

    said = '[check.asked-standard.limits]\nstandard = "PDF/X-4"\n'
    assert load_spec("pdf-x-4").limits_of(asked).text("standard") == "PDF/X-4"
    assert follows(said) == "PDF/X-4"
    assert follows(f"[check.asked-standard]\noff = true\n{said}") == "none"
    assert follows(f'{said}[check.declared-standard.limits]\nasked = "none"') == "none"
    # whose figure it is: that of the limit that is followed, where the spec sets that
    assert "named after" in load_spec("pdf-x-4").source_of(declared, "asked")
    assert load_spec("any-book").source_of(declared, "asked") == declared.limit_sources["asked"]


@pytest.mark.parametrize("check", [check for check in CHECKS if check.follows], ids=lambda check: check.id)
def test_a_limit_follows_one_like_it(check: Check) -> None:
    """Of the same choices, and one that follows no other: no circle, and no value that it could not have."""
    for limit, followed in check.follows.items():
        other, _, name = followed.partition("/")
        assert limit in check.limits and name in check_named(other).limits
        assert name not in check_named(other).follows
        assert set(check_named(other).choices[name]) == set(check.choices[limit])


def test_a_file_extends_a_file_beside_it(write: Write) -> None:
    write('[check.grain]\nseverity = "stop"\n', "base.toml")
    assert load_spec(write('extends = "base.toml"')).severity_of(check_named("grain")) is Severity.STOP


def test_a_file_may_have_the_name_of_the_shipped_spec_that_it_extends(
    write: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write('extends = "any-book"\n[check.grain]\nseverity = "stop"\n', "any-book.toml")
    monkeypatch.chdir(path.parent)
    for named in (path, "any-book.toml"):
        assert load_spec(named).severity_of(check_named("grain")) is Severity.STOP


def test_what_is_switched_off_below_can_be_switched_on_above(write: Write) -> None:
    write("[check.grain]\noff = true\n", "base.toml")
    assert not load_spec(write('extends = "base.toml"\n[check.grain]\noff = false')).is_off(check_named("grain"))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[check.bled]\noff = true", ["check.bled", 'did you mean "bleed"?']),
        ("[check.bleed]\nof = true", ["check.bleed.of", 'did you mean "off"?']),
        ("[chek.bleed]\noff = true", ["chek", 'did you mean "check"?']),
        ('[check.bleed]\nseverity = "stopp"', ["check.bleed.severity", 'nearest: "stop"']),
        ("[check.bleed.limits]\ntolerance = 3", ["check.bleed.limits.tolerance", 'did you mean "tolerance_mm"?']),
        ('[check.bleed.limits]\ntolerance_mm = "1/8"', ["tolerance_mm", "unit"]),
        ("[check.bleed.limits]\ntolerance_mm = -1", ["tolerance_mm", "0 or more", "-1"]),
        ("[check.bleed.limits]\ntolerance_mm = nan", ["tolerance_mm", "0 or more", "nan"]),
        ("[check.bleed.limits]\ntolerance_mm = true", ["tolerance_mm", "true"]),
        ('[check.picture-resolution.limits]\nline_stop_ppi = "600"', ["line_stop_ppi", "in ppi", "without quotes"]),
        ('[check.rgb-matter.limits]\ninks = "cymk"', ["inks", 'did you mean "cmyk"?']),
        ("[check.bleed.limits]\ntolerance_mm = { value = 1, sorce = 2 }", ['did you mean "source"?']),
        ('[check.bleed.limits]\ntolerance_mm = { source = "x" }', ["value is missing"]),
        ("[check.bleed.limits]\ntolerance_mm = { value = 1, source = 2 }", ["source is text"]),
        ("check = 3", ["check", "table"]),
        ('extends = "colour-on-coatd"', ["ours.toml: extends: there is", 'did you mean "colour-on-coated"?']),
        ('extends = ""', ["ours.toml: extends: there is no spec"]),
        ('extends = "ours.toml"', ["circle"]),
        ('extends = "../{folder}/ours.toml"', ["in a circle, by way of"]),
        ("title = ", ["end of the file", "TOML"]),
    ],
)
def test_a_slip_in_a_spec_is_told(write: Write, text: str, says: list[str]) -> None:
    path = write("")
    with pytest.raises(AskedWrong) as told:
        load_spec(write(text.replace("{folder}", path.parent.name)))
    for word in says:
        assert word in str(told.value), str(told.value)


def test_a_spec_that_does_not_exist(tmp_path: Path) -> None:
    with pytest.raises(AskedWrong, match='did you mean "any-book"'):
        load_spec("anybook")
    with pytest.raises(AskedWrong, match="There is no spec file"):
        load_spec(tmp_path / "none.toml")
    with pytest.raises(AskedWrong, match="There is no spec"):
        load_spec("")
