# SPDX-License-Identifier: AGPL-3.0-or-later
"""What a file does rather than shows: actions, scripts, attachments, sound and film, form fields (ISO 32000-1, 12, 13).

Nothing here is ever run or opened; it is only named.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pikepdf
from attrs import define, field

from foldproof.manuscript.file_facts import Where
from foldproof.pdf.structure_objects import entry, keys_of, members, name, object_id, text

#: kinds of annotation that play something (12.5.6; RichMedia: extension level 3)
MEDIA = frozenset({"Sound", "Movie", "Screen", "RichMedia", "3D"})
#: actions may chain by /Next; trees may be deep: a file that goes on longer is not followed to its end
_MOST = 200_000
_KIND = re.compile(rb"/S /(\w+)")
_PLAIN = frozenset({b"GoTo", b"URI"})
_TRIGGERS = {"/WC": "closing", "/WS": "saving", "/DS": "saving", "/WP": "printing", "/DP": "printing"}
_FILE_NAMES = ("/UF", "/F", "/Unix", "/DOS", "/Mac")


@define
class Places:
    """Things of one kind, each with the pages where it is met, in order of meeting."""

    found: dict[tuple[str, str], dict[int, None]] = field(factory=dict)

    def add(self, what: str, detail: str = "", page: int | None = None) -> None:
        pages = self.found.setdefault((what, detail), {})
        if page is not None:
            pages[page] = None

    def listed(self) -> tuple[Where, ...]:
        return tuple(Where(what, detail, tuple(sorted(pages))) for (what, detail), pages in self.found.items())


@define
class Doings:
    """Collects page after page, then the catalog."""

    scripts: Places = field(factory=Places)
    actions: Places = field(factory=Places)
    attachments: Places = field(factory=Places)
    media: Places = field(factory=Places)
    fields: int = 0
    xfa: bool = False

    def of_annotation(self, annotation: Any, keys: frozenset[str], subtype: str, page: int) -> None:
        """``keys`` of the annotation hold /A, /AA or /FS, or its subtype plays something."""
        if subtype in MEDIA:
            self.media.add(subtype, page=page)
        if subtype == "FileAttachment" and (file := _file_name(entry(annotation, "/FS"))) is not None:
            self.attachments.add("file", file, page)
        where = "button or field" if subtype == "Widget" else "link" if subtype == "Link" else "annotation"
        if "/A" in keys:
            self.action(annotation.get("/A"), where, page)
        if "/AA" in keys:
            self.triggers(annotation.get("/AA"), where, page)

    def of_links(self, actions: list[Any], page: int) -> None:
        """The actions of links without triggers of their own.

        They come by the ten thousand, and nearly all are plain jumps: one look at the text of all those of a page
        takes the place of four into the library for each.
        """
        texts = [action.unparse(resolved=True) for action in actions if isinstance(action, pikepdf.Dictionary)]
        together = b"\n".join(texts)
        kinds = _KIND.findall(together)
        if len(kinds) == len(actions) == len(texts) and _PLAIN.issuperset(kinds) and b"/Next" not in together:
            for kind in dict.fromkeys(kinds):
                self.actions.add(kind.decode(), "", page)
            return
        for action in actions:
            self.action(action, "link", page)

    def of_page(self, page_object: Any, keys: frozenset[str], page: int) -> None:
        if "/AA" in keys:
            self.triggers(page_object.get("/AA"), "turning to the page", page)
        if "/AF" in keys:
            self._associated(page_object.get("/AF"), page)

    def of_file(self, pdf: pikepdf.Pdf) -> None:
        """The catalog, its name trees, the outline and the form."""
        root = pdf.Root
        opening = entry(root, "/OpenAction")
        if isinstance(opening, pikepdf.Dictionary):
            self.action(opening, "opening", None)
        for trigger, value in _pairs(entry(root, "/AA")):
            self.action(value, _TRIGGERS.get(trigger, "the document"), None)
        names = entry(root, "/Names")
        for key, value in _name_tree(entry(names, "/JavaScript")):
            self.scripts.add("JavaScript", f"document, {key}" if key else "document")
            self._following(entry(value, "/Next"), "document", None)
        for key, value in _name_tree(entry(names, "/EmbeddedFiles")):
            self.attachments.add("file", _file_name(value) or key)
        for _, value in _name_tree(entry(names, "/Renditions")):
            if keys_of(value):
                self.media.add("Rendition")
        self._associated(entry(root, "/AF"), None)
        if keys_of(entry(root, "/Collection")):
            self.attachments.add("portfolio")
        self._outline(entry(entry(root, "/Outlines"), "/First"))
        self._form(entry(root, "/AcroForm"))

    def triggers(self, additional: Any, where: str, page: int | None) -> None:
        """An /AA dictionary (12.6.3)."""
        for _, value in _pairs(additional):
            self.action(value, where, page)

    def action(self, action: Any, where: str, page: int | None) -> None:
        """One action (12.6.4) and those that follow it."""
        kind = name(entry(action, "/S"))
        if kind == "JavaScript" or (kind == "Rendition" and "/JS" in action):
            self.scripts.add("JavaScript", where, page)
        if kind and kind != "JavaScript":
            file = _file_name(entry(action, "/F")) if kind in ("Launch", "GoToR", "ImportData") else None
            self.actions.add(kind, file or "", page)
        if kind and "/Next" in action:
            self._following(action.get("/Next"), where, page)

    def _following(self, first: Any, where: str, page: int | None) -> None:
        waiting, seen = [first], set[tuple[int, int]]()
        left = _MOST
        while waiting and left:
            left -= 1
            after = waiting.pop()
            if isinstance(after, pikepdf.Array):
                waiting += reversed(members(after))
                continue
            own = object_id(after)
            if not keys_of(after) or own in seen:
                continue
            if own:
                seen.add(own)
            kind = name(entry(after, "/S"))
            if kind == "JavaScript":
                self.scripts.add(kind, where, page)
            elif kind:
                self.actions.add(kind, "", page)
            waiting.append(entry(after, "/Next"))

    def _associated(self, files: Any, page: int | None) -> None:
        """Associated files (ISO 32000-2, 14.13): those that are embedded."""
        for one in members(files):
            if keys_of(entry(one, "/EF")) and (file := _file_name(one)) is not None:
                self.attachments.add("file", file, page)

    def _outline(self, first: Any) -> None:
        waiting, seen = [first], set[tuple[int, int]]()
        while waiting and len(seen) < _MOST:
            item = waiting.pop()
            keys, own = keys_of(item), object_id(item)
            if not keys or own is None or own in seen:
                continue
            seen.add(own)
            if "/A" in keys:
                self.action(item.get("/A"), "bookmark", None)
            waiting += [item.get(key) for key in ("/Next", "/First") if key in keys]

    def _form(self, form: Any) -> None:
        self.xfa = entry(form, "/XFA") is not None
        waiting, seen = list(reversed(members(entry(form, "/Fields")))), set[tuple[int, int]]()
        while waiting and len(seen) < _MOST:
            one = waiting.pop()
            keys, own = keys_of(one), object_id(one)
            if not keys or own in seen:
                continue
            if own:
                seen.add(own)
            kids = members(one.get("/Kids")) if "/Kids" in keys else []
            # kids without a name of their own are the field's places on the pages, not fields (12.7.3.1)
            below = [kid for kid in kids if "/T" in keys_of(kid)]
            waiting += reversed(below)
            self.fields += not below
            if "/AA" in keys and "/Subtype" not in keys:  # merged with its place, it was met on its page
                self.triggers(one.get("/AA"), f"field {text(entry(one, '/T'))}".strip(), None)


def _pairs(thing: Any) -> list[tuple[str, Any]]:
    return list(thing.items()) if isinstance(thing, pikepdf.Dictionary) else []


def _file_name(file: Any) -> str | None:
    """The name that a file specification gives (7.11.3)."""
    if isinstance(file, pikepdf.String):
        return text(file)
    keys = keys_of(file)
    if not keys:
        return None
    return next((said for key in _FILE_NAMES if key in keys and (said := text(file.get(key)))), "")


def _name_tree(root: Any) -> Iterator[tuple[str, Any]]:
    """Keys and values of a name tree (7.9.6) in order."""
    waiting, seen = [root], set[tuple[int, int]]()
    left = _MOST
    while waiting and left:
        left -= 1
        node = waiting.pop()
        own = object_id(node)
        if own in seen:
            continue
        if own:
            seen.add(own)
        pairs = members(entry(node, "/Names"))
        for key, value in zip(pairs[::2], pairs[1::2], strict=False):
            yield text(key), value
        waiting += reversed(members(entry(node, "/Kids")))
