# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a plan costs, in lines that a person can check with a pencil.  Pure.

Quantities are always reckoned; money only where the house states every price that the line wants.
"""

from __future__ import annotations

from attrs import frozen


@frozen
class CostLine:
    """One line: so much of something, at a price."""

    what: str  #: ``"plates"``, ``"make-ready"``, ``"paper"``, ``"press time"``, ``"folding"``, ``"gathering"`` ...
    quantity: float
    unit: str
    price: float | None  #: for one unit, in the house's currency
    amount: float | None  #: quantity x price, rounded to hundredths; ``None`` where no price is stated
    says: str  #: how the quantity came about, e.g. ``"8 formes x 4 inks"``


@frozen
class Cost:
    """All lines of a plan and their sum."""

    lines: tuple[CostLine, ...]
    currency: str  #: as the house names it, may be ``""``
    copies: int

    @property
    def total(self) -> float | None:
        """The sum of the lines' amounts; ``None`` where the house states no price at all or lacks one."""
        amounts = [line.amount for line in self.lines]
        if not amounts or any(amount is None for amount in amounts):
            return None
        return round(sum(amount for amount in amounts if amount is not None), 2)
