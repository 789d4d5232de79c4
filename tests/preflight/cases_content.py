# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases of damaged page content."""

from __future__ import annotations

from tests.preflight.case import QUERY, STOP, Passes, Trips
from tests.preflight.facts import a_page, an_object, facts

ENDS = ("a stream ends before its data do",)

TRIPS = (
    Trips(
        "broken-content", "half a stream", facts(objects={4: an_object(4, remarks=ENDS)}), STOP,
        "broken-content/lost", 5, ("a stream ends before its data do", "is missing"),
    ),
    Trips(
        "broken-content", "an operator that nobody knows",
        facts(objects={4: an_object(4, remarks=("its operators cannot be read in places",))}), QUERY,
        "broken-content/odd", 5, ("cannot be read", "may be missing"),
    ),
)  # fmt: skip

PASSES = (
    Passes("broken-content", "sound content", facts()),
    Passes(
        "broken-content",
        "a stream without a byte: the page is blank",
        facts(pages={4: a_page(4, has_content=False)}, objects={4: an_object(4, remarks=ENDS)}),
    ),
)
