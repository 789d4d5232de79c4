# SPDX-License-Identifier: AGPL-3.0-or-later
"""Which binding line of the house takes a book, and the lip that its feeders ask for.  Pure; millimetres."""

from __future__ import annotations

from foldproof.errors import NoPlan
from foldproof.job.model import House, HouseLine, Job
from foldproof.makeup import binding as bind
from foldproof.makeup.shapes import Lip
from foldproof.units import format_mm, format_size_mm

_SLACK_MM = 1e-6
#: lip where no line of the house states one: in the middle of what is customary, 8 to 10 mm (handbook lip-size)
USUAL_LIP_MM = 9.0


def line_for(
    house: House, binding: str, trim_mm: tuple[float, float], thick_mm: float, asked: str | None
) -> HouseLine | None:
    """The first line that binds so and takes the trim and the block; ``None`` where the house states no lines.

    Raises:
        NoPlan: no line takes it; the message says by how much, ``would`` what would.
    """
    if binding == bind.LEAFLET or not house.lines:
        return None
    there = [line for line in house.lines if asked in (None, line.name)]
    able = [line for line in there if binding in line.bindings]
    if not able:
        others = dict.fromkeys(b for line in there for b in line.bindings)
        which = f"Line {asked} of {house.name}" if asked else f"No line of {house.name}"
        raise NoPlan(
            f"{which} {'does not make' if asked else 'makes'} {binding} books.",
            tuple(f'binding = "{b}"' for b in others),
        )
    misses = []
    for line in able:
        miss = _miss(line, trim_mm, thick_mm)
        if miss is None:
            return line
        misses.append(miss)
    _, says, would = min(misses)
    raise NoPlan(says, (would,))


def _miss(line: HouseLine, trim_mm: tuple[float, float], thick_mm: float) -> tuple[float, str, str] | None:
    knives = f"the three knives of {line.name}"
    for nth, what in enumerate(("width", "height")):
        over, under = trim_mm[nth] - line.trim_max[nth], line.trim_min[nth] - trim_mm[nth]
        if over > _SLACK_MM:
            says = (
                f"A trim of {format_size_mm(*trim_mm)} is {format_mm(over)} over the {what} that {knives} take "
                f"({format_size_mm(*line.trim_max)})."
            )
            return over, says, f"a trim of at most {format_size_mm(*line.trim_max)}"
        if under > _SLACK_MM:
            says = (
                f"A trim of {format_size_mm(*trim_mm)} is {format_mm(under)} under the {what} that {knives} take "
                f"({format_size_mm(*line.trim_min)})."
            )
            return under, says, f"a trim of at least {format_size_mm(*line.trim_min)}"
    if thick_mm > line.block_max + _SLACK_MM:
        says = (
            f"The block is {format_mm(thick_mm)} thick, and {line.name} takes {format_mm(line.block_max)}: "
            f"{format_mm(thick_mm - line.block_max)} too thick."
        )
        return thick_mm - line.block_max, says, "a thinner paper, fewer pages, or the book in two volumes"
    if thick_mm < line.block_min - _SLACK_MM:
        says = (
            f"The block is {format_mm(thick_mm)} thick, and {line.name} takes no less than {format_mm(line.block_min)}."
        )
        return line.block_min - thick_mm, says, 'a bulkier paper, more pages, or binding = "stitched"'
    return None


def lip_for(job: Job, line: HouseLine | None, binding: str) -> Lip | None:
    """The lip that the job asks for, else the one by which the line's feeders open a section.

    Raises:
        NoPlan: the job asks for a lip where no feeder opens a section.
    """
    asked = job.bindery.lip
    if binding not in (bind.SEWN, bind.STITCHED):
        if asked not in (None, "none"):
            what = "A leaflet" if binding == bind.LEAFLET else f"A {binding} book"
            raise NoPlan(
                f'{what} has no section that a feeder opens, so a lip on its "{asked}" half would serve nothing.',
                ('lip = "none"',),
            )
        return None
    if asked == "none":
        return None
    half = asked or (line.lip if line else None)
    if half is None:
        return None
    return Lip(half, line.lip_size if line else USUAL_LIP_MM)
