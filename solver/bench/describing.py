"""The form in which a maker describes a plate, and the files that come of it."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from meshes.input_file import file_text
from solver.bench.told import Field, Form, Understood
from solver.commands.understood import doubts_of, words_of
from solver.core.errors import InputError
from solver.plate.species import SPECIES
from solver.plate_folder.description import PLATE_FILE, READINGS
from solver.plate_folder.edit import edited_description, pasted_table
from solver.plate_folder.inside import file_in
from solver.plate_folder.read import HEIGHTS, PlateFolder

THICKNESS_FILE, ARCH_FILE = "thickness.csv", "arch.csv"


@dataclass(frozen=True)
class FormField:
    """One line of the form: the key in plate.toml, what it is called, its unit; ``choices`` where it is one of a few."""

    key: str
    label: str
    unit: str = ""
    choices: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """The label as it begins a sentence."""
        return self.label.removeprefix("or ").capitalize()


FORM: dict[str, tuple[FormField, ...]] = {
    "Plate": (FormField("title", "Title"),),
    "Wood": (
        FormField("wood.species", "Species", choices=tuple(species.name for species in SPECIES)),
        FormField("wood.density_kg_m3", "Density", "kg/m3"),
        FormField("wood.mass_g", "or mass of the plate", "g"),
        FormField("wood.EL_GPa", "Stiffness along", "GPa"),
        FormField("wood.ER_GPa", "Stiffness across", "GPa"),
        FormField("wood.GLR_GPa", "Shear stiffness", "GPa"),
        FormField("wood.ring_deg", "Rings off the quarter", "°"),
        FormField("wood.grain_deg", "Grain off the centre line", "°"),
    ),
    "Room in which that holds": (
        FormField("climate.temperature_c", "Temperature", "°C"),
        FormField("climate.humidity_pct", "Humidity", "%"),
    ),
    "Wanted": (
        *(FormField(f"wanted.modes_hz.{name}", f"Mode {name}", "Hz") for name in ("1", "2", "5")),
        FormField("wanted.min_thickness_mm", "Nowhere thinner than", "mm"),
    ),
    "Arching drawn from the outline": (
        FormField("arch.rise_mm", "Rise", "mm"),
        FormField("arch.channel_mm", "Channel", "mm"),
    ),
    "One thickness everywhere": (FormField("thickness.uniform_mm", "Thickness", "mm"),),
}
_FIELDS = {field.key: field for fields in FORM.values() for field in fields}
_GROUPS = {"wood": "Wood", "climate": "Room in which that holds", "wanted": "Wanted"}
_OF_A_KEY = re.compile(rf"^{re.escape(PLATE_FILE)}: ({'|'.join(map(re.escape, _FIELDS))}) is (missing; .*)?")
_OF_A_GROUP = re.compile(rf"^{re.escape(PLATE_FILE)}: \[({'|'.join(_GROUPS)})\]")
_NAMES = {key.partition(".")[2]: field.words for key, field in _FIELDS.items() if "_" in key}
_NAME = re.compile(rf"\b({'|'.join(_NAMES)})\b")


def form_as_json(folder: Path) -> Form:
    """Return the form filled with what the folder says, and its tables as text.

    Raises
    ------
    InputError
        If plate.toml cannot be read, or is no TOML at all.
    """
    text = file_text(folder / PLATE_FILE)
    try:
        said = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise InputError(f"{PLATE_FILE}: it is not valid TOML: {error}. Mend it in a text editor.") from None
    return {
        "groups": [
            {"name": group, "fields": [_field(field, said) for field in fields]}
            for group, fields in FORM.items()
        ],
        "thickness": _table_text(folder, _at(said, "thickness.file")),
        "arch": _table_text(folder, _at(said, "arch.file") or _at(said, "arch.sections")),
        "columns": {"thickness": [*READINGS], "arch": [*HEIGHTS]},
    }


def _field(field: FormField, said: Mapping[str, object]) -> Field:
    value = _at(said, field.key)
    return {
        "key": field.key,
        "label": field.label,
        "unit": field.unit,
        "choices": [*field.choices],
        "value": "" if value is None else str(value),
    }


def _at(said: Mapping[str, object], key: str) -> object:
    """Return what stands under a key such as ``wood.species``, None where nothing does."""
    value: object = said
    for name in key.split("."):
        value = value.get(name) if isinstance(value, Mapping) else None
    return value


def _table_text(folder: Path, name: object) -> str:
    """Return the text of a table, empty where the plate has none or it cannot be read."""
    if not isinstance(name, str):
        return ""
    try:
        return file_text(file_in(folder, name, PLATE_FILE))
    except InputError:
        return ""


def drafted_files(
    folder: Path, values: Mapping[str, str], thickness: str | None, arch: str | None
) -> dict[str, str]:
    """Return the texts of the files that a draft changes.

    Raises
    ------
    InputError
        If plate.toml cannot be read or edited, or a value is of no key of the form.
    """
    if strange := values.keys() - _FIELDS.keys():
        raise InputError(f"{min(strange)} is no line of the form; reload the page and try again.")
    text = file_text(folder / PLATE_FILE)
    changes, files = dict(values), {}
    said = tomllib.loads(edited_description(text, {}))
    if thickness is not None:
        name = _at(said, "thickness.file") or THICKNESS_FILE
        files[str(name)] = pasted_table(thickness, READINGS)
        changes |= {"thickness.file": str(name), "thickness.uniform_mm": ""}
    if arch is not None:
        name = _at(said, "arch.file") or _at(said, "arch.sections") or ARCH_FILE
        files[str(name)] = pasted_table(arch, HEIGHTS)
        if name == ARCH_FILE:
            changes |= {"arch.file": ARCH_FILE, "arch.rise_mm": "", "arch.channel_mm": "", "arch.flat": ""}
    edited = edited_description(text, changes)
    return {**files, PLATE_FILE: edited} if edited != text else files


def in_form_words(sentence: str) -> str:
    """Return what is said of a key of plate.toml as said of its field in the form; all else as it is."""
    said = _OF_A_KEY.sub(_of_the_field, sentence)
    group = _OF_A_GROUP.match(said)
    if group is None:
        return said
    return _GROUPS[group[1]] + _NAME.sub(lambda name: f'"{_NAMES[name[1]]}"', said[group.end() :])


def _of_the_field(found: re.Match[str]) -> str:
    field = _FIELDS[found[1]]
    where = f"{field.words}, {field.unit}" if field.unit else field.words
    return f"{where}: it is " + ("empty; expected something here. Fill it in." if found[2] else "")


def understood_as_json(read: PlateFolder) -> Understood:
    """Return what ``platewright check`` says of a plate: headings with sentences, and what to look at."""
    return {
        "words": [[heading, words] for heading, words in words_of(read)],
        "doubts": [*doubts_of(read)],
    }
