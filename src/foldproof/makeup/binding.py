# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a binding asks of a fold, what it takes from the panel, and how far it pushes leaves out.  Pure; millimetres.

Frame: *leaf*: the upright panel, spine crease at one side, fore-edge at the other, foot at the bottom.
"""

from __future__ import annotations

from attrs import frozen

from foldproof.job.model import Allowances
from foldproof.makeup.folding import Edge, Scheme, read
from foldproof.units import format_mm

SEWN, GLUED, STITCHED, LEAFLET = "sewn", "glued", "stitched", "leaflet"
#: a stitched book thicker than this when folded springs open; the binder should be asked (common practice, no source)
STITCHED_THICK_MM = 6.0
#: beyond this no stitch holds (common practice, no source)
STITCHED_THICKEST_MM = 12.0


@frozen
class Panel:
    """The untrimmed leaf: the trim and what the knives and the grinder take off round it."""

    trim_w_mm: float
    trim_h_mm: float
    spine_trim_mm: float  #: ground off before gluing, 0 when sewn or stitched
    fore_edge_mm: float
    head_mm: float
    foot_mm: float

    @property
    def width_mm(self) -> float:
        """From spine crease to fore-edge."""
        return self.spine_trim_mm + self.trim_w_mm + self.fore_edge_mm

    @property
    def height_mm(self) -> float:
        return self.head_mm + self.trim_h_mm + self.foot_mm

    @property
    def cut_before(self) -> bool:
        """A leaflet's: cut before it is folded, so that nothing is taken off."""
        return not (self.spine_trim_mm or self.fore_edge_mm or self.head_mm or self.foot_mm)

    def taken_off_mm(self, edge: Edge) -> float:
        """What is cut or ground off at an edge of the outermost leaf."""
        return {
            Edge.SPINE: self.spine_trim_mm,
            Edge.HEAD: self.head_mm,
            Edge.FOOT: self.foot_mm,
            Edge.FORE_EDGE: self.fore_edge_mm,
        }[edge]


def panel_for(trim_mm: tuple[float, float], bleed_mm: float, binding: str, allowances: Allowances) -> Panel:
    """The panel that a page wants.

    What the knives take off is never less than the bleed, or the bleed of one page would be cut short by its neighbour.
    The inner leaves of a section are pushed out at the fore-edge, so the knife takes more of them, never less: the
    outermost leaf is the one that decides, and its allowance is the one given here.  A leaflet is cut before it is
    folded, and its panel is its page.
    """
    if binding == LEAFLET:
        return Panel(*trim_mm, 0.0, 0.0, 0.0, 0.0)
    return Panel(
        trim_w_mm=trim_mm[0],
        trim_h_mm=trim_mm[1],
        spine_trim_mm=allowances.spine_grind if binding == GLUED else 0.0,
        fore_edge_mm=max(allowances.fore_edge, bleed_mm),
        head_mm=max(allowances.head, bleed_mm),
        foot_mm=max(allowances.foot, bleed_mm),
    )


def refusal(
    scheme: Scheme, reading: str, binding: str, panel: Panel, bolt_min_mm: float, head: str | None = None
) -> str | None:
    """Why a scheme cannot be bound so, as a sentence, or ``None`` when it can.

    Sewn and stitched: every leaf has its other half across the spine crease, and all lie round one middle.  Glued:
    every leaf reaches the spine, which panels of one width always do.  Always but for a leaflet: bolts lie in matter
    that the knives take off, ``bolt_min_mm`` or more on the outermost leaf.

    Args:
        head: ``"closed"`` or ``"open"``: what the edge at the head is asked to be.

    Raises:
        FoldError: the scheme does not fold at all.
    """
    leaves = read(scheme, reading)
    closed = any(Edge.HEAD in leaf.bolts for leaf in leaves)
    if head is not None and closed != (head == "closed") and scheme.rows * scheme.columns > 2:
        return f"Scheme {scheme.name!r} has its head {'closed' if closed else 'open'}, and the job asks for {head}."
    if binding == LEAFLET:
        return None
    if binding in (SEWN, STITCHED):
        loose = [leaf for leaf in leaves if leaf.mate is None]
        if loose:
            thread = "thread" if binding == SEWN else "wire"
            return (
                f"Scheme {scheme.name!r} cannot be {binding}: {len(loose)} of its {len(leaves)} leaves "
                f"{'has' if len(loose) == 1 else 'have'} no other half across the spine crease, "
                f"and no {thread} would hold {'it' if len(loose) == 1 else 'them'} once the bolts are trimmed off."
            )
        if not nests(scheme, reading):
            middles = sum(leaf.mate == leaf.order + 1 for leaf in leaves)
            return (
                f"Scheme {scheme.name!r} cannot be {binding}: it folds across its spine after the spine was made, so "
                f"{middles} sections lie one behind the other instead of one with a single middle."
            )
    for edge in (Edge.HEAD, Edge.FOOT, Edge.FORE_EDGE, Edge.SPINE):
        if not any(edge in leaf.bolts for leaf in leaves):
            continue
        taken = panel.taken_off_mm(edge)
        if taken < bolt_min_mm:
            return (
                f"Scheme {scheme.name!r} has bolts at the {edge.value}, where only {format_mm(taken)} is taken off; "
                f"at least {format_mm(bolt_min_mm)} is needed, or leaves stay joined."
            )
    return None


def nests(scheme: Scheme, reading: str) -> bool:
    """Whether other sections can be set into its middle: all its leaves hang together at the one spine crease."""
    leaves = read(scheme, reading)
    return all(leaf.mate == len(leaves) - 1 - leaf.order for leaf in leaves)


def creep_mm(depth: int, caliper_mm: float, factor: float) -> float:
    """How far a leaf moves towards the spine: the outermost 0, each leaf further in by ``factor`` calipers more.

    Factor 1 for sharp folds lying one in the other, pi/2 for round concentric ones (geometry of nested folds; a round
    fold of radius r takes pi r of paper, and r falls by one caliper from leaf to leaf).
    """
    return depth * caliper_mm * factor
