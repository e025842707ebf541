"""New texts for a plate's files from what a maker types: keys of plate.toml, and tables pasted from a spreadsheet."""

import re
from collections.abc import Mapping, MutableMapping, Sequence

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.toml_document import TOMLDocument

from solver.core.errors import InputError
from solver.plate_folder.description import PLATE_FILE

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?")


def edited_description(text: str, values: Mapping[str, str]) -> str:
    """Return the text of plate.toml with other values of some keys, its comments and order kept.

    ``values`` are as typed, by keys as in ``wood.density_kg_m3``; an empty one takes the key out, and a table that has
    become empty with it. Numbers may have a decimal comma.

    Raises
    ------
    InputError
        If the text is not TOML.
    """
    try:
        document = tomlkit.parse(text)
    except TOMLKitError as error:
        raise InputError(f"{PLATE_FILE}: it is not valid TOML ({error}); mend it in a text editor.") from None
    for key, typed in values.items():
        *tables, name = key.split(".")
        if typed.strip():
            _table(document, tables)[name] = _value(typed.strip())
        else:
            _take_out(document, tables, name)
    return tomlkit.dumps(document)


def _table(document: TOMLDocument, names: Sequence[str]) -> MutableMapping[str, object]:
    """Return the table of these names inside each other, made where it is not there."""
    table: MutableMapping[str, object] = document
    for depth, name in enumerate(names):
        if name not in table:
            table[name] = tomlkit.table() if depth == 0 else tomlkit.inline_table()
        inner = table[name]
        if not isinstance(inner, MutableMapping):
            raise InputError(f"{PLATE_FILE}: {name} is no table; expected one. Mend it in a text editor.")
        table = inner
    return table


def _take_out(document: TOMLDocument, tables: Sequence[str], name: str) -> None:
    holder: MutableMapping[str, object] = document
    chain = []
    for table in tables:
        inner = holder.get(table)
        if not isinstance(inner, MutableMapping):
            return
        chain.append((holder, table))
        holder = inner
    holder.pop(name, None)
    for outer, table in reversed(chain):
        if not outer[table]:
            del outer[table]


def _value(typed: str) -> float | int | str:
    """Return a number where one was typed, else the text, of which the reader of the file will say what it should be."""
    plain = typed.replace("\N{MINUS SIGN}", "-")
    if re.fullmatch(r"[+-]?\d+,\d+", plain):
        plain = plain.replace(",", ".")
    if re.fullmatch(r"[+-]?\d{1,15}", plain):
        return int(plain)
    return float(plain) if _NUMBER.fullmatch(plain) else typed


def pasted_table(text: str, columns: Sequence[str]) -> str:
    """Return a comma-separated table from what was pasted: with commas, semicolons or tabs, with its heading or without.

    Between semicolons and tabs a comma is the decimal one, as spreadsheets write it in much of Europe.
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    rows = [_cells(line) for line in lines]
    if rows and all(_NUMBER.fullmatch(cell) for cell in rows[0]):
        rows = [list(columns), *rows]
    return "".join(f"{','.join(row)}\n" for row in rows)


def _cells(line: str) -> list[str]:
    for separator in ("\t", ";"):
        if separator in line:
            return [cell.strip().replace(",", ".") for cell in line.split(separator)]
    return [cell.strip() for cell in line.split(",")] if "," in line else line.split()
