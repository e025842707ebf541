"""From a plate folder to the plate that it describes."""

from dataclasses import dataclass
from pathlib import Path

from threadpoolctl import threadpool_limits

from meshes.arch import Arch, arch_from_heights, arch_from_sections, drawn_arch, flat_arch
from meshes.edge_files import read_edge
from meshes.graduation import Graduation, graduation_from_readings, uniform_graduation
from meshes.outline import Outline, make_outline
from meshes.readings_csv import read_table
from solver.arrays import Floats
from solver.plate.plate import Plate
from solver.plate_folder.bar_table import make_bar
from solver.plate_folder.description import Description, file_in, read_description
from solver.plate_folder.schema import ArchTable, OutlineTable, PlateTable, ThicknessTable
from solver.plate_folder.wood_table import make_wood, with_stated_masses
from solver.units import MM

HEIGHTS = ("x_mm", "y_mm", "z_mm")
READINGS = ("x_mm", "y_mm", "t_mm")


@dataclass(frozen=True, eq=False)
class PlateFolder:
    """A folder that was understood: what it says, and the plate made from it."""

    description: Description
    plate: Plate


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
        plate = _make_plate(description.folder, description.table)
        return PlateFolder(description, with_stated_masses(plate, description.table))


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
    edge = read_edge(file_in(folder, table.file, "plate.toml: outline.file"), "outline")
    paths = [file_in(folder, name, "plate.toml: outline.holes") for name in table.holes]
    return make_outline(edge, tuple(read_edge(path, path.stem) for path in paths))


def _read_arch(folder: Path, table: ArchTable, outline: Outline) -> Arch:
    if table.file is not None:
        return arch_from_heights(_readings(folder, table.file, "arch.file", HEIGHTS), outline)
    if table.sections is not None:
        return arch_from_sections(_readings(folder, table.sections, "arch.sections", HEIGHTS), outline)
    if table.rise_mm is not None and table.channel_mm is not None:
        return drawn_arch(outline, table.rise_mm * MM, table.channel_mm * MM)
    return flat_arch()


def _read_graduation(folder: Path, table: ThicknessTable, outline: Outline) -> Graduation:
    if table.file is not None:
        return graduation_from_readings(_readings(folder, table.file, "thickness.file", READINGS), outline)
    assert table.uniform_mm is not None, "the schema asks for exactly one of the two"
    return uniform_graduation(table.uniform_mm * MM)


def _readings(folder: Path, name: str, key: str, columns: tuple[str, ...]) -> Floats:
    """Return the table (n, 3) [m] of a file that plate.toml names."""
    return read_table(file_in(folder, name, f"plate.toml: {key}"), columns) * MM
