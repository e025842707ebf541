"""A trial whose wood was really taken: the map of thickness that is expected now, until the caliper has been there."""

import tomllib
from collections.abc import Sequence
from datetime import datetime

import numpy as np
import shapely

from meshes.outline import Outline
from meshes.removal import Removal, Together
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.plate.plate import Plate
from solver.plate.thinning import thinned
from solver.plate_folder.description import PLATE_FILE, READINGS
from solver.plate_folder.edit import edited_description
from solver.plate_folder.write import table_text

_SPACING = 0.035
"""Distance of the places added where wood was taken, as a share of the square root of the area: 8 mm on a violin."""

_WIDE = 2.5
"""How much farther apart they are where nothing was taken and no reading is."""

_TOUCHED = 5e-6
"""Depth [m] from which a place counts as touched."""


def carved_files(text: str, plate: Plate, removals: Sequence[Removal], when: datetime) -> dict[str, str]:
    """Return the texts that a plate's folder gets when the wood of a trial was taken.

    Every caliper reading is lessened by what the trial took there; between them places are added where it took wood,
    because the readings alone would not show it. They go into a new file, which plate.toml (``text``) then names: the
    readings stay as they were measured. A mass in plate.toml, weighed before, becomes the density that it gave.
    """
    taken = Together(tuple(removals))
    left, places = thinned(plate, taken).graduation, _places(plate, taken)
    rows = np.column_stack([places, left.at(places)]) / MM
    name = carved_readings(when)
    changes = {"thickness.file": name, "thickness.uniform_mm": "", **_density(text, plate)}
    return {name: table_text(READINGS, rows.tolist()), PLATE_FILE: edited_description(text, changes)}


def carved_readings(when: datetime) -> str:
    """Return how the file is called in which the thickness stands that a trial carved then has left."""
    return f"thickness-{when:%Y-%m-%dT%H%M%S}.csv"


def _density(text: str, plate: Plate) -> dict[str, str]:
    """Return the change that writes the wood's density instead of the mass that gave it: that was of the thicker plate."""
    if "mass_g" not in tomllib.loads(text).get("wood", {}):
        return {}
    return {"wood.mass_g": "", "wood.density_kg_m3": f"{plate.wood.density:.2f}"}


def _places(plate: Plate, removal: Removal) -> Floats:
    """Return the readings' places (n, 2) [m] and those added."""
    outline, readings = plate.outline, plate.graduation.readings[:, :2]
    spacing = _SPACING * float(np.sqrt(outline.without_holes().area))
    fine, wide = _grid(outline, spacing), _grid(outline, _WIDE * spacing)
    touched = fine[removal.at(fine) > _TOUCHED]
    known = np.vstack([readings, _apart(touched, readings, 0.5 * spacing)])
    if len(readings):
        return known
    return np.vstack([known, _apart(wide, known, spacing)])


def _grid(outline: Outline, spacing: float) -> Floats:
    """Return a grid of places (n, 2) [m] on the wood, none nearer than half a step to an edge."""
    low_x, low_y, high_x, high_y = outline.bounds
    x, y = np.arange(low_x, high_x, spacing), np.arange(low_y, high_y, spacing)
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    return grid[shapely.contains_xy(outline.polygon.buffer(-0.25 * spacing), grid)]


def _apart(places: Floats, known: Floats, least: float) -> Floats:
    """Return those places (n, 2) that lie farther than ``least`` [m] from all known ones."""
    from scipy.spatial import cKDTree

    if not len(known) or not len(places):
        return places
    return places[cKDTree(known).query(places)[0] > least]
