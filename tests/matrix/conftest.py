# SPDX-License-Identifier: AGPL-3.0-or-later
"""One shelf of small manuscripts for all cases that a process runs."""

from __future__ import annotations

import pytest

from tests.matrix.pages import Shelf


@pytest.fixture(scope="session")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Shelf:
    return Shelf(tmp_path_factory.mktemp("shelf"))
