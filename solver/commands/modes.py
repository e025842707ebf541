"""``platewright modes``: the tones of a free plate."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.core.errors import InputError
from solver.plate_folder.description import read_description

if TYPE_CHECKING:
    from solver.modal.modes import Modes
    from solver.plate.plate import Plate

PARTS = ("holes", "bar")


@dataclass(frozen=True)
class ModesRequest:
    """What the maker asked for on the command line."""

    folder: Path
    count: int
    as_json: bool
    pictures: Path | None
    vtu: Path | None
    without: tuple[str, ...]
    show: bool


def parts_left_out(text: str) -> tuple[str, ...]:
    """Return the parts named by ``--without holes,bar``; raises InputError for any other name."""
    parts = tuple(part.strip() for part in text.split(",")) if text else ()
    for part in parts:
        if part not in PARTS:
            raise InputError(
                f'--without names "{part}"; expected holes, bar, or both with a comma between. '
                "Write for instance: --without holes,bar"
            )
    return parts


def run_modes(request: ModesRequest, out: Console, busy: Console) -> None:
    """Print the tones of the plate as a table or as JSON, then draw and write what else was asked for.

    Raises InputError if the folder cannot be understood, or if something cannot be written.
    """
    description = read_description(request.folder)
    if not request.as_json:
        left_out = f", without {' and '.join(request.without)}" if request.without else ""
        out.print(headline(description.table, left_out))
    with busy.status("Reading the plate"):
        from solver.commands.tones import tones_as_json, tones_as_table
        from solver.plate.parts import without
        from solver.plate_folder.read import read_folder

        read = read_folder(description)
        plate = without(read.plate, request.without)
    with busy.status("Solving"):
        from solver.commands.belief import solve_as_expected

        modes, forecast = solve_as_expected(read, plate, request.count)
    if request.as_json:
        print_json(tones_as_json(plate, modes, request.without, forecast), out)
    else:
        out.print(tones_as_table(modes, forecast))
    with busy.status("Drawing and writing"):
        for line in _keep(request, plate, modes):
            busy.print(line, markup=False)


def _keep(request: ModesRequest, plate: "Plate", modes: "Modes") -> Iterator[str]:
    """Write and draw what was asked for beside the tones; yield what was done, and what could not be."""
    if request.vtu is not None:
        from meshes.exchange import write_vtu

        write_vtu(request.vtu, modes.points, modes.triangles, modes.thickness, modes.hz, modes.displacement)
        yield f"Written to {request.vtu}"
    if request.pictures is not None:
        from solver.viewer.pictures import write_pictures

        report = write_pictures(modes, plate, request.pictures)
        yield f"{len(report.paths)} pictures in {request.pictures}"
        if report.problem:
            yield report.problem
    if request.show:
        from solver.viewer.scene_process import show_modes

        if problem := show_modes(modes, plate):
            yield problem
