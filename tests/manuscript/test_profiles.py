# SPDX-License-Identifier: AGPL-3.0-or-later
"""ICC profiles against littleCMS (through Pillow), and output intents as files state them."""

from __future__ import annotations

import io
import random
from pathlib import Path

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream, String
from PIL import ImageCms

from foldproof.manuscript.file_facts import Intent, Profile
from foldproof.manuscript.read import read
from foldproof.pdf.structure_profile import profile_of, read_profile
from tests.build import book
from tests.profiles import assembled, cmyk_profile, description, matrix_profile

GHOSTSCRIPT = Path("/usr/share/color/icc/ghostscript")

SOUND = {
    "four inks": cmyk_profile(),
    "four inks, version 4": cmyk_profile(version=(4, 2)),
    "a screen": matrix_profile(),
    "a screen, version 4": matrix_profile(version=(4, 3)),
    "grey": matrix_profile("GRAY"),
    "sRGB as Pillow makes it": ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes(),
    "Lab as Pillow makes it": ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes(),
}


def by_littlecms(data: bytes) -> Profile:
    """The same facts as littleCMS tells them.

    Raises:
        OSError: it does not open it.
    """
    profile = ImageCms.ImageCmsProfile(io.BytesIO(data)).profile
    return Profile(
        valid=True,
        why="",
        version=f"{profile.version:.1f}",
        device_class=profile.device_class.strip(),
        space=profile.xcolor_space.strip(),
        description=(profile.profile_description or "").strip(),
        components={"GRAY": 1, "RGB": 3, "Lab": 3, "CMYK": 4}[profile.xcolor_space.strip()],
    )


@pytest.mark.parametrize("name", SOUND)
def test_a_sound_profile_reads_as_littlecms_reads_it(name: str) -> None:
    ours = read_profile(SOUND[name])
    assert (ours.valid, ours.why) == (True, "")
    assert ours == by_littlecms(SOUND[name])


def test_ghostscripts_profiles_read_as_littlecms_reads_them() -> None:
    if not (files := sorted(GHOSTSCRIPT.glob("*.icc"))):
        pytest.skip(f"no profiles in {GHOSTSCRIPT}")
    for file in files:
        ours, theirs = read_profile(file.read_bytes()), by_littlecms(file.read_bytes())
        assert ours == theirs, file.name


def test_the_profile_made_for_the_tests_turns_inks_into_colours() -> None:
    """So that what is called sound here is one that littleCMS can work with, both ways."""
    inks = ImageCms.ImageCmsProfile(io.BytesIO(cmyk_profile()))
    screen = ImageCms.createProfile("sRGB")
    for way in ((inks, screen, "CMYK", "RGB"), (screen, inks, "RGB", "CMYK")):
        assert ImageCms.buildTransform(*way) is not None
    assert ImageCms.isIntentSupported(inks, ImageCms.Intent.PERCEPTUAL, ImageCms.Direction.OUTPUT) == 1


BROKEN = {
    "nothing": (b"", "less than a header"),
    "no signature": (SOUND["four inks"][:36] + b"ABCD" + SOUND["four inks"][40:], '"acsp" is missing'),
    "text": (b"This is no profile at all. " * 20, '"acsp" is missing'),
    "cut in its table of tags": (SOUND["four inks"][:150], "cut short"),
    "cut in its data": (SOUND["four inks"][:-100], "cut short"),
    "a class that there is not": (cmyk_profile(device_class="pntr"), 'device class "pntr"'),
    "a space that there is not": (assembled({}, device_class="prtr", space="CMYX", pcs="Lab"), 'colour space "CMYX"'),
    "connected to nothing": (assembled({}, device_class="prtr", space="GRAY", pcs="RGB"), "connection space"),
    "a tag beyond the end": (
        SOUND["four inks"][:136] + b"\xff\xff\xff\xf0" + SOUND["four inks"][140:],
        'tag "desc" lies outside',
    ),
    "endless tags": (SOUND["four inks"][:128] + b"\xff\xff\xff\xff" + SOUND["four inks"][132:], "table of tags"),
    "no way from inks to colours": (cmyk_profile(leave_out=("A2B0",)), "lacks the table A2B0"),
    "no tables": (cmyk_profile(leave_out=("A2B0", "B2A0")), "A2B0 and B2A0"),
}
#: littleCMS opens these all the same: it passes over a tag outside the profile, cuts the stated size to what is there,
#: does not look whether spaces are known nor whether tables are missing until a transform is asked for (buildTransform
#: then fails, see below)
OPENED_ALL_THE_SAME = {
    "cut in its data", "a space that there is not", "connected to nothing",
    "a tag beyond the end", "no way from inks to colours", "no tables",
}  # fmt: skip


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_profile_says_why(name: str) -> None:
    data, why = BROKEN[name]
    ours = read_profile(data)
    assert not ours.valid and why in ours.why
    opened = True
    try:
        ImageCms.ImageCmsProfile(io.BytesIO(data))
    except OSError:
        opened = False
    assert opened == (name in OPENED_ALL_THE_SAME)


@pytest.mark.parametrize("lacks", [("A2B0",), ("A2B0", "B2A0")])
def test_inks_without_their_table_are_of_no_use_to_littlecms(lacks: tuple[str, ...]) -> None:
    inks = ImageCms.ImageCmsProfile(io.BytesIO(cmyk_profile(leave_out=lacks)))
    with pytest.raises(ImageCms.PyCMSError):
        ImageCms.buildTransform(inks, ImageCms.createProfile("sRGB"), "CMYK", "RGB")


def test_bytes_after_a_profile_do_it_no_harm() -> None:
    assert read_profile(SOUND["grey"] + b"\n").valid


def test_garbage_is_borne() -> None:
    """Any bytes at all give a profile, sound or with a reason; damage at random, and always the same."""
    chance = random.Random(7)
    for name in ("four inks", "four inks, version 4", "a screen"):
        for _ in range(400):
            data = bytearray(SOUND[name])
            for _ in range(chance.randint(1, 12)):
                data[chance.randrange(0, 260)] = chance.randrange(256)
            if chance.random() < 0.3:
                del data[chance.randrange(len(data)) :]
            ours = read_profile(bytes(data))
            assert ours.valid == (not ours.why)
            ours.description.encode("utf-8")


def test_the_english_name_goes_before_others() -> None:
    assert read_profile(matrix_profile(words="Lamp", version=(4, 0))).description == "Lamp"
    odd = assembled({"desc": description("Lamp", 4)[:20]}, device_class="mntr", space="RGB", pcs="XYZ")
    assert read_profile(odd).description == ""


def test_a_stream_that_does_not_decode() -> None:
    pdf = pikepdf.new()
    stream = Stream(pdf, b"not deflated")
    stream.Filter = Name.FlateDecode
    found = profile_of(stream)
    assert found is not None and not found.valid
    assert profile_of(Dictionary()) is None


def intents_of(path: Path, *intents: Dictionary) -> tuple[Intent, ...]:
    def after(pdf: pikepdf.Pdf) -> None:
        for intent in intents:
            if isinstance(held := intent.get("/DestOutputProfile"), pikepdf.String):
                stream = Stream(pdf, bytes(held))
                stream.N = 4
                intent.DestOutputProfile = pdf.make_indirect(stream)
        pdf.Root.OutputIntents = Array([pdf.make_indirect(one) for one in intents])

    return read(book(2, path, after=after)).facts.intents


def test_intents_are_told_in_full(tmp_path: Path) -> None:
    full = Dictionary(
        Type=Name.OutputIntent, S=Name.GTS_PDFX, OutputConditionIdentifier="FOGRA39", OutputCondition="Coated",
        RegistryName="http://www.color.org", Info="ISO 12647-2", DestOutputProfile=String(cmyk_profile()),
    )  # fmt: skip
    found = intents_of(tmp_path / "a.pdf", full, Dictionary(S=Name.GTS_PDFA1))
    profile = Profile(True, "", "2.1", "prtr", "CMYK", "Lantern Row, coated", 4)
    assert found == (
        Intent("GTS_PDFX", "FOGRA39", "Coated", "http://www.color.org", "ISO 12647-2", 4, profile, False),
        Intent("GTS_PDFA1", "", "", "", "", None, None, False),
    )


def test_odd_intents_are_borne(tmp_path: Path) -> None:
    found = intents_of(
        tmp_path / "a.pdf",
        Dictionary(S=String("x"), OutputConditionIdentifier=5, DestOutputProfile=Name.Nothing),
        Dictionary(S=Name.GTS_PDFX, DestOutputProfileRef=Dictionary()),
    )
    assert [(one.subtype, one.referenced) for one in found] == [("", False), ("GTS_PDFX", True)]
    assert found[0].profile == Profile(False, "it is no stream")


def test_the_corpus(corpus: Path) -> None:
    """Output intents of files that nobody here wrote, against littleCMS."""
    for name in ("hard/pikepdf__pdfx.pdf", "hard/ocr__cmyk.pdf"):
        path = corpus / name
        with pikepdf.open(path) as pdf:
            streams = [one.get("/DestOutputProfile") for one in pdf.Root.OutputIntents]
            theirs = [by_littlecms(one.read_bytes()) if one is not None else None for one in streams]
        assert [one.profile for one in read(path).facts.intents] == theirs
