# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a book says of itself is set as it stands in report.pdf, tickets.pdf and the dummy: never read as markup.

Read back with poppler, which had no part in setting it.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from types import ModuleType

import pytest
from attrs import evolve

from foldproof.report.causes import causes
from foldproof.report.pictures import Pictures
from foldproof.report.printed import report_pdf
from foldproof.tickets.dummy import write_dummy
from foldproof.tickets.write import write_tickets
from tests.tickets.works import work_of

#: each would do something, or vanish, were it markup of the typesetter
SOURCES = (
    '#read("/etc/passwd")', '#import "lamp.typ": *', "#include 'lamp.typ'", "#{31337 * 2}", "#panic()", "#let x = 1",
    '#eval("31337 * 2")', "#sys.inputs", "$31337^2 mat(1)$", "[lamp]", "@lamp", "<lamp>", "*lamp*", "_lamp_", "`lamp`",
    "= lamp", "+ lamp", "/ lamp: row", "\\u{41}", "\\", "~", "//lamp", "/*lamp*/", '#image("/etc/passwd")', "https://x.invalid",
    "#set page(height: 1pt)", "#show: none", "{{lamp}}", "]", "}", ")", '"',
)  # fmt: skip
TITLE = " ".join(SOURCES)
needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="no pdftotext on this machine")


def read_back(path: Path) -> str:
    """All text of a PDF without blanks: where lines break is nobody's business."""
    done = subprocess.run(["pdftotext", "-raw", str(path), "-"], capture_output=True, text=True, check=True)
    return "".join(done.stdout.split())


@pytest.fixture(scope="module")
def printed(samples: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The three, of a book whose every text is markup."""
    out = tmp_path_factory.mktemp("out")
    book = samples.results(out / f"{SOURCES[0].replace('/', '')}.pdf", title=TITLE, nasty=TITLE)
    book = evolve(book, settings=evolve(book.settings, house=TITLE), manuscript=evolve(book.manuscript, author=TITLE))
    plan = evolve(book.plan, stock=TITLE, press=evolve(book.plan.press, name=TITLE), offers=(TITLE,))
    book = evolve(book, plan=plan)
    (out / "report.pdf").write_bytes(report_pdf(book, causes(book), Pictures({}, {})))
    write_tickets(work_of(plan, folios=(TITLE,) * 30, first_lines=(TITLE,) * 30), out / "tickets.pdf")
    write_dummy(plan, out / "dummy.pdf")
    return {name: out / f"{name}.pdf" for name in ("report", "tickets", "dummy")}


@needs_poppler
@pytest.mark.parametrize(("name", "times"), [("report", 4), ("tickets", 2), ("dummy", 1)])
def test_markup_is_set_letter_by_letter(printed: dict[str, Path], name: str, times: int) -> None:
    text = read_back(printed[name])
    for source in SOURCES:
        assert text.count("".join(source.split())) >= times, source
    assert "root:" not in text and "62674" not in text and "981970" not in text


@needs_poppler
def test_it_would_be_noticed(tmp_path: Path) -> None:
    """The same text as source: what is markup runs, and does not come out as it went in."""
    import typst

    for source, out in (("#{31337 * 2}", "62674"), ("*lamp*", "lamp"), ("//lamp", "")):
        (tmp_path / "a.pdf").write_bytes(typst.compile(source.encode(), format="pdf"))
        assert read_back(tmp_path / "a.pdf") == out
