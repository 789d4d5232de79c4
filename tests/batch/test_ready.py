# SPDX-License-Identifier: AGPL-3.0-or-later
"""What the fork server does before the first book."""

from __future__ import annotations

import json
import subprocess
import sys

from foldproof.batch import keeper

SCRIPT = """
import gc, importlib, json, sys
before = gc.get_freeze_count()
for name in sys.argv[1:]:
    importlib.import_module(name)
from foldproof.desk import versions
from foldproof.job.load import _shipped_house
from foldproof.report.html import template
print(json.dumps({
    "done": [part.cache_info().currsize for part in (template, versions, _shipped_house)],
    "frozen": gc.get_freeze_count() > before,
    "modules": sorted(sys.modules),
}))
"""


def test_the_fork_server_has_done_what_every_book_would_do_again() -> None:
    """A name that cannot be imported would be passed over in silence, and every book import everything by itself."""
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, *keeper._PRELOADED], capture_output=True, text=True, check=True
    )
    told = json.loads(done.stdout)
    assert told["done"] == [1, 1, 1]
    assert told["frozen"]
    assert {"foldproof.batch.making", "foldproof.pipeline", "pymupdf", "pikepdf", "typst"} <= set(told["modules"])
    assert not {name.split(".")[0] for name in told["modules"]} & {"typer", "rich", "distributed", "pypdf"}
