# SPDX-License-Identifier: AGPL-3.0-or-later
"""The matrix: every way to print x every binding x every scheme of the shipped house, and what else a job may ask for.

Nothing is left out by hand.  A combination is left out where :mod:`tests.makeup.brute_folding` finds that thread or
wire would not hold the section, or that one strip of paper carries leaves of both halves where a lip is wanted; such a
combination stands in :data:`REFUSED`, and the house must refuse it for that reason.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from attrs import evolve, field, frozen

from foldproof.job.load import load_house
from foldproof.job.model import WAYS, House, HouseScheme, Job, Marks
from tests.makeup import brute_folding

HOUSE = load_house(None)
BINDINGS = ("sewn", "glued", "stitched", "leaflet")
READINGS = ("left to right", "right to left")
#: the smallest page that the binding lines of the house trim (its house file): small pages are quickly looked at
SMALL = (75.0, 100.0)
A6 = (105.0, 148.0)  # ISO 216
#: the smallest whose offcut of one row a folder of the house holds (140 mm, trims at head and foot of 5 mm: its file)
WITH_OFFCUT = (90.0, 130.0)
#: of all marks the one that the bindery reads: the collation mark on the spine
FEW_MARKS = {one.alias or name: name == "collation" for name, one in Marks.model_fields.items()}


@frozen
class Case:
    """One book to be made up, printed, folded and proved."""

    name: str
    pages: int
    job: dict[str, Any] = field(eq=False)
    trim_mm: tuple[float, float] = SMALL
    #: which pages carry anything; all when ``None``
    printed: tuple[bool, ...] | None = None
    #: the scheme that every section of it must be folded by
    scheme: HouseScheme | None = field(default=None, eq=False, repr=False)
    house: House = field(default=HOUSE, eq=False, repr=False)
    asked: Job = field(init=False, eq=False, repr=False)

    @asked.default
    def _asked(self) -> Job:
        return Job.model_validate(self.job)

    @property
    def way(self) -> str:
        return str(self.job["press"]["way"])

    @property
    def inks(self) -> list[tuple[str, ...]] | None:
        return None if self.printed is None else [("Black",) if there else () for there in self.printed]


@frozen
class Refusal:
    """A combination that cannot be, and why by a second reckoning: ``"loose"``, ``"middles"``; ``"lip"``: the line
    that stitches asks for one that the scheme cannot make; ``"offcut"``: two pieces of paper are no leaflet."""

    name: str
    pages: int
    job: dict[str, Any] = field(eq=False)
    why: str
    leaves: int  #: that nothing holds where the thread goes through the spine fold


def scheme_named(name: str) -> HouseScheme:
    return next(scheme for scheme in HOUSE.schemes if scheme.name == name)


def pieces_of(told: HouseScheme, reading: str) -> tuple[brute_folding.Folded, ...]:
    """The rest and the offcut of a scheme, folded by brute force; the outermost first."""
    left = reading == "left to right"
    rest = brute_folding.fold(told.columns, told.rows - told.offcut_rows, told.folds, told.head, spine_left=left)
    if not told.offcut_rows:
        return (rest,)
    return rest, brute_folding.fold(told.columns, told.offcut_rows, told.offcut_folds, told.head, spine_left=left)


def no_lip(folded: brute_folding.Folded, folds: Sequence[str], half: str) -> bool:
    """Whether one half of the leaves cannot stand out: a strip along the spine carries leaves of both halves, or the
    wider strips do not lie flush where they are folded again (widths of 8 and 9, folded on paper ruled so)."""
    upright = folded.leaves[0].spine_edge in ("left", "right")
    halves: dict[int, set[str]] = {}
    for nth, leaf in enumerate(folded.leaves):
        mine = "low folio" if nth < len(folded.leaves) / 2 else "high folio"
        halves.setdefault(leaf.panel[0 if upright else 1], set()).add(mine)
    if any(len(both) == 2 for both in halves.values()):
        return True
    ruled = [0]
    for strip in sorted(halves):
        ruled.append(ruled[-1] + (9 if halves[strip] == {half} else 8))
    lies = {strip: {ruled[strip], ruled[strip + 1]} for strip in halves}
    for (across, at, _, _), words in zip(folded.lines, folds, strict=True):
        if across != upright:
            continue
        crease = ruled[at] if 0 <= at < len(ruled) else 8 * at
        moves_low = words.split()[0] in ("left", "top")
        for strip, edges in lies.items():
            if min(edges) < crease < max(edges):
                return True
            if (sum(edges) < 2 * crease) == moves_low:
                lies[strip] = {2 * crease - edge for edge in edges}
    return False


def lipless(told: HouseScheme, folded: Sequence[brute_folding.Folded], half: str) -> bool:
    """The same of a scheme of the house and its offcut, folded."""
    return any(
        no_lip(piece, words, half) for piece, words in zip(folded, (told.folds, told.offcut_folds), strict=False)
    )


def pages_of(told: HouseScheme) -> int:
    return 2 * told.columns * told.rows


def one_in_another(pieces: Sequence[Sequence[Any]]) -> list[Any]:
    """Pieces set one in another, the outermost first: half of each before what lies in it, the rest after."""
    if not pieces:
        return []
    first, middle = pieces[0], len(pieces[0]) // 2
    return [*first[:middle], *one_in_another(pieces[1:]), *first[middle:]]


def on_face(folded: brute_folding.Folded, *, back: bool) -> list[bool]:
    """For every page of a piece whether it is printed on one side of it."""
    there = {page for row in folded.forme(back=back) for page, _ in row}
    return [page in there for page in range(1, 2 * len(folded.leaves) + 1)]


def _stock(pages: int) -> str:
    """A stock that the folders of the house take to so many pages a section (grammage_max of its house file)."""
    if pages == 64:
        return "Wick Bible 40"
    return "Wick Thin 60" if pages > 24 else "Hearth Book 80"


def _job(told: HouseScheme, way: str, binding: str, reading: str) -> dict[str, Any]:
    return {
        "book": {"binding": binding, "reading": reading},
        "sections": {"fold": told.name},
        "press": {"way": way},
        "paper": {"stock": _stock(pages_of(told))},
        "marks": FEW_MARKS,
    }


def _base(told: HouseScheme, way: str, binding: str, reading: str) -> Case | Refusal:
    """Two sections, so that their order counts; a leaflet is one."""
    name = f"{told.name}, {binding}, {way}, {reading}"
    sections = 1 if binding == "leaflet" else 2
    job, pages = _job(told, way, binding, reading), sections * pages_of(told)
    folded = pieces_of(told, reading)
    if binding in ("sewn", "stitched"):
        for piece in folded:
            if piece.sewn:
                unheld = sum(piece.mate(leaf) is None for leaf in range(len(piece.leaves)))
                return Refusal(name, pages, job, piece.sewn, unheld)
    # the stitching line of the house opens sections by a lip on the half with the higher pages (its house file)
    if binding == "stitched" and lipless(told, folded, "high folio"):
        return Refusal(name, pages, job, "lip", 0)
    if binding == "leaflet" and told.offcut_rows:
        return Refusal(name, pages, job, "offcut", 0)
    case = Case(name, pages, job, WITH_OFFCUT if told.offcut_rows else SMALL, scheme=told)
    if way != "one side":
        return case
    # the two sides in turn, so that sections are also laid face down
    back = HOUSE.schemes.index(told) % 2 == 1
    flags = [on_face(piece, back=back) for piece in folded]
    one = one_in_another(flags * sections) if binding == "stitched" else one_in_another(flags) * sections
    return evolve(case, printed=tuple(one))


def _combinations() -> Iterator[Case | Refusal]:
    for nth, told in enumerate(HOUSE.schemes):
        for binding_nth, binding in enumerate(BINDINGS):
            for way_nth, way in enumerate(WAYS):
                first = (nth + binding_nth + way_nth) % 2
                yield _base(told, way, binding, READINGS[first])
                if way == "two formes":
                    yield _base(told, way, binding, READINGS[1 - first])


COMBINATIONS = tuple(_combinations())
BASE = tuple(one for one in COMBINATIONS if isinstance(one, Case))
REFUSED = tuple(one for one in COMBINATIONS if isinstance(one, Refusal))


def printed(way: str) -> list[Case]:
    """The cases of the whole product that are printed in one way."""
    return [case for case in BASE if case.way == way]


# --- what else a job may ask for --------------------------------------------------------------------------------------


def _asks(case: Case, name: str, **tables: dict[str, Any]) -> Case:
    """The same case with more asked for in some tables of the job."""
    job = dict(case.job)
    for table, more in tables.items():
        job[table] = more if not isinstance(more, dict) else {**job.get(table, {}), **more}
    return evolve(case, name=f"{name}, {case.name}", job=job)


def _plain(way: str, binding: str, pages: int, reading: str = READINGS[0], stock: str = "Hearth Book 80") -> Case:
    """A book whose scheme the house chooses."""
    job = {
        "book": {"binding": binding, "reading": reading},
        "press": {"way": way},
        "paper": {"stock": stock},
        "marks": FEW_MARKS,
    }
    return Case(f"{binding}, {way}, {reading}", pages, job)


#: ways in which every page can be printed
BOTH_SIDES = tuple(way for way in WAYS if way != "one side")


def _one_in_another() -> Iterator[Case]:
    """Pieces set one in another: 32 in 32, a short one round or inside a full one, an insert of another stock."""
    for nth, way in enumerate(BOTH_SIDES):
        reading = READINGS[nth % 2]
        for binding in ("sewn", "glued", "stitched"):
            both = _plain(way, binding, 64, reading, "Wick Thin 60")
            yield _asks(both, "32 in 32", sections={"pages": 64})
        for where in ("wrapped", "inside", "next to last", "last"):
            for binding in ("sewn", "glued"):
                short = _asks(_plain(way, binding, 40, reading), f"a short one {where}")
                yield _asks(short, "16s", sections={"pages": 16, "short": where})
        yield _asks(_plain(way, "stitched", 28, reading), "16, 8 and 4", sections={"pages": 16})
        insert = {"stock": "Glaze Silk 115", "pages": 4}
        round_one = [{**insert, "how": "round", "first_page": 1, "holds": 16}]
        for how, inserts in (
            ("round", round_one),
            ("inside", [{**insert, "how": "inside", "first_page": 9}]),
            ("between", [{**insert, "how": "between", "first_page": 17}]),
        ):
            case = _asks(_plain(way, "sewn", 36, reading), f"an insert {how}", sections={"pages": 16})
            yield evolve(case, job={**case.job, "insert": inserts})


def _lips() -> Iterator[Case]:
    """A lip on either half."""
    for half in ("high folio", "low folio"):
        for nth, name in enumerate(("4", "8", "16", "32", "12 long", "8 strip")):
            told, way = scheme_named(name), BOTH_SIDES[nth % 4]
            case = _base(told, way, "sewn", READINGS[nth % 2])
            assert isinstance(case, Case)
            yield _asks(case, f"lip {half}", bindery={"lip": half})


def _shapes() -> Iterator[Case]:
    """Other trims and bleeds, push-out by scale, leaned heads, blanks before and after, all marks, open gutters."""
    for nth, way in enumerate(BOTH_SIDES):
        reading = READINGS[nth % 2]
        for name, binding in (("16", "sewn"), ("8", "glued"), ("32", "stitched")):
            case = _base(scheme_named(name), way, binding, reading)
            assert isinstance(case, Case)
            yield evolve(case, name=f"broad, {case.name}", trim_mm=(120.0, 100.0))
            yield _asks(case, "by scale", sections={"creep": "scale"})
            leaned = HOUSE.allowances.model_copy(update={"bottling": 0.5, "creep_factor": 1.5708})
            yield evolve(case, name=f"leaned, {case.name}", house=HOUSE.model_copy(update={"allowances": leaned}))
        case = _base(scheme_named("16"), way, "sewn", reading)
        assert isinstance(case, Case)
        yield _asks(evolve(case, pages=28, scheme=None), "two blanks before", book={"blanks_front": 2})
        yield evolve(case, name=f"all marks, {case.name}", job={**case.job, "marks": {}}, trim_mm=A6)
        yield _asks(case, "no bleed", book={"bleed": "0 mm"})
        glued = _base(scheme_named("16"), way, "glued", reading)
        assert isinstance(glued, Case)
        same = HOUSE.allowances.model_copy(update={"glued_gutter": "same"})
        yield evolve(glued, name=f"same gutter, {glued.name}", house=HOUSE.model_copy(update={"allowances": same}))
        across = {"grain": "long", "sheet": "700 x 1000 mm"}
        yield _asks(case, "grain fixed", paper=across)


ONE_IN_ANOTHER = tuple(_one_in_another())
LIPS_AND_TRIMS = (*_lips(), *_shapes())
