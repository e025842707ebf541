"""What a plate folder says, put back into words: size, arch, thickness, wood, bar, room, wishes and log."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from meshes.cells import Cells
from meshes.triangulate import doubts_of_edges
from solver.core.arrays import Bools, Floats
from solver.core.units import GPA, GRAM, MM
from solver.plate.mass import bar_mass, plate_mass, survey_cells
from solver.plate.plate import Plate
from solver.plate.species import CONSTANTS, POISSON, Constant
from solver.plate.wood import Wood
from solver.plate.wood_posterior import FITTED
from solver.plate_folder.read import PlateFolder
from solver.plate_folder.schema import ArchTable, LogEntry, PlateTable, WoodTable
from solver.plate_folder.wood_table import wood_sources

CM2 = 1e-4
_LOG_SHOWN = 10
_GUESSES_SHOWN = 3
_MASS_DOUBT = 0.05
"""Share by which the mass on the scales may differ from the computed one before it is remarked on."""


@dataclass(frozen=True, eq=False)
class Survey:
    """The plate in n small cells: height of the outer surface and thickness (n,) [m], guess or not (n,); mass [kg]."""

    cells: Cells
    height: Floats
    thickness: Floats
    guess: Bools
    mass: float


def understood(read: PlateFolder) -> Group:
    """Return the report on a plate: in words, the constants of its wood, its log, and what to look at."""
    table, plate = read.description.table, read.plate
    survey = _survey(plate)
    sources = wood_sources(table.wood) | _fitted_sources(read)
    parts: list[RenderableType] = [
        _words(table, plate, survey),
        _wood(table.wood, sources, plate.wood, "Wood"),
    ]
    if plate.bar and table.bar and (own := table.bar.wood):
        parts.append(_wood(own, wood_sources(own), plate.bar.wood, "Wood of the bar"))
    if read.description.log:
        parts.append(_log(read.description.log))
    return Group(*parts, *(Text(f"Look at: {line}") for line in _doubts(read, survey)))


def words_of(read: PlateFolder) -> list[tuple[str, str]]:
    """Return what is said of the plate, each a heading and a sentence."""
    return [*_lines(read.description.table, read.plate, _survey(read.plate))]


def doubts_of(read: PlateFolder) -> list[str]:
    """Return what a maker should look at again."""
    return [*_doubts(read, _survey(read.plate))]


def _survey(plate: Plate) -> Survey:
    cells = survey_cells(plate.outline)
    height = plate.arch.at(cells.points).height
    guess = plate.graduation.is_guess(cells.points)
    return Survey(cells, height, plate.graduation.at(cells.points), guess, plate_mass(plate))


def _words(table: PlateTable, plate: Plate, survey: Survey) -> Table:
    words = Table(show_header=False, box=None, pad_edge=False)
    words.add_column(style="bold", no_wrap=True)
    words.add_column()
    for label, text in _lines(table, plate, survey):
        words.add_row(label, Text(text))
    return words


def _lines(table: PlateTable, plate: Plate, survey: Survey) -> Iterator[tuple[str, str]]:
    """Yield what is said of the plate: a heading and a sentence."""
    xmin, ymin, xmax, ymax = plate.outline.bounds
    size = f"{(xmax - xmin) / MM:.1f} mm long, {(ymax - ymin) / MM:.1f} mm wide"
    yield "Outline", f"{table.outline.file}: {size}, {plate.outline.area / CM2:.1f} cm2 of wood"
    holes = ", ".join(f"{hole.name} {hole.area / CM2:.1f} cm2" for hole in plate.outline.holes)
    yield "Holes", holes or "none"
    yield "Arch", f"{_arch_source(table.arch)}{_fitted_arch(table)}{_rise(survey)}"
    yield "Thickness", _thickness(table, plate, survey)
    if guesses := _guesses(survey):
        yield "Guessed", guesses
    if plate.bar:
        yield "Bar", _bar(plate)
    bar = f", of which the bar is {bar_mass(plate) / GRAM:.1f} g" if plate.bar else ""
    yield "Mass", f"{survey.mass / GRAM:.1f} g{bar}"
    if climate := table.climate:
        yield "Room", f"{climate.temperature_c:g} °C, {climate.humidity_pct:g} % humidity"
    if table.wanted:
        tones = [f"mode {name} at {hz:g} Hz" for name, hz in table.wanted.modes_hz.items()]
        thin = table.wanted.min_thickness_mm
        yield "Wanted", ", ".join(tones + ([f"nowhere under {thin:g} mm"] if thin else [])) or "nothing"


def _arch_source(arch: ArchTable) -> str:
    if arch.file:
        return f"heights from {arch.file}"
    if arch.sections:
        return f"sections from {arch.sections}"
    return "flat" if arch.flat else f"drawn with a channel of {arch.channel_mm:g} mm"


def _fitted_arch(table: PlateTable) -> str:
    """Say how the arch was reshaped by the fit that holds, if it was."""
    fit = table.fit_that_holds
    if fit is None or table.arch.flat:
        return ""
    form = fit.arch
    return f", fitted: rise {100 * np.expm1(form.rise):+.1f} %, fullness {form.across:+.2f} across, {form.along:+.2f} along"


def _rise(survey: Survey) -> str:
    rise = float(np.ptp(survey.height))
    if rise == 0.0:
        return ""
    top = survey.cells.points[np.argmax(survey.height)]
    return f", {rise / MM:.1f} mm from its lowest place to the highest at {_mm(top)}"


def _thickness(table: PlateTable, plate: Plate, survey: Survey) -> str:
    readings = len(plate.graduation.readings)
    if not readings:
        return f"{survey.thickness[0] / MM:.2f} mm everywhere"
    least, most = np.argmin(survey.thickness), np.argmax(survey.thickness)
    mean = float(np.average(survey.thickness, weights=survey.cells.areas))
    points = survey.cells.points
    return (
        f"{readings} readings from {table.thickness.file}: "
        f"{survey.thickness[least] / MM:.2f} mm at {_mm(points[least])} "
        f"to {survey.thickness[most] / MM:.2f} mm at {_mm(points[most])}, mean {mean / MM:.2f} mm"
    )


def _guesses(survey: Survey) -> str:
    """Say where the thickness is a guess, because no reading lies near: the largest such places first."""
    if not survey.guess.any():
        return ""
    x, y = survey.cells.points[survey.guess].T
    # Cells cut by the edge have their centroid off the grid: a little overlap joins them to their neighbours.
    half = 0.75 * float(np.sqrt(survey.cells.areas.max()))
    places = shapely.get_parts(shapely.union_all(shapely.box(x - half, y - half, x + half, y + half)))
    largest = sorted(places, key=lambda place: -float(place.area))[:_GUESSES_SHOWN]
    spots = ", ".join(_mm(np.array(place.representative_point().coords[0])) for place in largest)
    share = survey.cells.areas[survey.guess].sum() / survey.cells.areas.sum()
    more = f" and {len(places) - len(largest)} more places" if len(places) > len(largest) else ""
    return f"no reading lies near on {100 * share:.1f} % of the plate: about {spots}{more}"


def _bar(plate: Plate) -> str:
    bar = plate.bar
    assert bar is not None, "asked for only where there is one"
    highest = float(bar.height_at(bar.start + np.linspace(0, 1, 201)[:, None] * (bar.end - bar.start)).max())
    size = f"{bar.length / MM:.1f} mm long, {bar.width / MM:.1f} mm wide, up to {highest / MM:.1f} mm high"
    return f"from {_mm(bar.start)} to {_mm(bar.end)}, {size}"


def _fitted_sources(read: PlateFolder) -> dict[Constant, str]:
    """Say of each fitted constant when it was fitted, and its 95 % interval."""
    fit, belief = read.description.table.fit_that_holds, read.posterior
    if fit is None or belief is None:
        return {}
    intervals = {constant: belief.interval(constant) for constant in FITTED}
    return {
        constant: f"fitted on {fit.date:%Y-%m-%d}, 95 %: {_constant(constant, low)} to {_constant(constant, high)}"
        for constant, (low, high) in intervals.items()
    }


def _wood(table: WoodTable, sources: Mapping[Constant, str], wood: Wood, title: str) -> Table:
    """Return the constants of a wood, each with the place it comes from."""
    named = wood.species or "described by its constants"
    rows = Table(title=f"{title}: {named}, {_cut(table)}", title_justify="left")
    for name in ("Constant", "Value", "From"):
        rows.add_column(name, justify="right" if name == "Value" else "left")
    for constant in CONSTANTS:
        shown = _constant(constant, getattr(wood, constant))
        rows.add_row(constant, shown, Text(sources[constant]))
    return rows


def _cut(table: WoodTable) -> str:
    """Say how the board was cut."""
    turned = f"rings {table.ring_deg:g} deg off quarter"
    rings = {0.0: "quarter-sawn", 90.0: "slab-cut"}.get(abs(table.ring_deg), turned)
    along = f"{table.grain_deg:g} deg off" if table.grain_deg else "along"
    return f"{rings}, grain {along} the centre line"


def _constant(name: Constant, value: float) -> str:
    if name == "density":
        return f"{value:.0f} kg/m3"
    return f"{value:.3f}" if name in POISSON else f"{value / GPA:.3f} GPa"


def _log(log: Mapping[str, LogEntry]) -> Table:
    """Return the last entries of the log."""
    rows = Table(title=f"Log: {len(log)} {'entry' if len(log) == 1 else 'entries'}", title_justify="left")
    for name in ("Taken", "Stage", "Room", "Mass", "Tones"):
        rows.add_column(name)
    for entry in list(log.values())[-_LOG_SHOWN:]:
        named = [f"{name}: {hz:g}" for name, hz in entry.modes_hz.items()]
        tones = ", ".join([*named, *(f"{hz:g}" for hz in entry.tones_hz)])
        room = [
            f"{v:g} {unit}"
            for v, unit in ((entry.temperature_c, "C"), (entry.humidity_pct, "%"))
            if v is not None
        ]
        rows.add_row(
            f"{entry.taken:%Y-%m-%d %H:%M}",
            Text(entry.stage or ""),
            ", ".join(room),
            f"{entry.mass_g:g} g" if entry.mass_g is not None else "",
            f"{tones} Hz" if tones else "",
        )
    return rows


def _doubts(read: PlateFolder, survey: Survey) -> Iterator[str]:
    """Yield what a maker should look at again, though it can be computed with."""
    table, plate = read.description.table, read.plate
    wanted = table.wanted.min_thickness_mm if table.wanted else None
    least = float(survey.thickness.min()) / MM
    if wanted is not None and least < wanted:
        where = _mm(survey.cells.points[np.argmin(survey.thickness)])
        yield f"at {where} the plate is {least:.2f} mm, thinner than the {wanted:g} mm wanted at least."
    weighed = [entry.mass_g for entry in read.description.log.values() if entry.mass_g is not None]
    mass = survey.mass / GRAM
    if weighed and abs(weighed[-1] / mass - 1) > _MASS_DOUBT:
        yield f"the log last says {weighed[-1]:g} g, but outline, thickness and density give {mass:.1f} g."
    yield from doubts_of_edges(plate.outline, None if plate.bar is None else plate.bar.footprint)


def _mm(point: Floats) -> str:
    """Write a point in plan [m] as a maker reads it."""
    return f"({point[0] / MM:.0f}, {point[1] / MM:.0f}) mm"
