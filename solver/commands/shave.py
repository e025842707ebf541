"""``platewright shave``: what hollows on the inside do to each tone, the mass and the thickness, before they are taken."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console, Group
from rich.table import Table
from rich.text import Text

from solver.commands.headline import headline
from solver.commands.json_answer import print_json
from solver.commands.shave_request import ShaveRequest
from solver.core.units import GRAM, MM
from solver.plate_folder.description import read_description
from solver.viewer.tone_words import mixed_words, mode_cell

if TYPE_CHECKING:
    from solver.advice.fitted_tones import FittedChange
    from solver.advice.shaving import Shaving
    from solver.commands.tones import Json
    from solver.plate_folder.read import PlateFolder


def run_shave(request: ShaveRequest, out: Console, busy: Console) -> None:
    """Print the tones before and after as a table or as JSON, then draw the node lines if asked for.

    Raises InputError if the folder or a spot cannot be understood, or if something cannot be written.
    """
    description = read_description(request.folder)
    if not request.as_json:
        out.print(headline(description.table))
    with busy.status("Reading the plate") as status:
        import numpy as np

        from meshes.removal import Hollow
        from solver.advice.shaving import check_hollow, shave
        from solver.plate_folder.read import read_folder

        read = read_folder(description)
        plate = read.plate
        hollows = [Hollow(np.array([s.x, s.y]) * MM, s.radius * MM, s.depth * MM) for s in request.spots]
        for hollow in hollows:
            check_hollow(hollow, plate)
        status.update("Solving before and after")
        shaving, change = _on_fitted_wood(read, shave(plate, hollows), request.count)
    wanted = description.table.wanted
    least = wanted.min_thickness_mm * MM if wanted and wanted.min_thickness_mm else None
    if request.as_json:
        print_json(shaving_as_json(shaving, request.count, least, change), out)
    else:
        out.print(shaving_as_table(shaving, request.count, least, change))
    if request.pictures is not None:
        with busy.status("Drawing"):
            paths = _draw(shaving, request.count, request.pictures)
        busy.print(f"Drawn in {', '.join(str(path) for path in paths)}", markup=False)


def _on_fitted_wood(
    read: "PlateFolder", shaving: "Shaving", count: int
) -> "tuple[Shaving, FittedChange | None]":
    """Return the shaving at the frequencies expected and how sure the change is, once the wood was fitted."""
    from solver.advice.fitted_shaving import fitted_shaving
    from solver.commands.belief import belief_of

    belief = belief_of(read, shaving.plate)
    return (shaving, None) if belief is None else fitted_shaving(shaving, belief, count)


def _draw(shaving: "Shaving", count: int, folder: Path) -> tuple[Path, ...]:
    from solver.viewer.shaving_lines import draw_shaving

    return draw_shaving(shaving, count, folder / "shave.png")


def shaving_as_json(
    shaving: "Shaving", count: int, least: float | None, change: "FittedChange | None" = None
) -> "dict[str, Json]":
    """Return the object that ``--json`` prints: frequencies in Hz, lengths in mm, mass in g."""
    thinnest = shaving.thinnest
    return {
        "title": shaving.plate.title,
        "role": shaving.plate.role,
        "modes": [_tone(shaving, index) | _interval(change, index) for index in range(count)],
        "mass_g": {
            "before": round(shaving.before.mass / GRAM, 3),
            "after": round(shaving.after.mass / GRAM, 3),
        },
        "removed_g": round(shaving.removed / GRAM, 4),
        "min_thickness_mm": round(float(shaving.left[thinnest]) / MM, 3),
        "min_thickness_at_mm": [float(round(value / MM)) for value in shaving.points[thinnest]],
        "warnings": [*_warnings(shaving, count, least)],
    }


def _tone(shaving: "Shaving", index: int) -> "dict[str, Json]":
    from solver.commands.tones import shares_of

    place = int(shaving.places[index])
    live = shaving.live.of(place) if shaving.live else None
    return {
        "order": index + 1,
        "mode": shaving.before.names[index],
        "shares": shares_of(shaving.before, index),
        "before_hz": round(float(shaving.before.hz[index]), 3),
        "after_hz": round(shaving.hz_after(index), 3),
        "order_after": place + 1,
        "alike": round(float(shaving.alike[index]), 3),
        "live_hz": None if live is None else round(live[0], 3),
        "live_doubt_hz": None if live is None else round(live[1], 3),
    }


def _interval(change: "FittedChange | None", index: int) -> "dict[str, Json]":
    """Return the intervals of a tone before and after, and the much smaller one of its change."""
    if change is None:
        return {}
    before, after = change.before.forecast, change.after.forecast
    ends = {
        "before_low_hz": before.low,
        "before_high_hz": before.high,
        "after_low_hz": after.low,
        "after_high_hz": after.high,
        "change_hz": change.hz,
        "change_low_hz": change.low,
        "change_high_hz": change.high,
    }
    return {name: round(float(values[index]), 3) for name, values in ends.items()}


def shaving_as_table(
    shaving: "Shaving", count: int, least: float | None, change: "FittedChange | None" = None
) -> Group:
    """Return the table of tones before and after, and under it mass, thickness and what to beware of."""
    table = Table()
    for head in "Order", "Mode", "Before\nHz", "After\nHz", "Change\nHz", "Change\n%", "Live model\nHz":
        table.add_column(head, justify="center" if head == "Mode" else "right")
    if change is not None:
        table.add_column("Change 95 %\nHz", justify="right", no_wrap=True)
    for index in range(count):
        sure = [] if change is None else [f"{change.low[index]:+.2f} to {change.high[index]:+.2f}"]
        table.add_row(*_cells(shaving, index), *sure)
    said = [*mixed_words(shaving.before), *_facts(shaving), *_sureness(change)]
    said += _warnings(shaving, count, least)
    return Group(table, *(Text(line) for line in said))


def _cells(shaving: "Shaving", index: int) -> Iterator[str | Text]:
    from solver.advice.shaving import CLEAR

    before, after = float(shaving.before.hz[index]), shaving.hz_after(index)
    name = shaving.before.names[index]
    yield f"{index + 1}"
    yield Text(mode_cell(shaving.before, index), "bold" if name else "")
    yield f"{before:.1f}"
    yield f"{'' if shaving.alike[index] >= CLEAR else '~'}{after:.1f}"
    yield f"{after - before:+.2f}"
    yield f"{100 * (after / before - 1):+.2f}"
    live = shaving.live.of(int(shaving.places[index])) if shaving.live else None
    yield "-" if live is None else f"{live[0]:.2f} ± {live[1]:.2f}"


def _sureness(change: "FittedChange | None") -> Iterator[str]:
    """Say how much surer the change is than the tones."""
    if change is not None:
        tones = max(change.before.forecast.spread)
        yield (
            f"The tones themselves are known within {_two_sided(tones):.1f} % at worst by what the log has taught of this "
            f"wood; their change is surer, because what is not known moves both alike, and holds for exactly this shaving."
        )


def _two_sided(spread: float) -> float:
    """Return half of the 95 % interval [%] of a tone by the standard deviation of its logarithm."""
    from solver.plate.wood_posterior import TWO_SIDED_95

    return 100 * TWO_SIDED_95 * float(spread)


def _facts(shaving: "Shaving") -> Iterator[str]:
    from solver.advice.places_in_words import in_mm
    from solver.viewer.thinning_map import place_words

    thinnest, words = shaving.thinnest, place_words(shaving.plate)
    point = shaving.points[thinnest]
    yield (
        f"Mass {shaving.before.mass / GRAM:.2f} to {shaving.after.mass / GRAM:.2f} g: "
        f"{shaving.removed / GRAM:.2f} g taken from the inside."
    )
    yield (
        f"Thinnest then: {shaving.left[thinnest] / MM:.2f} mm ({words.at(point)}; {in_mm(point)}), "
        f"deepest cut {shaving.taken.max() / MM:.2f} mm."
    )
    yield (
        "Before and after: full solves. Live model: the quick answer and how far off it may be by its own estimate."
        if shaving.live
        else "The live model does not answer here: more than 60 % of the thickness goes somewhere."
    )


def _warnings(shaving: "Shaving", count: int, least: float | None) -> Iterator[str]:
    """Yield what the maker should know before taking that wood."""
    from solver.advice.places_in_words import in_mm
    from solver.advice.shaving import CLEAR

    for hollow in shaving.over_bar():
        yield f"The spot at {in_mm(hollow.centre)} reaches over the bar: nothing is taken under it."
    for hollow in shaving.on_guess():
        yield (
            f"The thickness at {in_mm(hollow.centre)} is a guess, because no reading lies near: measure there first."
        )
    if least is not None and (thin := shaving.too_thin(least)).any():
        worst = shaving.points[thin][shaving.left[thin].argmin()]
        yield (
            f"Too thin: {shaving.left[thin].min() / MM:.2f} mm would be left at {in_mm(worst)}, under the "
            f"{least / MM:g} mm of plate.toml (wanted.min_thickness_mm). Take less there."
        )
    if (shaving.alike[:count] < CLEAR).any():
        yield "~: the shape has mixed with that of a neighbour; which tone it became is not sure."
