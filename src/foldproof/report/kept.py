# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a written plan.json keeps of the manuscript it was made from, for the day on which late pages come.

Written with every plan: the date on the sheets, and of every page its inks, what each plate shows and a digest of its
content.  Read again, it tells what a new version changes; the make-up itself is reckoned anew from the job, the house
and the old inks, and must come out as it was.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from attrs import evolve, frozen

from foldproof.errors import AskedWrong
from foldproof.files import write_bytes
from foldproof.makeup.late import Late, PageLook, late, with_inks
from foldproof.makeup.plan import Side
from foldproof.manuscript.folios import printed_folios
from foldproof.manuscript.page_inks import ink_names, page_inks
from foldproof.pdf.splitting import some_sides
from foldproof.report.as_json import plan_json, written
from foldproof.report.model import Results


@frozen
class Kept:
    """An older plan, as far as it binds a new version."""

    file: str
    title: str
    date: str
    looks: tuple[PageLook, ...]
    folios: tuple[str, ...]  #: as printed in the older version
    instructions: Any  #: as JSON
    standing: Any  #: where every page stands, as JSON

    @property
    def inks(self) -> tuple[tuple[str, ...], ...]:
        return tuple(look.inks for look in self.looks)

    def hold_to(self, results: Results) -> Results:
        """The results with the plan that was kept, its sides with the inks that they carry now.

        Raises:
            AskedWrong: the make-up is another today: its sheets would not go with the plates that are kept.
        """
        plan = results.plan
        if plan is None:
            raise AskedWrong(f"{self.file}: the make-up of this plan does not go any more; make the book anew.")
        anew = json.loads(json.dumps(plan_json(plan)))
        if anew["instructions"] != self.instructions or _standing(anew["places"]) != self.standing:
            raise AskedWrong(
                f"{self.file}: job or house give another make-up today than this plan has; give the job and house that "
                "it was made with, or make the book anew without --late."
            )
        inks = page_inks(results.observations, results.manuscript.spots)
        return evolve(results, plan=evolve(plan, runs=with_inks(plan, inks, self._order(inks))))

    def told(self, results: Results) -> Results:
        """The results with what changes, after the proof has read every page."""
        plan = results.plan
        if plan is None:  # pragma: no cover - held to it before
            return results
        looks = page_looks(results)
        order = self._order([look.inks for look in looks])
        before = evolve(plan, runs=with_inks(plan, self.inks, order))
        found = late(self.looks, looks, before, order)
        return evolve(results, late=found, notes=(*results.notes, *found.sentences))

    def _order(self, inks: Sequence[Sequence[str]]) -> tuple[str, ...]:
        return ink_names([*self.inks, *inks])

    def refuse_pages(self, count: int) -> None:
        """Hold the number of pages against the old one.

        Raises:
            AskedWrong: the new version has another number of pages.
        """
        if count != len(self.looks):
            raise AskedWrong(
                f"{self.file} is the plan of {len(self.looks)} pages and the new version has {count}: that is another "
                "make-up; make the book anew without --late."
            )


def page_looks(results: Results) -> tuple[PageLook, ...]:
    """Every page of the manuscript as far as plates are concerned."""
    inks = page_inks(results.observations, results.manuscript.spots)
    seen = results.observations.ink
    contents = results.proof.page_digests if results.proof is not None else ()
    return tuple(
        PageLook(
            inks=inks[index],
            plates=ink.plates if (ink := seen[index] if index < len(seen) else None) is not None else (),
            content=contents[index] if index < len(contents) else "",
        )
        for index in range(len(results.manuscript.pages))
    )


def pages_json(results: Results) -> list[dict[str, Any]]:
    """``"manuscript_pages"`` of plan.json."""
    folios = printed_folios(results.observations)
    return [
        {
            "page": index + 1,
            "folio": folios[index] if index < len(folios) else "",
            "inks": list(look.inks),
            "plates": dict(look.plates),
            "content": look.content,
        }
        for index, look in enumerate(page_looks(results))
    ]


def write_late(found: Late, sheets: Path, target: Path, told: Path) -> None:
    """The sides whose plates change as one PDF, in their order, and what changes as JSON.

    ``target`` is not written where no plate changes.

    Raises:
        NotWritten: the folder does not take a file.
    """
    sides = [(one.sheet, one.side is Side.BACK) for one in found.sides]
    if sides:
        some_sides(sheets, target, sides)
    write_bytes(told, written(found.as_json()))


def read_kept(path: Path) -> Kept:
    """An older plan.json.

    Raises:
        AskedWrong: it is missing, no JSON, or was written by a version that kept nothing of its pages.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        return Kept(
            file=path.name,
            title=str(data["title"]),
            date=str(data["date"]),
            looks=tuple(_look(page) for page in data["manuscript_pages"]),
            folios=tuple(str(page["folio"]) for page in data["manuscript_pages"]),
            instructions=data["instructions"],
            standing=_standing(data["places"]),
        )
    except OSError as refused:
        raise AskedWrong(f"The plan {path} cannot be read: {(refused.strerror or str(refused)).lower()}.") from refused
    except (json.JSONDecodeError, UnicodeDecodeError, RecursionError) as odd:
        raise AskedWrong(f"{path} is no JSON ({odd}); give the plan.json that was written with the sheets.") from odd
    except (KeyError, TypeError, AttributeError) as lost:
        raise AskedWrong(
            f"{path} keeps nothing of the pages it was made from ({lost}); give a plan.json that was written by make."
        ) from None


def _standing(places: Any) -> Any:
    names = ("position", "page", "sheet", "side", "section", "trim_mm", "clip_mm", "turn", "creep_mm")
    return [[place[name] for name in names] for place in places]


def _look(page: Any) -> PageLook:
    inks: Sequence[Any] = page["inks"]
    return PageLook(
        tuple(str(ink) for ink in inks),
        tuple((str(ink), str(digest)) for ink, digest in page["plates"].items()),
        str(page["content"]),
    )
