# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the bindery is told, and nothing else: the one type that the proof takes from another room.

It holds no page places: a proof that was given the plan could only echo it.  A stranger with the printed sheets, paper
knife and this text can make the book.  Lengths are millimetres.  Coordinates are in the *sheet* frame (lower left of
the sheet, y up) seen from the printed front, unless a field says otherwise.

This module imports nothing of the project, so that the proof can rest on it.
"""

from __future__ import annotations

from typing import Any

from attrs import asdict, frozen

SCHEMA = "foldproof/folding-instructions/2"


@frozen
class Fold:
    """One fold: which side moves, how many panels, over or under what stays; and the line it is made along."""

    #: ``"right under"``, ``"top over"``, ``"left 1 over"``: sides of the scheme before it is turned on the sheet
    words: str
    #: two points, sheet frame of the front: the line on the part that stays where it lies
    line_mm: tuple[tuple[float, float], tuple[float, float]]


@frozen
class Collation:
    """The collation mark on the spine fold, the same declaration for the whole book.

    The mark of the ``n``-th gathered section (0-based) is a bar ``width_mm`` wide across the spine crease (half of it
    on either side) and ``length_mm`` long; its head end lies ``first_mm + (n % steps) * step_mm`` below the head trim,
    printed on the outside of the section.
    """

    first_mm: float
    step_mm: float
    steps: int
    length_mm: float
    width_mm: float
    gap_mm: float = 1.0


@frozen
class Section:
    """One folded piece of a sheet."""

    id: str  #: ``"1A"``: sheet 1, first piece
    #: x0, y0, x1, y1 after slitting, sheet frame of the front
    rect_mm: tuple[float, float, float, float]
    #: the section as laid is its scheme turned this far counter-clockwise: 0, 90, 180 or 270.  Words of the folds speak
    #: of the scheme before it is turned ("right" is the scheme's own right).  Of a section that is turned over first,
    #: this is seen from the back, after turning over
    turned: int
    columns: int
    rows: int
    #: widths of the columns from the scheme's left, heights of the rows from the scheme's top
    column_mm: tuple[float, ...]
    row_mm: tuple[float, ...]
    folds: tuple[Fold, ...]
    #: edge of the folded pile (of the scheme) that is the head: ``"top"``, ``"bottom"``, ``"left"``, ``"right"``;
    #: ``None``: closed by the last fold across the spine, else the scheme's own top
    head: str | None
    #: what the knives take off, measured on the outermost leaf: at head and foot, and at the spine before gluing
    #: (0 for sewn and stitched).  The fore-edge is cut at ``trim_mm`` width from there.
    head_trim_mm: float
    foot_trim_mm: float
    spine_trim_mm: float
    #: the piece is turned over, side to side, before it is folded: the back of the sheet lies up where else the front
    #: does.  ``rect_mm`` and the lines of the folds stay in the frame of the front
    turned_over: bool = False
    #: id of the section that this one is printed again of: folded, it is the same section for another copy of the book
    copy_of: str | None = None
    #: how far the head of the outermost leaf is to lean away from the spine, over the height of the trim; a leaf with
    #: k leaves outside it of a section with n on either side of its spine leans (n - k) / n of that
    bottling_mm: float = 0.0


@frozen
class Sheet:
    """One press sheet, printed on both sides."""

    number: int  #: 1-based; pages 2n-1 and 2n of sheets.pdf are its front and back
    width_mm: float
    height_mm: float
    #: how it turns between front and back as drawn: ``"side to side"`` (about the upright axis: same gripper edge) or
    #: ``"head to tail"`` (about the level axis: the other edge becomes the gripper)
    turn: str
    slits_mm: tuple[tuple[tuple[float, float], tuple[float, float]], ...]
    sections: tuple[Section, ...]
    #: thickness of one leaf of this sheet's stock; that of the book's text when ``None``
    caliper_mm: float | None = None
    #: name of the stock, to be taken from the right pile
    stock: str = ""


@frozen
class FoldingInstructions:
    """From flat printed sheets to a trimmed book block, without a word on which page is where."""

    reading: str  #: ``"left to right"`` (spine at the left of page 1) or ``"right to left"``
    #: ``"sewn"``, ``"glued"``, ``"stitched"``; ``"leaflet"``: folded only, bound by nothing and cut before folding
    binding: str
    trim_mm: tuple[float, float]  #: width and height of the trimmed leaf, measured from the spine (ground, if glued)
    bleed_mm: float
    caliper_mm: float  #: thickness of one leaf
    #: push-out of a leaf for every leaf outside it, in calipers: 1 for sharp folds, pi/2 for round ones
    creep_factor: float
    sheets: tuple[Sheet, ...]
    #: the book from front to back: every entry is gathered after the one before; inside an entry the sections are set
    #: one in another, the outermost first
    #: Sections that are copies of others are not named here: each stands where the one stands that it is a copy of.
    gathering: tuple[tuple[str, ...], ...]
    collation: Collation | None
    #: how push-out was answered on the pages.  ``"shift"``: each moved towards the spine by its push-out.  ``"scale"``:
    #: each narrowed by its push-out, its spine edge kept, its fore-edge moved towards the spine
    creep_by: str = "shift"
    schema: str = SCHEMA

    def as_json(self) -> dict[str, Any]:
        """Plain lists, dicts, numbers and strings, in the order of the fields."""
        plain: dict[str, Any] = _plain(asdict(self))
        return plain

    @classmethod
    def from_json(cls, data: Any) -> FoldingInstructions:
        """The way back from :meth:`as_json`.

        Raises:
            ValueError: a field is missing, unknown, or of another kind; the message names it.
        """
        try:
            top = dict(data)
            top["sheets"] = tuple(_sheet(s) for s in top["sheets"])
            top["gathering"] = tuple(tuple(str(i) for i in unit) for unit in top["gathering"])
            top["collation"] = Collation(**top["collation"]) if top.get("collation") else None
            top["trim_mm"] = tuple(float(v) for v in top["trim_mm"])
            made = cls(**top)
        except KeyError as lost:
            raise ValueError(f"the folding instructions lack {lost}") from None
        except (TypeError, AttributeError, OverflowError) as odd:
            raise ValueError(f"the folding instructions cannot be read: {odd}") from None
        if made.schema != SCHEMA:
            raise ValueError(f"the folding instructions are of schema {made.schema!r}; this version reads {SCHEMA!r}")
        return made


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(inner) for inner in value]
    return round(value, 6) if isinstance(value, float) else value


def _line(points: Any) -> tuple[tuple[float, float], tuple[float, float]]:
    (ax, ay), (bx, by) = points
    return (float(ax), float(ay)), (float(bx), float(by))


def _section(data: Any) -> Section:
    given = dict(data)
    given["rect_mm"] = tuple(float(v) for v in given["rect_mm"])
    given["column_mm"] = tuple(float(v) for v in given["column_mm"])
    given["row_mm"] = tuple(float(v) for v in given["row_mm"])
    given["folds"] = tuple(Fold(words=str(f["words"]), line_mm=_line(f["line_mm"])) for f in given["folds"])
    return Section(**given)


def _sheet(data: Any) -> Sheet:
    given = dict(data)
    given["slits_mm"] = tuple(_line(s) for s in given["slits_mm"])
    given["sections"] = tuple(_section(s) for s in given["sections"])
    return Sheet(**given)
