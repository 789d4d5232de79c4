# SPDX-License-Identifier: AGPL-3.0-or-later
"""The snippets of the README's "As a gate", taken out of the README and carried out as they are written.

A wheel of the project goes into a bare virtual environment, and the steps run in a scratch repository.  One thing is
put in place of what the README says: ``git+https://YOUR-HOST/foldproof``, which nobody can install, becomes the wheel
(for the hook: a clone of the project).  Steps that a CI service brings along (``uses:``) are not run; what they are
handed must be there.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import textwrap
import venv
from pathlib import Path
from typing import Any

import pytest
import yaml
from junitparser import JUnitXml

from tests.typeset import Leaf, typeset

ROOT = Path(__file__).parents[2]
HOST = "https://YOUR-HOST/foldproof"
#: what pip says where there is no network, or no registry that it may ask
OFFLINE = re.compile(
    r"NewConnectionError|NameResolutionError|ConnectTimeout|ProxyError|Network is unreachable|No matching distribution"
)


def snippets() -> dict[str, Any]:
    """The YAML blocks of the section, by what they hold."""
    section = (ROOT / "README.md").read_text("utf-8").split("### As a gate", 1)[1].split("\n## ", 1)[0]
    blocks = re.findall(r"(?:^    .*\n|^\n(?=    ))+", section, re.MULTILINE)
    found = {}
    for block in blocks:
        text = textwrap.dedent(block).strip("\n")
        if re.match(r"[a-z_]+:$", text.partition("\n")[0]):
            read = yaml.safe_load(text)
            (first,) = read
            found[{"jobs": "workflow", "repos": "hook"}.get(first, first)] = read
    return found


def pip(*words: str) -> None:
    """The ordinary client; without a network the module is skipped."""
    done = subprocess.run(words, capture_output=True, text=True, check=False, env=environment())
    if done.returncode and OFFLINE.search(done.stderr + done.stdout):
        pytest.skip("no package can be fetched here: " + done.stderr.strip().splitlines()[-1])
    assert done.returncode == 0, done.stderr


def environment(**more: str) -> dict[str, str]:
    """Nothing of the environment that runs the tests."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "VIRTUAL", "FOLDPROOF", "GIT_"))}
    return {**kept, "PIP_DISABLE_PIP_VERSION_CHECK": "1", **more}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    pip(sys.executable, "-m", "pip", "wheel", "--no-deps", "-q", "-w", str(folder), str(ROOT))
    (made,) = folder.glob("foldproof-*.whl")
    return made


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory, wheel: Path) -> Path:
    """A virtual environment with nothing in it but pip; its folder of programs."""
    folder = tmp_path_factory.mktemp("bare") / "venv"
    venv.create(folder, with_pip=True)
    programs = folder / ("Scripts" if os.name == "nt" else "bin")
    (step,) = [line for line in runs(snippets()["workflow"]["jobs"]["book"]["steps"]) if "pip install" in line]
    # held here once, so that a want of network is told as such
    pip("bash", "-e", "-c", f'PATH="{programs}:$PATH"; ' + installs(step, wheel))
    return programs


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A good interior, the same with a picture of 50 ppi, and half of the good one."""
    folder = tmp_path_factory.mktemp("books")
    leaves = [Leaf(number) for number in range(1, 9)]
    made = {"good": typeset(leaves, folder, "good.pdf")}
    made["bad"] = typeset([*leaves[:7], Leaf(8, words=90, picture_px=120)], folder, "bad.pdf")
    made["broken"] = folder / "broken.pdf"
    made["broken"].write_bytes(b"%PDF-1.7\nnothing of a book")
    return made


def runs(steps: list[dict[str, Any]]) -> list[str]:
    return [step["run"] for step in steps if "run" in step]


def installs(line: str, wheel: Path) -> str:
    """The line of the README, with a wheel where it names a host that is not there."""
    assert line.count("git+" + HOST) == 1
    return line.replace("git+" + HOST, wheel.as_uri())


def repository(folder: Path, book: Path) -> Path:
    (folder / "book").mkdir(parents=True, exist_ok=True)
    shutil.copy(book, folder / "book" / "interior.pdf")
    return folder


@pytest.mark.parametrize(("book", "code"), [("good", 0), ("bad", 1), ("broken", 3)])
def test_the_workflow_runs_as_written(
    bare: Path, wheel: Path, books: dict[str, Path], tmp_path: Path, book: str, code: int
) -> None:
    repo = repository(tmp_path / "repo", books[book])
    job = snippets()["workflow"]["jobs"]["book"]
    install, check = runs(job["steps"])
    # a `run` step is handed to bash with -e
    path = f"{bare}{os.pathsep}{os.environ['PATH']}"
    for line in (installs(install, wheel), check):
        done = subprocess.run(
            ["bash", "-e", "-c", line],
            cwd=repo,
            env=environment(PATH=path),
            capture_output=True,
            text=True,
            check=False,
        )
    assert done.returncode == code, done.stderr
    at_home = subprocess.run(
        [bare / "python", "-c", "import foldproof; print(foldproof.__file__)"],
        cwd=repo, env=environment(), capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert str(bare.parent) in at_home.stdout, "the wheel ran, not the working tree"
    # what the steps of others are handed, in a run that failed too
    handed = [step["with"] for step in job["steps"] if "with" in step and step.get("if") == "always()"]
    assert len(handed) == 2
    (sarif,) = [repo / one["sarif_file"] for one in handed if "sarif_file" in one]
    (folder,) = [repo / one["path"] for one in handed if "path" in one]
    run = json.loads(sarif.read_text("utf-8"))["runs"][0]
    assert run["invocations"][0]["executionSuccessful"] is (code != 3)
    assert any(result["level"] == "error" for result in run["results"]) is (code != 0)
    assert (folder / "report.html").is_file() is (code != 3)


@pytest.mark.parametrize(("book", "code"), [("good", 0), ("bad", 1)])
def test_the_other_one_runs_as_written(
    bare: Path, wheel: Path, books: dict[str, Path], tmp_path: Path, book: str, code: int
) -> None:
    repo = repository(tmp_path / "repo", books[book])
    job = snippets()["book"]["book"]
    install, check = job["script"]
    script = f"set -eo pipefail\n{installs(install, wheel)}\n{check}\n"
    path = f"{bare}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        ["bash", "-c", script], cwd=repo, env=environment(PATH=path), capture_output=True, text=True, check=False
    )
    assert done.returncode == code, done.stderr
    assert job["artifacts"]["when"] == "always"
    assert all((repo / path).is_dir() for path in job["artifacts"]["paths"])
    read = JUnitXml.fromfile(str(repo / job["artifacts"]["reports"]["junit"]))
    assert (read.failures > 0) is (code == 1) and read.errors == 0


def test_the_hook_runs_as_written(books: dict[str, Path], tmp_path: Path) -> None:
    beside = Path(sys.executable).parent / "pre-commit"
    if not beside.is_file() or shutil.which("git") is None or not (ROOT / ".git").exists():
        pytest.skip("pre-commit, git and the project's own repository are wanted")
    (hook,) = snippets()["hook"]["repos"]
    assert hook["repo"] == HOST
    source = tmp_path / "foldproof"
    me = {"GIT_AUTHOR_NAME": "M. Wick", "GIT_AUTHOR_EMAIL": "wick@example.org"}
    env = environment(
        **me, GIT_COMMITTER_NAME="M. Wick", GIT_COMMITTER_EMAIL="wick@example.org",
        PRE_COMMIT_HOME=str(tmp_path / "home"), PATH=f"{beside.parent}{os.pathsep}{os.environ['PATH']}",
    )  # fmt: skip

    def run(*words: str, cwd: Path) -> subprocess.CompletedProcess[str]:
        return subprocess.run(words, cwd=cwd, env=env, capture_output=True, text=True, check=False)

    assert run("git", "clone", "-q", str(ROOT), str(source), cwd=tmp_path).returncode == 0
    assert run("git", "tag", hook["rev"], cwd=source).returncode == 0
    repo = repository(tmp_path / "repo", books["good"])
    (repo / ".pre-commit-config.yaml").write_text(yaml.safe_dump({"repos": [{**hook, "repo": str(source)}]}))
    run("git", "init", "-q", cwd=repo)
    pip("bash", "-e", "-c", f'cd "{repo}"; export PRE_COMMIT_HOME="{tmp_path / "home"}"; "{beside}" install-hooks')
    run("pre-commit", "install", cwd=repo)
    run("git", "add", ".", cwd=repo)
    done = run("git", "commit", "-m", "A good book", cwd=repo)
    assert done.returncode == 0, done.stdout + done.stderr
    shutil.copy(books["bad"], repo / "book" / "interior.pdf")
    shutil.copy(books["bad"], repo / "book" / "cover.pdf")
    run("git", "add", ".", cwd=repo)
    refused = run("git", "commit", "-m", "A bad book", cwd=repo)
    assert refused.returncode != 0
    said = refused.stdout + refused.stderr
    assert "stop: picture-resolution" in said and "cover.pdf" not in said, "other files are not the hook's to look at"
    assert run("git", "log", "--oneline", cwd=repo).stdout.count("\n") == 1
