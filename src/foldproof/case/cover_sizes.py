# SPDX-License-Identifier: AGPL-3.0-or-later
"""How large a paper cover and a jacket are, lying open: from trim, spine, case, customs of the house.  Pure; mm."""

from __future__ import annotations

from attrs import evolve

from foldproof.case.model import CaseSizes, CoverSizes, fine
from foldproof.errors import AskedWrong
from foldproof.job.model import House, HouseStock, Job
from foldproof.makeup.plan import Plan
from foldproof.quantities.cover_kind import cover_kind
from foldproof.quantities.model import Thickness
from foldproof.units import format_mm, format_size_mm, inch_to_mm

#: a cover is cut so much longer than the block at the foot when it is glued on (trim-perfect of the handbook: 3/16 in)
FOOT_EXTRA_MM = inch_to_mm(3 / 16)
#: bindings whose cover is folded once over the back of the book: there is no flat spine
FOLDED_ONCE = ("stitched", "leaflet")


def cover_sizes(plan: Plan, job: Job, house: House, thickness: Thickness) -> CoverSizes | None:
    """The paper cover of a book; ``None`` where the book gets a case or nothing.

    Panels are the trimmed page; the spine is that of the block (spine-128 of the handbook: pages / 2 x caliper), 0
    where the book is stitched through its fold and the cover is folded once.  Its own thickness is not added: its
    inside lies on the block.

    Raises:
        AskedWrong: the house has no stock of the name in the job, or flaps or hinge are wider than the cover's panel.
    """
    if cover_kind(job, plan.binding) != "paper":
        return None
    stock, caliper, told = _stock("cover.stock", job.cover.stock, plan, house)
    wide, high = plan.trim_mm
    once = plan.binding in FOLDED_ONCE
    spine = 0.0 if once else round(thickness.spine_mm, 2)
    custom = house.finishing.hinge if job.cover.hinge is None else job.cover.hinge
    hinge = 0.0 if once else custom
    flaps, bleed = job.cover.flaps, _bleed(plan, house)
    _narrower("cover.flaps", "flaps", flaps, wide)
    _narrower("cover.hinge", "a hinge", hinge, wide)
    says = [told, f"Panels: front and back each the trimmed page, {format_size_mm(wide, high)}."]
    if once:
        says.append("Spine: 0 mm; the cover of a book stitched through its fold is folded once (common practice).")
    else:
        says += [f"Spine: {fine(spine)}, as thick as the block at its back (spine-128: pages / 2 x caliper)."]
        says += [line for line in thickness.says if line.startswith(("Block:", "Swell:"))]
    if hinge:
        whose = "the job" if job.cover.hinge is not None else "the house"
        says.append(f"Hinge: creased and glued to {fine(hinge)} from the spine, front and back ({whose}).")
    if flaps:
        says.append(f"Flaps: {fine(flaps)}, folded in at the fore-edge (the job).")
    if plan.binding == "glued":
        says.append(
            f"When it is glued on, the cover stands {fine(FOOT_EXTRA_MM)} beyond the block at the foot before trimming "
            "(trim-perfect)."
        )
    sizes = CoverSizes(
        kind="paper cover",
        stock=stock,
        caliper_mm=caliper,
        panel_mm=(wide, high),
        spine_mm=spine,
        flap_mm=flaps,
        hinge_mm=hinge,
        wrap_mm=0.0,
        bleed_mm=bleed,
        reading=plan.reading,
        says=(),
    )
    return _told(sizes, says)


def jacket_sizes(plan: Plan, job: Job, house: House, thickness: Thickness, case: CaseSizes | None) -> CoverSizes | None:
    """The jacket of a book; ``None`` where the job has no ``[jacket]``.

    Round a case the jacket goes over the spine with boards and cloth (hard-spine-add of the handbook: the case adds to
    pages / 2 x caliper), over the boards to the fore-edge, round their edge, and in.  A rounded spine takes the arc:
    over the block alone where the boards lie beside it (so both are added), over the boards too where it is backed.
    Without a case it goes round the covered book.  The rest is geometry; common practice, no source.

    Raises:
        AskedWrong: the house has no stock of the name in the job, or the flaps are wider than the front.
    """
    if job.jacket is None:
        return None
    stock, caliper, told = _stock("jacket.stock", job.jacket.stock, plan, house)
    says = [told]
    if case is not None:
        panel, spine, wrap = _round_case(case, says)
    else:
        panel, spine, wrap = _round_book(plan, job, house, thickness, says)
    flaps = job.jacket.flaps
    _narrower("jacket.flaps", "flaps", flaps, panel[0])
    says.append(f"Flaps: {fine(flaps)} (the job).")
    sizes = CoverSizes(
        kind="jacket",
        stock=stock,
        caliper_mm=caliper,
        panel_mm=panel,
        spine_mm=spine,
        flap_mm=flaps,
        hinge_mm=0.0,
        wrap_mm=wrap,
        bleed_mm=_bleed(plan, house),
        reading=plan.reading,
        says=(),
    )
    return _told(sizes, says)


def _round_case(case: CaseSizes, says: list[str]) -> tuple[tuple[float, float], float, float]:
    """Panel, spine and wrap of a jacket round a case."""
    board, cloth = case.board_thickness_mm, case.cloth_thickness_mm
    flat = case.rounding == "flat"
    # from the outside of the spine to the fore-edge of the board; a flat strip stands behind the block
    behind = case.strip_thickness_mm + cloth if flat else 0.0
    wide = round(case.block_mm[0] + case.square_mm + behind, 2)
    says.append(
        f"Panels: block {fine(case.block_mm[0])} + square {fine(case.square_mm)}"
        + (f" + strip {fine(case.strip_thickness_mm)} + cloth {fine(cloth)}" if behind else "")
        + f" = {fine(wide)} from spine to fore-edge of the board; as high as the board, {fine(case.board_mm[1])}."
    )
    boards = 0.0 if case.rounding == "rounded and backed" else 2 * board
    spine = round(case.arc_mm + boards + 2 * cloth, 2)
    over = "spine of the block" if flat else f"arc over the {case.rounding} spine, not its chord,"
    terms = f"{over} {fine(case.arc_mm)}" + (f" + two boards of {fine(board)}" if boards else "")
    says.append(f"Spine: {terms} + cloth of {fine(cloth)} on either side = {fine(spine)}.")
    wrap = round(board + 2 * cloth, 2)
    says.append(
        f"Wrap: the fold goes round a board of {fine(board)} and its cloth on both faces = {fine(wrap)} at either "
        "fore-edge."
    )
    return (wide, case.board_mm[1]), spine, wrap


def _round_book(
    plan: Plan, job: Job, house: House, thickness: Thickness, says: list[str]
) -> tuple[tuple[float, float], float, float]:
    """Panel, spine and wrap of a jacket round a book without a case."""
    wide, high = plan.trim_mm
    cover = cover_kind(job, plan.binding) == "paper"
    paper = _stock("cover.stock", job.cover.stock, plan, house)[1] if cover else 0.0
    # a stitched book has no spine of its own, but a jacket goes round all its leaves
    inner = thickness.block_mm if plan.binding in FOLDED_ONCE else thickness.spine_mm
    spine = round(inner + 2 * paper, 2)
    says.append(f"Panels: the trimmed page, {format_size_mm(wide, high)}.")
    terms = f"block {fine(inner)}" + (f" + a cover of {fine(paper)} on either side" if cover else "")
    says.append(f"Spine: {terms} = {fine(spine)}.")
    if cover:
        says.append(f"Wrap: the fold goes round the cover, {fine(paper)}, at either fore-edge.")
    return (wide, high), spine, round(paper, 2)


def _told(sizes: CoverSizes, says: list[str]) -> CoverSizes:
    """The sizes with their arithmetic in words: what was said, and how it adds up."""
    wide, high = sizes.trimmed_mm
    parts = [("panel", sizes.panel_mm[0]), ("wrap", sizes.wrap_mm), ("flap", sizes.flap_mm)]
    each = " + ".join(f"{name} {fine(part)}" for name, part in parts if part)
    says = [
        *says,
        f"Trimmed: 2 x ({each}) + spine {fine(sizes.spine_mm)} = {fine(wide)}, by {fine(high)}.",
        f"Bleed: {fine(sizes.bleed_mm)} on all four sides.",
    ]
    return evolve(sizes, says=tuple(says))


def _stock(key: str, name: str | None, plan: Plan, house: House) -> tuple[str, float, str]:
    """Name and caliper of the paper, and what is said of it: the one the job names, or that of the text."""
    if name is None:
        told = f"Paper: {plan.stock}, as the text, {format_mm(plan.caliper_mm, 3)} thick; the job names none."
        return plan.stock, plan.caliper_mm, told
    found: HouseStock | None = next((stock for stock in house.stocks if stock.name == name), None)
    if found is None:
        held = ", ".join(f'"{stock.name}"' for stock in house.stocks)
        raise AskedWrong(f'The job: {key}: {house.name} has no stock "{name}"; it has {held}.')
    return found.name, found.caliper_mm, f"Paper: {found.name}, {format_mm(found.caliper_mm, 3)} thick (the job)."


def _bleed(plan: Plan, house: House) -> float:
    """That of the book, and never less than the house's custom: a cover bleeds where the pages need not."""
    return max(plan.bleed_mm, house.allowances.bleed)


def _narrower(key: str, what: str, length: float, panel: float) -> None:
    if length >= panel:
        raise AskedWrong(
            f"The job: {key}: {what} of {fine(length)} on a panel {fine(panel)} wide would reach the spine; write less."
        )
