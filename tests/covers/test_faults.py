# SPDX-License-Identifier: AGPL-3.0-or-later
"""A sound cover, and one fault at a time: exactly that is found, and nothing else.

What is right about a cover is the geometry of its panels and the figures of ISO/IEC 15420 for the bars (from memory);
the bars were written by zxing-cpp.
"""

from __future__ import annotations

from pathlib import Path

import pikepdf
import pytest

from foldproof.covers.run import bars_told
from foldproof.job.model import Book, Job, StampingChoice
from foldproof.preflight.model import Severity
from foldproof.workers import Workers
from tests.build import PT, Picture
from tests.covers.building import (
    BARS_X,
    EAN,
    GROUND,
    MODULE_MM,
    OTHER_EAN,
    SPINE,
    WHITE,
    Cover,
    bars,
    fill,
    modules_of,
    text,
    with_digits_exchanged,
    write,
)  # fmt: skip
from tests.covers.looking import JOB, held, looked, told

SOUND = Cover()
STOP, QUERY, NOTE = Severity.STOP, Severity.QUERY, Severity.NOTE


#: name, the cover, the job, what is found
FAULTS: dict[str, tuple[Cover, Job, tuple[str, Severity]]] = {
    "too low": (SOUND.but(height=148.0), JOB, ("cover-size/other", STOP)),
    "spine too narrow": (SOUND.but(spine=15.0), JOB, ("spine-width/size", STOP)),
    "spine too wide": (SOUND.but(spine=20.0), JOB, ("spine-width/size", STOP)),
    "no bleed at the left": (SOUND.but(bleed_left=0.0), JOB, ("cover-bleed/short", STOP)),
    "little bleed at the left": (SOUND.but(bleed_left=2.0), JOB, ("cover-bleed/short", QUERY)),
    "title beside the middle": (SOUND.but(spine_shift=3.5), JOB, ("spine-title/centre", QUERY)),
    "title over the fold": (SOUND.but(spine_text="Lamps", spine_size=60.0), JOB, ("spine-title/over", STOP)),
    "title near the folds": (SOUND.but(spine_text="Lamps", spine_size=43.0), JOB, ("spine-title/close", QUERY)),
    "title foot to head": (SOUND.but(spine_turn=90), JOB, ("spine-direction", QUERY)),
    "bare spine": (SOUND.but(spine_text=""), JOB, ("spine-empty", QUERY)),
    "no bars": (SOUND.but(ean=None), JOB, ("barcode/none", STOP)),
    "bars run together": (SOUND.but(gain=0.3), JOB, ("barcode/unread", STOP)),
    "wrong check digit in the bars": (
        SOUND.but(modules=with_digits_exchanged(modules_of(EAN)), digits=EAN[:11] + EAN[12] + EAN[11]),
        JOB,
        ("barcode/check-digit", STOP),
    ),
    "dark before the bars": (
        # 8 of 11 modules are free
        SOUND.but(more=fill(GROUND, BARS_X - 11 * MODULE_MM, 30, BARS_X - 8 * MODULE_MM, 44)),
        JOB,
        ("barcode-quiet-zone", QUERY),
    ),
    "dark close behind the bars": (
        # 3 of 7 modules are free
        SOUND.but(more=fill(GROUND, BARS_X + 98 * MODULE_MM, 30, BARS_X + 101 * MODULE_MM, 44)),
        JOB,
        ("barcode-quiet-zone", STOP),
    ),
    "bars too small": (SOUND.but(scale=0.7, isbn_line=""), JOB, ("barcode-size", STOP)),
    "bars too large": (SOUND.but(scale=2.2, back_line=("", 0, 0)), JOB, ("barcode-size", QUERY)),
    "red bars": (SOUND.but(bars_paint="0 1 1 0 k"), JOB, ("barcode-colour/contrast", STOP)),
    "bars of four inks": (SOUND.but(bars_paint="0.6 0.5 0.5 0.9 k"), JOB, ("barcode-colour/inks", QUERY)),
    "light bars on dark": (
        SOUND.but(bars_paint="0 0 0 0 k", panel_paint="0 0 0 1 k", isbn_line=""),
        JOB,
        ("barcode-colour/inverted", STOP),
    ),
    "bars of another book": (SOUND.but(ean=OTHER_EAN, isbn_line=""), JOB, ("isbn/other", STOP)),
    "another number in type": (SOUND.but(isbn_line="ISBN 978-1-23456-788-0"), JOB, ("isbn/type", STOP)),
    "a wrong number in type": (SOUND.but(isbn_line="ISBN 978-1-23456-789-8"), JOB, ("isbn/type", STOP)),
    "other digits beside the bars": (SOUND.but(digits=OTHER_EAN), JOB, ("barcode-digits", STOP)),
    "a wrong number in the job": (
        SOUND,
        Job(book=Book(isbn="978-1-23456-789-8", binding="glued")),
        ("isbn/job", STOP),
    ),
    "type near the trim": (SOUND.but(back_line=("For all", 1.0, 120.0)), JOB, ("cover-live-matter/trim", QUERY)),
    "type cut off": (SOUND.but(back_line=("For all", -4.0, 120.0)), JOB, ("cover-live-matter/trim", STOP)),
    "type in the hinge": (SOUND.but(front_line=("The Lamps of", 4.0, 110.0)), JOB, ("cover-live-matter/hinge", QUERY)),
    "font not embedded": (SOUND.but(embedded=False), JOB, ("fonts-embedded/Helvetica", STOP)),
    "a coarse picture": (
        SOUND.but(pictures=(Picture((130, 20, 190, 80), (150, 150), "DeviceCMYK"),)),
        JOB,
        ("picture-resolution/contone", STOP),
    ),
    "too much ink": (
        SOUND.but(more=fill("1 1 1 0.5 k", 130, 20, 190, 60)),
        JOB,
        ("total-ink", QUERY),
    ),
    "a screen colour": (SOUND.but(more=fill("0.9 0.2 0.1 rg", 130, 20, 190, 60)), JOB, ("rgb-matter/RGB", QUERY)),
    "no TrimBox": (SOUND.but(boxes={"TrimBox": None}), JOB, ("cover-trim-box", QUERY)),
    "fold marks of another spine": (
        SOUND.but(
            boxes={"MediaBox": [-30, -30, 670, 480]},
            more="".join(fill("0 0 0 1 k", x - 0.05, 154, x + 0.05, 159) for x in (98.0, 120.6)),
        ),
        JOB,
        ("spine-width/marks", QUERY),
    ),
}  # fmt: skip


def test_a_sound_cover_is_clean_and_its_bars_are_read(tmp_path: Path, hands: Workers) -> None:
    got = looked(SOUND, tmp_path, hands)
    assert told(got) == [] and got.findings.not_judged == ()
    found = got.seen.bars if got.seen else None
    assert found is not None and found.digits == EAN and found.valid
    # ISO/IEC 15420: 95 modules of 0.330 mm, 22.85 mm high (from memory); as drawn: 12 modules free before
    assert found.module_mm == pytest.approx(0.330, abs=0.002)
    assert (found.box_mm.x0, found.box_mm.x1) == pytest.approx((50.0, 50.0 + 95 * 0.330), abs=0.03)
    assert (found.box_mm.y0, found.box_mm.y1) == pytest.approx((22.0, 44.85), abs=0.05)
    assert found.quiet_mm == pytest.approx((12 * 0.330, 8.5 * 0.330), abs=0.05)
    assert found.inks == (("Black", 1.0),)
    assert bars_told(got.seen).startswith(f"The bars read {EAN}: 31.4 mm x 22.9 mm, 100 %")


def test_there_are_more_than_twelve_faults() -> None:
    assert len(FAULTS) >= 12


@pytest.mark.parametrize("name", FAULTS)
def test_a_planted_fault_is_found_and_nothing_else(name: str, tmp_path: Path, hands: Workers) -> None:
    cover, job, wanted = FAULTS[name]
    got = looked(cover, tmp_path, hands, job)
    assert told(got) == [wanted]
    found = got.findings.items[0]
    assert found.problem.endswith(".") and found.remedy.endswith(".")


def test_a_file_of_several_pages_is_told_and_nothing_else(tmp_path: Path, hands: Workers) -> None:
    for pages in (4, 300):
        got = looked(SOUND, tmp_path, hands, pages=pages)
        assert told(got) == [("cover-pages", STOP)]
        assert f"{pages} pages" in got.findings.items[0].problem


def test_a_spine_within_the_tolerance_of_the_house_passes(tmp_path: Path, hands: Workers) -> None:
    # the shipped house allows 0.8 mm
    assert told(looked(SOUND.but(spine=SPINE + 0.7), tmp_path, hands)) == []
    found = looked(SOUND.but(spine=SPINE + 0.9), tmp_path, hands).findings.items
    assert [f.check for f in found] == ["spine-width"]
    assert found[0].measured == pytest.approx(SPINE + 0.9, abs=0.02) and found[0].limit == SPINE


def test_the_job_says_which_way_the_spine_reads(tmp_path: Path, hands: Workers) -> None:
    up = JOB.model_copy(update={"stamping": StampingChoice(ink="Foil", spine_reads="foot to head")})
    assert told(looked(SOUND.but(spine_turn=90), tmp_path, hands, up)) == []
    assert told(looked(SOUND, tmp_path, hands, up)) == [("spine-direction", QUERY)]


def test_a_job_without_an_isbn_asks_and_does_not_stop(tmp_path: Path, hands: Workers) -> None:
    silent = Job(book=Book(binding="glued"))
    assert told(looked(SOUND, tmp_path, hands, silent)) == []
    assert told(looked(SOUND.but(ean=None), tmp_path, hands, silent)) == [("barcode/none", QUERY)]


def test_the_isbn_of_the_job_may_have_ten_digits(tmp_path: Path, hands: Workers) -> None:
    # 1-23456-789: 10x1+9x2+8x3+7x4+6x5+5x6+4x7+3x8+2x9 = 210, and 231 is the next eleven's: 210 + 10, so X
    assert told(looked(SOUND, tmp_path, hands, Job(book=Book(isbn="1-23456-789-X")))) == []


def test_the_number_of_another_binding_beside_the_right_one_is_asked_about(tmp_path: Path, hands: Workers) -> None:
    other = SOUND.but(back_line=("ISBN 978-1-23456-788-0 (cloth)", 20.0, 120.0))
    assert told(looked(other, tmp_path, hands)) == [("isbn/type", QUERY)]


def test_type_on_either_side_of_the_spine_is_no_line_over_it(tmp_path: Path, hands: Workers) -> None:
    # large type on one base line: 22 mm from the end of the one to the beginning of the other at 40 pt, 14 mm an em
    level = text("Lamps", 50.0, 100.0, 40, 0, WHITE) + text("Lamps", 132.0, 100.0, 40, 0, WHITE)
    assert told(looked(SOUND.but(back_line=("", 0, 0), front_line=("", 0, 0), more=level), tmp_path, hands)) == []


def test_type_as_outlines_is_measured_as_type_is(tmp_path: Path, hands: Workers) -> None:
    """A title whose letters are paths: strokes of letters as bars of white, centred and not."""

    def title(shift: float) -> str:
        middle = 100 + SPINE / 2 + shift
        return "".join(fill("0 0 0 0 k", middle - 2.5, 40 + 4 * n, middle + 2.5, 42 + 4 * n) for n in range(20))

    assert told(looked(SOUND.but(spine_text="", more=title(0)), tmp_path, hands)) == []
    assert told(looked(SOUND.but(spine_text="", more=title(3)), tmp_path, hands)) == [("spine-title/centre", QUERY)]


def test_bars_that_lean_are_read_and_asked_about(tmp_path: Path, hands: Workers) -> None:
    turned = f"q 0.9397 0.3420 -0.3420 0.9397 {40 * PT:.3f} {30 * PT:.3f} cm\n"
    aslant = turned + fill("0 0 0 0 k", -6, -8, 38, 28) + bars(SOUND, 0, 0) + "Q\n"
    got = looked(SOUND.but(ean=None, more=aslant), tmp_path, hands)
    assert told(got) == [("barcode/aslant", QUERY)]
    assert "aslant" in dict(got.findings.not_judged)["barcode-size"]


def test_bars_on_their_side_are_as_good(tmp_path: Path, hands: Workers) -> None:
    turned = f"q 0 1 -1 0 {80 * PT:.3f} {30 * PT:.3f} cm\n"
    upright = turned + fill("0 0 0 0 k", -6, -8, 38, 28) + bars(SOUND, 0, 0) + "Q\n"
    got = looked(SOUND.but(ean=None, more=upright), tmp_path, hands)
    assert told(got) == []
    found = got.seen.bars if got.seen else None
    assert found is not None
    # turned a quarter to the left about (80, 30): the bars, 22.85 high, lie to the left of it
    box = found.box_mm
    assert (box.x0, box.y0, box.x1, box.y1) == pytest.approx((80 - 22.85, 30, 80, 30 + 95 * MODULE_MM), abs=0.06)


def test_art_that_runs_off_is_no_live_matter(tmp_path: Path, hands: Workers) -> None:
    # a trunk that bleeds, and a leaf on it a millimetre from the trim
    tree = fill(GROUND, -3, 60, 30, 70) + fill("0.3 0 0.6 0 k", 1, 62, 5, 66)
    assert told(looked(SOUND.but(more=tree), tmp_path, hands)) == []
    alone = fill("0.3 0 0.6 0 k", 1, 62, 5, 66)
    assert told(looked(SOUND.but(more=alone), tmp_path, hands)) == [("cover-live-matter/trim", QUERY)]


def test_a_picture_over_everything_is_not_judged_as_if_it_were_seen_into(tmp_path: Path, hands: Workers) -> None:
    whole = Picture((-3, -3, 221.6, 153), (2240, 1560), "DeviceGray")
    got = looked(SOUND.but(ean=None, spine_text="", pictures=(whole,)), tmp_path, hands)
    assert ("spine-empty", QUERY) not in told(got)
    unjudged = dict(got.findings.not_judged)
    assert "cannot be told" in unjudged["spine-empty"] and "cannot be told" in unjudged["spine-title"]


def test_a_locked_file_and_a_broken_one_are_errors(tmp_path: Path, hands: Workers) -> None:
    from foldproof.errors import NeedsPassword, Unreadable

    path = write(SOUND, tmp_path / "cover.pdf")
    locked = tmp_path / "locked.pdf"
    with pikepdf.open(path) as pdf:
        pdf.save(locked, encryption=pikepdf.Encryption(owner="o", user="lamp"))
    with pytest.raises(NeedsPassword):
        held(locked, SOUND.asked, hands)
    broken = tmp_path / "broken.pdf"
    broken.write_bytes(b"%PDF-1.7\nno more\n")
    with pytest.raises(Unreadable):
        held(broken, SOUND.asked, hands)
