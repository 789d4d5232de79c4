# SPDX-License-Identifier: AGPL-3.0-or-later
"""What tests share: where the outside material lies, and how to run the command line as a user does."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
#: outside material, never part of the project: tests that read it skip where it is absent
SHARED = Path(os.environ.get("FOLDPROOF_SHARED", ROOT.parent / "shared"))

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session")
def shared() -> Path:
    if not SHARED.is_dir():
        pytest.skip("no ../shared beside the project")
    return SHARED


@pytest.fixture(scope="session")
def corpus(shared: Path) -> Path:
    if not (shared / "corpus").is_dir():
        pytest.skip("no ../shared/corpus beside the project")
    return shared / "corpus"


@pytest.fixture(scope="session")
def tool() -> Callable[[str], str]:
    """Path of an independent tool; skips the test where the tool is not installed."""

    def find(name: str) -> str:
        found = shutil.which(name)
        if found is None:
            pytest.skip(f"{name} is not installed")
        return found

    return find


@pytest.fixture(scope="session")
def foldproof() -> Callable[..., subprocess.CompletedProcess[str]]:
    """The command line in a process of its own: ``foldproof("make", book, "-o", out)``."""

    def run(*words: object, seconds: float = 120, **more: object) -> subprocess.CompletedProcess[str]:
        env = {**os.environ, **dict(more.pop("env", {}))}  # type: ignore[call-overload]
        return subprocess.run(
            [sys.executable, "-m", "foldproof", *map(str, words)],
            capture_output=True, text=True, timeout=seconds, stdin=subprocess.DEVNULL, env=env, check=False, **more,  # type: ignore[call-overload]
        )  # fmt: skip

    return run
