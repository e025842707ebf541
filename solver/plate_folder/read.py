"""From a plate folder to the plate that it describes."""

from dataclasses import dataclass
from pathlib import Path

from threadpoolctl import threadpool_limits

from meshes.arch import Arch, arch_from_heights, arch_from_sections, drawn_arch, flat_arch
from meshes.edge_files import read_edges
from meshes.graduation import Graduation, graduation_from_readings, uniform_graduation
from meshes.outline import Outline, make_outline
from meshes.readings_csv import read_table
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.plate.plate import Plate
from solver.plate.wood_posterior import WoodPosterior
from solver.plate_folder.bar_table import make_bar
from solver.plate_folder.description import READINGS, Description, read_description
from solver.plate_folder.fitted_table import newest_posterior
from solver.plate_folder.inside import file_in
from solver.plate_folder.schema import ArchTable, OutlineTable, PlateTable, ThicknessTable
from solver.plate_folder.stated_mass import with_stated_masses
from solver.plate_folder.wood_table import make_wood

HEIGHTS = ("x_mm", "y_mm", "z_mm")


@dataclass(frozen=True, eq=False)
class PlateFolder:
    """A folder that was understood: what it says, and the plate made from it.

    ``plate`` is of the wood and the arch last fitted, if there is a record of a fit, whose belief is then ``posterior``;
    ``stated`` is of the wood and the arch of [wood] and [arch].
    """

    description: Description
    plate: Plate
    stated: Plate
    posterior: WoodPosterior | None


def read_plate(folder: Path) -> Plate:
    """Return the plate that a folder describes; raises InputError as `read_folder`."""
    return read_folder(read_description(folder)).plate


def read_folder(description: Description) -> PlateFolder:
    """Make the plate from the tables of plate.toml and the files that they name.

    Raises
    ------
    InputError
        If a file is missing or cannot be understood, or if its content cannot be a plate; the sentence names
        the file and the place in it.
    """
    # One thread: two spin round each other on the many small matrices of the maps, up to a thousand times slower.
    with threadpool_limits(1, user_api="blas"):
        made = _make_plate(description.folder, description.table)
        stated = with_stated_masses(made, description.table)
        posterior = newest_posterior(description.table, stated.wood)
        plate = stated if posterior is None else posterior.applied(stated)
        return PlateFolder(description, plate, stated, posterior)


def _make_plate(folder: Path, table: PlateTable) -> Plate:
    outline = _read_outline(folder, table.outline)
    wood = make_wood(table.wood, "plate.toml: [wood]")
    bar = make_bar(table.bar, wood, outline) if table.bar else None
    return Plate(
        title=table.title,
        role=table.role,
        outline=outline,
        arch=_read_arch(folder, table.arch, outline),
        graduation=_read_graduation(folder, table.thickness, outline),
        wood=wood,
        bar=bar,
    )


def _read_outline(folder: Path, table: OutlineTable) -> Outline:
    outline = file_in(folder, table.file, "plate.toml: outline.file")
    holes = [file_in(folder, name, "plate.toml: outline.holes") for name in table.holes]
    edge, *others = read_edges([(outline, "outline"), *((path, path.stem) for path in holes)])
    return make_outline(edge, tuple(others))


def _read_arch(folder: Path, table: ArchTable, outline: Outline) -> Arch:
    if table.file is not None:
        return arch_from_heights(readings_in(folder, table.file, "plate.toml: arch.file", HEIGHTS), outline)
    if table.sections is not None:
        sections = readings_in(folder, table.sections, "plate.toml: arch.sections", HEIGHTS)
        return arch_from_sections(sections, outline)
    if table.rise_mm is not None and table.channel_mm is not None:
        return drawn_arch(outline, table.rise_mm * MM, table.channel_mm * MM)
    return flat_arch()


def _read_graduation(folder: Path, table: ThicknessTable, outline: Outline) -> Graduation:
    if table.file is not None:
        readings = readings_in(folder, table.file, "plate.toml: thickness.file", READINGS)
        return graduation_from_readings(readings, outline)
    assert table.uniform_mm is not None, "the schema asks for exactly one of the two"
    return uniform_graduation(table.uniform_mm * MM)


def readings_in(folder: Path, name: str, where: str, columns: tuple[str, ...]) -> Floats:
    """Return the table (n, 3) [m] of a file in the folder; ``where`` is the key that names it.

    Raises InputError if there is none, or if it is no such table.
    """
    return read_table(file_in(folder, name, where), columns) * MM
