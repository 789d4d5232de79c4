# SPDX-License-Identifier: AGPL-3.0-or-later
"""Specs and waivers speak of the checks of covers as they do of those of books."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from foldproof.covers.model import CoverFacts
from foldproof.covers.registry import BY_SPEC, COVER_CHECKS, explained_check
from foldproof.covers.run import USUAL_SPEC, waived_told
from foldproof.errors import AskedWrong
from foldproof.job.load import load_house
from foldproof.job.model import CheckChoice, Job
from foldproof.preflight.model import Severity
from foldproof.preflight.specs import load_spec, shipped
from foldproof.report.explained import limits_told
from foldproof.workers import Workers
from tests.covers.building import Cover, sizes
from tests.covers.looking import JOB, looked, told

Write = Callable[[str], Path]

#: GS1 allows 80 % (``tests/covers/test_faults.py``): at 90 % nothing is wrong with the bars
SMALLER = Cover(scale=0.9)


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def written(text: str) -> Path:
        path = tmp_path / "ours.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return written


def waiving(*waived: dict[str, Any]) -> Job:
    because = {"reason": "the series is so.", "by": "the publisher"}
    return JOB.model_copy(update={"check": CheckChoice.model_validate({"waived": [{**because, **w} for w in waived]})})


# --- specs ----------------------------------------------------------------------------------------------------------


def test_a_spec_sets_what_a_cover_is_held_to(write: Write, tmp_path: Path, hands: Workers) -> None:
    assert told(looked(SMALLER, tmp_path, hands)) == []
    ours = write(
        f'title = "Ours"\nextends = "{USUAL_SPEC}"\n[check.barcode-size]\nseverity = "query"\n'
        '[check.barcode-size.limits]\nleast_percent = { value = 95, source = "the shops of the harbour" }\n'
    )
    spec = load_spec(ours, BY_SPEC)
    found = looked(SMALLER, tmp_path, hands, spec=spec).findings
    (finding,) = found.items
    assert (finding.check, finding.severity, finding.limit) == ("barcode-size", Severity.QUERY, 95)
    assert "95 to 200 % are allowed" in finding.problem
    off = write(f'extends = "{USUAL_SPEC}"\n[check.spine-title]\noff = true\n')
    shifted = looked(SMALLER.but(spine_shift=3.5), tmp_path, hands, spec=load_spec(off, BY_SPEC)).findings
    assert shifted.items == () and "spine-title" in shifted.off


def test_whose_figure_a_limit_is_is_told(write: Write) -> None:
    size, bleed = explained_check("barcode-size"), explained_check("cover-bleed")
    spec = load_spec(
        write(
            'title = "Ours"\n[check.barcode-size.limits]\nmost_percent = { value = 150, source = "the shelf" }\n'
            '[check.cover-bleed.limits]\nstop_below_mm = "1/8 in"\n'
        ),
        BY_SPEC,
    )
    lines = limits_told(size, spec)
    assert "most_percent = 150 (the shelf)" in lines and "least_percent = 80.0 (GS1: 80 %; from memory)" in lines
    assert "stop_below_mm = 3.175 (the spec: Ours)" in limits_told(bleed, spec)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("[check.barcode-sise]\noff = true", 'check.barcode-sise: there is no check "barcode-sise"; did you mean'),
        ("[check.isbn.limits]\ndigits = 13", '"isbn" has no limit "digits"; none is known here.'),
        ("[check.cover-bleed.limits]\ntolerance = 1", 'has no limit "tolerance"; did you mean "tolerance_mm"?'),
        ('[check.cover-bleed.limits]\ntolerance_mm = "1"', "check.cover-bleed.limits.tolerance_mm: "),
        ("[check.barcode-size.limits]\nleast_percent = -1", "a number of 0 or more is asked for, in percent"),
        ('[check.spine-title]\nseverity = "stopp"', 'nearest: "stop"'),
        # its limits are the house's, and it is told by the drawing
        ("[check.die-line]\noff = true", 'there is no check "die-line"'),
    ],
)
def test_a_slip_is_told_as_of_checks_of_books(text: str, says: str, write: Write) -> None:
    with pytest.raises(AskedWrong) as wrong:
        load_spec(write(text), BY_SPEC)
    assert says in str(wrong.value) and "ours.toml" in str(wrong.value)


@pytest.mark.parametrize("name", shipped())
def test_shipped_specs_leave_the_checks_of_covers_as_they_are(name: str) -> None:
    spec = load_spec(name, BY_SPEC)
    assert spec == load_spec(name)
    for check in COVER_CHECKS:
        assert (spec.limits_of(check).values, spec.severity_of(check)) == (check.limits, check.severity)
        assert not spec.is_off(check)


#: the cover, the limits that are other than by default, whether a finding of that severity comes of the last of them
STOP, QUERY = Severity.STOP, Severity.QUERY
SOUND, SHORT = Cover(), Cover(bleed_left=2.0)
FLAPS = Cover(asked=sizes(kind="jacket", flap_mm=40.0, hinge_mm=0.0))
DECIDES: dict[str, list[tuple[Cover, dict[str, float], Severity | None]]] = {
    # 12 thin bars are free before the bars, 8.5 behind them
    "barcode-quiet-zone": [
        (SOUND, {"left_ratio": 14.0}, QUERY),
        (SOUND, {"right_ratio": 10.0}, QUERY),
        (SOUND, {"left_ratio": 12.3, "tolerance_ratio": 0.0}, QUERY),
    ],
    "barcode-size": [
        (SOUND, {"least_percent": 110.0}, STOP),
        (SOUND, {"most_percent": 90.0}, QUERY),
        (SOUND, {"least_percent": 101.2, "tolerance_percent": 0.0}, STOP),
    ],
    # nothing prints a contrast of 100 %, nor more than a solid
    "barcode-colour": [
        (SOUND, {"query_below_percent": 100.0}, QUERY),
        (SOUND, {"query_below_percent": 100.0, "stop_below_percent": 100.0}, STOP),
        (SOUND, {"solid_percent": 101.0}, QUERY),
    ],
    # 2 mm of 3 are there at the left
    "cover-bleed": [(SHORT, {"stop_below_mm": 2.5}, STOP), (SHORT, {"tolerance_mm": 1.2}, None)],
    # the lines begin 20 mm from the trim on the back, 25 mm from the spine on the front
    "cover-live-matter": [
        (SOUND, {"trim_mm": 25.0}, QUERY),
        (SOUND, {"hinge_mm": 25.0}, QUERY),
        (FLAPS, {"fold_mm": 25.0}, QUERY),
    ],
    # capitals of some 5 mm in the middle of 18.6
    "spine-title": [(SOUND, {"least_mm": 9.0}, QUERY), (Cover(spine_shift=3.5), {"tolerance_mm": 5.0}, None)],
    "spine-empty": [(Cover(spine_text=""), {"least_mm": 19.0}, None)],
}


@pytest.fixture(scope="module")
def facts(tmp_path_factory: pytest.TempPathFactory, hands: Workers) -> Callable[[Cover], CoverFacts]:
    kept: dict[str, CoverFacts] = {}

    def facts_of(cover: Cover) -> CoverFacts:
        if repr(cover) not in kept:
            asked = cover.asked
            seen = looked(cover, tmp_path_factory.mktemp("cover"), hands)
            kept[repr(cover)] = CoverFacts(
                seen.manuscript, seen.observations, JOB, load_house(None), asked.trimmed_mm, asked.bleed_mm,
                sizes=asked, seen=seen.seen,
            )  # fmt: skip
        return kept[repr(cover)]

    return facts_of


def test_no_limit_is_left_out() -> None:
    decide = {name: {list(limits)[-1] for _, limits, _ in rows} for name, rows in DECIDES.items()}
    assert decide == {check.id: set(check.limits) for check in COVER_CHECKS if check.limits}


@pytest.mark.parametrize(
    ("name", "row"), [(name, row) for name, rows in DECIDES.items() for row in range(len(rows))], ids=str
)
def test_every_limit_decides(name: str, row: int, facts: Callable[[Cover], CoverFacts], write: Write) -> None:
    cover, limits, wanted = DECIDES[name][row]
    check = explained_check(name)

    def worst(**given: float) -> Severity | None:
        text = "".join(f"{limit} = {value}\n" for limit, value in given.items())
        spec = load_spec(write(f"[check.{name}.limits]\n{text}"), BY_SPEC)
        found = check.run(facts(cover), spec.limits_of(check))
        return min((one.severity for one in found), key=lambda severity: severity.rank, default=None)

    *before, last = limits
    assert worst(**limits) is wanted
    assert worst(**{limit: limits[limit] for limit in before}) is not wanted, f"{last} decides nothing"


# --- waivers --------------------------------------------------------------------------------------------------------


def test_a_waiver_takes_a_finding_on(tmp_path: Path, hands: Workers) -> None:
    cover = Cover(spine=15.0, spine_shift=0.0)
    stopped = looked(cover, tmp_path, hands).findings
    assert [found.check for found in stopped.items] == ["spine-width"] and stopped.waived == ()
    found = looked(cover, tmp_path, hands, waiving({"check": "spine-width"})).findings
    assert found.items == () and found.worst() is None
    assert [(one.check, reason, by) for one, reason, by in found.waived] == [
        ("spine-width", "the series is so.", "the publisher")
    ]
    (line,) = waived_told(found)
    assert line.startswith("waived: spine-width: The cover is ")
    assert line.endswith(" Waived by the publisher: the series is so.")


def test_a_waiver_of_the_books_pages_leaves_the_cover_alone(tmp_path: Path, hands: Workers) -> None:
    hairline = Cover(more="q 0 0 0 1 K 0.05 w 60 300 m 200 300 l S Q\n")
    assert told(looked(hairline, tmp_path, hands))[0][0].startswith("thin-lines")
    # page 40 is a page of the book, and so is page 1 of a waiver that does not speak of the cover
    for waiver in ({"check": "thin-lines"}, {"check": "thin-lines", "page": 1}, {"check": "thin-lines", "page": 40}):
        found = looked(hairline, tmp_path, hands, waiving(waiver)).findings
        assert [one.check for one in found.items] == ["thin-lines"] and not found.waived
    found = looked(hairline, tmp_path, hands, waiving({"check": "thin-lines", "on": "cover"})).findings
    assert found.items == () and len(found.waived) == 1


def test_what_is_waived_on_the_cover_is_not_on_the_jacket(tmp_path: Path, hands: Workers) -> None:
    jacket = Cover(asked=sizes(kind="jacket", flap_mm=20.0, hinge_mm=0.0), spine_text="")
    for on, waived in (("cover", 0), ("jacket", 1), (None, 1)):
        waiver = {"check": "spine-empty"} if on is None else {"check": "spine-empty", "on": on}
        found = looked(jacket, tmp_path, hands, waiving(waiver)).findings
        assert len(found.waived) == waived and len(found.items) == 1 - waived


def test_a_waiver_of_nothing_is_asked_wrong(tmp_path: Path, hands: Workers) -> None:
    with pytest.raises(AskedWrong, match=r'check\.waived 1, check: there is no check "spine-widht"; did you mean'):
        looked(Cover(), tmp_path, hands, waiving({"check": "spine-widht"}))
