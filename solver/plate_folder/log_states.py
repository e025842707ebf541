"""The states of the plate that the log tells of: as it was before holes, bar or the last thinning."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import get_args

from meshes.graduation import graduation_from_readings
from meshes.readings import spacing
from solver.core.errors import InputError
from solver.plate.parts import without
from solver.plate.plate import Plate
from solver.plate.plate_doubt import ArchSource, Doubts, doubts_of
from solver.plate_folder.description import READINGS, Description
from solver.plate_folder.read import HEIGHTS, readings_in
from solver.plate_folder.schema import ArchTable

State = tuple[str | None, tuple[str, ...]]
"""What tells one state from another: the file of its thickness, if not plate.toml's, and the parts that it lacked."""


def plates_of_log(
    description: Description, stated: Plate, names: Sequence[str]
) -> Mapping[str, tuple[Plate, Doubts]]:
    """Return the plate as it was at each of the named entries, and how far its description may be off.

    ``stated`` is the plate of plate.toml. Entries of one state have one and the same plate.

    Raises
    ------
    InputError
        If a file of readings that an entry names is missing or cannot be used.
    """
    known: dict[State, tuple[Plate, Doubts]] = {}
    states = {name: _state(description, name) for name in names}
    for name, state in states.items():
        if state not in known:
            plate = _plate(description, stated, name, state)
            known[state] = plate, plate_doubts(description, plate)
    return {name: known[state] for name, state in states.items()}


def plate_doubts(description: Description, plate: Plate) -> Doubts:
    """Return how far a plate of this folder may be off from its description."""
    arch = description.table.arch
    close = 0.0
    if arch.file is not None:
        close = spacing(readings_in(description.folder, arch.file, "plate.toml: arch.file", HEIGHTS))
    return doubts_of(plate, arch_source(arch), close)


def arch_source(arch: ArchTable) -> ArchSource:
    """Return how the arch is known."""
    ways: dict[ArchSource, bool] = {
        "heights": arch.file is not None,
        "sections": arch.sections is not None,
        "drawn": arch.rise_mm is not None,
        "flat": arch.flat is not None,
    }
    return next(source for source in get_args(ArchSource) if ways[source])


def _state(description: Description, name: str) -> State:
    """Return the state at an entry; one that names the readings of plate.toml, or a part that it has not, has its state."""
    entry, table = description.log[name], description.table
    there = {"holes": bool(table.outline.holes), "bar": table.bar is not None}
    thickness = None if entry.thickness == table.thickness.file else entry.thickness
    return thickness, tuple(sorted({part for part in entry.without if there[part]}))


def _plate(description: Description, stated: Plate, name: str, state: State) -> Plate:
    thickness, parts = state
    if thickness is None:
        return without(stated, parts)
    readings = readings_in(description.folder, thickness, f"log/{name}: thickness", READINGS)
    try:
        graduation = graduation_from_readings(readings, stated.outline)
    except InputError as fault:
        raise InputError(f"log/{name}: {fault}") from fault
    return without(replace(stated, graduation=graduation), parts)
