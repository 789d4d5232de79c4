# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases of the check on pages that are pasted to the boards.

What is expected: the outermost page at either end of the book goes under the paste (common practice, no source), and an
empty leaf that is added there takes its place.
"""

from __future__ import annotations

from foldproof.geometry import Rect
from tests.preflight.case import QUERY, STOP, Passes, Trips
from tests.preflight.facts import an_ink, facts

SELF = {"cover": {"endpapers": "self"}}
EMPTY = {0: an_ink(0, blank=True), 15: an_ink(15, blank=True)}

TRIPS = (
    Trips(
        "self-endpapers",
        "a title on the first page",
        facts(ink={15: EMPTY[15]}, job=SELF, blanks_back=0),
        STOP,
        "self-endpapers",
        1,
        ("pasted to the front board", "Leave it empty, or let the job add an empty leaf"),
        5.0,
    ),
    Trips(
        "self-endpapers",
        "a colophon on the last page",
        facts(ink={0: EMPTY[0]}, job=SELF, blanks_back=0),
        STOP,
        "self-endpapers",
        16,
        ("the last page of the book", "pasted to the back board", "end the book with empty pages"),
    ),
    Trips(
        "self-endpapers",
        "an empty leaf in front, none behind",
        facts(job={**SELF, "book": {"blanks_front": 2}}, blanks_back=0),
        STOP,
        "self-endpapers",
        16,
    ),
    Trips(
        "self-endpapers",
        "a glued block in a case",
        facts(
            ink={0: EMPTY[0]},
            job={"cover": {"endpapers": "self", "kind": "case"}, "book": {"binding": "glued"}},
            blanks_back=0,
        ),
        STOP,
        "self-endpapers",
        16,
    ),
    Trips(
        "self-endpapers",
        "a page that was lost",
        facts(ink={**EMPTY, 15: None}, lost={15: "gave up"}, job=SELF, blanks_back=0),
        QUERY,
        "self-endpapers/unseen",
        16,
        ("could not be looked at",),
    ),
)

PASSES = (
    Passes("self-endpapers", "both ends are empty", facts(ink=EMPTY, job=SELF, blanks_back=0)),
    Passes("self-endpapers", "blanks of the make-up at the end", facts(ink={0: EMPTY[0]}, job=SELF, blanks_back=1)),
    Passes(
        "self-endpapers",
        "an empty leaf in front by the job, blanks behind by the make-up",
        facts(job={**SELF, "book": {"blanks_front": 2}}, blanks_back=2),
    ),
    Passes("self-endpapers", "separate endpapers", facts(blanks_back=0)),
    Passes("self-endpapers", "no endpapers", facts(job={"cover": {"endpapers": "none"}}, blanks_back=0)),
    Passes(
        "self-endpapers",
        "a paper cover has no board to paste to",
        facts(job={"cover": {"endpapers": "self"}, "book": {"binding": "glued"}}, blanks_back=0),
    ),
    Passes(
        "self-endpapers",
        "matter beyond the trim alone, which is cut off",
        facts(
            ink={**EMPTY, 0: an_ink(0, blank=True, ink_mm=Rect(141, 20, 143, 30))},
            job=SELF,
            blanks_back=0,
        ),
    ),
)
