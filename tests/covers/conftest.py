# SPDX-License-Identifier: AGPL-3.0-or-later
"""One process for all covers of a module."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from foldproof.workers import Workers


@pytest.fixture(scope="module")
def hands() -> Iterator[Workers]:
    with Workers(1) as workers:
        yield workers
