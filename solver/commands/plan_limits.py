"""The limits of a plan: how thin the plate may get, everywhere or by zones or by a map, and how deep one may cut."""

from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import TypeAdapter, ValidationError

from solver.commands.plan_request import PlanRequest
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate_folder.quantities import Thickness
from solver.plate_folder.schema import WantedTable

if TYPE_CHECKING:
    from solver.advice.carving_plan import LeastThickness, PlanLimits
    from solver.advice.places_in_words import PlaceWords
    from solver.plate.plate import Plate

USUAL_SHARE = 0.25
"""Deepest cut of a plan unless another is set, as a share of the mean thickness: 0.6 mm on the top of a violin, 1.1 mm on
that of a cello (common practice, no source)."""

MOST_REMOVAL_MM = 3.0


def read_limits(request: PlanRequest, table: WantedTable | None, plate: "Plate") -> "PlanLimits":
    """Return how thin the plate may get and how deep one may cut.

    Raises
    ------
    InputError
        If no minimum is set anywhere, or one cannot be.
    """
    from solver.advice.carving_plan import PlanLimits

    depth = usual_removal_mm(plate) if request.max_removal_mm is None else request.max_removal_mm
    if not 0 < depth <= MOST_REMOVAL_MM:
        raise InputError(
            f"--max-removal is {depth:g}; expected more than 0 and at most {MOST_REMOVAL_MM:g} mm. "
            "Choose the deepest cut that you would make before measuring again."
        )
    return PlanLimits(_least(request.least, table, plate), depth * MM)


def usual_removal_mm(plate: "Plate") -> float:
    """Return the deepest cut [mm] of a plan unless another is set: a quarter of the mean thickness, in tenths."""
    import numpy as np

    from solver.plate.mass import survey_cells

    cells = survey_cells(plate.outline)
    mean = float(np.average(plate.graduation.at(cells.points), weights=cells.areas))
    return min(round(USUAL_SHARE * mean / MM - 0.05, 1), MOST_REMOVAL_MM)


def _least(texts: tuple[str, ...], table: WantedTable | None, plate: "Plate") -> "LeastThickness":
    """Return the least thickness as a map: one figure, figures by zones, or readings."""
    from meshes.graduation import uniform_graduation

    maps = [text for text in texts if Path(text).suffix.lower() == ".csv"]
    if maps:
        if len(texts) > 1:
            raise InputError(
                f"--min-thickness: the map {maps[0]} stands beside others; expected a map alone, or figures. "
                "Take the others out."
            )
        return _read_map(Path(maps[0]), plate)
    zoned = [text for text in texts if "=" in text]
    plain = [text for text in texts if "=" not in text]
    if len(plain) > 1:
        raise InputError(
            f"--min-thickness: {' and '.join(plain)} are both for the whole plate; expected one. Take one out, or name "
            "its zone as in 'between the holes=2.8'."
        )
    elsewhere = _thickness_mm(plain[0], plain[0]) if plain else _stated_mm(table)
    if not zoned:
        return uniform_graduation(elsewhere * MM)
    return _by_zones(zoned, elsewhere, plate)


def _by_zones(texts: list[str], elsewhere_mm: float, plate: "Plate") -> "LeastThickness":
    from solver.advice.zones import ZonedThickness
    from solver.viewer.thinning_map import place_words

    words = place_words(plate)
    return ZonedThickness(words, elsewhere_mm * MM, tuple(_zone(text, words) for text in texts))


def _zone(text: str, words: "PlaceWords") -> tuple[tuple[str, ...], float]:
    """Return the words and the thickness [m] of ``between the holes=2.8``."""
    name, _, figure = text.rpartition("=")
    zone = words.zone(name)
    if zone is None:
        raise InputError(
            f"--min-thickness: '{text}'; this plate has no zone called '{name.strip()}'; expected one of "
            f"{', '.join(words.words)}, or several of them with commas between. Write for instance "
            f"'{words.words[1]}, {words.sides[0]}=2.5'."
        )
    return zone, _thickness_mm(figure, text) * MM


def _stated_mm(table: WantedTable | None) -> float:
    """Return the least thickness [mm] of plate.toml."""
    if table is None or table.min_thickness_mm is None:
        raise InputError(
            "the plan: no least thickness is set; expected one, because wood cannot be put back. "
            "Write for instance --min-thickness 2.2, or min_thickness_mm under [wanted] in plate.toml."
        )
    return table.min_thickness_mm


def _thickness_mm(figure: str, text: str) -> float:
    try:
        return TypeAdapter(Thickness).validate_python(float(figure))
    except ValidationError as error:
        raise InputError(f"--min-thickness is {text}; {error.errors()[0]['msg']}") from None
    except ValueError:
        raise InputError(
            f"--min-thickness: '{text}'; expected mm, a zone and mm, or a .csv with x_mm,y_mm,t_mm. "
            "Write for instance --min-thickness 2.2 --min-thickness 'between the holes=2.8'."
        ) from None


def _read_map(path: Path, plate: "Plate") -> "LeastThickness":
    from meshes.graduation import graduation_from_readings
    from meshes.readings_csv import read_table
    from solver.plate_folder.description import READINGS

    if not path.is_file():
        raise InputError(
            f"--min-thickness: there is no file {path}; expected a .csv with x_mm,y_mm,t_mm. Check its name."
        )
    return graduation_from_readings(read_table(path, READINGS) * MM, plate.outline)
