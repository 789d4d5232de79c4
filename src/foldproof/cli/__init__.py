# SPDX-License-Identifier: AGPL-3.0-or-later
"""The command line: one module a command, no logic."""

from __future__ import annotations


def main() -> None:
    """Entry point of the console script ``foldproof``."""
    # Typer and rich are imported here, not with the package: spawned workers import the package too.
    from foldproof.cli.app import app

    app()
