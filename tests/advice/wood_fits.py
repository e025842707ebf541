"""Plates to be fitted: an arched ellipse with a bar, coarsely meshed in its tests, and the references solved as solids."""

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from solver.advice.fit_entry import FitEntry
from solver.advice.wood_prior import WoodPrior, wood_prior
from solver.core.arrays import Floats
from solver.plate.mass import plate_mass
from solver.plate.plate import Plate
from solver.plate.plate_doubt import doubts_of
from solver.plate.species import find_species, wood_of
from solver.plate.wood_posterior import with_wood
from tests.validation.make_references import STORE
from tests.validation.shell_plate import as_plate
from tests.validation.solid_plates import PLATES

HEIGHTS = 5e-3
"""Distance of heights [m] by which an exact arch is taken to be known."""


@cache
def solid_hz(name: str) -> Floats:
    """Tones [Hz] of a reference plate by CalculiX, the finer division."""
    return np.array(json.loads(Path(STORE).read_text())[name]["runs"][-1]["hz"])


def species_prior(name: str, species: str) -> WoodPrior:
    """What is believed of a reference plate of which no more than the species is known."""
    truth = PLATES[name].wood
    return wood_prior(wood_of(find_species(species, "wood"), {}, "wood", truth.grain, truth.ring), False)


@cache
def reference_plate(name: str) -> Plate:
    """A reference plate with its true wood."""
    return as_plate(PLATES[name])


@cache
def believed_plate(name: str, species: str) -> Plate:
    """The same of the wood of the table."""
    return with_wood(reference_plate(name), species_prior(name, species).wood)


def solid_entry(
    name: str, species: str, hz: Floats, numbers: tuple[str | None, ...], mass_share: float = 1.0
) -> FitEntry:
    """An entry of a log with the tones ``hz`` of a reference plate, some with numbers, and its true mass times a share."""
    plate = believed_plate(name, species)
    flat = PLATES[name].role == "panel"
    doubts = doubts_of(plate, "flat" if flat else "heights", HEIGHTS)
    numbered = {n: float(f) for n, f in zip(numbers, hz, strict=True) if n}
    heard = tuple(float(f) for n, f in zip(numbers, hz, strict=True) if n is None)
    mass = mass_share * plate_mass(replace(reference_plate(name)))
    return FitEntry("2026-03-14T190500.toml", plate, doubts, numbered, heard, mass, None)
