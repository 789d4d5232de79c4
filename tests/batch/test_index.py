# SPDX-License-Identifier: AGPL-3.0-or-later
"""index.html: one line a book, links that lead where they say, nothing but text from names and sentences."""

from __future__ import annotations

import hashlib
import os
import re
from base64 import b64encode
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote_to_bytes, urljoin, urlsplit

import pytest
from attrs import evolve

from foldproof.batch.index import href, index_html
from foldproof.batch.model import BookEnd
from tests.batch.ends import ENDS, ODD, checked, end, many


class Page(HTMLParser):
    """A page as a general parser reads it: rows of cells as text, links, and the text of script and style."""

    def __init__(self, content: bytes) -> None:
        super().__init__(convert_charrefs=True)
        self.rows: list[list[str]] = []
        self.links: list[str] = []
        self.raw: dict[str, list[str]] = {"script": [], "style": []}
        self.policy = ""
        self.text = ""
        self._inside: list[str] = []
        self.feed(content.decode("utf-8"))
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self._inside.append(tag)
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th"):
            self.rows[-1].append("")
        elif tag == "a":
            self.links.append(given["href"] or "")
        elif tag == "meta" and given.get("http-equiv") == "Content-Security-Policy":
            self.policy = given["content"] or ""

    def handle_endtag(self, tag: str) -> None:
        while self._inside and self._inside.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        if self._inside and self._inside[-1] in self.raw:
            self.raw[self._inside[-1]].append(data)
            return
        self.text += data
        if {"td", "th"} & set(self._inside):
            self.rows[-1][-1] += data


def test_every_book_has_its_line_the_worst_first() -> None:
    page = Page(index_html(ENDS))
    head, *rows = page.rows
    assert [cell.strip() for cell in head] == [
        "book", "outcome", "pages", "sheets", "stops", "queries", "notes", "proof", "in a sentence"
    ]  # fmt: skip
    # the order of the codes: foldproof.errors
    assert [row[0].removesuffix("letter").strip().partition(".pdf")[0] for row in rows] == [
        "kilns", "hearths", "flues/gas", "inks", "cellars", "dials", "embers", "ballads", "lamps", "jobbing", "almanack"
    ]  # fmt: skip
    lines = {row[0].partition(".pdf")[0]: [cell.strip() for cell in row[1:]] for row in rows}
    assert lines["ballads"] == [
        "stopped by a finding (1)", "120", "4", "2", "1", "3", "proved",
        "bleed: Ink stops at the head of page 7. (pages 7, 9)",
    ]  # fmt: skip
    assert lines["embers"] == ["no plan fits (4)", "120", "", "0", "0", "3", "", "No press takes a page of 900 mm."]
    assert lines["dials"][:7] == ["cannot be read (3)", "", "", "", "", "", ""], "not looked at is not nothing found"
    assert "Of 11 books 1 can go to press as it is, 2 once their questions are answered, 8 cannot yet." in page.text
    assert "The worst: kilns.pdf, a fault of ours." in page.text
    assert "only what needs a person (10)" in page.text
    # by hand: six books of 120 pages came through the checks, five of them with a plan of four sheets
    assert "720 pages read, 20 press sheets made." in page.text


@pytest.mark.parametrize("number", [0, 1, 60, 1000])
def test_it_holds_any_number_of_books(number: int) -> None:
    ends = many(number)
    content = index_html(ends)
    assert len(Page(content).rows) == number + 1
    assert len(content) < 30_000 + 1_200 * number
    assert content == index_html(tuple(evolve(e) for e in reversed(ends))), "the same books, the same bytes"


def test_its_policy_names_the_one_style_sheet_and_the_one_script() -> None:
    page = Page(index_html((*ENDS, *(end(name, 3, name) for name in ODD))))
    for kind in ("script", "style"):
        (text,) = page.raw[kind]
        digest = b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in page.policy
    assert page.policy.startswith("default-src 'none';") and "unsafe" not in page.policy


#: names of folders that a file system may hold, some of which an address would read otherwise
FOLDERS = (
    "plain", "a b/c d", "#?q=1&r=2;s", "%2e%2e%2fup", "javascript:alert(1)", "C:\\up\\..\\..", "-rf", "'\"<>",
    "new\nline\r", "\u202eover\u2028", "🏮 lamp", "é", "e\u0301", "~root", "a:b@c", "…", "dots..", "trailing ",
    "\x1b[31m", os.fsdecode(b"\xff\xfe bytes"), "x" * 200,
)  # fmt: skip


@pytest.mark.parametrize("folder", FOLDERS)
def test_a_link_leads_to_the_very_file(tmp_path: Path, folder: str) -> None:
    """Resolved by RFC 3986 (as urllib does), the address names the file that the system has."""
    target = tmp_path / folder / "report.html"
    target.parent.mkdir(parents=True)
    target.write_text("here")
    page = Page(index_html((evolve(checked("a.pdf", 0, 0, 0), folder=folder),)))
    links = [link for link in page.links if link.endswith("/report.html")]
    assert links
    resolved = urlsplit(urljoin((tmp_path / "index.html").as_uri(), links[0]))
    assert resolved.scheme == "file" and not resolved.query and not resolved.fragment and not resolved.netloc
    assert Path(os.fsdecode(unquote_to_bytes(resolved.path))).read_text() == "here"
    assert re.fullmatch(r"\./(?:[A-Za-z0-9._~/-]|%[0-9A-F]{2})+", links[0]), "every other sign is percent-encoded"


@pytest.mark.parametrize("folder", ["..", "../up", "a/../..", ".", "", "/etc", "//host/x", "a//b", "\ud800"])
def test_no_link_leads_out(folder: str) -> None:
    assert href(folder, "report.html") == ""
    page = Page(index_html((evolve(checked("a.pdf", 0, 0, 0), folder=folder),)))
    assert {link for link in page.links if not link.startswith("#")} == {
        "./summary.json", "./junit.xml", "./times.json"
    }  # fmt: skip
    assert page.rows[1][0].strip() == "a.pdf"


def test_links_are_to_what_there_is() -> None:
    def links(of: BookEnd) -> set[str]:
        return {link.rpartition("/")[2] for link in Page(index_html((of,))).links if link.startswith("./book/")}

    whole = evolve(checked("book.pdf", 1, 1, 0), folder="book")
    assert links(whole) == {"report.html", "letter.txt", "sheets.pdf", "tickets.pdf"}
    assert links(evolve(checked("book.pdf", 5, 0, 0), folder="book")) == {"report.html", "letter.txt"}
    assert links(evolve(whole, files=())) == set()
    assert links(end("book.pdf", 3, "It is damaged.")) == set()


def test_names_stay_on_their_line_and_hold_no_command() -> None:
    page = Page(index_html(tuple(end(name, 3, f"{name} is damaged.") for name in ODD)))
    shown = [row[0].strip() for row in page.rows[1:]]
    assert sorted(shown) == sorted(["\ufffd\ufffd.pdf", "..%2f..%2fup.pdf", "a\"b'c<d>&amp;  \ufffd\ufffd]]>.pdf"])
    assert not set("\u202e\x1b\x00") & set(page.text)
