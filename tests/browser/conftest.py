# SPDX-License-Identifier: AGPL-3.0-or-later
from __future__ import annotations

from collections.abc import Iterator
from types import ModuleType

import pytest

from tests.browser.driver import BROWSER, Browser
from tests.report import samples as made


@pytest.fixture(scope="session")
def samples() -> ModuleType:
    """The sample book of tests/report/samples.py."""
    return made


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A headless browser with one page."""
    if BROWSER is None:
        pytest.skip("no chromium on this machine")
    with Browser(tmp_path_factory.mktemp("browser")) as driven:
        yield driven
