# SPDX-License-Identifier: AGPL-3.0-or-later
"""report.html in a real browser: nothing runs, nothing overflows, at the width of a telephone and of a desk."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from html import unescape
from pathlib import Path
from types import ModuleType

import pikepdf
import pytest

from foldproof.report.model import Format
from foldproof.report.write import write_reports

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no chromium on this machine")

# laid over the page by the test, with a policy that lets this one script run; the report itself has none
PROBE = """
<script>
addEventListener("load", () => setTimeout(() => {
  const wide = [...document.querySelectorAll("body *")].filter(e =>
    !e.closest("svg svg, .scroll, .skip") && e.getBoundingClientRect().right > innerWidth + 1 && !e.ownerSVGElement);
  const out = {
    title: document.title, inner: innerWidth, scroll: document.documentElement.scrollWidth,
    wide: wide.map(e => e.tagName + "." + e.className).slice(0, 5),
    images: document.querySelectorAll("svg image").length,
    narrowest: Math.min(...[...document.querySelectorAll(".cause .text")].map(e => e.clientWidth)),
    font: getComputedStyle(document.querySelector("h1")).fontWeight,
  };
  const pre = document.createElement("pre"); pre.id = "probe"; pre.textContent = JSON.stringify(out);
  document.body.append(pre);
}, 50));
</script>
"""


@pytest.fixture(scope="module")
def page(samples: ModuleType, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("out")
    path = out / "almanack.pdf"
    with pikepdf.new() as made:
        for _ in range(30):
            made.add_blank_page(page_size=(436.85, 652.28))
        made.save(path)
    long = "Unbreakable" * 30
    proof = samples.proof(samples.plan(), swapped=(6, 7))
    results = samples.results(path, nasty=samples.NASTY + long, title=samples.NASTY + long, proof=proof)
    write_reports(results, out, formats={Format.HTML})
    return out / "report.html"


def run(page: Path, folder: Path, *more: str) -> str:
    command = [
        str(BROWSER), "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
        f"--user-data-dir={folder / 'profile'}", "--hide-scrollbars", "--virtual-time-budget=2000",
        *more, page.as_uri(),
    ]  # fmt: skip
    return subprocess.run(command, capture_output=True, text=True, timeout=60, check=False).stdout


def test_a_script_in_a_title_does_nothing(page: Path, tmp_path: Path) -> None:
    dom = run(page, tmp_path, "--dump-dom")
    title = re.search(r"<title>(.*?)</title>", dom, re.S)
    assert title is not None
    assert unescape(title[1]).endswith("– Foldproof report"), "no script changed it"
    assert "<script" not in dom.lower().replace("&lt;script", "")
    assert not re.search(r"<img[^>]+onerror", dom)


@pytest.mark.parametrize("width", [390, 1440])
def test_nothing_overflows(page: Path, tmp_path: Path, width: int) -> None:
    probed = tmp_path / "probed.html"
    text = re.sub(r"<meta http-equiv=\"Content-Security-Policy\"[^>]*>", "", page.read_text("utf-8"))
    frame = f'<iframe id="f" src="probed.html" width="{width}" height="900"></iframe>'
    probed.write_text(text.replace("</body>", PROBE + "</body>"), "utf-8")
    # a frame has exactly the width that it is given; a window may have a least one
    holder = tmp_path / "holder.html"
    holder.write_text(
        f"<!doctype html><body>{frame}<pre id=probe></pre><script>setTimeout(() => document.querySelector('#probe')"
        ".textContent = document.querySelector('#f').contentDocument.querySelector('#probe').textContent, 900)"
        "</script>",
        "utf-8",
    )
    dom = run(holder, tmp_path, "--dump-dom", "--allow-file-access-from-files", "--window-size=1600,1000")
    found = re.search(r'<pre id="probe">(\{.*?\})</pre>', dom, re.S)
    assert found is not None, dom[-500:]
    seen = json.loads(unescape(found[1]))
    assert seen["inner"] == width
    assert seen["scroll"] <= width and seen["wide"] == [], seen
    assert seen["images"] >= 5, "thumbnails are there"
    assert seen["narrowest"] >= 320, "a finding has room to be read"
    assert seen["font"] == "400", "the style sheet was taken"


def test_the_style_sheet_passes_its_own_policy(page: Path, tmp_path: Path) -> None:
    shot = tmp_path / "shot.png"
    run(page, tmp_path, f"--screenshot={shot}", "--window-size=1440,900")
    from PIL import Image

    with Image.open(shot) as picture:
        # paper of the style sheet; white when the policy had refused it
        assert picture.convert("RGB").getpixel((3, 3)) == (0xFD, 0xFC, 0xF9)
