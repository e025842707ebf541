"""Plates: read from a folder, made anew, thinned."""

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from meshes.removal import Hollow, Removal, Together
from platewright.shown import fields_of
from solver.commands.shave_request import MOST_DEPTH_MM, RADIUS_MM
from solver.core.errors import InputError
from solver.core.units import GRAM, MM
from solver.plate.mass import plate_mass
from solver.plate.plate import Plate as SolverPlate
from solver.plate.thinning import thinned
from solver.plate_folder.description import read_description
from solver.plate_folder.read import PlateFolder, read_folder
from solver.stock import write_stock_plate
from solver.viewer.figures import check_figure
from solver.viewer.page_files import page_as_svg


@dataclass(frozen=True, eq=False)
class Plate(SolverPlate):
    """A plate: outline, arch, thickness everywhere, wood, maybe a bar; ``source`` is what its folder says of it.

    >>> panel = new_plate("thin-panel", like="panel")
    >>> round(panel.mass_g) > round(panel.thinned(hollow(180, 0, radius_mm=60, depth_mm=0.5)).mass_g)
    True
    """

    source: PlateFolder = field(kw_only=True)

    @property
    def mass_g(self) -> float:
        """What it weighs [g], with its bar."""
        return plate_mass(self) / GRAM

    def thinned(self, *removals: Removal) -> "Plate":
        """Return the plate with wood taken from the inside; depths add up, and under the bar nothing is taken."""
        return replace(self, graduation=thinned(self, Together(removals)).graduation)

    def _repr_html_(self) -> str:
        drawn = page_as_svg(check_figure(self))
        return drawn[drawn.index("<svg") :]  # a page of HTML has no place for the head of a file


def read_plate(folder: str | Path) -> Plate:
    """Return the plate that a folder describes, of the wood last fitted if there is a record of it.

    Raises
    ------
    InputError
        If a file is missing or cannot be understood, or if its content cannot be a plate.

    >>> made = new_plate("one-plate", like="panel")
    >>> read_plate("one-plate").title
    'one-plate'
    """
    source = read_folder(read_description(Path(folder)))
    return Plate(**fields_of(source.plate), source=source)


def new_plate(folder: str | Path, like: str, length_mm: float | None = None) -> Plate:
    """Write the folder of a usual plate, as ``platewright new``, and return the plate.

    Raises
    ------
    InputError
        If ``like`` is no usual plate, the length is of none, or something stands in the folder already.

    >>> new_plate("small-panel", like="panel", length_mm=300).role
    'panel'
    """
    write_stock_plate(Path(folder), like, length_mm)
    return read_plate(folder)


def hollow(x_mm: float, y_mm: float, *, radius_mm: float, depth_mm: float) -> Hollow:
    """Return a round hollow: deepest in its middle, ``depth (1 - (d/radius)^2)^2`` at the distance d from it.

    x runs along the centre line from the lower end, y to the left seen from outside. Raises InputError if no shaving has
    that radius or depth.

    >>> round(hollow(180, 0, radius_mm=30, depth_mm=0.3).volume * 1e9)  # mm3
    283
    """
    low, high = RADIUS_MM
    if not low <= radius_mm <= high:
        raise InputError(f"radius_mm: {radius_mm:g}; expected {low:g} to {high:g}. Check the order.")
    if not 0 <= depth_mm <= MOST_DEPTH_MM:  # a curve of Hz against depth begins with none
        raise InputError(
            f"depth_mm: {depth_mm:g}; expected 0 to {MOST_DEPTH_MM:g}, for wood cannot be put back. Check the order."
        )
    return Hollow(np.array([x_mm, y_mm]) * MM, radius_mm * MM, depth_mm * MM)
