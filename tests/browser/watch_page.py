# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a page does that it should not: whatever runs, is refused, is asked for, or stands where only text should."""

from __future__ import annotations

import json
from pathlib import Path

from tests.browser.driver import Browser

#: runs before anything of the page: hears what runs, and what the page's policy refuses
_SENTINEL = """
window.__seen = [];
window.ran = (tag) => { window.__seen.push("ran: " + tag); };
for (const name of ["alert", "confirm", "prompt", "open", "print"]) window[name] = (text) => ran(name + " " + text);
addEventListener("securitypolicyviolation",
  (e) => { window.__seen.push("refused: " + e.violatedDirective + " " + e.blockedURI); }, true);
"""
#: elements and attributes that no page of ours has
_STRANGE = """(() => {
  const found = [], tell = (what, text) => found.push(what + ": " + text.slice(0, 80));
  const all = (css) => document.querySelectorAll(css);
  for (const e of all("iframe, object, embed, base, form, link, foreignObject, animate, set, audio, video"))
    tell("element", e.outerHTML);
  for (const e of all("*")) for (const a of e.attributes) {
    const value = a.value.trim().toLowerCase();
    if (/^on/i.test(a.name) || a.name === "style" || a.name === "srcdoc") tell("attribute", a.name + "=" + a.value);
    if (/href$|^src$|^action$|^data$/.test(a.name) && /^(javascript|vbscript|https?|file|\\/\\/)/.test(value))
      tell("address", a.value);
  }
  for (const e of all("img")) if (!e.src.startsWith("data:image/")) tell("picture", e.src);
  for (const e of all("meta[http-equiv]"))
    if (e.httpEquiv.toLowerCase() !== "content-security-policy") tell("meta", e.outerHTML);
  return found;
})()"""


def watched(browser: Browser) -> None:
    """Let the browser tell, from the next page on, of everything that :func:`amiss` looks for."""
    browser("Network.enable")
    browser("Page.addScriptToEvaluateOnNewDocument", source=_SENTINEL)


def amiss(browser: Browser, page: Path, *, scripts: int, title: str) -> list[str]:
    """Open a page, touch everything that can be touched, and say what went on that should not.

    Args:
        scripts: script elements that are ours.
        title: how the page's own title ends.
    """
    browser.open(page)
    browser.js("""document.querySelectorAll("body *").forEach((e) => {
        for (const kind of ["mouseover", "focus", "mouseenter", "pointerover"]) e.dispatchEvent(new Event(kind));
        if (!["A", "BUTTON", "INPUT"].includes(e.tagName)) e.dispatchEvent(new MouseEvent("click"));
    })""")
    # whatever is still to load or to run has had its turn after this
    browser.js("new Promise((go) => setTimeout(go, 150))")
    found: list[str] = browser.js("window.__seen")
    found += browser.js(_STRANGE)
    count = browser.js("document.querySelectorAll('script').length")
    found += [f"{count} scripts, where {scripts} are ours"] if count != scripts else []
    shown = browser.js("document.title")
    found += [] if shown.endswith(title) else [f"title: {shown[-60:]}"]
    found += [f"complaint: {line}" for line in browser.complaints()]
    for event in browser.events:
        said = event.get("params", {})
        match event.get("method"):
            case "Page.javascriptDialogOpening":
                found.append(f"dialog: {said['message']}")
            case "Network.requestWillBeSent" if said["request"]["url"] != page.as_uri():
                if not said["request"]["url"].startswith("data:image/"):
                    found.append(f"request: {said['request']['url'][:80]}")
            case "Runtime.consoleAPICalled":
                found.append(f"console: {json.dumps(said['args'])[:80]}")
            case "Page.frameNavigated" if said["frame"].get("url") != page.as_uri():
                found.append(f"went to: {said['frame'].get('url')}")
    return found
