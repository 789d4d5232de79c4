# SPDX-License-Identifier: AGPL-3.0-or-later
"""The first job of a book: guessed from the file, commented, valid."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path
from typing import get_args

import pytest
from attrs import evolve
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from foldproof.job.load import job_text, load_house, load_job, resolve
from foldproof.job.model import House
from foldproof.manuscript.model import TrimSource
from foldproof.preflight.specs import shipped
from tests.build import book
from tests.preflight.facts import a_manuscript, a_page


def test_it_says_what_the_book_says_and_loads_again(tmp_path: Path) -> None:
    house = load_house(None)
    book = a_manuscript(
        [a_page(n, trim_mm=(139.7, 215.9), bleed_box_mm=3.0) for n in range(8)], title="Wicks", author="A. Row"
    )
    path = tmp_path / "JOB.toml"
    path.write_text(job_text(book, house=house), encoding="utf-8")
    job = load_job(path)
    assert (job.book.title, job.book.author) == ("Wicks", "A. Row")
    assert job.book.trim == (139.7, 215.9)
    assert job.book.bleed == 3.0
    assert resolve(job, house).stock is not None


def test_the_usual_size_wins_and_the_others_are_counted() -> None:
    book = a_manuscript([a_page(0, trim_mm=(140, 216))] * 3 + [a_page(3, trim_mm=(190, 240))])
    text = job_text(book)
    assert 'trim = "140 x 216 mm"' in text
    assert "1 of 4 differ" in text


def test_a_guessed_trim_is_called_a_guess() -> None:
    assert "guessed" in job_text(a_manuscript([a_page(0, trim_source=TrimSource.MEDIA_BOX)]))
    assert "guessed" not in job_text(a_manuscript([a_page(0)])).split("[book]")[1].split("bleed")[0]


def _switchable(text: str) -> list[range]:
    """Lines behind a # that are switched on together: one key, or a table that is off itself with its keys."""
    lines, found = text.splitlines(), []
    nth = 0
    while nth < len(lines):
        end = nth + 1
        if re.fullmatch(r"# \[\[?\w+(\.\w+)?\]\]?", lines[nth]):
            while end < len(lines) and re.match(r"# \w+ = ", lines[end]):
                end += 1
        elif not re.match(r"# \w+ = ", lines[nth]):
            nth += 1
            continue
        found.append(range(nth, end))
        nth = end
    return found


def _switched_on(text: str, *units: range) -> str:
    on = {nth for unit in units for nth in unit}
    return "\n".join(line[2:] if nth in on else line for nth, line in enumerate(text.splitlines()))


@pytest.mark.parametrize("house", [load_house(None), None])
def test_every_example_is_valid_when_it_is_switched_on_alone(tmp_path: Path, house: House | None) -> None:
    text = job_text(a_manuscript([a_page(0)]), house=house)
    path = tmp_path / "JOB.toml"
    units = _switchable(text)
    assert len(units) > 30
    for unit in units:
        said = _switched_on(text, unit)
        assert said != text
        path.write_text(said, encoding="utf-8")
        job = load_job(path)
        if house is not None:
            # and what it names is in the house
            resolve(job, house)


def test_all_examples_are_valid_together(tmp_path: Path) -> None:
    text = job_text(a_manuscript([a_page(0)]), house=load_house(None))
    units, seen = [], set()
    table = ""
    for nth, line in enumerate(text.splitlines()):
        table = line if line.startswith("[") else table
        for unit in _switchable(text):
            key = line.split(" = ")[0]
            # of several names for one key only the first
            if unit.start == nth and (table, key) not in seen:
                seen.add((table, key))
                units.append(unit)
    path = tmp_path / "JOB.toml"
    path.write_text(_switched_on(text, *units), encoding="utf-8")
    job = load_job(path)
    resolve(job, load_house(None))
    assert job.check.waived[0].check == "bleed" and job.run.copies == 500
    assert job.inserts[0].holds == 16 and job.spreads[0].first_page == 40
    assert not any(job.marks.model_dump().values())


def test_every_key_of_a_job_is_shown() -> None:
    """All tables and keys that a job may have, save the other way to say how thick the paper is."""
    from foldproof.job.model import Job

    text = job_text(a_manuscript([a_page(0)]))
    shown = set(re.findall(r"^(?:# )?(\w+) = ", text, re.MULTILINE))
    for name, field in Job.model_fields.items():
        told = field.alias or name
        assert re.search(rf"^(?:# )?\[\[?{told}\]\]?$", text, re.MULTILINE), told
        table = next((a for a in (field.annotation, *get_args(field.annotation)) if hasattr(a, "model_fields")), None)
        keys = {inner.alias or key for key, inner in table.model_fields.items()} - {"waived", "caliper"}
        assert keys <= shown, told


def test_the_specs_that_it_names_are_the_shipped_ones() -> None:
    text = job_text(a_manuscript([a_page(0)]))
    for name in shipped():
        assert name in text


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.text(st.characters(), max_size=40), st.text(st.characters(), max_size=20))
def test_any_title_gives_a_file_that_loads(title: str, author: str) -> None:
    from foldproof.job.model import Job
    from foldproof.job.toml_file import parse_toml, validated

    text = job_text(a_manuscript([a_page(0)], title=title, author=author))
    job = validated(Job, parse_toml(text.encode("utf-8").decode("utf-8"), "JOB.toml"), "JOB.toml")
    plain = "".join(c for c in title if c.isalnum() and c.isascii())
    if plain:
        assert plain in "".join(c for c in job.book.title or "" if c.isalnum() and c.isascii())


def test_a_hostile_file_name_stays_in_its_comment() -> None:
    book = evolve(a_manuscript([a_page(0)], title=""), path=Path('a\n[book]\ntitle="x".pdf'))
    from foldproof.job.toml_file import parse_toml

    assert parse_toml(job_text(book), "JOB.toml")["book"]["trim"] == "140 x 216 mm"


@pytest.mark.parametrize("trim_mm", [(105.0, 148.0), (148.0, 210.0), (152.4, 228.6)])
def test_the_trim_may_be_given(trim_mm: tuple[float, float]) -> None:
    assert f'trim = "{trim_mm[0]:g} x {trim_mm[1]:g} mm"' in job_text(a_manuscript([a_page(0)]), trim_mm=trim_mm)


def test_the_names_of_a_house_that_is_given_are_offered(tmp_path: Path, foldproof) -> None:  # type: ignore[no-untyped-def]
    house, out = tmp_path / "HOUSE.toml", tmp_path / "JOB.toml"
    shipped = resources.files("foldproof.job").joinpath("houses", "lantern-row.toml").read_text("utf-8")
    house.write_text(shipped.replace('"Weaver"', '"Bobbin"'), encoding="utf-8")
    manuscript = book(4, tmp_path / "BOOK.pdf", trim_mm=(140, 216), bleed_mm=3)
    for words, offered in ((["--house", house], True), ([], False)):
        done = foldproof("start", manuscript, "-o", out, "--force", *words)
        assert done.returncode == 0, done.stderr
        text = out.read_text("utf-8")
        assert ('# line = "Bobbin"' in text, '# folder = "Moth"' in text) == (offered, offered)
        assert load_job(out).bindery.line is None
    spared = foldproof("start", manuscript, "-o", house, "--force", "--house", house)
    assert spared.returncode == 2 and "HOUSE.toml" in spared.stderr
    assert "Bobbin" in house.read_text("utf-8")
