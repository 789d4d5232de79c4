# SPDX-License-Identifier: AGPL-3.0-or-later
"""Drives a headless Chromium by its remote debugging pipe (file descriptors 3 and 4), with nothing but Python.

Widths are exact (a window has a least one), keys are real key events, and what a page logs or refuses is kept.
"""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import time
from pathlib import Path
from typing import Any

BROWSER = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")

_KEYS = {
    "Enter": (13, "\r"), "Tab": (9, "\t"), "Escape": (27, ""), "ArrowLeft": (37, ""), "ArrowUp": (38, ""),
    "ArrowRight": (39, ""), "ArrowDown": (40, ""), "PageUp": (33, ""), "PageDown": (34, ""), "Home": (36, ""),
    "End": (35, ""), " ": (32, " "),
}  # fmt: skip


class Browser:
    """One page of one browser; a context manager."""

    def __init__(self, folder: Path) -> None:
        assert BROWSER is not None
        ours, theirs = os.pipe(), os.pipe()  # we read ours[0]; the browser reads theirs[0]
        for fd in (ours[1], theirs[0]):
            os.set_inheritable(fd, True)
        words = [
            BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
            "--disable-background-networking", "--disable-component-update", "--disable-sync", "--hide-scrollbars",
            "--disable-dev-shm-usage", "--remote-debugging-pipe", f"--user-data-dir={folder / 'profile'}",
            "about:blank",
        ]  # fmt: skip
        script = f'exec "$@" 3<&{theirs[0]} 4>&{ours[1]}'
        self.process = subprocess.Popen(
            ["bash", "-c", script, "browser", *words], pass_fds=(ours[1], theirs[0]), stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(ours[1])
        os.close(theirs[0])
        self._in, self._out = ours[0], theirs[1]
        self._buffer, self._number, self._session = b"", 0, ""
        self.events: list[dict[str, Any]] = []
        targets = self("Target.getTargets")["targetInfos"]
        page = next(t["targetId"] for t in targets if t["type"] == "page")
        self._session = self("Target.attachToTarget", targetId=page, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log"):
            self(f"{domain}.enable")

    def __enter__(self) -> Browser:
        return self

    def __exit__(self, *_: object) -> None:
        self.process.terminate()
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()
        os.close(self._in)
        os.close(self._out)

    def __call__(self, method: str, **given: Any) -> dict[str, Any]:
        """Ask for something and wait for the answer."""
        self._number += 1
        number = self._number
        message: dict[str, Any] = {"id": number, "method": method, "params": given}
        if self._session and not method.startswith("Target."):
            message["sessionId"] = self._session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self._out, data) :]
        while True:
            answer = self._next(60)
            if answer.get("id") == number:
                assert "error" not in answer, answer["error"]
                result: dict[str, Any] = answer["result"]
                return result
            self.events.append(answer)

    def _next(self, seconds: float) -> dict[str, Any]:
        end = time.monotonic() + seconds
        while b"\0" not in self._buffer:
            ready, _, _ = select.select([self._in], [], [], max(0.0, end - time.monotonic()))
            if not ready:
                raise TimeoutError("the browser does not answer")
            read = os.read(self._in, 1 << 20)
            if not read:
                raise TimeoutError("the browser has gone")
            self._buffer += read
        one, _, self._buffer = self._buffer.partition(b"\0")
        loaded: dict[str, Any] = json.loads(one)
        return loaded

    def open(self, page: Path, width: int = 1440, height: int = 900) -> None:
        """Load a file at this width and wait until it is there."""
        self("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=width < 600)
        self.events.clear()
        self("Page.navigate", url=page.as_uri())
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self._next(60))

    def js(self, expression: str) -> Any:
        """The value of an expression, awaited; not held back by the page's policy."""
        answer = self("Runtime.evaluate", expression=expression, awaitPromise=True, returnByValue=True)
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def press(self, *keys: str) -> None:
        """Press and let go of keys, one after the other; words are typed letter by letter."""
        for key in keys:
            for letter in [key] if key in _KEYS else key:
                code, text = _KEYS.get(letter) or (ord(letter.upper()), letter)
                event = {"key": letter, "windowsVirtualKeyCode": code}
                kind = "keyDown" if text else "rawKeyDown"
                self("Input.dispatchKeyEvent", type=kind, **event, **({"text": text} if text else {}))
                self("Input.dispatchKeyEvent", type="keyUp", **event)

    def shot(self, path: Path, whole: bool = False) -> None:
        """A picture of the screen, or of the whole page."""
        more: dict[str, Any] = {}
        if whole:
            size = self("Page.getLayoutMetrics")["cssContentSize"]
            more = {"captureBeyondViewport": True, "clip": {**size, "scale": 1}}
        path.write_bytes(base64.b64decode(self("Page.captureScreenshot", format="png", **more)["data"]))

    def complaints(self) -> list[str]:
        """What the page logged as an error or was refused by its policy."""
        said = []
        for event in self.events:
            if event.get("method") == "Log.entryAdded" and event["params"]["entry"]["level"] == "error":
                said.append(event["params"]["entry"]["text"])
            if event.get("method") == "Runtime.exceptionThrown":
                said.append(json.dumps(event["params"]["exceptionDetails"]))
        return said
