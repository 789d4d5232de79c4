# SPDX-License-Identifier: AGPL-3.0-or-later
"""The rules of the house that a machine can hold: who imports whom, who touches which library, how long a module is."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

SRC = Path(__file__).parents[1] / "src" / "foldproof"
MODULES = sorted(SRC.rglob("*.py"))

#: rooms from the ground up: a room may import the nouns and functions of rooms before it, never of those after
ORDER = (
    ("units", "errors", "cores"),
    ("geometry", "files", "workers"),
    # a cluster's workers do what the processes of workers.py do
    ("cluster",),
    # the nouns of the read stage, in three modules
    ("manuscript.model", "manuscript.seen", "manuscript.file_facts"),
    ("job",),
    ("pdf",),
    ("manuscript",),
    ("preflight",),
    ("mend",),
    ("makeup",),
    ("impose",),
    ("prove",),
    ("quantities",),
    ("case",),
    ("covers",),
    ("report", "tickets", "xjdf"),
    ("desk",),
    ("benches",),
    ("asking", "pipeline"),
    ("library",),
    ("batch",),
    ("cli",),
    ("__main__", "__init__"),
)
#: nouns (types alone) that a room before their own may name: the writer of sheets is told what to write by plain types
NOUNS_BELOW = {
    "pdf": ("manuscript.model", "makeup.plan", "makeup.instructions", "impose.model", "prove.model", "case.model"),
    "quantities": ("case.model",),
    "preflight": ("makeup.plan",),
}
PDF_LIBRARIES = {"pikepdf", "pymupdf", "fitz", "pypdf", "mupdf"}


def name_of(path: Path) -> str:
    parts = list(path.relative_to(SRC).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" and len(parts) > 1 else parts)


def imports_of(path: Path) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} imports relatively"
            found.append(node.module or "")
            found += [f"{node.module}.{alias.name}" for alias in node.names if node.module == "foldproof"]
    return found


def rank(module: str) -> int:
    best = [
        (len(room), level)
        for level, rooms in enumerate(ORDER)
        for room in rooms
        if module == room or module.startswith(room + ".")
    ]
    assert best, f"{module} is in no room that tests/test_house_rules.py knows"
    return max(best)[1]


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_imports_point_one_way(path: Path) -> None:
    me = name_of(path)
    for found in imports_of(path):
        if not found.startswith("foldproof."):
            assert found != "foldproof" or me in ("__main__",) or me.startswith("cli"), f"{me} imports the package root"
            continue
        other = found.removeprefix("foldproof.")
        if any(other.startswith(noun) for noun in NOUNS_BELOW.get(me.split(".")[0], ())):
            continue
        assert rank(other) <= rank(me), f"{me} imports {other}, which is a later room"


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_only_the_pdf_room_touches_pdf_libraries(path: Path) -> None:
    if name_of(path).split(".")[0] != "pdf":
        assert not {found.split(".")[0] for found in imports_of(path)} & PDF_LIBRARIES


def reached_from(start: list[str]) -> set[str]:
    """Modules of the project that these import, directly or through others."""
    by_name = {name_of(path): path for path in MODULES}
    seen: set[str] = set()
    todo = list(start)
    while todo:
        module = todo.pop()
        if module in seen or module not in by_name:
            continue
        seen.add(module)
        todo += [f.removeprefix("foldproof.") for f in imports_of(by_name[module]) if f.startswith("foldproof.")]
    return seen


def test_the_proof_rests_on_nothing_that_made_the_sheets() -> None:
    own = [name_of(path) for path in MODULES if name_of(path).split(".")[0] == "prove"]
    assert own
    reached = reached_from(own)
    made = {m for m in reached if m.split(".")[0] in ("geometry", "makeup", "impose", "manuscript", "job", "preflight")}
    # the folding instructions are the one type; the package's empty __init__ comes with them
    assert made <= {"makeup.instructions", "makeup"}


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_modules_stay_readable(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# SPDX-License-Identifier: AGPL-3.0-or-later\n")
    assert len(text.splitlines()) <= 420
    assert not {"utils", "common", "helpers"} & set(path.with_suffix("").parts)


def test_a_worker_starts_without_the_command_line() -> None:
    script = "import sys, json, foldproof.workers, foldproof.manuscript.observe; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded = {name.split(".")[0] for name in json.loads(done.stdout)}
    assert not loaded & {"typer", "rich", "jinja2", "typst", "pikepdf"}


def test_a_run_starts_without_what_only_its_workers_or_a_cluster_need() -> None:
    """A small book takes about as long as starting does."""
    script = "import sys, json, foldproof.library; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded = json.loads(done.stdout)
    assert "foldproof.pipeline" in loaded and "foldproof.prove.prove" in loaded
    assert not {name.split(".")[0] for name in loaded} & {"pypdf", "distributed", "typer", "rich", "watchfiles"}
    assert not [name for name in loaded if name.startswith(("foldproof.cluster", "foldproof.batch", "foldproof.cli"))]


def test_a_run_without_a_terminal_loads_no_bars() -> None:
    script = (
        "import sys, json, foldproof.cli.app\n"
        "from foldproof.cli.watching import watching\n"
        "with watching() as watch: watch.stage('read', 0)\n"
        "print(json.dumps(sorted(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stderr == "read\n"
    assert "rich" not in json.loads(done.stdout)


def test_no_registry_host_and_no_clock_in_the_sources() -> None:
    forbidden = ("datetime.now(", "date.today(", "time.time(", "pypi" + ".org", "pythonhosted" + ".org")
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        assert not [word for word in forbidden if word in text], path
