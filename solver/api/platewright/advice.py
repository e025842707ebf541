"""What to do about a plate: a shaving tried, where it works, the carving planned, the wood fitted.

Each answer holds what the solver found as ``found``, and shows itself in a notebook as the command of its name prints it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from meshes.removal import Hollow
from platewright.plates import Plate
from platewright.shown import as_html
from solver.advice.carving_plan import CarvingPlan as FoundPlan
from solver.advice.fitted_wood import WoodFit as FoundWood
from solver.advice.plan_hindrance import Hindrance, find_hindrance
from solver.advice.plan_passes import PlanPass, plan_passes
from solver.advice.shaving import Shaving as FoundShaving
from solver.advice.shaving import shave as shaved
from solver.advice.thinning import ThinningMap as FoundThinning
from solver.commands.fit import chosen_entries, fit_folder
from solver.commands.fit_answer import fit_as_tables
from solver.commands.plan import plan_for
from solver.commands.plan_answer import plan_as_table
from solver.commands.plan_remarks import remarks
from solver.commands.plan_request import PlanRequest
from solver.commands.shave import shaving_as_table
from solver.commands.where import thinning_of, where_as_table
from solver.plate.species import Constant

_SHOWN = 5
"""Tones in the table of a shaving."""


@dataclass(frozen=True, eq=False)
class Shaving:
    """A plate before and after hollows were taken from it, both solved in full."""

    found: FoundShaving

    @property
    def change_hz(self) -> Mapping[str, float]:
        """By how much each numbered mode changed [Hz]."""
        before = self.found.before
        return {
            name: self.found.hz_after(place) - float(before.hz[place])
            for place, name in enumerate(before.names)
            if name is not None
        }

    def _repr_html_(self) -> str:
        return as_html(shaving_as_table(self.found, _SHOWN, None))


def shave(plate: Plate, *hollows: Hollow) -> Shaving:
    """Return what taking hollows from the inside does, the model's tones before and after, each followed by its shape.

    Raises
    ------
    InputError
        If a hollow cannot be taken there, or less than 0.8 mm would be left.

    >>> from platewright import hollow, new_plate
    >>> tried = shave(new_plate("shaved-panel", like="panel"), hollow(180, 0, radius_mm=50, depth_mm=0.3))
    >>> tried.change_hz["2"] < 0
    True
    """
    return Shaving(shaved(plate, hollows))


@dataclass(frozen=True, eq=False)
class ThinningMap:
    """What a shaving does everywhere to some modes: ``found.hz_map(name)`` (n,) [Hz] for 0.1 mm from 1 cm2."""

    found: FoundThinning

    def _repr_html_(self) -> str:
        return as_html(where_as_table(self.found))


def where(plate: Plate, *modes: str) -> ThinningMap:
    """Return where a shaving lowers the modes with these numbers most, and where it leaves them alone.

    Without numbers they are those that makers tap for. Raises InputError if the plate has no such mode.

    >>> from platewright import new_plate
    >>> places = where(new_plate("mapped-panel", like="panel"), "2").found.lowest("2")
    >>> places[0].hz["2"] < 0
    True
    """
    return ThinningMap(thinning_of(plate, modes))


@dataclass(frozen=True, eq=False)
class CarvingPlan:
    """The least wood to take for wanted tones, in ``passes``; ``hindrance`` is what keeps it from them, if anything."""

    found: FoundPlan
    passes: tuple[PlanPass, ...]
    hindrance: Hindrance | None
    remarks: tuple[str, ...]

    @property
    def planned(self) -> Mapping[str, float]:
        """What each numbered mode [Hz], and under ``mass`` the plate [kg], comes to."""
        return {figure.name: figure.planned for figure in self.found.figures}

    def _repr_html_(self) -> str:
        return as_html(plan_as_table(self.found, self.passes, self.hindrance, self.remarks))


def plan(
    plate: Plate,
    wanted_hz: Mapping[str, float],
    *,
    mass_g: float | None = None,
    min_thickness_mm: float | None = None,
    passes: int = 2,
) -> CarvingPlan:
    """Return the least wood to take from the inside for wanted tones by the modes' numbers, and maybe for a mass.

    Without ``min_thickness_mm`` that of plate.toml holds.

    Raises
    ------
    InputError
        If a mode is not found, a wish is far from what the plate is now, or no least thickness is known.

    >>> from platewright import new_plate, solve_modes
    >>> panel = new_plate("planned-panel", like="panel")
    >>> wish = 0.98 * solve_modes(panel).hz_of("2")
    >>> abs(plan(panel, {"2": wish}, min_thickness_mm=2.0).planned["2"] / wish - 1) < 0.005
    True
    """
    wants = [f"{name}={hz!r}" for name, hz in wanted_hz.items()]
    wants += [] if mass_g is None else [f"mass={mass_g!r}"]
    least = () if min_thickness_mm is None else (repr(min_thickness_mm),)
    source = replace(plate.source, plate=plate)
    request = PlanRequest(tuple(wants), (), least, None, None, passes)
    bench, found = plan_for(source, request)
    said = tuple(remarks(found, source))
    return CarvingPlan(found, plan_passes(bench, found, passes), find_hindrance(found), said)


@dataclass(frozen=True, eq=False)
class WoodFit:
    """The wood's own constants, found from the log's ``entries``."""

    found: FoundWood
    entries: tuple[str, ...]

    @property
    def constants(self) -> Mapping[Constant, float]:
        """The fitted constants in SI: density [kg/m3] and moduli [Pa]."""
        return self.found.posterior.constants

    def interval(self, constant: Constant) -> tuple[float, float]:
        """Return the 95 % interval of a constant in SI."""
        return self.found.posterior.interval(constant)

    def _repr_html_(self) -> str:
        return as_html(fit_as_tables(self.found, self.entries, None))


def fit_wood(plate: Plate, entries: Sequence[str] = ()) -> WoodFit:
    """Return the wood's constants from the tones and the mass in the plate's log; nothing is written.

    ``entries`` are names of entries or their beginnings; without them those are taken that ``platewright fit`` takes.

    Raises
    ------
    InputError
        If the log has no tones, or a name stands for no entry.
    """
    names = chosen_entries(plate.source.description.log, entries)
    return WoodFit(fit_folder(plate.source, names), names)
