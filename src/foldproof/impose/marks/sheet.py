# SPDX-License-Identifier: AGPL-3.0-or-later
"""All marks of all sheets, in two drawings a side: what sheets of one kind share, and what is a sheet's own.

Sheets that are laid out alike share one drawing object in the file and are reckoned once.  A side that no ink prints
has no plate and no marks; one plate that prints both sides has one set of marks.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator

from attrs import define, evolve, field, frozen

from foldproof.impose.marks import (
    backup,
    centre,
    code,
    collation,
    colour_strip,
    fold,
    job_line,
    lay,
    register,
    signature,
    slit,
    trim,
)
from foldproof.impose.marks.view import SheetView, SideView, view
from foldproof.job.model import Marks
from foldproof.makeup.plan import PagePlace, Plan, Side
from foldproof.pdf.sheets_drawing import Ink, Stroke
from foldproof.pdf.sheets_font import mark_font

Draw = Callable[[SheetView], bool | None]

#: marks whose place follows from the layout of the sheet alone, in the order in which they take their room: first
#: those that can stand in one place only.  ``False`` of a drawing: not all of them found room
_ON_LINES: tuple[tuple[str, Draw], ...] = (
    ("trim", trim.draw),
    ("centre", centre.draw),
    ("fold", fold.draw),
    ("slit", slit.draw),
)
_IN_MARGINS: tuple[tuple[str, Draw], ...] = (
    ("lay", lay.draw),
    ("register", register.draw),
    ("backup", backup.draw),
)
_STRIP: tuple[tuple[str, Draw], ...] = (("colour_strip", colour_strip.draw),)
_LETTER = {Side.FRONT: "F", Side.BACK: "B"}


@frozen
class SideMarks:
    """The drawings of one side, in the order in which they are drawn; and the marks that they are made of."""

    drawings: tuple[tuple[Stroke, ...], ...]
    marks: tuple[tuple[Stroke, ...], ...]
    names: tuple[str, ...] = ()  #: of the marks, one by one: their switches in the job


_NONE = SideMarks((), ())


@frozen
class _Plate:
    """What one plate of sheets laid out alike shares."""

    marks: tuple[tuple[Stroke, ...], ...]
    names: tuple[str, ...]  #: of the marks
    strokes: tuple[Stroke, ...]
    signatures: tuple[signature.Spot | None, ...]  #: for the signed pages of the side, in order
    line: job_line.Strip | None
    code: code.Spot | None


@frozen
class _Laid:
    """What the sides of sheets laid out alike share."""

    plates: tuple[_Plate, ...]  #: of the printed sides
    drawn: frozenset[str]
    missing: frozenset[str]


@define
class MarkMaker:
    """Draws the marks of a plan, sheet after sheet."""

    plan: Plan
    marks: Marks
    title: str
    date: str
    signed_leaves: tuple[int, ...] = (1,)  #: of a section, counted from 1
    drawn: set[str] = field(factory=set)
    missing: dict[str, list[int]] = field(factory=lambda: defaultdict(list))
    _known: dict[object, _Laid] = field(factory=dict)
    _places: dict[int, tuple[PagePlace, ...]] = field(factory=dict)
    _texts: dict[int, str] = field(factory=dict)

    def sides(self) -> Iterator[SideMarks]:
        """Front and back of every sheet, in order."""
        by_sheet: dict[int, list[PagePlace]] = defaultdict(list)
        for place in (*self.plan.places, *self.plan.again):
            by_sheet[place.sheet].append(place)
        self._places = {number: tuple(places) for number, places in by_sheet.items()}
        self._texts = signature.texts(self.plan, self.signed_leaves) if self.marks.signature else {}
        longest = self._longest_codes() if self.marks.code else {}
        for sheet in self.plan.instructions.sheets:
            seen = view(self.plan, sheet, self._places.get(sheet.number, ()))
            laid = self._laid(seen, longest)
            made = {
                side.side: self._side(seen, side, plate) for side, plate in zip(seen.sides, laid.plates, strict=True)
            }
            self.drawn |= laid.drawn
            for name in laid.missing:
                self.missing[name].append(seen.number)
            yield made.get(Side.FRONT, _NONE)
            yield made.get(Side.FRONT if seen.one_set else Side.BACK, _NONE)

    def _asked(self, name: str) -> bool:
        return bool(getattr(self.marks, "register_targets" if name == "register" else name))

    def _signed(self, side: SideView) -> list[PagePlace]:
        """The pages of a side that carry a signature, those of further copies of the book too."""
        return [place for place in side.places if place.position in self._texts]

    def _laid(self, seen: SheetView, longest: dict[int, str]) -> _Laid:
        key = (
            seen.width_pt, seen.height_pt, seen.gripper_pt, seen.lay, seen.head_to_tail, seen.one_set, seen.folds,
            seen.slits,
            tuple(
                (side.side, side.inks, tuple((place.clip_pt, place.trim_pt, place.position in self._texts)
                                             for place in side.places))
                for side in seen.sides
            ),
        )  # fmt: skip
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._lay_out(seen, longest)
        return known

    def _lay_out(self, seen: SheetView, longest: dict[int, str]) -> _Laid:
        drawn: set[str] = set()
        missing: set[str] = set()
        names: list[list[str]] = [[] for _ in seen.sides]

        def run(marks: tuple[tuple[str, Draw], ...]) -> None:
            for name, draw in marks:
                if not self._asked(name):
                    continue
                before = sum(len(side.marks) for side in seen.sides)
                whole = draw(seen)
                for known, side in zip(names, seen.sides, strict=True):
                    known += [name] * (len(side.marks) - len(known))
                if sum(len(side.marks) for side in seen.sides) > before:
                    drawn.add(name)
                elif whole is None and _wanted(name, seen):
                    missing.add(name)
                if whole is False:
                    missing.add(name)

        run(_ON_LINES)
        widest = max(self._texts.values(), key=_long, default="")
        spots = [
            tuple(signature.reserve(side.room, place, widest, self.plan.reading) for place in self._signed(side))
            for side in seen.sides
        ]
        run(_IN_MARGINS)
        codes = [code.reserve(side.room, longest) if self.marks.code else None for side in seen.sides]
        lines = [
            job_line.reserve(side.room, job_line.whole(self.title, self._facts(seen, side)))
            if self.marks.job_line
            else None
            for side in seen.sides
        ]
        run(_STRIP)
        plates = tuple(
            _Plate(
                tuple(side.marks),
                tuple(names[index]),
                _plated(side, side.marks),
                spots[index],
                lines[index],
                codes[index],
            )
            for index, side in enumerate(seen.sides)
        )
        return _Laid(plates, frozenset(drawn), frozenset(missing))

    def _side(self, seen: SheetView, side: SideView, plate: _Plate) -> SideMarks:
        """The marks of one plate: those of its kind, and its own."""
        own: list[tuple[Stroke, ...]] = []
        names: list[str] = []

        def add(name: str, strokes: tuple[Stroke, ...]) -> None:
            if strokes:
                own.append(strokes)
                names.append(name)
                self.drawn.add(name)
            else:
                self.missing[name].append(seen.number)

        if self.marks.collation:
            for bar in collation.strokes(self.plan, seen.number, tuple(Side) if seen.one_set else (side.side,)):
                add("collation", (bar,))
        for place, spot in zip(self._signed(side), plate.signatures, strict=True):
            add("signature", signature.strokes(spot, self._texts[place.position]) if spot else ())
        if self.marks.code:
            spot_of_code = plate.code
            add(
                "code",
                code.strokes(spot_of_code, self._code(seen.number, side, spot_of_code.letters)) if spot_of_code else (),
            )
        if self.marks.job_line:
            facts = self._facts(seen, side)
            add("job_line", job_line.strokes(plate.line, self.title, facts) if plate.line else ())
        drawings = tuple(strokes for strokes in (plate.strokes, _plated(side, own)) if strokes)
        return SideMarks(drawings, (*plate.marks, *own), (*plate.names, *names))

    def _sections(self, places: Iterable[PagePlace]) -> list[tuple[int, str]]:
        """Number and signature of the gathered sections of a sheet, in the order of the gathering."""
        found = {place.signature for place in places}
        return [(section.number, section.signature) for section in self.plan.sections if section.signature in found]

    def _code(self, number: int, side: SideView | None, letters: int) -> str:
        run = self.plan.run_of(number) if self.plan.runs else None
        letter = "W" if side is None or (run and run.one_set) else _LETTER[side.side]
        sections = self._sections(self._places.get(number, ()))
        return code.text_of(self.title, number, self.plan.sheets, letter, sections, letters)

    def _longest_codes(self) -> dict[int, str]:
        """By letters of the title, the text of all sheets that needs the largest symbol."""
        numbers = [sheet.number for sheet in self.plan.instructions.sheets]
        return {
            letters: max((self._code(number, None, letters) for number in numbers), key=code.codewords, default="")
            for letters in code.TITLE_LETTERS
        }

    def _facts(self, seen: SheetView, side: SideView) -> tuple[str, ...]:
        places = self._places.get(seen.number, ())
        pieces = sorted({place.section for place in places})
        marks = [signature for _, signature in self._sections(places)]
        facts = [f"section{'s' if len(marks) > 1 else ''} {', '.join(marks)}"] if marks else []
        if len(pieces) > 1:
            facts.append(f"pieces {', '.join(pieces)}")
        facts.append(f"sheet {seen.number} of {self.plan.sheets}")
        facts.append("front and back" if seen.one_set else str(side.side))
        if self.plan.runs:
            run = self.plan.run_of(seen.number)
            facts += [run.way, run.press.name, ", ".join(side.inks or ())]
        return tuple([*facts, self.date] if self.date else facts)


def _long(text: str) -> float:
    return mark_font().width_pt(mark_font().spelled(text), 1.0)


def _wanted(name: str, seen: SheetView) -> bool:
    """Whether a sheet without such a mark lacks it."""
    match name:
        case "fold":
            return bool(seen.folds)
        case "backup":
            return seen.one_set or len(seen.sides) == 2
    return any(side.places for side in seen.sides)


def _plated(side: SideView, marks: Iterable[tuple[Stroke, ...]]) -> tuple[Stroke, ...]:
    """All strokes of a side; what is meant for the black plate goes on every plate where there is no black."""
    strokes = tuple(stroke for mark in marks for stroke in mark)
    if side.inks is None or "Black" in side.inks:
        return strokes
    return tuple(evolve(one, ink=Ink.EVERY_PLATE) if one.ink is Ink.BLACK else one for one in strokes)
