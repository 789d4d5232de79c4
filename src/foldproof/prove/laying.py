# SPDX-License-Identifier: AGPL-3.0-or-later
"""How a page is to lie on its leaf: moved or narrowed for the push-out, leaned against bottling.

Push-out.  A leaf that lies inside others is pushed out from the spine by their thickness, and all leaves are cut at the
same planes; so on its own paper, measured from its own crease, it is cut at ``spine_trim - push`` (ground, if glued)
and at ``spine_trim + trim width - push``.  By *shift* the whole page moves towards the spine by the push-out and keeps
its width: its spine edge lies at ``spine_trim - push``, past the crease when nothing is ground off, and what lies past
it is not printed.  By *scale* its spine edge is kept at ``spine_trim``; its fore-edge goes to where the leaf is cut; so
it is narrowed by ``(trim width - push) / trim width``, in the width alone.  Of a glued book a strip as wide as the
push-out then lies between the ground edge and the page: its bleed fills it.

Bottling.  Folding across folds presses the paper of a section askew at the head.  Against it every page is turned about
the point where its spine edge meets the foot, so that its head leans away from the spine: by all of it on the outermost
leaf, and by ``(n - k) / n`` of it on one with k leaves outside it, of a section with n on either side of its spine.
"""

from __future__ import annotations

import math

from foldproof.makeup.instructions import FoldingInstructions
from foldproof.pdf.proof_affine import Map, chain, shift
from foldproof.prove.reading import Face, Folded, Leaf

#: a page is never narrowed to less than this part: what asks for it is told as a fault of the instructions
LEAST = 0.5


def laid_page(folded: Folded, leaf: Leaf, face: Face, push_mm: float, told: FoldingInstructions) -> Map:
    """The page upright, mm, the centre of its trim at the origin → leaf frame, mm."""
    wide, high = told.trim_mm
    near, narrowed = folded.section.spine_trim_mm - push_mm, 1.0
    if told.creep_by == "scale":
        near, narrowed = folded.section.spine_trim_mm, narrowing(push_mm, wide)
    corner = face.outward * near, folded.foot_mm
    # Laid with the foot of its spine edge at the origin, narrowed, leaned about it, and carried to the leaf.
    at_corner = shift(face.outward * wide / 2, high / 2)
    narrow: Map = (narrowed, 0.0, 0.0, 1.0, 0.0, 0.0)
    lean = math.atan2(lean_mm(folded, leaf), high)
    cos, sin = math.cos(lean), math.sin(lean)
    # away from the spine is to the right on a leaf at the right of it: clockwise
    askew: Map = (cos, -face.outward * sin, face.outward * sin, cos, 0.0, 0.0)
    return chain(at_corner, narrow, askew, shift(*corner))


def narrowing(push_mm: float, wide_mm: float) -> float:
    """What is left of the width of a page, as a part of it."""
    return max(LEAST, (wide_mm - push_mm) / wide_mm) if wide_mm > 0 else 1.0


def lean_mm(folded: Folded, leaf: Leaf) -> float:
    """How far the head leans away from the spine over the height of the trim."""
    side = len(folded.leaves) / 2
    return folded.section.bottling_mm * max(0.0, side - leaf.outside) / side
