# SPDX-License-Identifier: AGPL-3.0-or-later
"""The cost of two books on the shipped house, reckoned by hand from the figures of its file, lantern-row.toml.

Nothing of the cost code is called here.  What stands on the sheets is taken from the plan and stated first; every
figure after that is a number of the house file, and every step is written out.  How waste is reckoned back from the
finished books: ``in = out / (1 - w) + set-up`` for every operation, from the last to the first, rounded upwards at the
end alone (handbook waste-chain; standard estimating arithmetic, from memory).
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from foldproof.job.load import load_house
from foldproof.job.model import Job
from foldproof.makeup.choose import plans
from foldproof.makeup.plan import Plan

HOUSE = load_house(None)
COPIES = 1500  # usual_copies

# --- allowances: what is left after each operation ---
PRESS = 1 - Fraction(30, 1000)  # spoil_press 3.0 per cent of what goes into a pass
FOLDING = 1 - Fraction(11, 1000)  # 1.1
GATHERING = 1 - Fraction(6, 1000)  # 0.6, stitching likewise
SEWING = 1 - Fraction(5, 1000)  # 0.5
TRIMMING = 1 - Fraction(4, 1000)  # 0.4
CASING = 1 - Fraction(5, 1000)  # 0.5, of books that get a case: sewn ones, where the job does not say


def crowns(amount: Fraction) -> float:
    """To hundredths, halves upwards."""
    return (amount * 100 + Fraction(1, 2)).__floor__() / 100


def lines(plan: Plan) -> list[tuple[str, float | None]]:
    assert plan.cost is not None
    return [(line.what, line.amount) for line in plan.cost.lines]


def test_a_hundred_and_fifty_pages_sewn_in_black() -> None:
    """150 pages of 140 x 216 mm: eight 16s, an 8, a 16; 2 blanks."""
    plan = plans(150, (140.0, 216.0), Job(), HOUSE, title="A book", most=1)[0]

    # What stands on the sheets.  1: six 16s, perfecting on the Beacon.  2: three 16s twice, work and tumble on the
    # Beacon.  3: the 8 twice, work and turn on the Taper.
    told = [(run.press.name, run.way, run.sheet_mm, run.copies_on, run.plates) for run in plan.runs]
    assert told == [
        ("Beacon 1620", "perfecting", (1620, 1200), 1, 2),
        ("Beacon 1620", "work and tumble", (1620, 1200), 2, 1),
        ("Taper 740", "work and turn", (700, 500), 2, 1),
    ]
    assert [len(sheet.sections) for sheet in plan.instructions.sheets] == [6, 6, 2]
    assert {run.folder for run in plan.runs} == {"Moth"} and plan.line == "Weaver"

    # Books: 1500 / 0.995 = 1507.5377 into casing-in; / 0.996 = 1513.592 into trimming; / 0.995 = 1521.198 into sewing;
    # / 0.994 = 1530.380 into gathering.
    sewn = COPIES / CASING / TRIMMING / SEWING
    gathered = sewn / GATHERING
    assert (ceil(sewn), ceil(gathered)) == (1522, 1531)

    # Sheets laid on at the folder: 1530.380 / 0.989 = 1547.402 for one copy on a sheet, half as many for two; and to
    # set the Moth 40 pieces, which are ceil(40 / 6) = 7 sheets of six pieces, 40 / 2 = 20 sheets of two.
    one, two, three = gathered / FOLDING + 7, gathered / 2 / FOLDING + 7, gathered / 2 / FOLDING + 20
    assert (ceil(one), ceil(two), ceil(three)) == (1555, 781, 794)

    # Sheets to be bought.  1: one pass, two formes made ready at once, 2 x 280: 1554.402 / 0.97 + 560 = 2162.48.
    # 2: two passes with one forme, made ready for the first alone: 780.701 / 0.97 / 0.97 + 280 = 1109.74.
    # 3: as 2, with the Taper's 220: 793.701 / 0.97 / 0.97 + 220 = 1063.55.
    gross = [ceil(one / PRESS + 2 * 280), ceil(two / PRESS / PRESS + 280), ceil(three / PRESS / PRESS + 220)]
    assert gross == [2163, 1110, 1064] == [run.gross_sheets for run in plan.runs]

    # Plates: Beacon 2 + 1 at 24; Taper 1 at 7.5.
    plates_beacon, plates_taper = Fraction(3 * 24), Fraction(75, 10)
    # Make-ready: Beacon 3 formes x 20 min at 240 an hour; Taper 1 x 11 min at 88.
    ready_beacon, ready_taper = Fraction(3 * 20, 60) * 240, Fraction(11, 60) * 88
    # Paper: 90 g/m2 at 1.1 a kg.  1.62 x 1.2 = 1.944 m2, 0.17496 kg a sheet; 0.7 x 0.5 = 0.35 m2, 0.0315 kg.
    # 3273 x 0.17496 + 1064 x 0.0315 = 572.64408 + 33.516 = 606.16008 kg.
    kilos = (2163 + 1110) * Fraction(17496, 100_000) + 1064 * Fraction(315, 10_000)
    paper = kilos * Fraction(11, 10)
    # Press time: Beacon 2163 + 2 x 1110 = 4383 at 9000 an hour, 240; Taper 2 x 1064 = 2128 at 13,000, 88.
    time_beacon, time_taper = Fraction(2163 + 2 * 1110, 9000) * 240, Fraction(2 * 1064, 13_000) * 88
    # Folding: 6 x 1555 + 6 x 781 + 2 x 794 = 15,604 pieces at 5000 an hour, 3 settings of 35 min; 68 an hour.
    folding = (Fraction(6 * 1555 + 6 * 781 + 2 * 794, 5000) + Fraction(3 * 35, 60)) * 68
    # Gathering: ten sections, 24 stations, one pass.  1531 books at 3500 an hour, 30 min, 10 stations of 2 min; 98.
    gathering = (Fraction(1531, 3500) + Fraction(30 + 10 * 2, 60)) * 98
    # Sewing: 10 x 1522 sections at 6000 an hour; 98.
    sewing = Fraction(10 * 1522, 6000) * 98

    by_hand = [
        ("plates", crowns(plates_beacon)),  # 72.00
        ("plates", crowns(plates_taper)),  # 7.50
        ("make-ready", crowns(ready_beacon)),  # 240.00
        ("make-ready", crowns(ready_taper)),  # 16.13
        ("paper", crowns(paper)),  # 666.78
        ("press time", crowns(time_beacon)),  # 116.88
        ("press time", crowns(time_taper)),  # 14.40
        ("folding", crowns(folding)),  # 331.21
        ("gathering", crowns(gathering)),  # 124.53
        ("sewing", crowns(sewing)),  # 248.59
    ]
    assert lines(plan) == by_hand
    # 72 + 7.50 + 240 + 16.13 + 666.78 + 116.88 + 14.40 + 331.21 + 124.53 + 248.59
    assert plan.cost is not None and plan.cost.total == round(sum(amount for _, amount in by_hand), 2) == 1838.02


def test_forty_eight_pages_stitched_in_four_colours() -> None:
    """48 pages of 148 x 210 mm on Glaze Silk 115: three 16s one in another."""
    job = Job.model_validate({"book": {"binding": "stitched"}, "paper": {"stock": "Glaze Silk 115"}})
    inks = [("Cyan", "Magenta", "Yellow", "Black")] * 48
    plan = plans(48, (148.0, 210.0), job, HOUSE, title="A book", most=1, inks=inks)[0]

    # What stands on the sheets.  1: two 16s, two formes.  2: one 16 twice, work and turn.  Both on the Lamplighter.
    told = [(run.press.name, run.way, run.sheet_mm, run.copies_on, run.plates) for run in plan.runs]
    assert told == [
        ("Lamplighter 1020", "two formes", (1000, 700), 1, 4 + 4),
        ("Lamplighter 1020", "work and turn", (1000, 700), 2, 4),
    ]
    assert [len(sheet.sections) for sheet in plan.instructions.sheets] == [2, 2]
    assert {run.folder for run in plan.runs} == {"Moth"} and plan.line == "Thorn"

    # Books: 1500 / 0.996 = 1506.0241 into trimming; / 0.994 = 1515.115 into stitching.
    stitched = COPIES / TRIMMING / GATHERING
    assert ceil(stitched) == 1516
    # At the folder: 1515.115 / 0.989 = 1531.966, or half of it; two pieces on a sheet, so 40 / 2 = 20 sheets to set it.
    one, two = stitched / FOLDING + 20, stitched / 2 / FOLDING + 20
    assert (ceil(one), ceil(two)) == (1552, 786)
    # To be bought.  1: two passes, 240 sheets to make ready for each: (1551.966 / 0.97 + 240) / 0.97 + 240 = 2136.87.
    # 2: two passes, made ready for the first alone: 785.983 / 0.97 / 0.97 + 240 = 1075.35.
    gross = [ceil((one / PRESS + 240) / PRESS + 240), ceil(two / PRESS / PRESS + 240)]
    assert gross == [2137, 1076] == [run.gross_sheets for run in plan.runs]

    by_hand = [
        # 8 + 4 at 12: 144.00
        ("plates", crowns(Fraction(12 * 12))),
        # 3 formes x 14 min at 135 an hour: 94.50
        ("make-ready", crowns(Fraction(3 * 14, 60) * 135)),
        # 0.7 m2 x 115 g = 0.0805 kg a sheet; 3213 x 0.0805 = 258.6465 kg at 1.25: 323.31
        ("paper", crowns((2137 + 1076) * Fraction(805, 10_000) * Fraction(125, 100))),
        # 2 x 2137 + 2 x 1076 = 6426 at 12,000 an hour, 135: 72.29
        ("press time", crowns(Fraction(2 * 2137 + 2 * 1076, 12_000) * 135)),
        # 2 x 1552 + 2 x 786 = 4676 pieces at 5000 an hour, 2 settings of 35 min; 68: 142.93
        ("folding", crowns((Fraction(2 * 1552 + 2 * 786, 5000) + Fraction(2 * 35, 60)) * 68)),
        # 1516 books at 6000 an hour, 25 min, 3 pockets of 3 min; 84: 68.82
        ("stitching", crowns((Fraction(1516, 6000) + Fraction(25 + 3 * 3, 60)) * 84)),
    ]
    assert lines(plan) == by_hand
    # 144 + 94.50 + 323.31 + 72.29 + 142.93 + 68.82
    assert plan.cost is not None and plan.cost.total == round(sum(amount for _, amount in by_hand), 2) == 845.85
