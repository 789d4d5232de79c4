# SPDX-License-Identifier: AGPL-3.0-or-later
"""The words of caution of every bench, in one place.

They are the customary ones (common practice, no source) and stand for no rule of law: the last line of every bench
says that local codes, the maker's manual, the rules of the house and trained people come first.
"""

from __future__ import annotations

#: the line that closes every ticket's cautions
DEFER = (
    "Local codes, the maker’s manual and the house’s own rules go before this ticket; work is for people who are"
    " trained and allowed to do it."
)
LIFTING = "Lift with the legs, close to the body, in small piles, or use the lift; never twist under a load."
GUILLOTINE = (
    "The guillotine cuts whatever lies under it: one person at the knife, two-hand start, light guard and clamp"
    " tested before work, never reach under the knife or defeat a guard; knives are changed by trained people, in"
    " their holder, with the power locked off."
)
THREE_KNIVES = (
    "The three-knife trimmer clamps and cuts without looking: guards shut, stop it and lock it off before clearing a"
    " jam or taking out waste; hands stay out of the clamp even while it stands."
)
NIPS = "Rollers and nips pull in: sleeves, hair, rings and gloves away from them; stop before clearing a jam."
GLUE = (
    "Glue and hot melt burn and fume: gloves, eye cover and extraction as the safety sheet says. The spine cutter"
    " stays guarded; let it run down before clearing it."
)
HOT_FOIL = (
    "Die, chase and hot plate stay hot long after the switch: let them cool or use the tool for it; two-hand start at"
    " the stamping press, hands out of the platen, foil dust and fumes drawn off."
)

#: what can hurt at each bench
CAUTIONS: dict[str, tuple[str, ...]] = {
    "stock": (LIFTING, "Piles can slide: one stack at a time, and nobody beside a raised pallet.", GUILLOTINE),
    "plates": ("Edges of plates cut: gloves. Developer and gum as their safety sheets say.",),
    "press": (
        "Guards shut, nothing loose near the cylinders; stop and lock the press before reaching in or washing up."
        " Inks and solvents as their safety sheets say.",
        NIPS,
    ),
    "folding": (
        "Stop the folder before clearing a jam; knives and slitters cut, rollers pull in; keep guards shut and sleeves"
        " and hair away.",
    ),
    "gathering": (NIPS, LIFTING),
    "sewing": ("Needles and hooks pierce: stop and lock the sewer before threading or clearing it.", LIFTING),
    "gluing": (GLUE, NIPS, LIFTING),
    "stitching": (
        "Stitching heads drive wire through a finger: stop and lock the stitcher before threading or clearing it."
        " Wire ends fly: eye cover.",
        LIFTING,
    ),
    "trimming": (GUILLOTINE, THREE_KNIVES, LIFTING),
    "cutting": (GUILLOTINE, "Edges of fresh cut paper cut too: gloves where much is handled.", LIFTING),
    "case": (
        GUILLOTINE,
        "Board shears take fingers as the guillotine does: clamp down, hand behind the guard.",
        HOT_FOIL,
        "Glue burns and fumes: gloves, eye cover and extraction as the safety sheet says.",
    ),
    "casing-in": (
        "Joint irons are hot and the building-in press closes with tons: both hands on its start, nothing but the book"
        " between its plates.",
        "Glue burns and fumes: gloves, eye cover and extraction as the safety sheet says.",
        NIPS,
    ),
    "packing": (
        LIFTING,
        "Knives for boxes: cut away from the body, blade in when it lies down. Straps spring back when they are cut:"
        " eye cover.",
    ),
    "traveller": ("Every bench’s own ticket holds its cautions; read them before the work begins.",),
}


def cautions_of(bench: str, *first: str) -> tuple[str, ...]:
    """What is said at a bench: sentences of its own (a weight, say), then the customary ones.

    The frame of the tickets closes them with :data:`DEFER`.

    Raises:
        KeyError: there is no such bench.
    """
    return (*(line for line in first if line), *CAUTIONS[bench])


def load_words(what: str, kilos: float) -> str:
    """What a load weighs, so that nobody has to guess before lifting."""
    return f"{what} weighs about {kilos:.1f} kg: lift less, or use the lift."
