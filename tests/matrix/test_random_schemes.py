# SPDX-License-Identifier: AGPL-3.0-or-later
"""Schemes that nobody would fold: made up, written and proved they close, or they are refused for a reason that a
second reckoning shares (:mod:`tests.makeup.brute_folding`)."""

from __future__ import annotations

import tempfile
from pathlib import Path

import pytest
from attrs import evolve, frozen
from hypothesis import event, example, given, settings
from hypothesis import strategies as st

from foldproof.errors import AskedWrong, NoPlan
from foldproof.job.model import WAYS, HouseScheme
from tests.makeup import brute_folding
from tests.makeup.test_fold_properties import MODEL_SAYS
from tests.matrix.cases import BINDINGS, FEW_MARKS, HOUSE, READINGS, Case, no_lip, on_face, one_in_another
from tests.matrix.held import closed, planned
from tests.matrix.pages import Shelf

_SIDES = (("left", "right"), ("top", "bottom"))


@frozen
class Asked:
    """A scheme and how it is to be printed and bound."""

    scheme: HouseScheme
    reading: str
    binding: str
    way: str
    lip: str | None = None
    back: bool = False  #: where one side is printed: that which lies down when the section is folded


@st.composite
def _schemes(draw: st.DrawFn) -> HouseScheme:
    """Folds in any order that end in one pile, by halves more often than not; now and then one is left out or wrong."""
    columns, rows = draw(st.integers(1, 6)), draw(st.integers(1, 4))
    left, words = [columns, rows], []
    while left != [1, 1]:
        axis = draw(st.sampled_from([axis for axis in (0, 1) if left[axis] > 1]))
        half = left[axis] // 2 if left[axis] % 2 == 0 else None
        count = half if half and draw(st.integers(0, 3)) else draw(st.integers(1, left[axis] - 1))
        said = "" if count == half and draw(st.booleans()) else f" {count}"
        words.append(f"{draw(st.sampled_from(_SIDES[axis]))}{said} {draw(st.sampled_from(('over', 'under')))}")
        left[axis] = max(count, left[axis] - count)
    if words and draw(st.integers(0, 7)) == 7:
        wrong = draw(st.sampled_from([[], ["left over"], ["bottom under"], ["left 2 under"], ["sideways"]]))
        at = draw(st.integers(0, len(words) - 1))
        words[at : at + 1] = wrong
    head = draw(st.sampled_from([None, None, None, "top", "bottom", "left", "right"]))
    return HouseScheme(name="any", columns=columns, rows=rows, folds=tuple(words), head=head)


ASKED = st.builds(
    Asked, _schemes(), st.sampled_from(READINGS), st.sampled_from(BINDINGS), st.sampled_from(WAYS),
    st.sampled_from([None, "none", "high folio", "low folio"]), st.booleans(),
)  # fmt: skip


def _case(asked: Asked, folded: brute_folding.Folded | None) -> Case:
    """A house of this one scheme: its folders fold anything."""
    folders = tuple(
        folder.model_copy(
            update={
                "schemes": ("any",), "grammage_max": {}, "sheet_min": (1.0, 1.0), "sheet_max": (2000.0, 2000.0),
                "panel_min": None, "panel_max": None, "thickest": None, "lip_min": 1.0, "lip_max": 20.0,
            }
        )
        for folder in HOUSE.folders
    )  # fmt: skip
    house = HOUSE.model_copy(update={"schemes": (asked.scheme,), "folders": folders})
    job = {
        "book": {"binding": asked.binding, "reading": asked.reading},
        "sections": {"fold": "any"},
        "press": {"way": asked.way},
        "paper": {"stock": "Hearth Book 80"},
        "run": {"copies": 1},
        "marks": FEW_MARKS,
        # no feeder opens a glued section or a leaflet
        "bindery": {"lip": asked.lip} if asked.binding in ("sewn", "stitched") else {},
    }
    sections = 1 if asked.binding == "leaflet" else 2
    case = Case("any", sections * 2 * asked.scheme.columns * asked.scheme.rows, job, house=house)
    if asked.way != "one side" or folded is None:
        return case
    flags = on_face(folded, back=asked.back)
    printed = one_in_another([flags] * sections) if asked.binding == "stitched" else flags * sections
    return evolve(case, printed=tuple(printed))


def _refused(asked: Asked, folded: brute_folding.Folded) -> str | None:
    """Why a binder would not take it: a pattern that the sentence must match; ``None`` where he takes it."""
    if asked.binding not in ("sewn", "stitched"):
        return None
    if folded.hanging:
        return "no other half across the spine crease"
    if folded.sewn:
        return "lie one behind the other|no other half across the spine crease"
    # the stitching line of the house asks for a lip where the job says nothing
    lip = asked.lip != "none" and (asked.lip is not None or asked.binding == "stitched")
    half = asked.lip or "high folio"
    return "so it makes no lip" if lip and no_lip(folded, asked.scheme.folds, half) else None


def _example(columns: int, rows: int, folds: tuple[str, ...], binding: str, way: str, head: str | None = None) -> Asked:
    return Asked(HouseScheme(name="any", columns=columns, rows=rows, folds=folds, head=head), READINGS[1], binding, way)


@example(_example(1, 1, (), "glued", "two formes"))
@example(_example(1, 4, ("top 1 over", "top 1 over", "top over"), "sewn", "work and tumble", "left"))
@example(
    evolve(_example(4, 1, ("left 1 under", "left 1 under", "left 1 under"), "stitched", "perfecting"), lip="low folio")
)
@example(_example(3, 4, ("left 1 over", "right 1 over", "top under", "bottom over"), "glued", "perfecting", "right"))
@settings(max_examples=60, deadline=None)
@given(ASKED)
def test_any_scheme_closes_or_is_refused_for_a_shared_reason(shelf: Shelf, asked: Asked) -> None:
    scheme = asked.scheme
    left = asked.reading == READINGS[0]
    try:
        folded = brute_folding.fold(scheme.columns, scheme.rows, scheme.folds, scheme.head, spine_left=left)
    except brute_folding.NoFold as no:
        event(f"no fold: {no.reason}")
        with pytest.raises(AskedWrong, match=MODEL_SAYS[no.reason]):
            planned(_case(asked, None))
        return
    case, why = _case(asked, folded), _refused(asked, folded)
    if why is not None:
        event("refused")
        with pytest.raises(NoPlan, match=why):
            planned(case)
        return
    event("closes")
    with tempfile.TemporaryDirectory() as folder:
        closed(case, shelf, Path(folder))
