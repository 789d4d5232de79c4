# SPDX-License-Identifier: AGPL-3.0-or-later
"""Each check in everyday words: what its findings count, and what is said of them to an author."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources

from attrs import frozen


@frozen
class Plain:
    """Everyday words for one check (``page/plain_words.toml``)."""

    one: str = "place"  #: what one finding is: ``"picture"``
    many: str = "places"
    says: str = ""  #: what is wrong, to somebody who is not of the trade; empty: the finding's own words do
    ask: str = ""  #: what the author is asked to do
    #: the figures in a sentence: ``"{measured} dots to the inch, where {limit} are needed"``
    how: str = ""
    tell: bool = False  #: the finding's own sentence goes with them
    #: whether findings of severity ``note`` concern the author too
    notes: bool = False


@cache
def plain_words() -> dict[str, Plain]:
    """All of them, by id of the check."""
    text = resources.files("foldproof.report").joinpath("page", "plain_words.toml").read_text("utf-8")
    return {check: Plain(**given) for check, given in tomllib.loads(text).items()}


def plain_of(check: str) -> Plain:
    """The words for a check; those of any check where there are none of its own."""
    return plain_words().get(check, Plain())
