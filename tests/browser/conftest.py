# SPDX-License-Identifier: AGPL-3.0-or-later
from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def samples() -> ModuleType:
    """The sample book of tests/report/samples.py."""
    name = "foldproof_report_samples"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).parent.parent / "report" / "samples.py")
        assert spec and spec.loader
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]
