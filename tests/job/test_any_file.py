# SPDX-License-Identifier: AGPL-3.0-or-later
"""Whatever stands in a job, house or spec file: it is read, or told in one sentence."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from foldproof.errors import AskedWrong
from foldproof.job.load import load_house, load_job
from foldproof.job.model import House, Job
from foldproof.job.toml_file import validated
from foldproof.preflight.specs import load_spec

words = st.sampled_from(
    [
        "book",
        "paper",
        "trim",
        "bleed",
        "3 mm",
        "1/8 in",
        "x",
        "",
        "check",
        "waived",
        "stock",
        "sheets",
        "size",
        "limits",
        "off",
    ]
)
plain = st.one_of(
    st.integers(), st.floats(), st.booleans(), words, st.text('ab "\n\u00e4\u2028.', max_size=8), st.dates()
)
values = st.recursive(
    plain, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(words, inner, max_size=3), max_leaves=12
)


@settings(deadline=None, max_examples=200, suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(words | st.sampled_from(sorted(Job.model_fields)), values, max_size=4))
def test_any_tables(data: dict[str, Any]) -> None:
    for model in (Job, House):
        try:
            validated(model, data, "FILE")
        except AskedWrong as told:
            assert str(told).startswith("FILE: ")


@given(st.binary(max_size=200))
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
def test_any_bytes(tmp_path: Path, raw: bytes) -> None:
    path = tmp_path / "FILE.toml"
    path.write_bytes(raw)
    for load in (load_job, load_house, load_spec):
        try:
            load(path)
        except AskedWrong as told:
            assert str(path) in str(told)


@pytest.mark.parametrize(
    "text",
    [
        "[check.bleed.limits]\ntolerance_mm = []",
        "[check.bleed]\nlimits = { tolerance_mm = { value = {} } }",
        "[check]\nbleed = []",
        "[check.rgb-matter.limits]\ninks = { value = 1979-05-27 }",
        "[check.rgb-matter.limits]\ninks = 07:32:00",
    ],
)
def test_odd_values_in_a_spec(tmp_path: Path, text: str) -> None:
    path = tmp_path / "FILE.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(AskedWrong):
        load_spec(path)
