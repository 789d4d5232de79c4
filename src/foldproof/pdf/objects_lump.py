# SPDX-License-Identifier: AGPL-3.0-or-later
"""A chart may have ten thousand colours: kinds of paint beyond a bound are told together with the nearest one kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any, TypeVar

import numpy as np

K = TypeVar("K")

#: kinds of paint, and of text, told of one page
MOST_KINDS = 400
_AT_ONCE = 2000


def lumped(
    found: dict[tuple[Any, ...], K],
    join: Callable[[dict[tuple[Any, ...], K], tuple[Any, ...], K], None],
    most: int = MOST_KINDS,
) -> list[tuple[tuple[Any, ...], K]]:
    """At most so many kinds, in their order.

    Kept are the first ones, and of each family (all alike but for the numbers that are place 2 of the key: colour
    values, size of type) those whose numbers are extreme, and the one with the thinnest line.  Every other one is
    counted with the one of its family whose numbers are nearest: what is told is always something that the page has.
    """
    if len(found) <= most:
        return list(found.items())
    families: dict[tuple[Any, ...], list[tuple[Any, ...]]] = {}
    for key in found:
        families.setdefault((*key[:2], len(key[2]), *key[3:]), []).append(key)
    kept: dict[tuple[Any, ...], None] = {}
    for keys in families.values():
        for key in _extremes(keys, found):
            kept[key] = None
    for key in found:
        if len(kept) >= most:
            break
        kept[key] = None
    told = {key: found[key] for key in found if key in kept}
    for keys in families.values():
        mine, rest = [key for key in keys if key in kept], [key for key in keys if key not in kept]
        for key, nearest in zip(rest, _nearest(rest, mine), strict=True):
            join(told, nearest, found[key])
    return list(told.items())


def _extremes(keys: list[tuple[Any, ...]], found: dict[tuple[Any, ...], Any]) -> list[tuple[Any, ...]]:
    """First, thinnest, lightest and heaviest of a family; of each component the least above 0 and the greatest."""
    best = [keys[0], min(keys, key=lambda key: getattr(found[key], "thinnest", 0.0))]
    best += [min(keys, key=lambda key: sum(key[2])), max(keys, key=lambda key: sum(key[2]))]
    for place in range(len(keys[0][2])):
        best.append(max(keys, key=lambda key: key[2][place]))
        tinted = [key for key in keys if key[2][place] > 0]
        if tinted:
            best.append(min(tinted, key=lambda key: key[2][place]))
    return best


def _nearest(rest: list[tuple[Any, ...]], mine: list[tuple[Any, ...]]) -> Iterator[tuple[Any, ...]]:
    """For each key of the rest the one whose values are nearest, by the component that is farthest off."""
    told = np.array([key[2] for key in mine], dtype=np.float64)
    for start in range(0, len(rest), _AT_ONCE):
        part = np.array([key[2] for key in rest[start : start + _AT_ONCE]], dtype=np.float64)
        apart = np.zeros((len(part), len(told)))
        for place in range(told.shape[1]):
            np.maximum(apart, np.abs(part[:, place, None] - told[None, :, place]), out=apart)
        for place in apart.argmin(axis=1).tolist():
            yield mine[place]
