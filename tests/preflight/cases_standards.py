# SPDX-License-Identifier: AGPL-3.0-or-later
"""Cases of the checks on declared standards and printing conditions, from facts made by hand."""

from __future__ import annotations

from typing import Any

from attrs import evolve

from foldproof.geometry import Rect
from foldproof.manuscript.file_facts import Claims, FileFacts, Intent, Profile
from foldproof.manuscript.model import ColourUse
from foldproof.preflight.model import Facts
from tests.preflight.case import NOTE, QUERY, Passes, Trips
from tests.preflight.facts import an_object, facts

_INKS = Profile(True, "", "2.1", "prtr", "CMYK", "Lantern Row, coated", 4)
_SCREEN = Profile(True, "", "2.1", "mntr", "RGB", "Lantern Row, screen", 3)
_DAMAGED = Profile(False, "it is cut short: 4000 bytes are stated, 900 are there")
FOGRA = Intent("GTS_PDFX", "FOGRA39", "Coated", "http://www.color.org", "", 4, _INKS)
ARCHIVE = Intent("GTS_PDFA1", "sRGB IEC61966-2.1", "", "", "", 3, _SCREEN)

_CLAIMS = Claims(
    info_version="PDF/X-1a:2003",
    info_trapped="False",
    info=(("Title", "Almanac"), ("CreationDate", "D:20240229"), ("ModDate", "D:20240229")),
    has_id=True,
)
X1A = FileFacts(claims=_CLAIMS, intents=(FOGRA,), header_version="1.4")


def a_file(said: FileFacts, version: str = "1.4", **more: Any) -> Facts:
    return facts(book={"facts": said, "pdf_version": version}, **more)


def intents(*some: Intent) -> Facts:
    return a_file(FileFacts(intents=some))


RGB = {4: an_object(4, colours=(ColourUse("DeviceRGB", "text", 9, Rect(20, 30, 60, 34)),))}
ASKED = {"standard": "PDF/X-1a:2003"}

TRIPS = (
    Trips(
        "declared-standard", "RGB in a file that says it is PDF/X-1a", a_file(X1A, objects=RGB), QUERY,
        "declared-standard/colour", None,
        ("The file says that it is PDF/X-1a:2003, but DeviceRGB is painted on page 5", "Convert everything"),
        "DeviceRGB",
    ),
    Trips(
        "declared-standard", "a claim of an edition that is not known",
        a_file(evolve(X1A, claims=evolve(_CLAIMS, info_version="PDF/X-3:2002"))), NOTE,
        "declared-standard/unknown", None, ("not verified",), "PDF/X-3:2002",
    ),
    Trips(
        "declared-standard", "two claims, of which the second lacks its metadata",
        a_file(evolve(X1A, claims=evolve(_CLAIMS, xmp_version="PDF/X-4", has_xmp=True, xmp_trapped="False"))), NOTE,
        "declared-standard/two-claims", None, ("at once",), findings=2,
    ),
    Trips(
        "asked-standard", "RGB where PDF/X-1a is asked for", a_file(X1A, objects=RGB), QUERY,
        "asked-standard/colour", None, ("PDF/X-1a:2003 is asked for, and the file says that it is, but DeviceRGB",),
        limits=ASKED,
    ),
    Trips(
        "asked-standard", "another claim", a_file(evolve(X1A, claims=evolve(_CLAIMS, info_version="PDF/X-3:2003"))),
        QUERY, "asked-standard/version-key", None, ("the file says that it is PDF/X-3:2003",), limits=ASKED,
    ),
    Trips(
        "output-intent", "another condition", intents(FOGRA), QUERY, "output-intent/condition", None,
        ('made for "FOGRA39"; "FOGRA52" is asked for',), "FOGRA39", {"condition": "FOGRA52"},
    ),
    Trips(
        "output-intent", "no condition", a_file(FileFacts()), QUERY, "output-intent/missing", None,
        ('"FOGRA52" is asked for',), "none", {"condition": "FOGRA52"},
    ),
    Trips(
        "output-intent", "one for archives does not count", intents(ARCHIVE), QUERY, "output-intent/missing", None,
        limits={"condition": "FOGRA52"},
    ),
    Trips(
        "output-intent", "made for a screen", intents(evolve(FOGRA, profile=_SCREEN)), QUERY, "output-intent/colours",
        None, ("made for an output in RGB (FOGRA39 and Lantern Row, screen); the book is printed in four inks",), "RGB",
        {"inks": "cmyk"},
    ),
    Trips(
        "output-intent", "an archive's screen in a CMYK job", intents(ARCHIVE), NOTE, "output-intent/colours", None,
        limits={"inks": "cmyk"},
    ),
    Trips(
        "output-intent", "a damaged profile", intents(evolve(FOGRA, profile=_DAMAGED)), QUERY, "output-intent/profile",
        None, ("is damaged: it is cut short",), "damaged",
    ),
)  # fmt: skip

PASSES = (
    Passes("declared-standard", "a claim that holds", a_file(X1A)),
    Passes("declared-standard", "no claim, and RGB", a_file(FileFacts(), objects=RGB)),
    Passes("declared-standard", "told by the check of what is asked", a_file(X1A, objects=RGB),
           {"asked": "PDF/X-1a:2003"}),
    Passes("asked-standard", "nothing is asked", a_file(FileFacts(), objects=RGB)),
    Passes("asked-standard", "what is asked is there", a_file(X1A), ASKED),
    Passes("output-intent", "any condition", intents(FOGRA)),
    Passes("output-intent", "no condition", a_file(FileFacts())),
    Passes("output-intent", "the condition, spelt otherwise", intents(FOGRA), {"condition": "Fogra 39"}),
    Passes("output-intent", "the condition, by its long name", intents(FOGRA), {"condition": "coated"}),
    Passes("output-intent", "inks for inks", intents(FOGRA), {"inks": "cmyk"}),
    Passes("output-intent", "four inks where black alone is printed", intents(FOGRA), {"inks": "black"}),
    Passes("output-intent", "a damaged profile in a verified file",
           a_file(evolve(X1A, intents=(evolve(FOGRA, profile=_DAMAGED),)))),
    Passes("output-intent", "RGB with a spec that takes any inks", intents(ARCHIVE)),
)  # fmt: skip
