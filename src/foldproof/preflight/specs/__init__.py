# SPDX-License-Identifier: AGPL-3.0-or-later
"""Specs: a printer's rules as data.  Which checks run, how bad their findings are, and their limits.

A spec is a TOML file::

    title = "House rules of the shop"
    extends = "colour-on-coated"          # a shipped spec, or a file beside this one

    [check.picture-resolution]
    severity = "query"                    # of its worst findings; milder ones stay what they are
    [check.picture-resolution.limits]
    contone_query_ppi = { value = 250, source = "our own tests, spring" }
    line_query_ppi = 1000                 # without a source the spec's title stands for it

    [check.page-turn]
    off = true

    [check.barcode-size.limits]           # checks of covers alike
    least_percent = 90

The unit of a limit is the end of its name; those in ``_mm`` may also be text with a unit (``"1/8 in"``).  What a spec
does not name keeps the default of the check.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from attrs import field, frozen
from pydantic import Field

from foldproof.errors import AskedWrong, OurFault
from foldproof.job.tables import Table
from foldproof.job.toml_file import meant, parse_toml, read_toml, shown, validated
from foldproof.preflight.model import Check, Limit, Limits, Severity
from foldproof.preflight.registry import CHECKS, check_named
from foldproof.units import parse_length_mm

if TYPE_CHECKING:
    from foldproof.job.model import Job

#: the rules for a book of which nothing is known
ANY_BOOK = "any-book"

#: a chain of ``extends`` longer than this is a slip
_LONGEST_CHAIN = 20


@frozen
class Rule:
    """What a spec says of one check; ``None`` and what is left out: what the check itself says."""

    off: bool | None = None
    severity: Severity | None = None
    limits: Mapping[str, Limit] = field(factory=dict)
    sources: Mapping[str, str] = field(factory=dict)

    def over(self, base: Rule) -> Rule:
        """This rule laid over another one."""
        return Rule(
            off=base.off if self.off is None else self.off,
            severity=self.severity or base.severity,
            limits={**base.limits, **self.limits},
            sources={**base.sources, **self.sources},
        )


@frozen
class Spec:
    """A printer's rules, with everything they extend laid under them."""

    name: str
    title: str
    says: str
    rules: Mapping[str, Rule]

    def is_off(self, check: Check) -> bool:
        return bool(self._rule(check).off)

    def severity_of(self, check: Check) -> Severity:
        """The severity of a check's worst findings."""
        return self._rule(check).severity or check.severity

    def limits_of(self, check: Check) -> Limits:
        """Its limits as this spec sets them; one that follows another check's takes that where it is not set itself."""
        said = self._rule(check).limits
        values = {**check.limits, **said}
        for name, followed in check.follows.items():
            other, _, limit = followed.partition("/")
            if name not in said and not self.is_off(check_named(other)):
                values[name] = self.limits_of(check_named(other)).values[limit]
        return Limits(values)

    def source_of(self, check: Check, limit: str) -> str:
        """Whose figure a limit is; where it follows another check's that the spec sets, whose that is."""
        said = self._rule(check).sources.get(limit)
        if said is None and limit in check.follows:
            other, _, followed = check.follows[limit].partition("/")
            if not self.is_off(check_named(other)):
                said = self._rule(check_named(other)).sources.get(followed)
        return said or check.limit_sources.get(limit, "")

    def _rule(self, check: Check) -> Rule:
        return self.rules.get(check.id, _NO_RULE)


_NO_RULE = Rule()


class _SpecCheck(Table):
    """``[check.NAME]``"""

    off: bool | None = None
    severity: Literal["stop", "query", "note"] | None = None
    limits: dict[str, Any] = Field(default_factory=dict)


class _SpecFile(Table):
    """A spec file."""

    title: str = ""
    says: str = ""
    extends: str | None = None
    check: dict[str, _SpecCheck] = Field(default_factory=dict)


def shipped() -> tuple[str, ...]:
    """The names of the specs that come along, sorted."""
    entries = resources.files("foldproof.preflight.specs").iterdir()
    return tuple(sorted(entry.name.removesuffix(".toml") for entry in entries if entry.name.endswith(".toml")))


def default_spec(job: Job, checks: Sequence[Check] = CHECKS) -> Spec:
    """The spec that the job names; without one ``any-book``, which assumes no inks, no screen and no paper.

    A guess from the book (no colour in it, so it must be a black job) would hide the very slip that a spec is there to
    find: a colour picture in a black book would turn it into a colour book.

    Raises:
        AskedWrong: see :func:`load_spec`.
    """
    return load_spec(job.check.spec or ANY_BOOK, checks)


def load_spec(name_or_path: str | Path, checks: Sequence[Check] = CHECKS) -> Spec:
    """A shipped spec by its name, or a file.

    Args:
        checks: those that a spec may speak of.  The pages of a book and their cover are held against one file: whoever
            takes it from somebody gives the checks of both.

    Raises:
        AskedWrong: no such spec or file, or it says something of a check or limit that does not exist.
    """
    return _load(name_or_path, {check.id: check for check in checks}, Path(), ())


def _load(name_or_path: str | Path, checks: Mapping[str, Check], folder: Path, chain: tuple[str, ...]) -> Spec:
    data, name, file, beside = _opened(name_or_path, folder, f"{chain[-1]}: extends: there" if chain else "There")
    # by way of another folder a file has another name
    if Path(file).resolve() in (Path(earlier).resolve() for earlier in chain) or len(chain) >= _LONGEST_CHAIN:
        raise AskedWrong(f"{chain[0]}: extends: the specs extend one another in a circle, by way of {file}.")
    made = validated(_SpecFile, data, file)
    base = _load(made.extends, checks, beside, (*chain, file)) if made.extends is not None else None
    rules = dict(base.rules) if base else {}
    for check_id, said in made.check.items():
        if check_id not in checks:
            raise AskedWrong(
                f'{file}: check.{check_id}: there is no check "{check_id}"; {meant(check_id, list(checks))}'
            )
        rule = _rule(checks[check_id], said, made.title or name, file)
        rules[check_id] = rule.over(rules.get(check_id, _NO_RULE))
    return Spec(name=name, title=made.title or name, says=made.says, rules=rules)


def _opened(name_or_path: str | Path, folder: Path, there: str) -> tuple[dict[str, Any], str, str, Path]:
    """The tables, the spec's name, its file for errors, and the folder from which it extends others.

    ``there``: how the error for a spec that does not exist begins.
    """
    known = shipped()
    if str(name_or_path) in known:
        name = str(name_or_path)
        try:
            text = resources.files("foldproof.preflight.specs").joinpath(f"{name}.toml").read_text(encoding="utf-8")
        except OSError as lost:
            raise OurFault(f"The shipped spec {name} cannot be read: {lost}") from lost
        # not the name of its file alone: a file beside the job may have the name of the spec that it extends
        file = f"the shipped spec {name}"
        return parse_toml(text, file), name, file, Path()
    path = folder / name_or_path
    looks_like_a_file = (
        isinstance(name_or_path, Path) or path.suffix == ".toml" or path.exists() or path.parent != folder
    )
    if not looks_like_a_file or not str(name_or_path):
        raise AskedWrong(f'{there} is no spec "{name_or_path}"; {meant(str(name_or_path), known)}')
    return read_toml(path, "spec file"), path.stem, str(path), path.parent


def _rule(check: Check, said: _SpecCheck, title: str, file: str) -> Rule:
    limits: dict[str, Limit] = {}
    sources: dict[str, str] = {}
    for name, given in said.limits.items():
        where = f"{file}: check.{check.id}.limits.{name}"
        if name not in check.limits:
            raise AskedWrong(f'{where}: "{check.id}" has no limit "{name}"; {meant(name, list(check.limits))}')
        source = f"the spec: {title}"
        if isinstance(given, dict):
            for key in given:
                if key not in ("value", "source"):
                    raise AskedWrong(f'{where}: unknown key "{key}"; {meant(key, ["value", "source"])}')
            if "value" not in given:
                raise AskedWrong(f'{where}: value is missing; write {{ value = ..., source = "..." }}.')
            given, source = given["value"], given.get("source", source)
            if not isinstance(source, str) or not source.strip():
                raise AskedWrong(f"{where}: source is text in double quotes: whose figure it is.")
        limits[name], sources[name] = _limit(check, name, given, where), source
    return Rule(said.off, Severity(said.severity) if said.severity else None, limits, sources)


def _limit(check: Check, name: str, given: Any, where: str) -> Limit:
    """A value of the kind that the limit's default has."""
    default = check.limits[name]
    if isinstance(default, bool):
        if isinstance(given, bool):
            return given
        raise AskedWrong(f"{where}: true or false is asked for, not {shown(given)}.")
    if isinstance(default, str):
        choices = check.choices.get(name, ())
        if isinstance(given, str) and (given in choices or (name in check.free and given.strip())):
            return given
        if name in check.free:
            raise AskedWrong(f"{where}: text in double quotes is asked for, not {shown(given)}.")
        raise AskedWrong(f"{where}: {shown(given)} is no choice; {meant(str(given), choices)}")
    if isinstance(given, str) and name.endswith("_mm"):
        try:
            given = parse_length_mm(given)
        except ValueError as odd:
            raise AskedWrong(f"{where}: {odd}.") from None
    if isinstance(given, bool) or not isinstance(given, int | float) or not math.isfinite(given) or given < 0:
        unit = name.rpartition("_")[2]
        raise AskedWrong(
            f"{where}: a number of 0 or more is asked for, in {unit}, not {shown(given)}; write it without quotes."
        )
    return given
