# SPDX-License-Identifier: AGPL-3.0-or-later
"""Paper of what goes round the text: separate endpapers, a paper cover, a jacket.  Pure; mm.

Each is cut from sheets of a stock of the house with its grain along the spine, the stock that the job names for it or
that of the text.  How many are begun with is reckoned backwards, as the sheets of the text are
(:mod:`foldproof.makeup.cost_sheets`), each step rounded upwards to whole pieces and sheets.

Endpapers are two sheets a book, folded once and tipped to the block after sewing, before it is trimmed: they go through
folding, trimming and casing-in.  A cover goes on before trimming, stitched ones with the sections; a jacket goes on the
finished book, and what is spoilt then is the jacket alone.  Both are printed on one side in one pass.  Tipping and
covering spoil nothing that a house states.  (All of this: common practice, no source.)
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import ceil, floor

from attrs import frozen

from foldproof.case.cover_sizes import FOOT_EXTRA_MM, cover_sizes, jacket_sizes
from foldproof.case.cutting import Layout, most_pieces
from foldproof.case.model import CoverSizes
from foldproof.case.sizes import reckoned_case
from foldproof.errors import NoPlan
from foldproof.job.covering import allowances_for, is_cased
from foldproof.job.model import Allowances, House, HouseFolder, HousePress, Job
from foldproof.makeup.binding import Panel
from foldproof.makeup.candidates import folder_for, runs, way_of
from foldproof.makeup.cost_sheets import exact, half_up
from foldproof.makeup.layout import ONE_SIDE, Bed
from foldproof.makeup.paper import PaperSheet, paper_for
from foldproof.makeup.plan import Plan
from foldproof.makeup.shapes import block_of
from foldproof.quantities.counts import books_of, jackets_of
from foldproof.quantities.materials import Leaf, cover_paper_of, endpaper_of, jacket_paper_of
from foldproof.quantities.model import Thickness
from foldproof.quantities.order import REAM, sheets_kg
from foldproof.quantities.thickness import ENDPAPER_LEAVES
from foldproof.quantities.untrimmed import amounts, endpaper_leaf_mm
from foldproof.units import format_mm, format_size_mm

ENDPAPERS, COVER, JACKET = "endpapers", "cover", "jacket"
#: what a cut piece is called
PIECES = {ENDPAPERS: "fold", COVER: "cover", JACKET: "jacket"}
#: sheets of two leaves, folded once, that a book takes
_FOLDS = ENDPAPER_LEAVES // 2
_SLACK_MM = 1e-6


@frozen
class PartOrder:
    """Sheets of one stock for one part of the book, to be ordered."""

    part: str  #: :data:`ENDPAPERS`, :data:`COVER` or :data:`JACKET`
    stock: str
    grammage: float
    #: as it is printed, along the gripper edge first; as it is cut, where it is not printed, its grain upright
    sheet_mm: tuple[float, float]
    grain: str
    piece_mm: tuple[float, float]  #: width and height of a piece as it is cut; its grain runs along the height
    across: int  #: pieces side by side on a sheet, and one above the other
    up: int
    pieces: int  #: that must come off the sheets, what is spoilt after the cut with them
    net: int  #: sheets for the copies alone, nothing spoilt
    gross: int  #: to be ordered
    press: str  #: ``""``: not printed
    reams: float
    weight_kg: float
    price_per_kg: float | None  #: ``None`` where the house states none, as :attr:`price`, which is that of all of it
    price: float | None
    says: str  #: how the number came about, a sentence
    layout: Layout | None  #: how a sheet is cut; ``None`` of what is printed first

    @property
    def out(self) -> int:
        """Pieces from a sheet."""
        return self.across * self.up


@frozen
class PaperParts:
    """Everything of the kind that one job takes."""

    orders: tuple[PartOrder, ...]
    unknown: tuple[str, ...]  #: what could not be reckoned, and what would have to be stated, a sentence each


def paper_parts(plan: Plan, job: Job, house: House, thickness: Thickness) -> PaperParts:
    """What endpapers, cover and jacket of a job take; nothing of those that it has not.

    Raises:
        AskedWrong: the house has no stock, board or cloth of the name in the job, or a flap is wider than its panel.
    """
    orders: list[PartOrder] = []
    unknown: list[str] = []
    for made in _parts(plan, job, house, thickness):
        if isinstance(made, str):
            unknown.append(made)
            continue
        orders.append(made)
        if made.price is None:
            unknown.append(f"What {made.stock} costs is not known: the house states no price of it.")
    return PaperParts(tuple(orders), tuple(dict.fromkeys(unknown)))


def _parts(plan: Plan, job: Job, house: House, thickness: Thickness) -> Iterator[PartOrder | str]:
    """In the order in which the benches want them; a sentence for each that cannot be reckoned."""
    shop = _Shop(plan, job, house, allowances_for(job, house))
    books = books_of(plan, shop.spoils)
    if is_cased(job, plan.binding) and job.cover.endpapers == "separate":
        yield shop.endpapers(ceil(books.trimmed))
    cover = cover_sizes(plan, job, house, thickness)
    if cover is not None:
        wanted = {"stitched": books.gathered, "leaflet": Fraction(plan.run_copies)}.get(plan.binding, books.trimmed)
        paper = cover_paper_of(plan, job, house)
        yield shop.printed(COVER, paper, job.cover.stock, cover_piece_mm(plan, cover), ceil(wanted))
    if job.jacket is None:
        return
    case = reckoned_case(plan, job, house, thickness)
    if case.unknown:
        yield f"Paper of the jacket is not reckoned. {case.unknown}"
        return
    jacket = jacket_sizes(plan, job, house, thickness, case.sizes)
    assert jacket is not None, "the job has a jacket"
    paper = jacket_paper_of(plan, job, house)
    spoilt = shop.spoils.spoil_jacketing
    if spoilt is None:
        why = "The house does not state what is spoilt in putting jackets on: none is allowed for."
    else:
        copies = f"{plan.run_copies:,} {'copy' if plan.run_copies == 1 else 'copies'}"
        why = f"{copies}; putting jackets on spoils {spoilt:g} %."
    yield shop.printed(JACKET, paper, job.jacket.stock, jacket_piece_mm(jacket), jackets_of(plan, shop.spoils), why)


# --- sizes ----------------------------------------------------------------------------------------------------------


def endpaper_piece_mm(plan: Plan) -> tuple[float, float]:
    """Width and height of an endpaper lying open: two leaves as large as the untrimmed block."""
    wide, high = endpaper_leaf_mm(plan)
    return 2 * wide, high


def cover_piece_mm(plan: Plan, cover: CoverSizes) -> tuple[float, float]:
    """Width and height to which a paper cover is cut before it goes on, up to a tenth of a millimetre.

    As large as the untrimmed block, since it is trimmed together with it, and no smaller than its bleed; at the foot of
    a glued one a little more (:data:`~foldproof.case.cover_sizes.FOOT_EXTRA_MM`).  Flaps are not trimmed with the
    block, so that they take their bleed alone.
    """
    off, bleed = amounts(plan, plan.kinds[0])[0], cover.bleed_mm
    wide, high = cover.trimmed_mm
    side = bleed if cover.flap_mm else max(bleed, off.fore_edge_mm)
    foot = off.foot_mm + (FOOT_EXTRA_MM if plan.binding == "glued" else 0.0)
    return _tenth(wide + 2 * side), _tenth(high + max(bleed, off.head_mm) + max(bleed, foot))


def jacket_piece_mm(jacket: CoverSizes) -> tuple[float, float]:
    """Width and height of a jacket with its bleed on all four sides, up to a tenth of a millimetre."""
    wide, high = jacket.trimmed_mm
    return _tenth(wide + 2 * jacket.bleed_mm), _tenth(high + 2 * jacket.bleed_mm)


def _tenth(length_mm: float) -> float:
    return ceil(length_mm * 10 - _SLACK_MM) / 10


# --- from pieces to sheets ------------------------------------------------------------------------------------------


@frozen
class _Laid:
    """A sheet of the stock, how many pieces it gives, and how many sheets it takes so."""

    sheet: PaperSheet
    size_mm: tuple[float, float]
    across: int
    up: int
    sheets: int
    press: HousePress | None = None

    @property
    def paper(self) -> tuple[float, float]:
        """The least paper first, of equals the smaller sheet; the first in the house where they are alike."""
        area = self.size_mm[0] * self.size_mm[1]
        return self.sheets * area, area


@frozen
class _Shop:
    """Plan, job and house, and what its operations spoil."""

    plan: Plan
    job: Job
    house: House
    spoils: Allowances

    def endpapers(self, books: int) -> PartOrder | str:
        """Plain paper, cut and folded.

        Args:
            books: to which they are tipped.
        """
        paper, named = endpaper_of(self.plan, self.job, self.house), self.job.cover.endpaper_stock
        piece = endpaper_piece_mm(self.plan)
        folds = _FOLDS * books
        folder = self._folder(paper)
        set_up = folder.make_ready_sheets if folder else 0
        pieces = ceil(folds / _left(self.spoils.spoil_folding)) + set_up
        found = []
        for sheet in self._sheets(paper, named):
            size = (sheet.short_mm, sheet.long_mm) if sheet.grain == "long" else (sheet.long_mm, sheet.short_mm)
            across, up = (_go(side, room) for side, room in zip(piece, size, strict=True))
            if across * up:
                found.append(_Laid(sheet, size, across, up, -(-pieces // (across * up))))
        if not found:
            return _too_large(ENDPAPERS, piece, paper, "")
        best = min(found, key=lambda one: one.paper)
        by = f"{folder.name} is set up with {set_up:,}" if folder else "no folder of the house takes them, so by hand"
        says = (
            f"{_FOLDS} a book for {books:,} books that are trimmed = {folds:,}; folding spoils"
            f" {self.spoils.spoil_folding:g} %, {by}: {pieces:,} pieces; {_from(best)} = {best.sheets:,}."
        )
        layout = most_pieces(best.size_mm, piece, turn=False, what=PIECES[ENDPAPERS], material=paper.name, grain="up")
        return self._order(ENDPAPERS, paper, named, piece, pieces, _FOLDS, best, says, layout)

    def printed(
        self, part: str, paper: Leaf, named: str | None, piece: tuple[float, float], wanted: int, why: str = ""
    ) -> PartOrder | str:
        """Printed on one side, then cut: on the press and the sheet that take the least paper, make-ready with it.

        Args:
            named: stock in the job.
            piece: width and height as cut.
            wanted: pieces that must come off good sheets.
            why: so many, a sentence that goes before the arithmetic.
        """
        found = list(self._laid(self._sheets(paper, named), piece, wanted))
        if not found:
            return _too_large(part, piece, paper, " and a press of it prints")
        best = min(found, key=lambda one: one.paper)
        press = best.press
        assert press is not None
        good = -(-wanted // (best.across * best.up))
        says = (f"{why} " if why else "") + (
            f"{wanted:,} {PIECES[part]}{'' if wanted == 1 else 's'}, {_from(best)} = {good:,}; the press spoils"
            f" {self.spoils.spoil_press:g} %, one forme on {press.name} is made ready with"
            f" {press.make_ready_sheets:,}: {best.sheets:,}."
        )
        return self._order(part, paper, named, piece, wanted, 1, best, says, None)

    def _laid(self, sheets: tuple[PaperSheet, ...], piece: tuple[float, float], wanted: int) -> Iterator[_Laid]:
        """Every press that takes every sheet; pieces lie inside what of it takes ink, and none is turned."""
        for press in self.house.presses:
            if ONE_SIDE not in press.can:
                continue
            for sheet in sheets:
                for size in dict.fromkeys(((sheet.long_mm, sheet.short_mm), (sheet.short_mm, sheet.long_mm))):
                    if not runs(press, *size):
                        continue
                    lies = piece if sheet.grain_upright(*size) else piece[::-1]
                    image = Bed(press, *size, ONE_SIDE).image_mm
                    across, up = (_go(side, room) for side, room in zip(lies, image, strict=True))
                    if across * up:
                        good = -(-wanted // (across * up))
                        gross = ceil(good / _left(self.spoils.spoil_press)) + press.make_ready_sheets
                        yield _Laid(sheet, size, across, up, gross, press)

    def _sheets(self, paper: Leaf, named: str | None) -> tuple[PaperSheet, ...]:
        """In which the stock is to be had: none where nothing is known of it."""
        if named is None:
            try:
                text = paper_for(self.job, self.house)
            except NoPlan:
                return ()
            return text.sheets if text.name == paper.name else ()
        (held,) = (stock.sheets for stock in self.house.stocks if stock.name == named)
        return tuple(PaperSheet(min(one.size), max(one.size), one.grain) for one in held)

    def _price(self, paper: Leaf, named: str | None) -> float | None:
        if named is None:
            return paper_for(self.job, self.house).price_per_kg
        return next(stock.price_per_kg for stock in self.house.stocks if stock.name == paper.name)

    def _folder(self, paper: Leaf) -> HouseFolder | None:
        """The first of the house that folds a sheet once to the size; ``None``: they are folded by hand."""
        wide, high = endpaper_leaf_mm(self.plan)
        trim_w, trim_h = self.plan.trim_mm
        panel = Panel(trim_w, trim_h, 0.0, wide - trim_w, 0.0, high - trim_h)
        for scheme in self.house.schemes:
            if (scheme.columns, scheme.rows, scheme.offcut_rows) != (2, 1, 0):
                continue
            block = block_of(way_of(scheme), self.plan.reading, panel, True)
            folder, _ = folder_for(block, self.house.folders, paper.grammage, paper.caliper_mm)
            if folder is not None:
                return folder
        return None

    def _order(
        self,
        part: str,
        paper: Leaf,
        named: str | None,
        piece: tuple[float, float],
        pieces: int,
        a_book: int,
        laid: _Laid,
        says: str,
        layout: Layout | None,
    ) -> PartOrder:
        kilos, price = sheets_kg(laid.sheets, laid.size_mm, paper.grammage), self._price(paper, named)
        if named is None:
            says += f" The job names no stock for the {part}: that of the text is taken."
        return PartOrder(
            part=part,
            stock=paper.name,
            grammage=paper.grammage,
            sheet_mm=laid.size_mm,
            grain=laid.sheet.grain,
            piece_mm=piece,
            across=laid.across,
            up=laid.up,
            pieces=pieces,
            net=-(-a_book * self.plan.run_copies // (laid.across * laid.up)),
            gross=laid.sheets,
            press=laid.press.name if laid.press else "",
            reams=laid.sheets / REAM,
            weight_kg=float(kilos),
            price_per_kg=price,
            price=None if price is None else half_up(kilos * exact(price), 2) / 100,
            says=says,
            layout=layout,
        )


def _go(piece_mm: float, room_mm: float) -> int:
    """How many lie one behind the other.  Alike pieces that may not be turned lie best in rows and columns."""
    return max(0, floor((room_mm + _SLACK_MM) / piece_mm))


def _left(per_cent: float) -> Fraction:
    """The part of what goes in that comes out."""
    return 1 - exact(per_cent) / 100


def _from(laid: _Laid) -> str:
    return f"{laid.across * laid.up} from a sheet of {format_size_mm(*laid.size_mm)}"


def _too_large(part: str, piece: tuple[float, float], paper: Leaf, where: str) -> str:
    return (
        f"Paper of the {part} is not reckoned: a {PIECES[part]} of {format_size_mm(*piece)}, its grain along the"
        f" {format_mm(piece[1])}, comes out of no sheet of {paper.name} that the house states{where}."
    )
