"""What a maker asks of ``platewright plan``: wishes and limits, from the command line or from plate.toml."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import TypeAdapter, ValidationError

from solver.commands.bar_request import read_wanted
from solver.errors import InputError
from solver.plate_folder.quantities import Mass, Thickness
from solver.plate_folder.schema import WantedTable
from solver.units import GRAM, MM

if TYPE_CHECKING:
    from meshes.graduation import Graduation
    from meshes.outline import Outline
    from solver.advice.carving_plan import PlanLimits
    from solver.advice.plan_trials import PlanTrial

USUAL_REMOVAL_MM = 0.6
"""Deepest cut of a plan unless another is set."""

MOST_REMOVAL_MM = 3.0
PASSES = (2, 6)
MASS_WISH = "mass"


@dataclass(frozen=True)
class PlanRequest:
    """Wishes and limits as they stand on the command line; ``least`` a thickness in mm or a file with a map of it."""

    wants: tuple[str, ...]
    keeps: tuple[str, ...]
    least: str | None
    max_removal_mm: float
    symmetric: bool


@dataclass(frozen=True)
class PlanOutput:
    """In how many passes the maker wants it, and where."""

    passes: int
    as_json: bool
    picture: Path | None


def checked_passes(passes: int) -> int:
    """Return in how many passes to carve; raises InputError for one pass, or more than anybody weighs and taps."""
    if not PASSES[0] <= passes <= PASSES[1]:
        raise InputError(
            f"--passes: {passes}; expected {PASSES[0]} to {PASSES[1]}, because a plan is a prediction and wants a "
            "measurement on the way. Choose a number in between."
        )
    return passes


def read_wishes(request: PlanRequest, table: WantedTable | None) -> dict[str, float]:
    """Return the wished frequencies [Hz] by modes and the mass [kg], those of plate.toml where none are asked for.

    Raises
    ------
    InputError
        If a wish cannot be understood, one figure is wished twice, or there are none at all.
    """
    wishes: dict[str, float] = {}
    for text in request.wants:
        name, value = _read_wish(text)
        if name in wishes:
            raise InputError(
                f"--want: {name} is wished for twice; expected one figure for each. Take one out."
            )
        wishes[name] = value
    if not wishes and table is not None:
        wishes = dict(table.modes_hz)
    if not wishes:
        raise InputError(
            "platewright plan: nothing is wished for; expected tones or a mass. "
            "Write for instance --want 5=350 --want mass=68, or modes_hz under [wanted] in plate.toml."
        )
    return wishes


def _read_wish(text: str) -> tuple[str, float]:
    """Return name and figure of ``5=350`` or ``mass=68``, the mass in kg."""
    name, _, figure = text.partition("=")
    if name.strip().lower() == MASS_WISH:
        try:
            number = float(figure.strip().removesuffix("g"))
            return MASS_WISH, TypeAdapter(Mass).validate_python(number) * GRAM
        except ValidationError as error:
            raise InputError(f"--want: '{text}'; {error.errors()[0]['msg']}") from None
        except ValueError:
            raise InputError(
                f"--want: '{text}'; expected a mass in g. Write for instance --want mass=68."
            ) from None
    wish = read_wanted(text)
    assert wish is not None, "there is a text"
    return wish


def with_kept(wishes: dict[str, float], keeps: Sequence[str], now: "PlanTrial") -> dict[str, float]:
    """Return the wishes and those of figures to be kept as they are.

    Raises
    ------
    InputError
        If a mode is not among the plate's tones, or one is to be kept and changed.
    """
    found = [name for name in now.modes.names if name]
    for option, names in (("--want", [*wishes]), ("--keep", [*keeps])):
        for name in names:
            if name not in (*found, MASS_WISH):
                raise InputError(
                    f"{option}: no tone of this plate has the shape of mode {name}; expected one that was found: "
                    f"{', '.join(found) or 'none'}. See them with: platewright modes"
                )
    for name in keeps:
        if name in wishes:
            raise InputError(f"--keep: {name} is wished for too; expected one of the two. Take one out.")
    return wishes | {name: now.figure(name) for name in keeps}


def read_limits(request: PlanRequest, table: WantedTable | None, outline: "Outline") -> "PlanLimits":
    """Return how thin the plate may get and how deep one may cut.

    Raises
    ------
    InputError
        If no minimum is set anywhere, or one cannot be.
    """
    from meshes.graduation import uniform_graduation
    from solver.advice.carving_plan import PlanLimits

    depth = request.max_removal_mm
    if not 0 < depth <= MOST_REMOVAL_MM:
        raise InputError(
            f"--max-removal is {depth:g}; expected more than 0 and at most {MOST_REMOVAL_MM:g} mm. "
            "Choose the deepest cut that you would make before measuring again."
        )
    text = request.least
    if text is not None and Path(text).suffix.lower() == ".csv":
        return PlanLimits(_read_map(Path(text), outline), depth * MM)
    return PlanLimits(uniform_graduation(_least_mm(text, table) * MM), depth * MM)


def _least_mm(text: str | None, table: WantedTable | None) -> float:
    """Return the least thickness [mm] allowed everywhere."""
    if text is None:
        if table is None or table.min_thickness_mm is None:
            raise InputError(
                "platewright plan: no least thickness is set; expected one, because wood cannot be put back. "
                "Write for instance --min-thickness 2.2, or min_thickness_mm under [wanted] in plate.toml."
            )
        return table.min_thickness_mm
    try:
        return TypeAdapter(Thickness).validate_python(float(text))
    except ValidationError as error:
        raise InputError(f"--min-thickness is {text}; {error.errors()[0]['msg']}") from None
    except ValueError:
        raise InputError(
            f"--min-thickness: '{text}'; expected mm, or a .csv with x_mm,y_mm,t_mm. "
            "Write for instance --min-thickness 2.2."
        ) from None


def _read_map(path: Path, outline: "Outline") -> "Graduation":
    from meshes.graduation import graduation_from_readings
    from meshes.readings_csv import read_table
    from solver.plate_folder.read import READINGS

    if not path.is_file():
        raise InputError(
            f"--min-thickness: there is no file {path}; expected a .csv with x_mm,y_mm,t_mm. Check its name."
        )
    return graduation_from_readings(read_table(path, READINGS) * MM, outline)
