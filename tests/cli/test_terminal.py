# SPDX-License-Identifier: AGPL-3.0-or-later
"""Names of files and words of job and house files may hold commands to a terminal; none is passed on.

ECMA-48: a control function begins with ESC (U+001B), or with one of the controls from U+0080 to U+009F.
"""

from __future__ import annotations

import unicodedata
from importlib import resources
from pathlib import Path

import pytest
import typer

from foldproof.cli.ending import says
from foldproof.cli.house import house
from foldproof.errors import NoPlan, Unreadable
from foldproof.report.words import clean

COMMANDS = "\x1b[31m", "\x9b32m", "\x1b]0;title\x07", "\x08\x08", "\u202e", "\u2066", "\x00", "\x7f"


def plain(text: str) -> bool:
    held = {sign for sign in text if unicodedata.category(sign) == "Cc"} - {"\n"}
    return not held and not {"\u202e", "\u2066"} & set(text)


def test_a_sentence_is_one_line_of_text(capsys: pytest.CaptureFixture[str]) -> None:
    name = f"a{''.join(COMMANDS)}\r\nb\u2028c.pdf"
    says(Unreadable(f"{name} is damaged."))
    says(NoPlan(f"{name} does not fit.", (f"a smaller {name}",)))
    told = capsys.readouterr().err
    assert plain(told) and told.count("\n") == 3 and "is damaged." in told
    assert not plain(name), "this test would notice"


def test_a_house_is_printed_as_text(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shipped = resources.files("foldproof.job").joinpath("houses", "lantern-row.toml").read_text("utf-8")
    ours = shipped.replace('name = "Lantern Row Press"', r'name = "Row\u001b[31m\u009b32m\u202e"')
    assert ours != shipped
    (tmp_path / "house.toml").write_text(ours, encoding="utf-8")
    with pytest.raises(typer.Exit) as ended:
        house(tmp_path / "house.toml")
    assert ended.value.exit_code == 0
    told = capsys.readouterr().out
    assert told.startswith("Row\ufffd[31m\ufffd32m\ufffd\n") and plain(told)


def test_what_every_output_leaves_out() -> None:
    assert plain(clean("".join(COMMANDS)))
    assert clean("Lamplighter’s 燈 \u00a0é\u0301\t\n") == "Lamplighter’s 燈 \u00a0é\u0301\t\n"
