"""From the mass that plate.toml states to the density of the wood: what it weighs over its volume."""

from dataclasses import replace

from solver.core.errors import InputError
from solver.core.units import GRAM
from solver.plate.mass import bar_volume, wood_volume
from solver.plate.plate import Plate
from solver.plate.wood import Wood
from solver.plate_folder.quantities import DENSITY_RANGE
from solver.plate_folder.schema import PlateTable


def with_stated_masses(plate: Plate, table: PlateTable) -> Plate:
    """Return the plate with the density that follows from the stated mass, if one is stated.

    A mass in [wood] is that of the whole plate as it lies on the scales, its bar included; a mass in
    [bar.wood] is that of the bar alone. Raises InputError if the density that follows is of no wood.
    """
    bar, table_of_bar = plate.bar, table.bar
    own = table_of_bar.wood if table_of_bar else None
    if bar and own and own.mass_g is not None:
        volume = bar_volume(bar, plate.arch, plate.graduation)
        heavy = _weighed(bar.wood, own.mass_g, volume, "plate.toml: bar.wood.mass_g")
        plate = replace(plate, bar=replace(bar, wood=heavy))
    if table.wood.mass_g is None:
        return plate
    return _with_plate_mass(plate, table.wood.mass_g, shared=own is None)


def _with_plate_mass(plate: Plate, mass_g: float, shared: bool) -> Plate:
    """Share the mass between plate and bar, which is of the plate's wood where ``shared``."""
    volume = wood_volume(plate.outline, plate.arch, plate.graduation)
    where = "plate.toml: wood.mass_g"
    if plate.bar is None:
        return replace(plate, wood=_weighed(plate.wood, mass_g, volume, where))
    bar = bar_volume(plate.bar, plate.arch, plate.graduation)
    if shared:
        wood = _weighed(plate.wood, mass_g, volume + bar, where)
        return replace(plate, wood=wood, bar=replace(plate.bar, wood=wood))
    rest = mass_g - plate.bar.wood.density * bar / GRAM
    return replace(plate, wood=_weighed(plate.wood, rest, volume, where))


def _weighed(wood: Wood, mass_g: float, volume: float, where: str) -> Wood:
    density = mass_g * GRAM / volume
    if not DENSITY_RANGE[0] <= density <= DENSITY_RANGE[1]:
        low, high = DENSITY_RANGE
        raise InputError(
            f"{where}: {mass_g:.4g} g in {volume * 1e6:.4g} cm3 of wood is {density:.0f} kg/m3; "
            f"expected {low:g} to {high:g} kg/m3. Check the mass, and the thickness that gives the volume."
        )
    return replace(wood, density=density)
