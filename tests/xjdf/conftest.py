# SPDX-License-Identifier: AGPL-3.0-or-later
"""The published schema, and job tickets as elements."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree

from tests.conftest import SHARED


@pytest.fixture(scope="session")
def schema_errors() -> Callable[[Path], list[str]]:
    """What the published schema has against a file, by an independent validator (libxml2)."""
    file = SHARED / "xjdf" / "xjdf.xsd"
    if not file.exists():
        pytest.skip(f"{file} is not here")
    schema = etree.XMLSchema(etree.parse(str(file)))

    def errors(path: Path) -> list[str]:
        schema.validate(etree.parse(str(path)))
        return [f"{one.line}: {one.message}" for one in schema.error_log]

    return errors
