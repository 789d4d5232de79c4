# SPDX-License-Identifier: AGPL-3.0-or-later
"""A stop that Python or a library loses on its way is heeded all the same."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from foldproof.cli import stopping
from foldproof.cli.ending import ends
from foldproof.cli.watching import Heeding
from foldproof.desk import Nobody
from foldproof.errors import ExitCode
from tests.build import book

LOST = """
import os, signal, weakref
from foldproof.cli.stopping import listen
from foldproof.cli.watching import watching

class Thing: ...
listen()
thing = Thing()
kept = weakref.ref(thing, lambda _: os.kill(os.getpid(), signal.SIGINT))
with watching(quiet=True) as watch:
    watch.stage("read", 0)
    del thing
    print("went on", flush=True)
    watch.stage("check", 8)
    print("went on too far", flush=True)
"""


def test_a_stop_that_fell_into_a_callback_comes_at_the_next_step() -> None:
    done = subprocess.run([sys.executable, "-c", LOST], capture_output=True, text=True, check=False)
    # "went on" shows that Python dropped it; nothing is printed of that
    assert "Exception ignored" not in done.stderr
    assert done.stdout == "went on\n" and done.stderr.rstrip().endswith("KeyboardInterrupt")


LOADING = """
import enum, os, signal, sys
from foldproof.cli import main

create = enum.EnumType._create_
def stopped(cls, name, *more, **named):
    if name == "EncryptionMethod":  # asked for by the extension of pikepdf, as it is being loaded
        print("sent", flush=True)
        os.kill(os.getpid(), signal.SIGINT)
    return create(cls, name, *more, **named)
enum.EnumType._create_ = stopped
sys.argv = ["foldproof", "check", sys.argv[1], "-q"]
main()
"""


def test_a_stop_while_an_extension_is_loaded_waits_until_it_is(tmp_path: Path) -> None:
    """Raised within, it makes the extension abort the process."""
    words = [sys.executable, "-c", LOADING, str(book(4, tmp_path / "book.pdf"))]
    done = subprocess.run(words, capture_output=True, text=True, check=False, timeout=60)
    assert done.stdout == "sent\n"
    assert done.returncode == ExitCode.INTERRUPTED, done.stderr
    assert done.stderr == "foldproof: stopped before the end; nothing was left half-written.\n"


def test_a_stop_that_a_library_turns_into_another_error_is_a_stop(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import typer

    @ends
    def body() -> ExitCode:
        raise ImportError("an extension that was being loaded")

    with pytest.raises(typer.Exit) as ended:
        body()
    assert ended.value.exit_code == ExitCode.OUR_FAULT
    monkeypatch.setattr(stopping, "told", [])
    monkeypatch.setattr("foldproof.cli.ending.heard", [2])
    with pytest.raises(typer.Exit) as ended:
        body()
    assert ended.value.exit_code == ExitCode.INTERRUPTED
    assert "stopped before the end" in capsys.readouterr().err


def test_who_was_not_told_to_stop_goes_on() -> None:
    watch = Heeding(Nobody())
    watch.stage("read", 0)
    watch.advance(1)
