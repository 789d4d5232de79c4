# SPDX-License-Identifier: AGPL-3.0-or-later
"""``foldproof house``: the shop; validates a house file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from foldproof.cli.ending import ends
from foldproof.errors import ExitCode

HELP = """\
Show the presses, folders, binding lines and stocks of a house with their limits and prices, and how many pages a side
its presses take; checks the file.

Example:  foldproof house
"""


@ends
def house(
    file: Annotated[
        Path | None, typer.Argument(metavar="[HOUSE.toml]", help="A house file.", show_default=False)
    ] = None,
) -> ExitCode:
    """Print one house."""
    from foldproof.job.load import load_house
    from foldproof.makeup.capability import capability
    from foldproof.report.shop import reach_lines, shop_lines
    from foldproof.report.words import clean

    shop = load_house(file)
    print(clean("\n".join([*shop_lines(shop), "", *reach_lines(capability(shop))])))
    return ExitCode.WELL
