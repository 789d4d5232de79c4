# SPDX-License-Identifier: AGPL-3.0-or-later
"""Speed and memory of the check stage on a book of pictures: every page one CMYK picture of 300 ppi, bleed and all.

    python tests/bench/pictures.py [PAGES [WORKERS]]

300 pages of 120 x 190 mm with 3 mm of bleed hold 1.03 thousand million pixels, 4.1 GB of samples.  Of four pictures
three are JPEG, one is Flate, as in the book of a shop that takes both.  No worker may hold more than 500 MB.
"""

from __future__ import annotations

import io
import json
import subprocess
import sys
import tempfile
import time
import zlib
from pathlib import Path

import numpy as np
import pikepdf
from pikepdf import Array, Dictionary, Name, Stream
from PIL import Image

TRIM_MM, BLEED_MM, PPI = (120.0, 190.0), 3.0, 300
MOST_MB = 500

CHECK = """
import json, resource, sys, time
from pathlib import Path
from foldproof.manuscript.observe import observe
from foldproof.manuscript.read import read
from foldproof.pdf.interpreter import STORE_BYTES
from foldproof.workers import Workers
def main():
    manuscript = read(Path(sys.argv[1]))
    start = time.monotonic()
    with Workers(int(sys.argv[2])) as workers:
        seen = observe(manuscript, workers, trim_mm=(120.0, 190.0), bleed_mm=3.0,
                       needs=frozenset({"structure", "objects", "ink"}), advance=lambda n: None)
    took = time.monotonic() - start
    use = resource.getrusage(resource.RUSAGE_CHILDREN)
    assert not seen.lost, seen.lost
    peaks = [ink.peak.total for ink in seen.ink]
    print(json.dumps([took, use.ru_utime + use.ru_stime, use.ru_maxrss / 1024, STORE_BYTES / 1e6, max(peaks)]))
if __name__ == "__main__":
    main()
"""


def picture(index: int, size: tuple[int, int]) -> np.ndarray:  # type: ignore[type-arg]
    """A made-up picture: broad tones and fine detail, another one for every page."""
    wide, high = size
    x, y = np.arange(wide, dtype=np.float32), np.arange(high, dtype=np.float32)[:, None]
    tones = np.sin(x / (90 + 7 * (index % 11))) + np.cos(y / (120 + 5 * (index % 13)))
    detail = ((x.astype(np.int32) * (index % 7 + 3)) ^ (y.astype(np.int32) * 5)) & 15
    made = np.empty((high, wide, 4), np.uint8)
    for plate, strength in enumerate((50, 45, 40, 30)):
        made[:, :, plate] = tones * strength * (1 if plate % 2 else -1) + 110 + detail
    return made


def build(target: Path, pages: int) -> Path:
    """Write the book; half a minute and half a gigabyte."""
    width, height = ((side + 2 * BLEED_MM) for side in TRIM_MM)
    size = round(width / 25.4 * PPI), round(height / 25.4 * PPI)
    box = [0, 0, width * 72 / 25.4, height * 72 / 25.4]
    bleed = BLEED_MM * 72 / 25.4
    trim = [bleed, bleed, box[2] - bleed, box[3] - bleed]
    pdf = pikepdf.new()
    for index in range(pages):
        samples = picture(index, size)
        if index % 4 == 3:
            image = Stream(pdf, zlib.compress(samples.tobytes(), 1))
            image.Filter = Name.FlateDecode
        else:
            coded = io.BytesIO()
            Image.fromarray(samples, "CMYK").save(coded, "JPEG", quality=85)
            image = Stream(pdf, coded.getvalue())
            image.Filter = Name.DCTDecode
            image.Decode = Array([1, 0] * 4)  # Pillow writes CMYK upside down, as is usual
        image.Type, image.Subtype, image.ColorSpace = Name.XObject, Name.Image, Name.DeviceCMYK
        image.Width, image.Height, image.BitsPerComponent = *size, 8
        content = f"q {box[2]:.4f} 0 0 {box[3]:.4f} 0 0 cm /Im1 Do Q".encode()
        leaf = Dictionary(
            Type=Name.Page, MediaBox=Array(box), TrimBox=Array(trim), BleedBox=Array(box),
            Contents=pdf.make_indirect(Stream(pdf, content)),
            Resources=Dictionary(XObject=Dictionary(Im1=pdf.make_indirect(image))),
        )  # fmt: skip
        pdf.pages.append(pikepdf.Page(pdf.make_indirect(leaf)))
    pdf.save(target, static_id=True)
    pdf.close()
    return target


def main() -> int:
    pages = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    workers = int(sys.argv[2]) if len(sys.argv) > 2 else 2
    with tempfile.TemporaryDirectory() as name:
        start = time.monotonic()
        book = build(Path(name) / "pictures.pdf", pages)
        built_s, script = time.monotonic() - start, Path(name) / "check.py"
        script.write_text(CHECK)
        words = [sys.executable, str(script), str(book), str(workers)]
        done = subprocess.run(words, capture_output=True, text=True, check=True)
        took_s, cpu_s, largest_mb, store_mb, peak = json.loads(done.stdout)
        print(f"{pages} pages, {book.stat().st_size / 1e6:.0f} MB, built in {built_s:.0f} s; heaviest ink {peak:.0%}")
    print(f"  workers {workers}, store of each at most {store_mb:.0f} MB")
    print(f"  check stage, passes: {took_s * 1000 / pages:.1f} ms a page, {cpu_s * 1000 / pages:.1f} ms of CPU")
    holds = largest_mb <= MOST_MB
    print(f"  largest worker {largest_mb:.0f} MB, at most {MOST_MB}   {'holds' if holds else 'FAILS'}")
    return 0 if holds else 1


if __name__ == "__main__":
    sys.exit(main())
