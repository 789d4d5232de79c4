# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases of the checks on transparency and on invisible text."""

from __future__ import annotations

from typing import Any

from foldproof.geometry import Rect
from foldproof.manuscript.seen import TextUse, Transparency
from foldproof.preflight.model import Facts
from tests.preflight.case import NOTE, QUERY, Passes, Trips
from tests.preflight.facts import a_picture, an_object, facts

PLACE = Rect(20, 30, 60, 34)
CMYK, BLACK = {"inks": "cmyk"}, {"inks": "black"}


def page_6(**fields: Any) -> Facts:
    return facts(objects={5: an_object(5, **fields)})


def mixed(*spaces: str, **fields: Any) -> Facts:
    return page_6(transparency=Transparency(**{"alpha": True, "group_spaces": spaces, "first_mm": PLACE, **fields}))


def some_text(how: str, glyphs: int = 40, **fields: Any) -> TextUse:
    usual = {"space": "none", "values": (), "overprint": False, "overprint_mode": 0, "alpha": 1.0, "blend": "Normal"}
    told = {"font": "ABCDEF+Serif", "size_pt": 10.0, "undefined": 0, "count": 1, "first_mm": PLACE}
    return TextUse(**{**usual, **told, "how": how, "glyphs": glyphs, **fields})


TRIPS = (
    Trips(
        "transparency",
        "see-through matter, nothing known of the inks",
        mixed(),
        NOTE,
        "transparency/any",
        6,
        ("partly see-through.",),
    ),
    Trips(
        "transparency",
        "all of it, mixed in the inks that are printed",
        mixed("DeviceCMYK", soft_masks=True, blends=("Multiply", "Screen")),
        NOTE,
        "transparency/any",
        6,
        ("a soft mask and blend mode Multiply and Screen", "mixed in DeviceCMYK"),
        limits=CMYK,
    ),
    Trips(
        "transparency",
        "mixed in RGB, nothing known of the inks",
        mixed("DeviceRGB"),
        NOTE,
        "transparency/any",
        6,
        ("mixed in DeviceRGB",),
    ),
    Trips(
        "transparency",
        "mixed in RGB for four inks",
        mixed("DeviceCMYK", "ICCBased(3)"),
        QUERY,
        "transparency/rgb-blend-space",
        6,
        ("mixed in ICCBased(3)", "four inks"),
        measured="ICCBased(3)",
        limits=CMYK,
    ),
    Trips(
        "transparency",
        "mixed in RGB for black",
        mixed("DeviceRGB"),
        QUERY,
        "transparency/rgb-blend-space",
        6,
        ("black alone",),
        limits=BLACK,
    ),
    Trips(
        "invisible-text",
        "two runs without fill or stroke",
        page_6(texts=(some_text("invisible", 30), some_text("fill", 9), some_text("invisible", 12))),
        NOTE,
        "invisible-text/text",
        6,
        ("42 characters of text that is not painted.",),
        measured=42.0,
    ),
    Trips(
        "invisible-text",
        "a scan",
        page_6(texts=(some_text("invisible", 1),), pictures=(a_picture(300),)),
        NOTE,
        "invisible-text/scan",
        6,
        ("1 character of text", "a scan"),
    ),
)

PASSES = (
    Passes("transparency", "an RGB group with nothing transparent in it", mixed("DeviceRGB", alpha=False), limits=CMYK),
    Passes("invisible-text", "text that clips", page_6(texts=(some_text("clip"), some_text("fill")))),
    Passes("invisible-text", "outside the trim", page_6(texts=(some_text("invisible", in_trim=False),))),
)
