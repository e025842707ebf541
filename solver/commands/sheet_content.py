"""What stands on a sheet for the bench: the plate as it is, and which modes are marked on it."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from solver.core.errors import InputError
from solver.core.units import MM

if TYPE_CHECKING:
    from solver.modal.modes import Modes
    from solver.plate_folder.read import PlateFolder
    from solver.viewer.sheet.content import SheetContent

TONES = 8
"""Tones computed, among which those of the modes to be marked are found."""


def content_as_it_is(read: "PlateFolder", marked: Sequence[str]) -> "SheetContent":
    """Return the plate as it stands, solved; raises InputError if a mode to be ``marked`` is not found."""
    from meshes.graduation import uniform_graduation
    from solver.commands.belief import solve_as_expected
    from solver.viewer.sheet.content import SheetContent

    description = read.description
    modes, _ = solve_as_expected(read, read.plate, TONES)
    wanted = description.table.wanted
    least = wanted.min_thickness_mm if wanted else None
    return SheetContent(
        folder_name=description.folder.resolve().name,
        made=date.today(),
        plate=read.plate,
        modes=modes,
        shown=shown(modes, marked),
        wanted_hz=wanted.modes_hz if wanted else {},
        least=None if least is None else uniform_graduation(least * MM).at,
        log=tuple(description.log.values()),
    )


def shown(modes: "Modes", asked: Sequence[str]) -> tuple[int, ...]:
    """Return the places of the modes asked for; of the usual ones, or else of the lowest, where none are."""
    from solver.viewer.sheet.content import USUAL_TONES

    for name in asked:
        if name not in modes.names:
            found = ", ".join(sorted(found for found in modes.names if found)) or "none"
            raise InputError(
                f"--mode: no tone of this plate has the shape of mode {name}; expected one that was found: {found}. "
                "See them with: platewright modes"
            )
    named = [name for name in dict.fromkeys(asked or USUAL_TONES) if name in modes.names]
    return tuple(modes.names.index(name) for name in named) or tuple(range(len(USUAL_TONES)))
