# SPDX-License-Identifier: AGPL-3.0-or-later
"""Job and house files: reading them, and holding the names of the one against the other."""

from __future__ import annotations

import re
from collections.abc import Iterable
from importlib import resources
from pathlib import Path
from typing import TypeVar

from attrs import frozen

from foldproof.errors import AskedWrong, OurFault
from foldproof.job.model import House, HousePress, HouseScheme, HouseStock, Job
from foldproof.job.start import job_text
from foldproof.job.toml_file import meant, parse_toml, read_toml, validated
from foldproof.units import format_size_mm

__all__ = ["Named", "job_text", "load_house", "load_job", "resolve"]

#: the shop that is used when no house file is named
SHIPPED_HOUSE = "lantern-row.toml"

Entry = TypeVar("Entry", HousePress, HouseStock, HouseScheme)

_FOLD = re.compile(r"(left|right|top|bottom)( [1-9]\d?)? (over|under)")


@frozen
class Named:
    """What a job calls for by name, found in the house; ``None`` where the job leaves the choice to the make-up."""

    press: HousePress | None
    stock: HouseStock | None
    scheme: HouseScheme | None


def load_job(path: Path) -> Job:
    """Read a job file; the path of a spec file that it names is taken from the job's own folder.

    Raises:
        AskedWrong: one sentence with the file, the key, what is wrong and what to write.
    """
    job = validated(Job, read_toml(path, "job file"), str(path))
    spec = job.check.spec
    if spec is not None and spec.endswith(".toml"):
        # a spec file named in a job is looked for beside the job, not where the command happens to run
        beside = job.check.model_copy(update={"spec": str(path.parent / spec)})
        job = job.model_copy(update={"check": beside})
    return job


def load_house(path: Path | None = None) -> House:
    """Read a house file; without one, the shop that is shipped as an example.

    Raises:
        AskedWrong: one sentence with the file, the key, what is wrong and what to write.
    """
    if path is not None:
        return _fitting(validated(House, read_toml(path, "house file"), str(path)), str(path))
    shipped = resources.files("foldproof.job").joinpath("houses", SHIPPED_HOUSE)
    try:
        text = shipped.read_text(encoding="utf-8")
        return _fitting(validated(House, parse_toml(text, SHIPPED_HOUSE), SHIPPED_HOUSE), SHIPPED_HOUSE)
    except (OSError, AskedWrong) as broken:
        raise OurFault(f"The shipped house file cannot be used: {broken}") from broken


def resolve(job: Job, house: House) -> Named:
    """The press, stock and scheme that the job names, taken from the house.

    Raises:
        AskedWrong: the house has no such press, stock or scheme; the message names the nearest.
    """
    return Named(
        press=_named("press.name", "press", job.press.name, house, house.presses),
        stock=_named("paper.stock", "stock", job.paper.stock, house, house.stocks),
        scheme=_named("sections.fold", "scheme", job.sections.fold, house, house.schemes),
    )


def _named(key: str, what: str, name: str | None, house: House, entries: tuple[Entry, ...]) -> Entry | None:
    if name is None:
        return None
    for entry in entries:
        if entry.name == name:
            return entry
    raise AskedWrong(f'The job: {key}: {house.name} has no {what} "{name}"; {meant(name, [e.name for e in entries])}')


def _fitting(house: House, file: str) -> House:
    """The house itself, once its tables agree with one another."""
    for what, names in (
        ("press", [p.name for p in house.presses]),
        ("scheme", [s.name for s in house.schemes]),
        ("folder", [f.name for f in house.folders]),
        ("stock", [s.name for s in house.stocks]),
    ):
        for twice in _twice(names):
            raise AskedWrong(f'{file}: {what}: the name "{twice}" is used twice; give each {what} a name of its own.')
    stocks = [s.name for s in house.stocks]
    if house.usual_stock not in stocks:
        raise AskedWrong(
            f'{file}: usual_stock: no [[stock]] is named "{house.usual_stock}"; {meant(house.usual_stock, stocks)}'
        )
    schemes = [s.name for s in house.schemes]
    for place, folder in enumerate(house.folders, start=1):
        for name in folder.schemes:
            if name not in schemes:
                raise AskedWrong(
                    f'{file}: folder {place}, schemes: no [[scheme]] is named "{name}"; {meant(name, schemes)}'
                )
    for place, scheme in enumerate(house.schemes, start=1):
        for words in scheme.folds:
            if not _FOLD.fullmatch(words):
                raise AskedWrong(
                    f'{file}: scheme {place}, folds: "{words}" is no fold; write the side that moves, how many panels '
                    'if not half, and over or under, for example "right under" or "left 1 over".'
                )
    limits = [(f"press {n}", p.sheet_min, p.sheet_max) for n, p in enumerate(house.presses, start=1)]
    limits += [(f"folder {n}", f.sheet_min, f.sheet_max) for n, f in enumerate(house.folders, start=1)]
    for machine, least, most in limits:
        if least[0] > most[0] or least[1] > most[1]:
            raise AskedWrong(
                f"{file}: {machine}, sheet_min: {format_size_mm(*least)} is larger than "
                f"sheet_max, {format_size_mm(*most)}; exchange them or put one right."
            )
    return house


def _twice(names: Iterable[str]) -> list[str]:
    seen: set[str] = set()
    return [name for name in names if name in seen or seen.add(name)]  # type: ignore[func-returns-value]
