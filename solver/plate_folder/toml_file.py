"""Reading a TOML file into a checked value, or one sentence on what is wrong with it."""

import re
from collections.abc import Iterator
from difflib import get_close_matches
from pathlib import Path
from typing import TypeVar

import tomli
from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from meshes.input_file import file_text
from solver.core.errors import InputError
from solver.plate_folder.schema import Table

Read = TypeVar("Read", bound=Table)

LARGEST_TOML = 1_000_000
"""Bytes; a hundred records of fits are a tenth of that, and taking more apart takes seconds and much memory."""


def read_toml(path: Path, kind: type[Read], name: str) -> Read:
    """Return what a TOML file says, checked key by key; ``name`` is how a sentence calls the file.

    Raises
    ------
    InputError
        If the file cannot be read, is not TOML (with line and column), or says what cannot be.
    """
    return parse_toml(file_text(path, LARGEST_TOML), kind, name)


def parse_toml(text: str, kind: type[Read], name: str) -> Read:
    """Return what the text of a TOML file says; see `read_toml`."""
    try:
        return kind.model_validate(tomli.loads(text))
    except tomli.TOMLDecodeError as error:
        raise InputError(f"{name}: {_syntax(text, str(error))}") from None
    except RecursionError:
        raise InputError(f"{name}: it is nested too deeply; expected the tables of a plate folder.") from None
    except ValidationError as error:
        # A key that is not known explains more than the one which is missing because of it.
        faults = sorted(error.errors(), key=lambda fault: fault["type"] != "extra_forbidden")
        raise InputError(f"{name}: {_sentence(faults[0], kind)}") from None


_SLIPS = (
    (r",\d", "Write a point for the decimal comma."),
    (r"\.\d", "Write a digit before the point."),
    (r"[A-Za-z]", "Put text in quotation marks."),
)


def _syntax(text: str, reason: str) -> str:
    """Say where the text stops being TOML, with the usual slip if that is the cause."""
    found = re.fullmatch(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", reason, re.DOTALL)
    if found is None:
        return f"it is not valid TOML ({reason}); mend it there."
    lines = text.splitlines() or [""]
    line = int(found[2]) if found[2] else len(lines)
    column = int(found[3]) if found[3] else len(lines[-1]) + 1
    rest = lines[line - 1][column - 1 :] if line <= len(lines) else ""
    cure = next((cure for slip, cure in _SLIPS if re.match(slip, rest)), "Mend it there.")
    # The parser names a table by a tuple of its keys.
    what = re.sub(
        r"\('([^)]*?)',?\)", lambda keys: f"[{keys[1].replace(chr(39) + ', ' + chr(39), '.')}]", found[1]
    )
    what = f"{what[:1].lower()}{what[1:]}"
    return f"line {line}, column {column} is not valid TOML: {what}. {cure}"


def _sentence(fault: ErrorDetails, kind: type[BaseModel]) -> str:
    """Turn one fault that pydantic found into: where; what it is; what was expected; what to do."""
    where, value = _place(fault["loc"]), fault["input"]
    if fault["type"] == "extra_forbidden":
        return f"{where} is not a known key; {_nearest(fault['loc'], kind)}"
    if fault["type"] == "missing" and isinstance(fault["loc"][-1], int):
        return f"{_place(fault['loc'][:-1])} is {_shown(value)}; expected more values. Add the missing ones."
    if fault["type"] == "missing":
        return f"{where} is missing; expected {_wanted(fault['loc'], kind)}. Add it."
    if fault["type"] == "rule":
        return f"[{where}] {fault['msg']}"
    if fault["type"] == "expected":
        return f"{where} is {_shown(value)}; {fault['msg']}"
    return f"{where} is {_shown(value)}; expected {_kind_expected(fault)}"


def _kind_expected(fault: ErrorDetails) -> str:
    """Say which kind of value a key takes."""
    kind, value = fault["type"], fault["input"]
    if kind == "float_type" and isinstance(value, str) and re.fullmatch(r"-?\d+[.,]?\d*", value.strip()):
        return f"a number. Write {value.strip().replace(',', '.')} without quotation marks and with a point."
    known = {
        "float_type": "a number, as in 2.5.",
        "string_type": "text in quotation marks.",
        "string_too_short": "some text.",
        "string_too_long": "at most 200 letters.",
        "model_type": "a table with its own keys.",
        "dict_type": "a table, as in { 2 = 165.0, 5 = 346.0 }.",
        "tuple_type": "a list in square brackets.",
        "datetime_type": "a date and time without quotation marks, as in 2026-03-14T19:05:00+01:00.",
        "too_long": f"{fault.get('ctx', {}).get('max_length')} values.",
        "too_short": f"at least {fault.get('ctx', {}).get('min_length')} values.",
        "literal_error": f"{_as_in_toml(str(fault.get('ctx', {}).get('expected')))}.",
    }
    return known.get(kind, f"something else ({fault['msg']}).")


def _as_in_toml(python: str) -> str:
    """Write Python's list of choices as they stand in a TOML file."""
    return python.replace("'", '"').replace("True", "true")


def _place(loc: tuple[int | str, ...]) -> str:
    """Write ``("bar", "height_mm", 1, 0)`` as ``bar.height_mm item 2 item 1``."""
    keys = (f" item {part + 1}" if isinstance(part, int) else f".{part}" for part in loc if part != "[key]")
    return "".join(keys).removeprefix(".")


def _shown(value: object) -> str:
    """Write a value as it stands in the file, cut short if it is long."""
    text = (
        f'"{value}"'
        if isinstance(value, str)
        else str(value).lower()
        if isinstance(value, bool)
        else str(value)
    )
    return text if len(text) <= 60 else text[:57] + "..."


def _wanted(loc: tuple[int | str, ...], kind: type[BaseModel]) -> str:
    """Say what a missing key is: a table, or an entry of one."""
    if len(loc) == 1 and isinstance(loc[0], str) and _table(kind.model_fields[loc[0]].annotation) is not None:
        return f"a table [{loc[0]}]"
    return f"it in the table [{_place(loc[:-1])}]" if len(loc) > 1 else "it at the top of the file"


def _nearest(loc: tuple[int | str, ...], kind: type[BaseModel]) -> str:
    """Name the known key that comes nearest, in the same table first, then anywhere."""
    table = kind
    for part in loc[:-1]:
        if isinstance(part, str):  # a number counts within a list of tables
            table = _table(table.model_fields[part].annotation) or table
    here = list(table.model_fields)
    key = str(loc[-1])
    if close := [k for k in here if k.startswith(f"{key}_")] or get_close_matches(key, here, n=1, cutoff=0.6):
        return f"did you mean {close[0]}?"
    homes = dict(reversed(list(_all_keys(kind))))
    if close := get_close_matches(key, homes, n=1, cutoff=0.8):
        return f"did you mean {close[0]}, which belongs {homes[close[0]]}?"
    return f"known there are {', '.join(here)}."


def _all_keys(kind: type[BaseModel], home: str = "") -> Iterator[tuple[str, str]]:
    """Yield every key of the file with the place where it belongs."""
    for name, field in kind.model_fields.items():
        yield name, f"in the table [{home}]" if home else "at the top of the file"
        if inner := _table(field.annotation):
            yield from _all_keys(inner, f"{home}.{name}".removeprefix("."))


def _table(annotation: object) -> type[Table] | None:
    """Return the table that a key holds, if it holds one."""
    options = getattr(annotation, "__args__", (annotation,))
    return next((o for o in options if isinstance(o, type) and issubclass(o, Table)), None)
