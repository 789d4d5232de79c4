# SPDX-License-Identifier: AGPL-3.0-or-later
"""All marks of all sheets, in two drawings a side: what sheets of one kind share, and what is a sheet's own.

Sheets that are laid out alike share one drawing object in the file and are reckoned once.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from attrs import define, field, frozen

from foldproof.impose.marks import backup, collation, fold, job_line, lay, register, signature, trim
from foldproof.impose.marks.room import Room
from foldproof.impose.marks.view import SheetView, SideView, view
from foldproof.job.model import Marks
from foldproof.makeup.plan import PagePlace, Plan, Side
from foldproof.pdf.sheets_drawing import Stroke

#: marks whose place follows from the layout of the sheet alone, in the order in which they take their room
_LAID = (
    ("trim", trim.draw, "trim"),
    ("fold", fold.draw, "fold"),
    ("lay", lay.draw, "lay"),
    ("register", register.draw, "register_targets"),
    ("backup", backup.draw, "backup"),
)


@frozen
class SideMarks:
    """The drawings of one side, in the order in which they are drawn."""

    drawings: tuple[tuple[Stroke, ...], ...]


@frozen
class _Laid:
    """What the sides of sheets laid out alike share."""

    strokes: tuple[tuple[Stroke, ...], tuple[Stroke, ...]]  #: front, back
    rooms: tuple[Room, Room]
    strips: tuple[job_line.Strip | None, job_line.Strip | None]
    drawn: frozenset[str]


@define
class MarkMaker:
    """Draws the marks of a plan, sheet after sheet."""

    plan: Plan
    marks: Marks
    title: str
    date: str
    drawn: set[str] = field(factory=set)
    missing: dict[str, list[int]] = field(factory=lambda: defaultdict(list))
    _known: dict[object, _Laid] = field(factory=dict)

    def sides(self) -> Iterator[SideMarks]:
        """Front and back of every sheet, in order."""
        by_sheet: dict[int, list[PagePlace]] = defaultdict(list)
        for place in self.plan.places:
            by_sheet[place.sheet].append(place)
        firsts = self._firsts()
        for sheet in self.plan.instructions.sheets:
            seen = view(self.plan, sheet, tuple(by_sheet[sheet.number]))
            laid = self._laid(seen)
            for index, side in enumerate(seen.sides):
                own = self._own(side, seen, laid, index, firsts)
                yield SideMarks(tuple(strokes for strokes in (laid.strokes[index], own) if strokes))

    def _firsts(self) -> dict[tuple[int, Side], list[tuple[PagePlace, str]]]:
        """The first page of every folded piece with its signature, by sheet and side."""
        first: dict[str, PagePlace] = {}
        for place in self.plan.places:
            if place.section not in first or place.position < first[place.section].position:
                first[place.section] = place
        out: dict[tuple[int, Side], list[tuple[PagePlace, str]]] = defaultdict(list)
        for section in self.plan.sections:
            for inside, piece in enumerate(section.pieces):
                found = first.get(piece)
                if found is not None:
                    out[found.sheet, found.side].append((found, section.signature + "*" * inside))
        return out

    def _laid(self, seen: SheetView) -> _Laid:
        key = (
            seen.width_pt, seen.height_pt, seen.gripper_pt, seen.head_to_tail, seen.folds,
            tuple((place.side, place.clip_pt, place.trim_pt) for side in seen.sides for place in side.places),
        )  # fmt: skip
        known = self._known.get(key)
        if known is not None:
            return known
        drawn: set[str] = set()
        for name, draw, switch in _LAID:
            if getattr(self.marks, switch):
                before = sum(len(side.strokes) for side in seen.sides)
                draw(seen)
                if sum(len(side.strokes) for side in seen.sides) > before:
                    drawn.add(name)
        strips: list[job_line.Strip | None] = [None, None]
        if self.marks.job_line:
            longest = " · ".join((self.title, *self._facts(seen, Side.FRONT)))
            strips = [job_line.reserve(side.room, longest) for side in seen.sides]
        front, back = seen.sides
        laid = self._known[key] = _Laid(
            (tuple(front.strokes), tuple(back.strokes)), (front.room, back.room), (strips[0], strips[1]),
            frozenset(drawn),
        )  # fmt: skip
        return laid

    def _own(
        self,
        side: SideView,
        seen: SheetView,
        laid: _Laid,
        index: int,
        firsts: dict[tuple[int, Side], list[tuple[PagePlace, str]]],
    ) -> tuple[Stroke, ...]:
        self.drawn |= laid.drawn
        for name, _, switch in _LAID:
            if getattr(self.marks, switch) and name not in laid.drawn and index == 0 and side.places:
                self.missing[name].append(seen.number)
        out: list[Stroke] = []
        if self.marks.collation:
            bars = collation.strokes(side, seen.number, self.plan.bars)
            out += bars
            if bars:
                self.drawn.add("collation")
        if self.marks.signature:
            room = laid.rooms[index].copy()
            for place, text in firsts.get((seen.number, side.side), []):
                made = signature.strokes(room, place, text, self.plan.reading)
                out += made
                if made:
                    self.drawn.add("signature")
                else:
                    self.missing["signature"].append(seen.number)
        strip = laid.strips[index]
        if self.marks.job_line:
            line = job_line.strokes(strip, self.title, self._facts(seen, side.side)) if strip else []
            out += line
            if line:
                self.drawn.add("job_line")
            else:
                self.missing["job_line"].append(seen.number)
        return tuple(out)

    def _facts(self, seen: SheetView, which: Side) -> tuple[str, ...]:
        places = (*seen.front.places, *seen.back.places)
        pieces = list(dict.fromkeys(place.section for place in places))
        marks = list(dict.fromkeys(place.signature for place in sorted(places, key=lambda p: p.position)))
        facts = [f"section{'s' if len(marks) > 1 else ''} {', '.join(marks)}"] if marks else []
        if len(pieces) > 1:
            facts.append(f"pieces {', '.join(sorted(pieces))}")
        facts += [f"sheet {seen.number} of {self.plan.sheets}", str(which)]
        return tuple([*facts, self.date] if self.date else facts)
