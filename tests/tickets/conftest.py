# SPDX-License-Identifier: AGPL-3.0-or-later
from __future__ import annotations

from types import ModuleType

import pytest

from tests.report import samples as made


@pytest.fixture(scope="session")
def samples() -> ModuleType:
    """The sample book of tests/report/samples.py."""
    return made
