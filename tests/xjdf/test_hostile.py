# SPDX-License-Identifier: AGPL-3.0-or-later
"""A file that is no job ticket, or wants to do harm, ends in one sentence, and soon."""

from __future__ import annotations

import random
import re
from functools import cache
from pathlib import Path

import pytest

from foldproof.errors import AskedWrong
from foldproof.xjdf import source
from foldproof.xjdf.held import held
from foldproof.xjdf.model import HeldPlan
from foldproof.xjdf.read import read_xjdf, told_by
from foldproof.xjdf.write import job_ticket
from tests.xjdf.jobs import planned

NAMESPACE = "http://www.CIP4.org/JDFSchema_2_0"


@cache
def sound() -> str:
    """Two sections and a wrap, so that most kinds of element are there."""
    job = {
        "sections": {"pages": 16, "short": "wrapped"},
        "book": {"binding": "glued"},
        "press": {"way": "work and turn"},
    }
    work = planned(40, job)
    return job_ticket(work, held(work.plan)).decode("utf-8")


def refused(folder: Path, content: str | bytes) -> str:
    """The one sentence that a file is refused with."""
    path = folder / "job.xjdf"
    path.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    with pytest.raises(AskedWrong) as told:
        told_by(path)
    said = str(told.value)
    assert said.startswith((str(path), "The job ticket"))
    assert said.endswith(".") and "\n" not in said and len(said) < 400
    return said


def with_head(head: str) -> str:
    text = sound()
    return text.replace("?>", "?>" + head, 1)


LAUGHS = (
    "<!DOCTYPE XJDF [<!ENTITY a 'ha'>"
    + "".join(f"<!ENTITY {one} '{f'&{other};' * 10}'>" for other, one in zip("abcdefghi", "bcdefghij", strict=True))
    + "]>"
)


@pytest.mark.parametrize(
    "head",
    [
        "<!DOCTYPE XJDF>",
        LAUGHS,
        '<!DOCTYPE XJDF [<!ENTITY out SYSTEM "file:///etc/passwd">]>',
        '<!DOCTYPE XJDF SYSTEM "http://localhost:9/none.dtd">',
        '<!DOCTYPE XJDF [<!ENTITY % out SYSTEM "file:///etc/passwd"> %out;]>',
        "<!-- a comment with <!DOCTYPE in it -->",
    ],
)
def test_document_types_and_entities_are_refused_before_they_are_parsed(
    tmp_path: Path, head: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("it was parsed")

    monkeypatch.setattr(source.ET, "fromstring", never)
    assert "declares a document type or entities" in refused(tmp_path, with_head(head))


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-32", "utf-7", "cp037"])
def test_no_other_encoding_hides_them(tmp_path: Path, encoding: str) -> None:
    text = with_head(LAUGHS).replace("utf-8", encoding)
    refused(tmp_path, text.encode(encoding))
    refused(tmp_path, sound().replace("utf-8", encoding).encode("ascii", "xmlcharrefreplace"))


def test_undeclared_entities_are_no_whole_xml(tmp_path: Path) -> None:
    assert "no whole XML" in refused(tmp_path, sound().replace('Type="', 'Type="&out;', 1))


def test_a_mark_of_the_encoding_before_it_does_no_harm(tmp_path: Path) -> None:
    path = tmp_path / "job.xjdf"
    path.write_bytes(b"\xef\xbb\xbf" + sound().encode("utf-8"))
    assert read_xjdf(path).pages == 40


def test_size_and_number_of_elements_are_bounded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(source, "MOST_ELEMENTS", 500)
    assert "more than 500 elements" in refused(tmp_path, f"<XJDF xmlns='{NAMESPACE}'>" + "<a/>" * 600 + "</XJDF>")
    monkeypatch.setattr(source, "MOST_BYTES", 1_000_000)
    assert "larger than 1 MB" in refused(tmp_path, b"<" * 1_000_001)


def test_a_deep_file_ends_in_a_sentence(tmp_path: Path) -> None:
    deep = 100_000
    refused(tmp_path, f"<XJDF xmlns='{NAMESPACE}'>" + "<Comment>" * deep + "</Comment>" * deep + "</XJDF>")
    inside = '<AssemblySection BinderySignatureID="1A">' * deep + "</AssemblySection>" * deep
    text = re.sub(r"<AssemblySection .*</AssemblySection>", lambda _: inside, sound(), flags=re.DOTALL)
    assert len(text) > 5_000_000
    refused(tmp_path, text)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "no whole XML"),
        (b"\xff\xfe\x00", "not UTF-8"),
        ("<XJDF/>", "first element is not XJDF"),
        (f"<JDF xmlns='{NAMESPACE}'/>", "first element is not XJDF"),
        (f"<XJDF xmlns='{NAMESPACE}'/>", "no ProductList"),
        ("{}", "no whole XML"),
    ],
)
def test_what_is_no_job_ticket(tmp_path: Path, content: str | bytes, says: str) -> None:
    assert says in refused(tmp_path, content)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(AskedWrong, match="cannot be read: no such file"):
        read_xjdf(tmp_path / "job.xjdf")
    with pytest.raises(AskedWrong, match="cannot be read: is a directory"):
        read_xjdf(tmp_path)


@pytest.mark.parametrize(
    ("was", "now"),
    [
        (r'Travel="[^"]*"', 'Travel="nan"'),
        (r'Travel="[^"]*"', 'Travel="1e400"'),
        (r'Travel="[^"]*"', 'Travel="-5"'),
        (r'Travel="[^"]*"', 'Travel="9999"'),
        (r'NumberUp="[^"]*"', 'NumberUp="1000000000 1000000000"'),
        (r'NumberUp="[^"]*"', 'NumberUp="2"'),
        (r'NPage="[^"]*"', 'NPage="-1"'),
        (r'NPage="[^"]*"', f'NPage="{"9" * 5000}"'),
        (r'CTM="[^"]*"', 'CTM="1 0 0 1 0"'),
        (r'Ord="[^"]*"', 'Ord="1.5"'),
        (r'From="[^"]*"', 'From="Right"'),
        (r'To="[^"]*"', 'To="Over"'),
        (r'PaperRef="[^"]*"', 'PaperRef="M99"'),
        (r'PositionRef="[^"]*"', 'PositionRef="P99Z"'),
        (r'SheetName="[^"]*"', 'SheetName="S01"'),
        (r'Orientation="Rotate[^"]*"', 'Orientation="Rotate45"'),
        (r'WorkStyle="[^"]*"', 'WorkStyle="WorkAndPray"'),
        (r'BindingType="[^"]*"', 'BindingType="CoilBinding"'),
    ],
)
def test_values_that_cannot_be(tmp_path: Path, was: str, now: str) -> None:
    text, count = re.subn(was, lambda _: now, sound())
    assert count
    refused(tmp_path, text)


def test_whatever_is_lost_or_changed_it_is_read_or_refused(tmp_path: Path) -> None:
    """Sixty spoilt files: attributes lost, values swapped, elements lost or doubled, bytes changed."""
    chance = random.Random(7)
    text = sound()
    path = tmp_path / "job.xjdf"
    attributes = [found.span() for found in re.finditer(r' [A-Za-z]+="[^"]*"', text)]
    leaves = [found.span() for found in re.finditer(r"<[A-Z][A-Za-z]+ [^<>]*/>", text)]
    read = 0
    for _ in range(60):
        how = chance.randrange(5)
        a, b = chance.choice(attributes if how < 2 else leaves)
        c, d = chance.choice(attributes)
        spoilt = (
            text[:a] + text[b:],
            text[:a] + text[c:d] + text[b:],
            text[:a] + text[b:],
            text[:b] + text[a:],
            text[:a] + chance.choice("<>&\"' 09-.e") + text[a + 1 :],
        )[how]
        path.write_text(spoilt, "utf-8")
        try:
            assert isinstance(read_xjdf(path), HeldPlan)
            told_by(path)
            read += 1
        except AskedWrong as told:
            assert str(told).endswith(".") and "\n" not in str(told)
    assert 0 < read < 60
