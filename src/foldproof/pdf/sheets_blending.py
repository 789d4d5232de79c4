# SPDX-License-Identifier: AGPL-3.0-or-later
"""The transparency group of a sheet: such that every page blends on it as it blends alone.

Each page's form carries the page's own group, so that the sheet mostly wants none.  Two cases differ, because what
blends at the top of a page without a colour space of its own blends in the output intent's space or in the device's:

* all pages of a side blend in the same CMYK space: the sheet states it too, and nothing is converted between the two;
* the document has an output intent and no page of the side leans on it (every page has a group or is opaque): the
  sheet states a group without a colour space, or readers would push the opaque and the RGB pages through the intent
  because of the groups beside them.

An RGB space is never stated: marks in every plate and in black alone would be converted on the way.
"""

from __future__ import annotations

from collections.abc import Iterable

import pikepdf
from pikepdf import Dictionary, Name

_PLAIN_MODES = ("/Normal", "/Compatible")


def page_group(page: pikepdf.Object) -> pikepdf.Object | None:
    """A page's transparency group, ``None`` without one."""
    group = page.get("/Group")
    return group if isinstance(group, Dictionary) and group.get("/S") == Name.Transparency else None


class Blending:
    """Decides on the groups of sheets; remembers what it has looked through."""

    def __init__(self, has_intent: bool) -> None:
        self._has_intent = has_intent
        self._known: dict[tuple[int, int], bool] = {}

    def sheet_group(self, pages: Iterable[pikepdf.Object]) -> pikepdf.Object | None:
        """The group of a sheet on which these pages stand, ``None`` when it wants none."""
        given = list(pages)
        groups = [page_group(page) for page in given]
        if not any(groups):
            return None
        spaces = [group.get("/CS") if group is not None else None for group in groups]
        first = spaces[0]
        if first is not None and _is_cmyk(first) and all(space is not None and space == first for space in spaces):
            return Dictionary(Type=Name.Group, S=Name.Transparency, CS=first)
        leaning = (page for page, group in zip(given, groups, strict=True) if group is None)
        if self._has_intent and not any(self.blends(page.get("/Resources")) for page in leaning):
            return Dictionary(Type=Name.Group, S=Name.Transparency)
        return None

    def blends(self, resources: pikepdf.Object | None, depth: int = 0) -> bool:
        """Whether anything among these resources is transparent: blend modes, opacity, soft masks, groups."""
        if not isinstance(resources, Dictionary) or depth > 12:
            return False
        key = resources.objgen
        if key[0] and key in self._known:
            return self._known[key]
        if key[0]:
            self._known[key] = False  # a loop leads nowhere new
        found = any(_state_blends(state) for state in _entries(resources, "/ExtGState")) or any(
            self._object_blends(drawn, depth)
            for kind in ("/XObject", "/Pattern")
            for drawn in _entries(resources, kind)
        )
        if key[0]:
            self._known[key] = found
        return found

    def _object_blends(self, drawn: pikepdf.Object, depth: int) -> bool:
        if not isinstance(drawn, Dictionary | pikepdf.Stream):
            return False
        if isinstance(drawn.get("/SMask"), pikepdf.Stream) or page_group(drawn) is not None:
            return True
        return self.blends(drawn.get("/Resources"), depth + 1)


def _entries(resources: pikepdf.Object, kind: str) -> list[pikepdf.Object]:
    held = resources.get(kind)
    return [entry for _, entry in held.items()] if isinstance(held, Dictionary) else []


def _state_blends(state: pikepdf.Object) -> bool:
    if not isinstance(state, Dictionary):
        return False
    mode = state.get("/BM")
    if mode is not None and str(mode) not in _PLAIN_MODES:
        return True
    if isinstance(state.get("/SMask"), Dictionary):
        return True
    return any(key in state and state[key] != 1 for key in ("/ca", "/CA"))


def _is_cmyk(space: pikepdf.Object) -> bool:
    if space == Name.DeviceCMYK:
        return True
    if isinstance(space, pikepdf.Array) and len(space) == 2 and space[0] == Name.ICCBased:
        profile = space[1]
        return isinstance(profile, pikepdf.Stream) and profile.get("/N") == 4
    return False
