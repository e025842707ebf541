"""``platewright bar``: what a dimension of the bar does, and which value of it brings a wanted tone."""

from dataclasses import replace
from typing import TYPE_CHECKING

from rich.console import Console
from rich.status import Status

from solver.commands.bar_request import BarRequest
from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate_folder.description import Description, read_description

if TYPE_CHECKING:
    from solver.advice.bar_choice import WantedBar
    from solver.advice.bar_trials import BarSweep
    from solver.modal.modes import Modes
    from solver.plate.bar import Bar
    from solver.plate.plate import Plate
    from solver.plate_folder.read import PlateFolder


def run_bar(request: BarRequest, out: Console, busy: Console) -> None:
    """Print what the range of bars does as a table or as JSON, then draw it if asked for.

    Raises InputError if the folder cannot be understood, a bar cannot be, or something cannot be written.
    """
    description = read_description(request.folder)
    _check_role(description)
    if not request.as_json:
        out.print(headline(description.table))
    with busy.status("Reading the plate") as status:
        from solver.plate_folder.read import read_folder

        read = read_folder(description)
        plate = read.plate
        base = _base_bar(plate, request)
        if not request.as_json:
            out.print(_said_of(base, usual=plate.bar is None))
        sweep = _on_fitted_wood(read, _sweep(plate, base, request, status), status)
        wanted = _wanted(sweep, request.wanted, status)
        from solver.commands.bar_answer import bar_as_json, bar_as_table

    if request.as_json:
        print_json(bar_as_json(sweep, wanted), out)
    else:
        out.print(bar_as_table(sweep, wanted))
    if request.pictures is not None:
        with busy.status("Drawing"):
            from solver.viewer.bar_sweep import write_bar_pictures

            paths = write_bar_pictures(sweep, wanted, request.pictures)
        busy.print(f"{len(paths)} pictures in {request.pictures}", markup=False)


def _check_role(description: Description) -> None:
    """Refuse a plate that has no bar and by custom gets none."""
    table = description.table
    if table.bar is None and table.role != "top":
        raise InputError(
            f"plate.toml: it describes no bar, and a {table.role} gets none by custom; expected a top, or a bar to vary. "
            "Describe it in a table [bar]."
        )


def _base_bar(plate: "Plate", request: BarRequest) -> "Bar":
    """Return the bar that is varied: the plate's or the usual one, with the single values that the maker gave."""
    from solver.advice.bar_dimension import DIMENSIONS
    from solver.plate.species import find_species, wood_of
    from solver.stock import usual_bar

    bar = plate.bar or usual_bar(plate.outline, plate.wood)
    if request.species is not None:
        bar = replace(bar, wood=wood_of(find_species(request.species, "--wood"), {}, "--wood"))
    for name, dimension in DIMENSIONS.items():
        if name in request.fixed_mm:
            bar = dimension.changed(bar, request.fixed_mm[name] * MM)
    return bar


def _sweep(plate: "Plate", base: "Bar", request: BarRequest, status: Status) -> "BarSweep":
    """Solve the plate without a bar and with every one of the range."""
    import numpy as np

    from solver.advice.bar_dimension import DIMENSIONS
    from solver.advice.bar_trials import bars_between, make_sweep, solve_bars

    varied = request.varied
    dimension = DIMENSIONS[varied.dimension]
    values = np.linspace(varied.low_mm, varied.high_mm, request.steps) * MM
    bars = bars_between(plate, base, dimension, values, varied.option)
    solved: list[Modes] = []
    status.update("Solving without a bar")
    for modes in solve_bars(plate, bars):
        if not solved:
            _check_wanted(modes, request.wanted)
        solved.append(modes)
        status.update(f"Solving, bar {len(solved)} of {len(bars)}")
    return make_sweep(plate, base, dimension, values, solved)


def _check_wanted(bare: "Modes", wish: tuple[str, float] | None) -> None:
    """Refuse a wish for a mode that the plate without a bar lacks, before any bar is tried."""
    if wish is not None and wish[0] not in bare.names:
        found = ", ".join(sorted(name for name in bare.names if name)) or "none"
        raise InputError(
            f"--want: no tone of this plate has the shape of mode {wish[0]}; expected one that was found: {found}. "
            "See them with: platewright modes"
        )


def _on_fitted_wood(read: "PlateFolder", sweep: "BarSweep", status: Status) -> "BarSweep":
    """Return the sweep at the frequencies expected, and how sure they are, once the wood was fitted."""
    from solver.commands.belief import beliefs_of

    believed = beliefs_of(read)
    if believed is None:
        return sweep
    from solver.advice.fitted_bars import fitted_sweep

    status.update("Finding how sure the tones are")
    return fitted_sweep(sweep, believed)


def _wanted(sweep: "BarSweep", wish: tuple[str, float] | None, status: Status) -> "WantedBar | None":
    """Return the bar that brings the wanted tone, if one is wanted."""
    if wish is None:
        return None
    from solver.advice.bar_choice import choose_bar

    name, hz = wish
    status.update(f"Solving for mode {name} at {hz:g} Hz")
    return choose_bar(sweep, name, hz)


def _said_of(bar: "Bar", usual: bool) -> str:
    """Say which bar is varied."""
    from solver.advice.bar_dimension import DIMENSIONS

    length, width, height = (DIMENSIONS[name].read(bar) / MM for name in ("length", "width", "height"))
    start, end = (f"({x / MM:.1f}, {y / MM:.1f})" for x, y in (bar.start, bar.end))
    whose = (
        "plate.toml describes no bar; taken is the usual one for this length (common practice, no source)"
        if usual
        else "The bar"
    )
    return (
        f"{whose}: from {start} to {end} mm, {length:.1f} mm long, {width:.1f} mm wide, "
        f"{height:.1f} mm high where it is highest."
    )
