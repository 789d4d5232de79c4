# SPDX-License-Identifier: AGPL-3.0-or-later
"""Job and house files: reading them, and holding the names of the one against the other."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TypeVar

from attrs import frozen

from foldproof.errors import AskedWrong, OurFault
from foldproof.job.agree import house_slips, job_slips
from foldproof.job.finishing import HouseBoard, HouseCloth
from foldproof.job.model import WAYS, House, HouseFolder, HouseLine, HousePress, HouseScheme, HouseStock, Job
from foldproof.job.start import job_text
from foldproof.job.toml_file import meant, parse_toml, read_toml, validated

__all__ = ["Named", "job_text", "load_house", "load_job", "named_board", "named_cloth", "resolve"]

#: the shop that is used when no house file is named
SHIPPED_HOUSE = "lantern-row.toml"

Entry = TypeVar("Entry", HousePress, HouseStock, HouseScheme, HouseFolder, HouseLine, HouseBoard, HouseCloth)
Asked = TypeVar("Asked", Job, House)


@frozen
class Named:
    """What a job calls for by name, found in the house; ``None`` where the job leaves the choice to the make-up."""

    press: HousePress | None
    stock: HouseStock | None
    scheme: HouseScheme | None
    folder: HouseFolder | None = None
    line: HouseLine | None = None
    board: HouseBoard | None = None
    cloth: HouseCloth | None = None


def load_job(path: Path) -> Job:
    """Read a job file; the paths of a spec file and of an emblem that it names are taken from the job's own folder.

    Raises:
        AskedWrong: one sentence with the file, the key, what is wrong and what to write.
    """
    job = validated(Job, read_toml(path, "job file"), str(path))
    job = _agreeing(job, job_slips(job), str(path))
    spec = job.check.spec
    if spec is not None and spec.endswith(".toml"):
        # a spec file named in a job is looked for beside the job, not where the command happens to run
        beside = job.check.model_copy(update={"spec": str(path.parent / spec)})
        job = job.model_copy(update={"check": beside})
    return job if job.emblem is None else job.with_emblem(path.parent / job.emblem)


def load_house(path: Path | None = None) -> House:
    """Read a house file; without one, the shop that is shipped as an example.

    Raises:
        AskedWrong: one sentence with the file, the key, what is wrong and what to write.
    """
    if path is not None:
        house = validated(House, read_toml(path, "house file"), str(path))
        return _agreeing(house, house_slips(house), str(path))
    return _shipped_house()


@cache
def _shipped_house() -> House:
    shipped = resources.files("foldproof.job").joinpath("houses", SHIPPED_HOUSE)
    try:
        text = shipped.read_text(encoding="utf-8")
        house = validated(House, parse_toml(text, SHIPPED_HOUSE), SHIPPED_HOUSE)
        return _agreeing(house, house_slips(house), SHIPPED_HOUSE)
    except (OSError, AskedWrong) as broken:
        raise OurFault(f"The shipped house file cannot be used: {broken}") from broken


def resolve(job: Job, house: House) -> Named:
    """What the job names, taken from the house: press, stock, scheme, folder, binding line, board and cloth.

    The stocks of its inserts, endpapers, cover and jacket and the way to print that it asks for are looked up too.

    Raises:
        AskedWrong: the house has nothing of that name, and the message names the nearest; or no press that the job
            allows prints in the way that it asks for.
    """
    named = Named(
        press=_named("press.name", "press", job.press.name, house, house.presses),
        stock=_named("paper.stock", "stock", job.paper.stock, house, house.stocks),
        scheme=_named("sections.fold", "scheme", job.sections.fold, house, house.schemes),
        folder=_named("bindery.folder", "folder", job.bindery.folder, house, house.folders),
        line=_named("bindery.line", "binding line", job.bindery.line, house, house.lines),
        board=named_board(job, house),
        cloth=named_cloth(job, house),
    )
    _named("cover.endpaper_stock", "stock", job.cover.endpaper_stock, house, house.stocks)
    _named("cover.stock", "stock", job.cover.stock, house, house.stocks)
    if job.jacket is not None:
        _named("jacket.stock", "stock", job.jacket.stock, house, house.stocks)
    for nth, insert in enumerate(job.inserts, start=1):
        _named(f"insert {nth}, stock", "stock", insert.stock, house, house.stocks)
    _way_that_goes(job, house, named.press)
    return named


def named_board(job: Job, house: House) -> HouseBoard | None:
    """The board that the job names for its case; ``None``: it leaves the choice to the house.

    Raises:
        AskedWrong: the house has none of that name.
    """
    return _named("cover.board", "board", job.cover.board, house, house.boards)


def named_cloth(job: Job, house: House) -> HouseCloth | None:
    """The cloth that the job names for its case; ``None``: it leaves the choice to the house.

    Raises:
        AskedWrong: the house has none of that name.
    """
    return _named("cover.cloth", "cloth", job.cover.cloth, house, house.cloths)


def _way_that_goes(job: Job, house: House, press: HousePress | None) -> None:
    way = job.press.way
    if way is None:
        return
    if press is not None and way not in press.can:
        ways = ", ".join(f'"{one}"' for one in press.can)
        raise AskedWrong(f'The job: press.way: {press.name} does not print "{way}"; it prints {ways}.')
    ways_of_the_house = [one for one in WAYS if any(one in held.can for held in house.presses)]
    if way not in ways_of_the_house:
        ways = ", ".join(f'"{one}"' for one in ways_of_the_house)
        raise AskedWrong(f'The job: press.way: no press of {house.name} prints "{way}"; they print {ways}.')


def _named(key: str, what: str, name: str | None, house: House, entries: tuple[Entry, ...]) -> Entry | None:
    if name is None:
        return None
    for entry in entries:
        if entry.name == name:
            return entry
    raise AskedWrong(f'The job: {key}: {house.name} has no {what} "{name}"; {meant(name, [e.name for e in entries])}')


def _agreeing(model: Asked, slips: Iterable[str], file: str) -> Asked:
    """The job or house itself, once its tables agree with one another; the first slip is told, the others counted."""
    told = list(slips)
    if not told:
        return model
    more = f" ({len(told) - 1} more to put right in this file.)" if len(told) > 1 else ""
    raise AskedWrong(f"{file}: {told[0]}{more}")
