# SPDX-License-Identifier: AGPL-3.0-or-later
"""From an outline to a plan: every section on its sheet, every page in its place, what the bindery is told.  Pure."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from attrs import frozen

from foldproof.makeup import binding as bind
from foldproof.makeup.candidates import Setting
from foldproof.makeup.colours import Printed, colour_offers, colour_rules
from foldproof.makeup.cost_lines import cost_lines
from foldproof.makeup.cost_run import RunCost
from foldproof.makeup.faces import Wanted
from foldproof.makeup.inserts import spread_words
from foldproof.makeup.instructions import FoldingInstructions
from foldproof.makeup.layout import ONE_SIDE, PERFECTING, LaidSheet, Use, lay, turn_of
from foldproof.makeup.noplan import refused_of
from foldproof.makeup.outlines import Outline, Request
from foldproof.makeup.places import Nest, Paper, bars_of, collation_for, places_of
from foldproof.makeup.plan import FoldedAlike, GatheredSection, PagePlace, Plan, Press, SheetKind, SheetRun, Side
from foldproof.makeup.rates import binding_of, cost_of_run, run_input
from foldproof.makeup.reasons import reasons
from foldproof.makeup.search import Pick
from foldproof.makeup.sections import Division
from foldproof.makeup.shapes import Way
from foldproof.makeup.signatures import signature_letters
from foldproof.makeup.told import names_of, sheets_told
from foldproof.makeup.wording import Asked, Chosen, assumptions, offers
from foldproof.units import format_mm

_NO_MARK = "No collation mark: the outside of a section lies on a side of its sheet that is not printed."


@frozen(eq=False)
class _Made:
    """One sheet of the plan before it has its number."""

    pick: Pick
    blocks: tuple[Wanted, ...]
    laid: LaidSheet


def built(
    asked: Asked,
    request: Request,
    one: Outline,
    skipped: tuple[str, ...],
    fallback: bool,
    ranked: Sequence[Outline],
) -> Plan:
    """The whole plan of an outline.

    Args:
        skipped: what was looked at before it and did not go, a sentence each.
        fallback: the sizes of section that were wanted did not go.
        ranked: all outlines, the best first, for the reasons.
    """
    task, job = request.task, request.job
    allowances = task.house.allowances
    made = _sheets(one)
    factor = allowances.creep_factor
    if task.binding == bind.GLUED and allowances.glued_gutter == "same":
        factor = 0.0  # the ground edge is reckoned alike on every leaf
    if task.binding == bind.LEAFLET:
        factor = 0.0  # nothing is trimmed after folding, so nothing is pushed under a knife
    creep_by = job.sections.creep or allowances.creep_by
    papers = tuple(
        Paper(
            sheet_w_mm=sheet.pick.setting.bed.width_mm,
            sheet_h_mm=sheet.pick.setting.bed.height_mm,
            turn=turn_of(sheet.pick.setting.bed.way),
            bleed_mm=asked.bleed_mm,
            caliper_mm=task.papers[sheet.pick.setting.stock].caliper_mm,
            creep_factor=factor,
            creep_by=creep_by,
            bottling_mm=0.0 if task.binding == bind.LEAFLET else allowances.bottling,
            cut_before=task.binding == bind.LEAFLET,
        )
        for sheet in made
    )
    laid = tuple(sheet.laid for sheet in made)
    nests = _nests(one, request, made)
    signatures = signature_letters(len(nests), job.sections.signatures)
    shapes = [placed.shape for sheet in laid for placed in sheet.placed if placed.nth == 0]
    asked_mark = collation_for(task.binding, task.panel, shapes, len(nests)) if job.marks.collation else None
    names = names_of(laid)
    gathering = tuple(tuple(names[n, k] for k in range(len(nest.leaves))) for n, nest in enumerate(nests))
    stocks = tuple(task.papers[sheet.pick.setting.stock].name for sheet in made)
    places, again = places_of(laid, papers, nests, signatures, asked.pages, request.front)
    runs, costs = _runs(request, made, places, again)
    bars = bars_of(laid, papers, asked_mark)
    # one declaration for the whole book: a mark that no plate prints would be looked for in vain
    unprinted = any(not runs[bar.sheet - 1].inks[bar.side is Side.BACK] for bar in bars)
    collation, bars = (None, ()) if unprinted else (asked_mark, bars)
    instructions = FoldingInstructions(
        reading=asked.reading,
        binding=asked.binding,
        trim_mm=asked.trim_mm,
        bleed_mm=asked.bleed_mm,
        caliper_mm=asked.paper.caliper_mm,
        creep_factor=factor,
        sheets=sheets_told(laid, papers, stocks),
        gathering=gathering,
        collation=collation,
        creep_by=creep_by,
    )
    printed = tuple(Printed(sheet.pick.setting, sheet.blocks, sheet.laid.copies_on) for sheet in made)
    nested = sum(len(nest.leaves) - 1 for nest in nests)
    bound = binding_of(task, request.line, len(nests), nested)
    main = one.main
    chosen = _chosen(request, one, made, fallback, sum(not all(run.inks) for run in runs))
    return Plan(
        title=asked.title,
        trim_mm=asked.trim_mm,
        bleed_mm=asked.bleed_mm,
        binding=asked.binding,
        reading=asked.reading,
        pages=asked.pages,
        blanks_front=request.front,
        blanks_back=one.division.blanks,
        press=_press(main),
        stock=asked.paper.name,
        grammage=asked.paper.grammage,
        caliper_mm=asked.paper.caliper_mm,
        grain=main.sheet.grain,
        grain_along_spine=all(sheet.pick.setting.grain_right for sheet in made),
        sheet_mm=(main.bed.width_mm, main.bed.height_mm),
        sections=_gathered(one.division, gathering, signatures, request.front),
        places=places,
        bars=bars,
        kinds=_kinds(made),
        assumptions=assumptions(asked, chosen),
        offers=(
            *offers(asked, chosen),
            *colour_offers(request, printed, places, again),
            *spread_words(one.division, job.spreads, request.front, task.panel.spine_trim_mm),
        ),
        refused=(*skipped, *refused_of(request, one.base)),
        instructions=instructions,
        runs=runs,
        again=again,
        run_copies=task.copies,
        cost=cost_lines(costs, bound, task.copies, task.house.currency),
        folder=chosen.folders[0],
        line=request.line.name if request.line else "",
        rules=(
            *((_NO_MARK,) if unprinted else ()),
            *_rules(request, one, made, instructions),
            *colour_rules(request, printed, sum(run.plates for run in runs)),
        ),
        reasons=reasons(request, one, ranked),
    )


def _sheets(one: Outline) -> tuple[_Made, ...]:
    """The sheets with their blocks, in the order of the gathering of what stands on them first."""
    queues = [list(members) for members in one.classes.members]
    picks = [pick for covered in one.covers for pick, times in covered.chosen for _ in range(times)]
    # full sheets first, so that what is left for the last ones are the last sections
    picks.sort(key=lambda pick: -sum(n * k.pages for n, k in zip(pick.content, one.classes.kinds, strict=True)))
    carried: list[tuple[Pick, list[tuple[Wanted, bool]]]] = []
    for pick in picks:
        blocks = []
        for nth, many in enumerate(pick.content):
            for _ in range(many):
                wanted = queues[nth].pop(0)
                blocks.append((wanted, pick.flips[nth] != wanted.flipped))
        # the larger first, so that short ones share a cell; then in the order of the gathering
        blocks.sort(key=lambda b: (-b[0].kind.pages, b[0].unit, b[0].part))
        if _face_up_does(one, pick, blocks):
            blocks = [(wanted, False) for wanted, _ in blocks]
        carried.append((pick, blocks))
    first = _first_pieces(one, carried)
    made = []
    for pick, blocks in carried:
        setting = pick.setting
        uses = [
            Use(wanted.unit, first[wanted.unit, wanted.part], setting.blocks[wanted.kind.pages], over)
            for wanted, over in blocks
        ]
        laid = lay(uses, pick.copies, setting.grid, setting.bed)
        made.append(_Made(pick, tuple(wanted for wanted, _ in blocks), laid))
    return tuple(sorted(made, key=lambda sheet: min((b.unit, b.part) for b in sheet.blocks)))


def _face_up_does(one: Outline, pick: Pick, blocks: Sequence[tuple[Wanted, bool]]) -> bool:
    """Whether no more plates are wanted with all blocks face up.

    One set of plates prints both sides alike; and of two formes either may be the front, but for a press that prints
    its two sides otherwise.
    """
    bed = pick.setting.bed
    if bed.halved:
        return True

    def inks(turned: bool) -> list[int]:
        sides = [0, 0]
        for wanted, over in blocks:
            ways = one.pools[wanted.kind.stock].task.ways[wanted.kind.pages]
            faces = wanted.kind.faces[ways.index(pick.setting.blocks[wanted.kind.pages].way)]
            down = wanted.flipped != (over and turned)
            sides[0] |= faces[down]
            sides[1] |= faces[not down]
        counts = [side.bit_count() for side in sides]
        return counts if bed.way in (PERFECTING, ONE_SIDE) else sorted(counts)

    return inks(turned=False) == inks(turned=True)


def _first_pieces(
    one: Outline, carried: Sequence[tuple[Pick, list[tuple[Wanted, bool]]]]
) -> dict[tuple[int, int], int]:
    """For every block the number of its first piece in its unit: one with an offcut has two."""
    pieces = {
        (wanted.unit, wanted.part): len(pick.setting.blocks[wanted.kind.pages].shapes)
        for pick, blocks in carried
        for wanted, _ in blocks
    }
    first = {}
    for number, unit in enumerate(one.division.units):
        at = 0
        for part in range(len(unit.pieces)):
            first[number, part] = at
            at += pieces[number, part]
    return first


def _nests(one: Outline, request: Request, made: Sequence[_Made]) -> tuple[Nest, ...]:
    found: dict[tuple[int, int], tuple[int, float]] = {}
    for sheet in made:
        thick = request.task.papers[sheet.pick.setting.stock].caliper_mm
        for placed in sheet.laid.placed:
            found[placed.unit, placed.nth] = placed.shape.scheme.panels, thick
    nests = []
    for number in range(len(one.division.units)):
        pieces = [found[key] for key in sorted(key for key in found if key[0] == number)]
        nests.append(Nest(tuple(leaves for leaves, _ in pieces), tuple(thick for _, thick in pieces)))
    return tuple(nests)


def _runs(
    request: Request, made: Sequence[_Made], places: Sequence[PagePlace], again: Sequence[PagePlace]
) -> tuple[tuple[SheetRun, ...], tuple[RunCost, ...]]:
    """How each sheet is printed, and what it costs; its inks are those of the pages that really stand on each side."""
    masks: dict[tuple[int, Side], int] = defaultdict(int)
    for place in (*places, *again):
        if place.page is not None:
            masks[place.sheet, place.side] |= request.masks[place.position]
    runs, costs = [], []
    for number, sheet in enumerate(made, start=1):
        setting = sheet.pick.setting
        paper = request.task.papers[setting.stock]
        sides = masks[number, Side.FRONT], masks[number, Side.BACK]
        if setting.bed.halved:
            sides = (sides[0] | sides[1],) * 2
        blocks = Counter(block.kind.pages for block in sheet.blocks)
        run = run_input(request.task, setting, sheet.laid.copies_on, tuple(blocks.items()), *sides)
        if run is None:  # pragma: no cover - no side carries more than the search reckoned with
            raise AssertionError("a sheet carries inks that its press was not chosen for")
        cost = cost_of_run(request.task, run)
        costs.append(cost)
        runs.append(
            SheetRun(
                sheet=number,
                press=_press(setting),
                way=setting.bed.way,
                stock=paper.name,
                grammage=paper.grammage,
                caliper_mm=paper.caliper_mm,
                grain=setting.sheet.grain,
                grain_along_spine=setting.grain_right,
                sheet_mm=(setting.bed.width_mm, setting.bed.height_mm),
                copies_on=sheet.laid.copies_on,
                inks=(_names(request.inks, sides[0]), _names(request.inks, sides[1])),
                folder=" and ".join(dict.fromkeys(setting.folders[pages].name for pages in blocks)),
                net_sheets=cost.net_sheets,
                gross_sheets=cost.gross_sheets,
                formes=cost.formes,
                pieces=tuple(FoldedAlike(p.folder.name, p.scheme, p.count, p.passes) for p in run.pieces),
            )
        )
    return tuple(runs), tuple(costs)


def _names(inks: Sequence[str], mask: int) -> tuple[str, ...]:
    return tuple(name for nth, name in enumerate(inks) if mask >> nth & 1)


def _press(setting: Setting) -> Press:
    press = setting.bed.press
    return Press(press.name, press.gripper, press.tail, press.side, press.lay)


def _chosen(request: Request, one: Outline, made: Sequence[_Made], fallback: bool, one_sided: int) -> Chosen:
    task, main = request.task, one.main
    ways: dict[tuple[int, str, str], Way] = {}
    for sheet in sorted(made, key=lambda sheet: sheet.pick.setting is not main):
        setting = sheet.pick.setting
        for pages in dict.fromkeys(wanted.kind.pages for wanted in sheet.blocks):
            way = setting.blocks[pages].way
            ways[pages, way.name, setting.folders[pages].name] = way
    folded = sorted(ways, key=lambda key: -key[0])  # of one size as the fullest sheets fold it first
    return Chosen(
        base=one.base,
        division=one.division,
        press=main.bed.press,
        sheet=main.sheet,
        size_mm=(main.bed.width_mm, main.bed.height_mm),
        grain_right=all(sheet.pick.setting.grain_right for sheet in made),
        schemes=tuple(dict.fromkeys(scheme for key in folded for scheme in ways[key].pieces)),
        folders=tuple(folder for _, _, folder in folded),
        sheets=len(made),
        one_sided=one_sided,
        panel=task.panel,
        fallback=fallback,
        way=main.bed.way,
        others=tuple(
            dict.fromkeys(
                (sheet.pick.setting.bed.press.name, sheet.pick.setting.bed.way, sheet.pick.setting.sheet.says)
                for sheet in made
                if sheet.pick.setting is not main
            )
        ),
    )


def _gathered(
    division: Division, gathering: tuple[tuple[str, ...], ...], signatures: Sequence[str], front: int
) -> tuple[GatheredSection, ...]:
    made, first = [], 0
    for number, (unit, names) in enumerate(zip(division.units, gathering, strict=True), start=1):
        last = first + unit.pages
        ahead = max(0, min(last, front) - first)
        behind = max(0, last - max(first, division.pages))
        made.append(GatheredSection(number, signatures[number - 1], names, unit.pages, first, ahead + behind))
        first = last
    return tuple(made)


def _kinds(made: Sequence[_Made]) -> tuple[SheetKind, ...]:
    """Sheets that are cut and folded alike; the label counts what is folded how."""
    alike: dict[object, list[int]] = {}
    schemes: dict[object, tuple[str, ...]] = {}
    for number, sheet in enumerate(made, start=1):
        bed = sheet.pick.setting.bed
        placed = sheet.laid.placed
        key: object = (
            bed.press.name, bed.width_mm, bed.height_mm, bed.way, sheet.pick.setting.stock,
            tuple((p.shape, p.x_mm, p.y_mm, p.over, p.copy) for p in placed),
        )  # fmt: skip
        alike.setdefault(key, []).append(number)
        schemes[key] = tuple(p.shape.scheme.name for p in placed)
    kinds = []
    for key, numbers in alike.items():
        counted = {name: schemes[key].count(name) for name in schemes[key]}
        label = " and ".join(f"{count} x {name}" for name, count in counted.items())
        kinds.append(SheetKind(label, " + ".join(counted), tuple(numbers)))
    return tuple(kinds)


def _rules(request: Request, one: Outline, made: Sequence[_Made], instructions: FoldingInstructions) -> tuple[str, ...]:
    """What the house or custom decided, a sentence each."""
    task, said = request.task, []
    if one.division.rule:
        said.append(one.division.rule)
    if task.lip is not None:
        said.append(
            f"A lip of {format_mm(task.lip.size_mm)} on the {task.lip.half} half, for the feeder to open sections by "
            f"({'the job' if request.job.bindery.lip else 'the binding line'})."
        )
    if any(section.bottling_mm for sheet in instructions.sheets for section in sheet.sections):
        said.append(f"Heads turned out by {format_mm(task.house.allowances.bottling)} against bottling (house).")
    if any(placed.over for sheet in made for placed in sheet.laid.placed if placed.copy == 0):
        said.append("Some sections lie face down on their sheet, so that colour falls on one side of it.")
    if task.binding == bind.LEAFLET and any(p.shape.scheme.rows > 1 for sheet in made for p in sheet.laid.placed):
        said.append("This leaflet is folded across as well: nothing is cut after folding, so it opens out like a map.")
    if not one.exact:
        said.append("The rarer sets of inks were weighed together: sections with any of them count with all of them.")
    return tuple(said)
