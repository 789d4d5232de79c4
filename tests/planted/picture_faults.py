# SPDX-License-Identifier: AGPL-3.0-or-later
"""Faults of pictures."""

from __future__ import annotations

import io
import zlib
from typing import Any

from pikepdf import Array, Dictionary, Name
from PIL import Image

from tests.planted.planting import Fault, Page

PT_AN_INCH = 72


def noise(width: int, height: int, mode: str = "L") -> Image.Image:
    """A picture with detail in it, the same every time."""
    plain = Image.effect_mandelbrot((width, height), (-2.2, -1.4, 0.9, 1.4), 60)
    return plain if mode == "L" else Image.merge(mode, [plain] * len(mode))


def _raw(page: Page, picture: Image.Image, space: Any, **entries: Any) -> Any:
    return page.stream(
        zlib.compress(picture.tobytes()), Type=Name.XObject, Subtype=Name.Image, Width=picture.width,
        Height=picture.height, BitsPerComponent=8, ColorSpace=space, Filter=Name.FlateDecode, **entries,
    )  # fmt: skip


def _place(page: Page, image: Any, *, ppi: float | tuple[float, float], matrix: str = "", clip: str = "") -> None:
    across, down = (ppi, ppi) if isinstance(ppi, float | int) else ppi
    width, height = int(image.Width) * PT_AN_INCH / across, int(image.Height) * PT_AN_INCH / down
    laid = matrix or f"{width:.4f} 0 0 {height:.4f} 80 150 cm"
    page.paint(f"{clip} {laid} /PlI Do", XObject={"PlI": image})


def _grey(pixels: int, ppi: float | tuple[float, float], **more: Any) -> Any:
    return lambda page: _place(page, _raw(page, noise(pixels, pixels), Name.DeviceGray), ppi=ppi, **more)


def _line_work(page: Page) -> None:
    bits = noise(320, 320).point(lambda v: 255 if v > 20 else 0, mode="1")
    made = page.stream(
        zlib.compress(bits.tobytes()), Type=Name.XObject, Subtype=Name.Image, Width=320, Height=320, BitsPerComponent=1,
        ColorSpace=Name.DeviceGray, Filter=Name.FlateDecode,
    )  # fmt: skip
    _place(page, made, ppi=140)


def _rgb(page: Page) -> None:
    _place(page, _raw(page, noise(300, 300, "RGB"), Name.DeviceRGB), ppi=300)


def _lab(page: Page) -> None:
    space = Array([Name.Lab, Dictionary(WhitePoint=Array([0.9642, 1, 0.8249]), Range=Array([-100, 100, -100, 100]))])
    _place(page, _raw(page, noise(300, 300, "RGB"), space), ppi=300)


def _sixteen(page: Page) -> None:
    grey = noise(300, 300).tobytes()
    made = page.stream(
        zlib.compress(bytes(v for g in grey for v in (g, g))), Type=Name.XObject, Subtype=Name.Image, Width=300,
        Height=300, BitsPerComponent=16, ColorSpace=Name.DeviceGray, Filter=Name.FlateDecode,
    )  # fmt: skip
    _place(page, made, ppi=300)


def _coded(form: str, filter_name: Name, mode: str = "L", **options: Any) -> Any:
    def plant(page: Page) -> None:
        held = io.BytesIO()
        noise(300, 300, mode).save(held, form, **options)
        made = page.stream(
            held.getvalue(), Type=Name.XObject, Subtype=Name.Image, Width=300, Height=300, BitsPerComponent=8,
            ColorSpace=Name.DeviceGray, Filter=filter_name,
        )  # fmt: skip
        _place(page, made, ppi=300)

    return plant


def _jbig2(page: Page) -> None:
    """A generic region of 64 x 64 without a coded bit (ITU-T T.88, 7.4.6), enough to be one."""
    info = bytes([0, 0, 0, 0, 48, 0, 1, 0, 0, 0, 19]) + bytes([0, 0, 0, 64, 0, 0, 0, 64]) + bytes(8) + bytes([0, 0, 0])
    region = (
        bytes([0, 0, 0, 1, 38, 0, 1, 0, 0, 0, 30]) + bytes([0, 0, 0, 64, 0, 0, 0, 64]) + bytes(8) + bytes([0])
        + bytes([0]) + bytes([3, 0xFF, 0xFD, 0xFF, 2, 0xFE, 0xFE, 0xFE]) + bytes([0xFF, 0xAC, 0, 0])
    )  # fmt: skip
    made = page.stream(
        info + region, Type=Name.XObject, Subtype=Name.Image, Width=64, Height=64, BitsPerComponent=1,
        ColorSpace=Name.DeviceGray, Filter=Name.JBIG2Decode,
    )  # fmt: skip
    _place(page, made, ppi=900)


def _inline(page: Page) -> None:
    rows = noise(80, 80).tobytes().hex()
    page.paint(f"60 0 0 60 100 200 cm BI /W 80 /H 80 /CS /G /BPC 8 /F /AHx ID {rows}> EI")


def _alternates(page: Page) -> None:
    other = _raw(page, noise(600, 600), Name.DeviceGray)
    made = _raw(
        page, noise(300, 300), Name.DeviceGray, Alternates=Array([Dictionary(Image=other, DefaultForPrinting=True)])
    )
    _place(page, made, ppi=300)


def _opi(page: Page) -> None:
    made = _raw(page, noise(300, 300), Name.DeviceGray)
    made.OPI = Dictionary({"/1.3": Dictionary(Type=Name.OPI, Version=1.3, F=b"high.tif", Size=Array([300, 300]))})
    _place(page, made, ppi=300)


FAULTS = (
    Fault("a picture of 60 ppi", "picture-resolution", _grey(120, 60)),
    Fault("line work of 140 ppi", "picture-resolution", _line_work),
    Fault("a picture of 1,800 ppi", "picture-resolution", _grey(1200, 1800), anywhere=True),
    Fault("a picture stretched in one direction", "picture-distortion", _grey(400, (300.0, 460.0)), anywhere=True),
    Fault("an RGB picture", "picture-colour", _rgb),
    Fault("a Lab picture", "picture-colour", _lab),
    Fault("a picture of 16 bits", "picture-depth", _sixteen, anywhere=True),
    Fault("JPEG 2000", "jpeg-2000", _coded("JPEG2000", Name.JPXDecode), anywhere=True),
    Fault("JBIG2", "jbig2", _jbig2, anywhere=True),
    Fault("an inline picture", "inline-pictures", _inline, anywhere=True),
    Fault("a heavily quantised JPEG", "jpeg-quality", _coded("JPEG", Name.DCTDecode, quality=12), anywhere=True),
    Fault("a mirrored picture", "picture-mirrored", _grey(400, 300, matrix="-96 0 0 96 280 150 cm"), anywhere=True),
    Fault(
        "a picture nearly all behind its clip",
        "hidden-picture-matter",
        _grey(1800, 300, clip="100 200 40 40 re W n"),
        anywhere=True,
    ),
    Fault(
        "a picture that runs off the page",
        "hidden-picture-matter",
        _grey(600, 300, matrix="144 0 0 144 -120 150 cm"),
        anywhere=True,
    ),
    Fault("a picture with an alternate that prints", "alternate-images", _alternates, anywhere=True),
    Fault("an OPI comment", "opi", _opi, anywhere=True),
)
