# SPDX-License-Identifier: AGPL-3.0-or-later
"""Scripts and markup in every text of a book do nothing in what is written about it, and this test would notice.

The pages of one real run over a hostile book are opened in a browser that tells of everything that runs, loads, is
refused or goes elsewhere.  The same pages with nothing escaped, and without their policy, must set it off.
"""

from __future__ import annotations

import html
import json
import re
import subprocess
import sys
import unicodedata
from functools import partial
from pathlib import Path
from types import ModuleType
from urllib.parse import unquote_to_bytes
from xml.etree import ElementTree as ET

import jinja2
import pytest

from foldproof.batch.index import index_html
from foldproof.batch.model import BookEnd
from foldproof.report.plan_page import plans_html
from tests.browser.driver import Browser
from tests.browser.hostile import BROKEN, JOB, NAME, hostile, hostile_book
from tests.browser.watch_page import amiss, watched

#: pages of ours: how their titles end, how many scripts they have, and whose text stands on them
PAGES = {
    "report.html": (
        "– Foldproof report", 1,
        {"name", "jobtitle", "xmpcreator", "waived", "waiver", "attached", "gts_pdfxversion", "remark0"}
        | {"layer1", "layer2", "layer3", *(f"{kind}{n}" for kind in ("font", "ink") for n in range(10))},
    ),
    "index.html": ("– Foldproof batch", 1, {"name", "font0", "link", "quote", "bytes", "lamp"}),
    "plans.html": ("– Foldproof plans", 0, {"jobtitle", "ink0", "ink9"}),
}  # fmt: skip
TAG = re.compile(r"ran(?:\(['`](\w+)|`(\w+)`)")


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A batch of the hostile book and of files that are none, and the book's plans: every file, by its name."""
    root = tmp_path_factory.mktemp("hostile")
    books, out = root / "books", root / "made"
    books.mkdir()
    book = hostile_book(books / NAME)
    job = book.with_suffix(".toml")
    job.write_text(JOB, encoding="utf-8")
    for name in BROKEN:
        (books / name).write_bytes(b"%PDF-1.7\nnothing\n")
    run = partial(subprocess.run, capture_output=True, timeout=300, check=False, stdin=subprocess.DEVNULL)
    batch = run([sys.executable, "-m", "foldproof", "batch", books, "-o", out, "-q"])
    plan = run([sys.executable, "-m", "foldproof", "plan", book, "--job", job, "-o", root / "plans.html", "-q"])
    assert plan.returncode == 0, plan.stderr
    (folder,) = (path for path in out.iterdir() if (path / "report.html").is_file())
    (root / "stdout.txt").write_bytes(batch.stdout)
    (root / "stderr.txt").write_bytes(batch.stderr)
    return {
        **{path.name: path for path in folder.iterdir()},
        **{name: root / name for name in ("plans.html", "stdout.txt", "stderr.txt")},
        "index.html": out / "index.html", "summary.json": out / "summary.json", "batch.xml": out / "junit.xml",
    }  # fmt: skip


@pytest.fixture(scope="module")
def watching(browser: Browser) -> Browser:
    watched(browser)
    return browser


@pytest.mark.parametrize("name", PAGES)
def test_nothing_runs_and_everything_is_text(watching: Browser, made: dict[str, Path], name: str) -> None:
    title, scripts, tags = PAGES[name]
    assert amiss(watching, made[name], scripts=scripts, title=title) == []
    text = watching.js("document.body.textContent")
    assert {first or second for first, second in TAG.findall(text)} >= tags, "shown, letter by letter"
    assert "62674" not in text, "no template language reckons 31337 * 2"
    shown = " ".join(text.split())
    if "jobtitle" in tags:
        assert hostile("jobtitle") in shown
    assert not set("\x00\x1b\x7f\u202e\u2066") & set(text)


@pytest.mark.parametrize("name", PAGES)
def test_it_would_be_noticed(watching: Browser, made: dict[str, Path], name: str, tmp_path: Path) -> None:
    title, scripts, tags = PAGES[name]
    page = made[name].read_text("utf-8")
    # as if nothing had been escaped; the policy still stands
    bare = tmp_path / name
    bare.write_text(html.unescape(page), "utf-8")
    found = amiss(watching, bare, scripts=scripts, title=title)
    assert [line for line in found if line.startswith("refused: script-src")], found
    assert not [line for line in found if line.startswith("ran")], "the policy alone holds it back"
    # and as if there were no policy either
    open_page = re.sub(r"<meta http-equiv=\"Content-Security-Policy\"[^>]*>", "", html.unescape(page))
    assert len(open_page) < len(html.unescape(page)) - 100
    bare.write_text(open_page, "utf-8")
    ran = {line.removeprefix("ran: ") for line in amiss(watching, bare, scripts=scripts, title=title)}
    assert ran & tags, "what runs says its name"
    # as if it were escaped, but had no policy: nothing runs all the same
    bare.write_text(re.sub(r"<meta http-equiv=\"Content-Security-Policy\"[^>]*>", "", page), "utf-8")
    assert amiss(watching, bare, scripts=scripts, title=title) == []


def test_templates_that_do_not_escape_would_be_noticed(
    watching: Browser, samples: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    end = BookEnd(hostile("booked") + ".pdf", "a", 3, (hostile("sentence"),))
    plan = samples.plan(title=hostile("planned"))
    wanted = {"index.html": (index_html, (end,)), "plans.html": (plans_html, (plan,))}
    for name, (render, given) in wanted.items():
        title, scripts, _ = PAGES[name]
        (tmp_path / name).write_bytes(render(given))
        assert amiss(watching, tmp_path / name, scripts=scripts, title=title) == []
    plain = jinja2.Environment
    monkeypatch.setattr(jinja2, "Environment", lambda **given: plain(**{**given, "autoescape": False}))
    for name, (render, given) in wanted.items():
        title, scripts, _ = PAGES[name]
        (tmp_path / name).write_bytes(render(given))
        found = amiss(watching, tmp_path / name, scripts=scripts, title=title)
        assert [line for line in found if line.startswith("refused: script-src")], found
        assert not [line for line in found if line.startswith("ran")]


def _no_commands(text: str) -> None:
    """No sign that a terminal, a parser or the order of a line would obey."""
    bad = {sign for sign in text if unicodedata.category(sign) in ("Cc", "Cs") and sign not in "\n\t\r"}
    assert not bad | (set(text) & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"))


@pytest.mark.parametrize("name", ["letter.txt", "stdout.txt", "stderr.txt"])
def test_plain_text_holds_no_command(made: dict[str, Path], name: str) -> None:
    text = made[name].read_bytes().decode("utf-8")
    _no_commands(text)
    assert "onerror=ran(" in text or name == "stderr.txt"
    if name == "letter.txt":
        assert all(len(line) <= 72 for line in text.splitlines() if " " in line.strip())


@pytest.mark.parametrize("name", ["junit.xml", "batch.xml"])
def test_xml_is_well_formed_and_says_it_letter_by_letter(made: dict[str, Path], name: str) -> None:
    raw = made[name].read_bytes()
    top = ET.fromstring(raw)
    _no_commands(raw.decode("utf-8"))
    said = "\n".join((*top.itertext(), *(value for e in top.iter() for value in e.attrib.values())))
    assert {element.tag for element in top.iter()} <= {
        "testsuites", "testsuite", "testcase", "failure", "error", "skipped", "system-out"
    }  # fmt: skip
    assert "font8 ]]><script>ran('font8')</script><![CDATA[" in said


def test_json_names_every_book_as_the_system_does(made: dict[str, Path]) -> None:
    raw = made["summary.json"].read_bytes()
    _no_commands(raw.decode("utf-8"))
    assert {book["name"] for book in json.loads(raw)["books"]} == {NAME, *BROKEN}
    for name in ("findings.json", "plan.json", "proof.json", "findings.sarif"):
        text = made[name].read_bytes().decode("utf-8")
        _no_commands(text)
        assert isinstance(json.loads(text), dict)


def test_sarif_points_at_the_very_file(made: dict[str, Path]) -> None:
    log = json.loads(made["findings.sarif"].read_bytes())
    places = {log["runs"][0]["artifacts"][0]["location"]["uri"]}
    places |= {
        place["physicalLocation"]["artifactLocation"]["uri"]
        for result in log["runs"][0]["results"]
        for place in result["locations"]
    }
    (uri,) = places
    # RFC 3986, 2 and 4.1: unreserved signs and percent-encoded bytes alone, so nothing in it is an address or a step up
    assert re.fullmatch(r"(?:[A-Za-z0-9._~-]|%[0-9A-F]{2})+", uri)
    assert unquote_to_bytes(uri).decode("utf-8") == NAME
