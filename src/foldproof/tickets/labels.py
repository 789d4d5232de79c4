# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a page is called on the benches: its printed folio, and the page of the PDF where that is another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from attrs import frozen

from foldproof.makeup.plan import GatheredSection, Plan
from foldproof.tickets.diagram import PieceCheck, folio_of


@frozen
class Labels:
    """Names of the pages of one plan.

    Where no folios are known a page is its number in the PDF alone.
    """

    plan: Plan
    folios: Sequence[str] = ()

    def of(self, position: int) -> str:
        """``"14"``, ``"12 (PDF 14)"``, ``"PDF 2"`` where nothing is printed, ``"blank"``; by place in the book."""
        page = self.plan.places[position].page
        return "blank" if page is None else self._named(page)

    def _named(self, page: int) -> str:
        """Of a page of the PDF from 0."""
        folio = folio_of(self.folios, page)
        if folio:
            return f"{folio} (PDF {page + 1:,})"
        bare = any(self.folios) and not (page < len(self.folios) and self.folios[page].strip())
        return f"PDF {page + 1:,}" if bare else f"{page + 1:,}"

    def page(self, number: int | None) -> str:
        """The same by page of the PDF (from 1), as the proof found it; ``None``: nothing is printed there."""
        if number is None:
            return "blank"
        return self._named(number - 1)

    def figure(self, number: int | None) -> dict[str, Any]:
        """What a page is called in a drawing where one figure has room: its folio, else its number in the PDF."""
        if number is None:
            return {"text": "blank", "how": "blank"}
        folio = self.folios[number - 1].strip() if number <= len(self.folios) else ""
        return {"text": folio, "how": "folio"} if folio else {"text": f"{number}", "how": "pdf"}

    def found(self, numbers: Sequence[int | None]) -> str:
        """Pages of the PDF (from 1) as they were found one after the other, in words as those of :meth:`span`.

        Pages that do not follow on one another are told run by run.
        """
        runs: list[list[int | None]] = []
        for number in numbers:
            last = runs[-1][-1] if runs else None
            follows = number is None if last is None else number == last + 1
            if runs and follows:
                runs[-1].append(number)
            else:
                runs.append([number])
        told = []
        for run in runs:
            if run[0] is None:
                told.append(f"{len(run)} blank{'s' if len(run) > 1 else ''}")
            elif run[-1] is not None:
                told.append(self.page(run[0]) if len(run) == 1 else self._from_to(run[0] - 1, run[-1] - 1))
        return ", ".join(told)

    def span(self, section: GatheredSection) -> str:
        """``"17 to 32"``, ``"15 to 30 (PDF 17 to 32)"``, ``"137 to 150, 2 blanks"``."""
        inside = [p.page for p in self.plan.places[section.first : section.first + section.pages]]
        pages = [page for page in inside if page is not None]
        blanks = len(inside) - len(pages)
        parts = [self._from_to(pages[0], pages[-1])] if pages else []
        if blanks:
            at = len(parts) if inside[0] is not None else 0
            parts.insert(at, f"{blanks} blank{'s' if blanks > 1 else ''}")
        return ", ".join(parts)

    def _from_to(self, first: int, last: int) -> str:
        folios = folio_of(self.folios, first), folio_of(self.folios, last)
        if all(folios):
            return f"{folios[0]} to {folios[1]} (PDF {first + 1:,} to {last + 1:,})"
        if not any(folios):
            return f"{first + 1:,} to {last + 1:,}"
        ends = [
            f"{folio} (PDF {page + 1:,})" if folio else f"PDF {page + 1:,}"
            for folio, page in zip(folios, (first, last), strict=True)
        ]
        return " to ".join(ends)

    def shown(self, check: PieceCheck) -> list[str]:
        """What a folded piece shows outside, and where it opens in its middle."""
        return [f"{self.of(a)} and {self.of(b)}" for a, b in (check.outside, check.middle)]


def sheets_words(numbers: Sequence[int]) -> str:
    """``"sheet 3"``, ``"sheets 1–4, 6"``."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][-1] + 1:
            runs[-1][1:] = [number]
        else:
            runs.append([number])
    text = ", ".join(str(r[0]) if len(r) == 1 else f"{r[0]}–{r[-1]}" for r in runs)
    return f"sheet{'s' if len(numbers) != 1 else ''} {text}"
