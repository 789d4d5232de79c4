# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the house could do with a book: every press, every sheet both ways round, every way to print and to fold; and
what misses by how much.  Pure; millimetres."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve, field, frozen

from foldproof.job.model import Binding, House, HouseFolder, HousePress, HouseScheme
from foldproof.job.model import Way as PrintWay
from foldproof.makeup import binding as bind
from foldproof.makeup.binding import Panel
from foldproof.makeup.folding import FoldError, Scheme, fold
from foldproof.makeup.layout import HEAD_TO_TAIL, TWO_FORMES, Bed, Grid, goes_into, turn_of
from foldproof.makeup.paper import PaperChoice, PaperSheet
from foldproof.makeup.shapes import Block, Lip, Way, block_of
from foldproof.units import format_mm, format_size_mm

_SLACK_MM = 1e-6
#: a miss that no length measures: the folder does not know the scheme
_NO_SUCH_FOLD = 2e6


@frozen
class Miss:
    """One way that did not go, and by how much."""

    over_mm: float  #: what is too much; for sorting, nearest miss first
    says: str
    would: str | None = None
    pages: int = 0  #: of the section that misses; 0 where it is not one section's matter


@frozen
class Task:
    """What has to be laid out."""

    house: House
    reading: str
    binding: Binding
    panel: Panel
    lip: Lip | None
    papers: tuple[PaperChoice, ...]  #: of the text, then of the inserts
    presses: tuple[tuple[int, HousePress], ...]
    print_way: PrintWay | None  #: the way to print that the job asks for
    folders: tuple[HouseFolder, ...]
    ways: dict[int, tuple[Way, ...]]  #: pages: the ways to fold them that the binding takes, in order
    refused: dict[str, str]  #: name of a scheme: why the binding does not take it
    bleed_mm: float
    copies: int

    @property
    def border_mm(self) -> float:
        """Free round every block: a leaflet is cut before folding, and its bleed lies beyond the cut."""
        return self.bleed_mm if self.binding == bind.LEAFLET else 0.0


@frozen(eq=False)
class Setting:
    """One sheet in one press, printed in one way, its cells made for one way of folding."""

    bed: Bed
    sheet: PaperSheet
    stock: int  #: 0 the text's, 1 … those of inserts
    spine_upright: bool
    grain_right: bool
    cell: Way
    grid: Grid
    blocks: dict[int, Block]  #: pages: what goes into a cell
    folders: dict[int, HouseFolder]  #: pages: who folds it
    order: tuple[int, int, int, int] = field(
        default=(0, 0, 0, 0)
    )  #: press, sheet, way to fold, turned: as in the house


def scheme_of(told: HouseScheme) -> Scheme:
    """What is folded last of a scheme of the house, as the fold model takes it."""
    return Scheme(told.name, told.columns, told.rows - told.offcut_rows, told.folds, told.head, told.narrower)


def way_of(told: HouseScheme) -> Way:
    """A scheme of the house, with its offcut where it has one."""
    offcut = None
    if told.offcut_rows:
        offcut = Scheme(f"{told.name}, offcut", told.columns, told.offcut_rows, told.offcut_folds, told.head)
    return Way(told.name, scheme_of(told), offcut)


def bound_ways(
    house: House, reading: str, binding: str, panel: Panel, lip: Lip | None = None, head: str | None = None
) -> tuple[dict[int, tuple[Way, ...]], dict[str, str]]:
    """The ways to fold that a binding takes, by pages, and why it does not take the others.

    Raises:
        FoldError: a scheme of the house does not fold.
    """
    allowed: dict[int, tuple[Way, ...]] = {}
    refused: dict[str, str] = {}
    for told in house.schemes:
        way = way_of(told)
        why = _refusal(way, reading, binding, panel, house.allowances.bolt_min, head)
        if why is None and (lip is not None or way.main.narrower_mm):
            try:
                block_of(way, reading, panel, True, lip)
            except FoldError as none:
                why = str(none)
        if why:
            refused[way.name] = why
        else:
            allowed[way.pages] = (*allowed.get(way.pages, ()), way)
    return allowed, refused


def _refusal(way: Way, reading: str, binding: str, panel: Panel, bolt_min_mm: float, head: str | None) -> str | None:
    if binding == bind.LEAFLET and way.offcut is not None:
        return f"Scheme {way.name!r} has an offcut, and a leaflet is one piece of paper: nothing would hold the two."
    whys = (bind.refusal(scheme, reading, binding, panel, bolt_min_mm, head) for scheme in way.pieces)
    why = next((why for why in whys if why), None)
    if why is None and way.offcut is not None and not all(bind.nests(scheme, reading) for scheme in way.pieces):
        return f"Scheme {way.name!r} has an offcut to be set into its middle, and it has no single middle."
    return why


def settings(task: Task, stock: int, wanted: set[int], misses: list[Miss] | None) -> Iterator[Setting]:
    """Every setting in which pages of ``wanted`` sizes can be printed on a stock; what misses goes to ``misses``."""
    paper = task.papers[stock]
    either = {upright: _blocks(task, paper, wanted, upright, misses) for upright in (True, False)}
    for bed, sheet, nths in _beds(task, paper, misses):
        for spine_upright, blocks in either.items():
            grain_right = sheet.grain_upright(bed.width_mm, bed.height_mm) == spine_upright
            if not grain_right and not paper.grain_fixed:
                continue
            for pages, options in blocks.items():
                for nth, (block, _) in enumerate(options):
                    grid = bed.grid(block.size_mm, block.panels)
                    if grid is None:
                        # two formes ask the least of a sheet: what misses so misses otherwise too
                        if task.print_way == bed.way or (task.print_way is None and bed.way == TWO_FORMES):
                            _note(misses, _sheet_miss(block, bed))
                        continue
                    inside: dict[int, tuple[Block, HouseFolder]] = {pages: options[nth]}
                    for other, choice in blocks.items():
                        fits = [one for one in choice if goes_into(one[0], block.size_mm)]
                        if other < pages and fits:
                            inside[other] = fits[0]
                    yield Setting(
                        bed, sheet, stock, spine_upright, grain_right, block.way, grid,
                        {size: one for size, (one, _) in inside.items()},
                        {size: folder for size, (_, folder) in inside.items()},
                        (*nths, nth, int(not spine_upright)),
                    )  # fmt: skip


def _beds(
    task: Task, paper: PaperChoice, misses: list[Miss] | None
) -> Iterator[tuple[Bed, PaperSheet, tuple[int, int]]]:
    for press_nth, press in task.presses:
        if task.print_way is not None and task.print_way not in press.can:
            _note(
                misses,
                Miss(
                    3e6,
                    f"{press.name} does not print {task.print_way!r}.",
                    f"a way to print that it does: {', '.join(press.can)}",
                ),
            )
            continue
        for sheet_nth, sheet in enumerate(paper.sheets):
            for turn, (width, height) in enumerate(((sheet.long_mm, sheet.short_mm), (sheet.short_mm, sheet.long_mm))):
                if turn and sheet.long_mm == sheet.short_mm:
                    continue
                if not runs(press, width, height):
                    if not turn and not runs(press, height, width):
                        _note(misses, _wrong_sheet(press, sheet))
                    continue
                for way in press.can:
                    # one side alone is printed only where it is asked for: a book has two
                    if way == task.print_way or (task.print_way is None and way != "one side"):
                        yield Bed(press, width, height, way), sheet, (press_nth, sheet_nth)


def _blocks(
    task: Task, paper: PaperChoice, wanted: set[int], spine_upright: bool, misses: list[Miss] | None
) -> dict[int, list[tuple[Block, HouseFolder]]]:
    """By pages, the blocks that some folder folds."""
    found: dict[int, list[tuple[Block, HouseFolder]]] = {}
    for pages in sorted(wanted, reverse=True):
        for way in task.ways.get(pages, ()):
            block = block_of(way, task.reading, task.panel, spine_upright, task.lip, task.border_mm)
            folder, miss = folder_for(block, task.folders, paper.grammage, paper.caliper_mm)
            if folder is not None:
                found.setdefault(pages, []).append((block, folder))
            elif miss is not None:
                _note(misses, miss)
    return found


def _note(misses: list[Miss] | None, miss: Miss) -> None:
    if misses is not None:
        misses.append(miss)


def runs(press: HousePress, width: float, height: float) -> bool:
    """Whether the press takes the sheet with ``width`` along its grippers."""
    return (
        press.sheet_min[0] - _SLACK_MM <= width <= press.sheet_max[0] + _SLACK_MM
        and press.sheet_min[1] - _SLACK_MM <= height <= press.sheet_max[1] + _SLACK_MM
    )


def _wrong_sheet(press: HousePress, sheet: PaperSheet) -> Miss:
    least, most = sorted(press.sheet_min), sorted(press.sheet_max)
    over = max(sheet.short_mm - most[0], sheet.long_mm - most[1])
    under = max(least[0] - sheet.short_mm, least[1] - sheet.long_mm)
    by = f": {format_mm(max(over, under))} too {'large' if over >= under else 'small'}" if max(over, under) > 0 else ""
    return Miss(
        1e6 + max(over, under),
        f"{press.name} runs sheets from {format_size_mm(*press.sheet_min)} to {format_size_mm(*press.sheet_max)}, "
        f"and the paper is {format_size_mm(sheet.short_mm, sheet.long_mm)}{by}.",
        f"a sheet between {format_size_mm(*press.sheet_min)} and {format_size_mm(*press.sheet_max)}",
    )


def _sheet_miss(block: Block, bed: Bed) -> Miss:
    """By how much a sheet is too small: for the block, or for the two that work and turn or tumble wants."""
    width, height = block.size_mm
    side, foot, top = bed.margins_mm
    if bed.way == "work and turn":
        width *= 2
    if bed.way == "work and tumble":
        height, foot, top = 2 * height, max(foot, top), max(foot, top)
    wide, high = width + 2 * side - bed.width_mm, height + foot + top - bed.height_mm
    both = ((wide, f"{format_mm(wide)} too wide"), (high, f"{format_mm(high)} too high"))
    over = [text for by, text in both if by > _SLACK_MM]
    pages = block.way.pages
    if not over:
        return Miss(4e6, f"{pages} pages are more than a side is made up for.", "smaller sections", pages)
    turned = f", printed {bed.way}," if bed.halved or turn_of(bed.way) == HEAD_TO_TAIL else ""
    need = (width + 2 * side, height + foot + top)
    return Miss(
        max(wide, high),
        f"{pages} pages folded by scheme {block.way.name!r}{turned} are {format_size_mm(width, height)}, "
        f"with the margins of {bed.press.name} {' and '.join(over)} for its sheet of "
        f"{format_size_mm(bed.width_mm, bed.height_mm)}.",
        f"a sheet of at least {format_size_mm(*need)} on a press that takes it",
        pages,
    )


def folder_for(
    block: Block, folders: tuple[HouseFolder, ...], grammage: float, caliper_mm: float
) -> tuple[HouseFolder | None, Miss | None]:
    """The first of the folders that folds a block of this paper; else the nearest miss."""
    misses = []
    for folder in folders:
        miss = _folds(folder, block, grammage, caliper_mm)
        if miss is None:
            return folder, None
        misses.append(miss)
    nearest = min(misses, key=lambda miss: miss.over_mm) if misses else Miss(5e6, "The house has no folder.")
    if nearest.over_mm == _NO_SUCH_FOLD and len(folders) > 1:
        nearest = Miss(_NO_SUCH_FOLD, f"no folder of the house folds scheme {block.way.name!r}.")
    return None, evolve(nearest, pages=block.way.pages)


def _folds(folder: HouseFolder, block: Block, grammage: float, caliper_mm: float) -> Miss | None:
    """Why a folder cannot fold the block, or ``None`` when it can."""
    name, pages = block.way.name, block.way.pages
    if name not in folder.schemes:
        return Miss(_NO_SUCH_FOLD, f"folder {folder.name} does not fold scheme {name!r}.")
    heaviest = grammage_limit(folder, pages)
    if heaviest is not None and grammage > heaviest:
        return Miss(
            1e5 + grammage - heaviest,
            f"folder {folder.name} folds {pages} pages up to {heaviest:g} g/m2, "
            f"and the paper has {round(grammage, 1):g} g/m2.",
            f"a paper of at most {heaviest:g} g/m2 for {pages}-page sections",
        )
    thick = pages / 2 * caliper_mm
    if folder.thickest is not None and thick > folder.thickest + _SLACK_MM:
        return Miss(
            1e4 + thick - folder.thickest,
            f"{pages} pages folded are {format_mm(thick)} thick, and folder {folder.name} folds up to "
            f"{format_mm(folder.thickest)}.",
            f"a thinner paper, or sections of fewer than {pages} pages",
        )
    for nth, shape in enumerate(block.shapes):
        miss = _size_miss(folder, block, nth, sorted(shape.size_mm)) or _panel_miss(folder, block, nth)
        if miss is not None:
            return miss
    return _lip_miss(folder, block)


def _size_miss(folder: HouseFolder, block: Block, nth: int, size_mm: list[float]) -> Miss | None:
    pages, name = block.way.pieces[nth].pages, block.way.name
    short, long = size_mm
    least, most = sorted(folder.sheet_min), sorted(folder.sheet_max)
    over = max(short - most[0], long - most[1])
    under = max(least[0] - short, least[1] - long)
    want = f"{pages} pages folded by scheme {name!r} want {format_size_mm(short, long)} of paper, "
    if over > _SLACK_MM:
        return Miss(
            over,
            f"{want}{format_mm(over)} more than folder {folder.name} takes.",
            f"a folder and a sheet that take {format_size_mm(short, long)}",
        )
    if under > _SLACK_MM:
        return Miss(
            under,
            f"{want}{format_mm(under)} less than folder {folder.name} can hold.",
            f"a folder that holds pieces of {format_size_mm(short, long)}",
        )
    return None


def _panel_miss(folder: HouseFolder, block: Block, nth: int) -> Miss | None:
    """From fold to fold, or from fold to edge, as far as the folder's plates and knives reach."""
    shape = block.shapes[nth]
    lines = fold(shape.scheme).lines
    ways = [*(shape.column_mm if any(line.upright for line in lines) else ())]
    ways += shape.row_mm if any(not line.upright for line in lines) else ()
    least, most = folder.panel_min, folder.panel_max
    told = f"scheme {block.way.name!r} folds every "
    if least is not None and min(ways) < least - _SLACK_MM:
        return Miss(
            least - min(ways),
            f"{told}{format_mm(min(ways))}, and folder {folder.name} folds no shorter than {format_mm(least)}.",
            f"a page larger by {format_mm(least - min(ways))}, or another folder",
        )
    if most is not None and max(ways) > most + _SLACK_MM:
        return Miss(
            max(ways) - most,
            f"{told}{format_mm(max(ways))}, and folder {folder.name} reaches {format_mm(most)}.",
            f"a page smaller by {format_mm(max(ways) - most)}, or another folder",
        )
    return None


def _lip_miss(folder: HouseFolder, block: Block) -> Miss | None:
    lip = block.shapes[0].lip
    if lip is None:
        return None
    if folder.lip_max is None:
        return Miss(
            1e3,
            f"folder {folder.name} states no lip that it folds, and sections are to be opened by one of "
            f"{format_mm(lip.size_mm)}.",
            f"a folder that folds a lip of {format_mm(lip.size_mm)}",
        )
    least = folder.lip_min or 0.0
    if least - _SLACK_MM <= lip.size_mm <= folder.lip_max + _SLACK_MM:
        return None
    return Miss(
        abs(lip.size_mm - (least if lip.size_mm < least else folder.lip_max)),
        f"folder {folder.name} folds a lip of {format_mm(least)} to {format_mm(folder.lip_max)}, "
        f"and the binding line opens sections by one of {format_mm(lip.size_mm)}.",
        f"a lip of {format_mm(least)} to {format_mm(folder.lip_max)}",
    )


def grammage_limit(folder: HouseFolder, pages: int) -> float | None:
    """Heaviest paper for a section of ``pages``: as stated for that size or the next larger one that is stated."""
    stated = [size for size in sorted(folder.grammage_max) if size >= pages]
    return folder.grammage_max[stated[0]] if stated else None
