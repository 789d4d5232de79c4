# SPDX-License-Identifier: AGPL-3.0-or-later
"""From a TOML file to validated data, with errors a typesetter can act on.

Job, house and spec files are read here and nowhere else, so that a slip reads the same in all three:
``FILE: table.key: what is wrong; what to write.``
"""

from __future__ import annotations

import difflib
import json
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar, get_args, get_origin

from pydantic import BaseModel, ValidationError

from foldproof.errors import AskedWrong

Model = TypeVar("Model", bound=BaseModel)

#: a job, house or spec file is a page of text; what is larger is some other file
LARGEST_BYTES = 4_000_000


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like ``word``, or ``None`` when none is alike."""
    by_fold = {name.casefold(): name for name in known}
    close = difflib.get_close_matches(word.casefold(), list(by_fold), n=1, cutoff=0.5)
    return by_fold[close[0]] if close else None


def meant(word: str, known: Sequence[str]) -> str:
    """The end of a sentence about an unknown word: the nearest known one, or all of them."""
    close = nearest(word, known)
    if close is not None:
        return f'did you mean "{close}"?'
    return "known are " + ", ".join(f'"{name}"' for name in known) + "." if known else "none is known here."


def read_toml(path: Path, what: str) -> dict[str, Any]:
    """The tables of a TOML file; ``what`` names the kind of file in errors (``"job file"``).

    Raises:
        AskedWrong: there is no such file, it cannot be opened, is no UTF-8 or no TOML.
    """
    try:
        if path.is_dir():
            raise AskedWrong(f"{path} is a folder; name the {what} in it.")
        with path.open("rb") as handle:
            raw = handle.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise AskedWrong(f"There is no {what} {path}; check the name and the folder.") from None
    except (OSError, ValueError) as refused:
        reason = (getattr(refused, "strerror", None) or str(refused)).lower()
        raise AskedWrong(f"The {what} {path} cannot be opened: {reason}.") from None
    if len(raw) > LARGEST_BYTES:
        raise AskedWrong(f"{path} is larger than 4 MB, which no {what} is; check the name.")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as odd:
        line = raw[: odd.start].count(b"\n") + 1
        raise AskedWrong(f"{path}: line {line} is not UTF-8 text; save the {what} as UTF-8.") from None
    return parse_toml(text, str(path))


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """As :func:`read_toml`, from text that was read already; ``name`` stands for the file in errors."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as odd:
        raise AskedWrong(f"{name} is no valid TOML: {_plain_toml_error(str(odd))}.") from None
    except RecursionError:
        raise AskedWrong(f"{name} is nested too deeply to be read.") from None


def _plain_toml_error(message: str) -> str:
    """``"Invalid value (at line 3, column 8)"`` becomes ``"line 3, column 8: invalid value"``."""
    head, _, place = message.partition(" (at ")
    head = head[:1].lower() + head[1:]
    place = place.rstrip(")")
    if place == "end of document":
        place = "the end of the file"
    hint = "; text is set in double quotes" if head.startswith("invalid value") else ""
    return f"{place}: {head}{hint}" if place else head + hint


def validated(model: type[Model], data: Mapping[str, Any], name: str) -> Model:
    """``data`` as a frozen model; the first fault is named, the number of others too.

    TOML's own types are kept apart (a number is no text, true is no number), which JSON mode does while it still takes
    lists for tuples.

    Raises:
        AskedWrong: a key is unknown or missing, or a value is not what the key asks for.
    """
    try:
        return model.model_validate_json(json.dumps(data, default=str), strict=True)
    except ValidationError as faults:
        first, *others = faults.errors(include_url=False)
        more = f" ({len(others)} more to put right in this file.)" if others else ""
        raise AskedWrong(f"{name}: {_said(model, first, data)}{more}") from None


def _said(model: type[BaseModel], fault: Any, data: Mapping[str, Any]) -> str:
    """One fault in a sentence."""
    where = _dotted(fault["loc"])
    kind, context, given = fault["type"], fault.get("ctx", {}), _at(data, fault["loc"])
    if kind == "extra_forbidden":
        *above, key = fault["loc"]
        known = _keys_at(model, above)
        table = f"in [{_dotted(above)}]" if above else "at the top of the file"
        return f"{where}: unknown key {shown(str(key))} {table}; {meant(str(key), known)}"
    if kind == "missing":
        return f"{where}: is missing; it has to be stated."
    if kind == "literal_error":
        # pydantic words the choices as "'sewn', 'glued' or 'stitched'"; double quotes are what the file is written with
        choices = str(context["expected"]).replace("'", '"')
        words = [part for part in choices.replace(" or ", ", ").split(", ") if part.startswith('"')]
        close = nearest(str(given), [word.strip('"') for word in words])
        like = f' (nearest: "{close}")' if close else ""
        return f"{where}: {shown(given)} is no choice; write {choices}{like}."
    if kind == "value_error":
        said = str(context["error"])
        return f"{where}: {said if len(said) <= 240 else said[:237] + '...'}."
    if kind in _ASKS:
        return f"{where}: {_ASKS[kind].format(given=shown(given), **context)}."
    return f"{where}: {fault['msg'][:1].lower()}{fault['msg'][1:]}; {shown(given)} was given."


_ASKS = {
    "string_type": 'text in double quotes is asked for, not {given}; write key = "text"',
    "int_type": "a whole number is asked for, not {given}; write it without quotes and without a point",
    "int_from_float": "a whole number is asked for, not {given}",
    "int_parsing": "a whole number is asked for, not {given}",
    "float_type": "a number is asked for, not {given}; write it without quotes",
    "finite_number": "an ordinary number is asked for, not {given}",
    "bool_type": "true or false is asked for, not {given}; write it without quotes",
    "tuple_type": "a list in square brackets is asked for, not {given}",
    "list_type": "a list in square brackets is asked for, not {given}",
    "dict_type": "a table is asked for, not {given}",
    "model_type": "a table is asked for, not {given}",
    "model_attributes_type": "a table is asked for, not {given}",
    "greater_than": "more than {gt:g} is asked for, not {given}",
    "greater_than_equal": "at least {ge:g} is asked for, not {given}",
    "less_than": "less than {lt:g} is asked for, not {given}",
    "less_than_equal": "at most {le:g} is asked for, not {given}",
    "multiple_of": "a multiple of {multiple_of:g} is asked for, not {given}",
    "too_short": "at least {min_length} must be stated, not {actual_length}",
    "string_too_short": "at least {min_length} letters are asked for, not {given}",
}


def shown(value: Any) -> str:
    """A value as it would stand in the file, shortened."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "a list"
    text = json.dumps(value, ensure_ascii=False) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _dotted(place: Sequence[str | int]) -> str:
    """``("stock", 1, "grammage")`` becomes ``"stock 2, grammage"``; tables join with a point."""
    said = ""
    for part in place:
        if isinstance(part, int):
            said += f" {part + 1}"
            continue
        if not part.replace("_", "").replace("-", "").isalnum():
            part = shown(part)
        if not said:
            said = part
        else:
            said += f", {part}" if said.rpartition(" ")[2].isdigit() else f".{part}"
    return said


def _at(data: Any, place: Sequence[str | int]) -> Any:
    for part in place:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            return None
    return data


def _keys_at(model: type[BaseModel], place: Sequence[str | int]) -> list[str]:
    """The keys that the table at ``place`` may have."""
    parts = iter(place)
    for part in parts:
        if isinstance(part, int):
            continue
        field = next((f for n, f in model.model_fields.items() if (f.alias or n) == part), None)
        inner = _table_in(field.annotation) if field is not None else None
        if field is None or inner is None:
            return []
        model = inner
        if get_origin(field.annotation) is dict:
            next(parts, None)  # the name that stands between, as in [check.bleed]
    return [f.alias or n for n, f in model.model_fields.items()]


def _table_in(annotation: Any) -> type[BaseModel] | None:
    """The table type inside ``tuple[Table, ...]``, ``Table | None`` and the like."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for inner in get_args(annotation) if (found := _table_in(inner))), None)
