# SPDX-License-Identifier: AGPL-3.0-or-later
"""Plans side by side: the table for a terminal, the page, and the figures in both."""

from __future__ import annotations

import base64
import hashlib
import re
from html.parser import HTMLParser
from math import prod

import pytest
from attrs import evolve
from rich.cells import cell_len

from foldproof.job.load import load_house
from foldproof.job.model import Book, Job
from foldproof.makeup.choose import plans
from foldproof.makeup.cost import CostLine
from foldproof.makeup.plan import Plan
from foldproof.report.plan_facts import Row, rows
from foldproof.report.plan_page import plans_html
from foldproof.report.plans import plans_text

DEMY = (140.0, 216.0)
HOUSE = load_house(None)
PROCESS = ("Cyan", "Magenta", "Yellow", "Black")
COLOURED = [PROCESS if n in (0, 33, 70, 120) else ("Black",) for n in range(150)]
NASTY = 'Night & <script>alert("x")</script> </style>'


@pytest.fixture(scope="module")
def five() -> tuple[Plan, ...]:
    return plans(150, DEMY, Job(), HOUSE, title=NASTY, most=5, inks=COLOURED)


@pytest.fixture(scope="module")
def page(five: tuple[Plan, ...]) -> str:
    return plans_html(five).decode("utf-8")


class Tables(HTMLParser):
    """Rows of every table of a class, cells as text; words and tags of the whole page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tables: dict[str, list[list[list[str]]]] = {}
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""
        self._in = ""
        self._cell: list[str] | None = None
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self.tags.append((tag, given))
        if tag == "table":
            self._in = given.get("class") or ""
            self.tables.setdefault(self._in, []).append([])
        elif tag == "tr" and self._in:
            self.tables[self._in][-1].append([])
        elif tag in ("td", "th") and self._in:
            self._cell = []

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th") and self._cell is not None:
            self.tables[self._in][-1][-1].append(" ".join(" ".join(self._cell).split()))
            self._cell = None
        elif tag == "table":
            self._in = ""

    def handle_data(self, data: str) -> None:
        self.words += data
        if self._cell is not None:
            self._cell.append(data)


# --- the arithmetic ---------------------------------------------------------------------------------------------------


def plates_again(says: str) -> float:
    """``"Beacon: 2 sheets × (4 + 1) + 1 sheet × 1 for both sides"`` reckoned by its signs alone."""
    sign_by_sign = re.sub(r"sheets?|for both sides", "", says.partition(": ")[2]).replace("×", "*")
    assert re.fullmatch(r"[\d\s*+(),]+", sign_by_sign)
    return float(eval(sign_by_sign.replace(",", "")))


def paper_again(says: str) -> float:
    """``"Hearth: 2 sheets × 2,155 of 1620 x 1200 mm at 90 g/m2 + …"`` in kg: mm2 x g/m2 = 1e-9 kg."""
    kg = 0.0
    for term in says.partition(": ")[2].split(" + "):
        found = re.fullmatch(r"([\d,]+) sheets? × ([\d,]+) of ([\d.]+) x ([\d.]+) mm at ([\d.]+) g/m2", term)
        assert found is not None, term
        kg += prod(float(figure.replace(",", "")) for figure in found.groups()) * 1e-9
    return kg


def test_how_plates_and_paper_came_about_reckons_to_their_quantities(five: tuple[Plan, ...]) -> None:
    held = 0
    for plan in five:
        assert plan.cost is not None
        for line in plan.cost.lines:
            if line.what == "plates":
                assert plates_again(line.says) == line.quantity
                held += 1
            if line.what == "paper":
                assert paper_again(line.says) == pytest.approx(line.quantity, rel=1e-9)
                held += 1
    assert held >= 10


# --- side by side -----------------------------------------------------------------------------------------------------


def cell(row: Row, nth: int) -> float:
    return float(re.sub(r"[^\d.]", "", row.cells[nth]))


def test_rows_say_what_the_plans_are_and_cost(five: tuple[Plan, ...]) -> None:
    made = {row.name: row for row in rows(five)}
    for nth, plan in enumerate(five):
        assert plan.cost is not None and plan.cost.total is not None
        assert cell(made["sheets"], nth) == len(plan.instructions.sheets)
        assert cell(made["plates"], nth) == sum(run.plates for run in plan.runs)
        assert cell(made["sheets to buy"], nth) == sum(run.gross_sheets for run in plan.runs)
        kg = sum(line.quantity for line in plan.cost.lines if line.what == "paper")
        assert cell(made["paper to buy"], nth) == pytest.approx(kg, abs=0.051)
        assert cell(made["total, crowns"], nth) == plan.cost.total
        assert cell(made["a copy, crowns"], nth) == pytest.approx(plan.cost.total / 1500, abs=0.0005)
        benches = [
            row for name, row in made.items() if name.endswith(", crowns") and not row.sum and "copy" not in name
        ]
        assert round(sum(cell(row, nth) for row in benches), 2) == plan.cost.total
        # 76 leaves of 117 um: 90 g/m2 at a bulk of 1.3 cm3/g (ISO 534: thickness = grammage x bulk)
        assert cell(made["thickness"], nth) == pytest.approx(76 * 0.117, abs=0.05)
    assert made["blanks"].cells == ("2",) * 5  # 150 pages in 152
    for nth in range(1, 5):
        first, here = five[0].cost, five[nth].cost
        assert first and here and first.total and here.total
        assert made["total, crowns"].against_first(nth) == f"{here.total - first.total:,.2f} more"
    assert made["blanks"].against_first(1) == "the same"
    assert made["press"].against_first(1) == ""


@pytest.mark.parametrize("width", [40, 80, 118, 120, 300])
def test_the_table_keeps_to_the_width_of_the_terminal(five: tuple[Plan, ...], width: int) -> None:
    long = tuple(evolve(plan, title="夜の歌 " * 60) for plan in five)
    text = plans_text(long, width)
    assert max(cell_len(line) for line in text.splitlines()) <= min(width, 120)
    assert "\x1b" not in text, "plain where nobody sees letters in bold"
    for number in range(1, 6):
        assert re.search(rf"^ .*plan {number}\b", text, re.MULTILINE), "every plan has its column"
    assert five[0].cost is not None and f"{five[0].cost.total:,.2f}" in text


def test_the_text_says_all_that_the_best_plan_says(five: tuple[Plan, ...]) -> None:
    text = " ".join(plans_text(five).split())
    best = five[0]
    for said in (*best.reasons, *best.assumptions, *best.rules, *best.offers):
        assert " ".join(said.split()).rstrip(".") in text
    assert best.cost is not None
    for line in best.cost.lines:
        assert line.says in text and f"= {line.amount:,.2f}." in text
    assert all(plan.reasons[0] in text for plan in five[1:])


def test_titles_do_not_steer_the_terminal(five: tuple[Plan, ...]) -> None:
    odd = evolve(five[0], title="\x1b[31mred[/] [bold]loud[/bold]\nPlan 9")
    first = plans_text([odd]).splitlines()[0]
    assert "\x1b" not in first and "[bold]loud[/bold] Plan 9" in first


# --- the page ---------------------------------------------------------------------------------------------------------


def test_a_title_is_text_and_nothing_on_the_page_runs_or_loads(page: str) -> None:
    assert NASTY not in page and "&lt;script&gt;" in page
    read = Tables(page)
    assert NASTY in read.words
    assert not [tag for tag, _ in read.tags if tag in ("script", "link", "img", "iframe", "image")]
    policy = next(a["content"] or "" for t, a in read.tags if a.get("http-equiv") == "Content-Security-Policy")
    assert policy.startswith("default-src 'none'") and "script-src" not in policy and "unsafe" not in policy
    style = re.search(r"<style>(.*?)</style>", page, re.DOTALL)
    assert style is not None
    assert base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode() in policy
    assert not re.search(r'(?:href|src)="(?!#)', page), "only places on the page itself"
    assert not [a for _, given in read.tags for a in given if a == "style" or a.startswith("on")]


def test_amounts_on_the_page_are_those_of_the_plans(five: tuple[Plan, ...], page: str) -> None:
    tables = Tables(page).tables["cost"]
    assert len(tables) == 5

    def told(line: CostLine) -> list[str]:
        return [line.what, line.says, f"{line.price:,.2f}", f"{line.amount:,.2f}"]

    for plan, table in zip(five, tables, strict=True):
        assert plan.cost is not None
        head, *body, total = table
        assert head[-1] == "cost, crowns"
        assert [[r[0], r[1], r[3], r[4]] for r in body] == [told(line) for line in plan.cost.lines]
        for row in body:
            # with a pencil: the quantity as printed times the price is the amount, to what four places leave open
            many = float(row[2].split()[0].replace(",", ""))
            assert many * float(row[3]) == pytest.approx(float(row[4].replace(",", "")), abs=0.02)
        assert total[0] == "total" and total[-1] == f"{plan.cost.total:,.2f}"


def test_what_differs_is_said_in_words_beside_the_figure(five: tuple[Plan, ...], page: str) -> None:
    (table,) = Tables(page).tables["beside"]
    said = {row[0]: row[1:] for row in table[1:]}
    total = said["total, crowns"]
    best = five[0].cost
    assert best is not None and best.total is not None
    assert total[0] == f"{best.total:,.2f}"
    for shown, plan in zip(total[1:], five[1:], strict=True):
        assert plan.cost is not None and plan.cost.total is not None
        assert shown == f"{plan.cost.total:,.2f} {plan.cost.total - best.total:,.2f} more"
    assert said["blanks"] == ["2"] * 5, "nothing is said where nothing differs"
    heavy = re.findall(r"<td><b>([^<]*)</b>", page)
    assert five[-1].press.name in heavy and five[0].stock not in heavy


def test_every_side_of_every_kind_is_drawn_with_its_pages(five: tuple[Plan, ...], page: str) -> None:
    for number, plan in enumerate(five, 1):
        part = page.partition(f'id="plan-{number}"')[2].partition("</section>")[0]
        assert part.count("<svg") == 2 * len(plan.kinds)
        assert part.count(">gripper edge<") == part.count(">side lay<") == 2 * len(plan.kinds)
        for kind in plan.kinds:
            sheet = kind.sheets[0]
            for side in ("front", "back"):
                drawn = part.partition(f'aria-label="Sheet {sheet}, {side}"')[2].partition("</svg>")[0]
                shown = re.findall(r'paint-order="stroke">(\d+|blank)</text>', drawn)
                stand = [
                    "blank" if place.page is None else str(place.page + 1)
                    for place in (*plan.places, *plan.again)
                    if (place.sheet, place.side.value) == (sheet, side)
                ]
                assert sorted(shown) == sorted(stand), "copies of a page are drawn too"


def test_a_missing_price_is_said_and_not_added(page: str) -> None:
    presses = tuple(press.model_copy(update={"plate_price": None}) for press in HOUSE.presses)
    made = plans(40, DEMY, Job(book=Book(binding="stitched")), HOUSE.model_copy(update={"presses": presses}),
                 title="x", most=2)  # fmt: skip
    said = Tables(plans_html(made).decode("utf-8"))
    assert said.tables["cost"][0][-1][-1] == "not known"
    assert any(row[0] == "plates" and row[3:] == ["not stated", "not known"] for row in said.tables["cost"][0])
    assert "no price is stated for plates" in said.words
    assert "no price stated" in plans_text(made)
