"""The words and figures of the sheet: tones and mass now, measured, wanted and planned, limits and cautions."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats
from solver.core.units import GRAM, MM
from solver.plate.mode_label import key_called
from solver.plate.plate import Role
from solver.plate_folder.schema import LogEntry
from solver.viewer.captions import MINUS, end_names, mode_name, side_names, tone_name
from solver.viewer.plan_view import plan_grid
from solver.viewer.sheet.content import Map, SheetContent
from solver.viewer.sheet.plan import removal_step
from solver.viewer.sheet.tiling import OVERLAP
from solver.viewer.tone_words import mixed_words

INSIDE = "SEEN FROM THE INSIDE"

CAUTIONS = (
    "Wood cannot be put back. Stop before the line, then weigh, tap and measure again: the figures come from a model.",
    "Wood dust harms the lungs: wear a mask that fits, use extraction, and sweep nothing dry.",
    "Keep blades sharp and guarded, the plate held fast, and your hand and body out of the way of the edge.",
    "Local rules on dust, tools, machines and protected woods come first, and work that calls for a licence or for "
    "training is for those who hold it.",
)

_NOTHING = "\N{EN DASH}"
_READ = 0.005 * MM
"""Thicknesses that differ by less [m] are printed alike."""


@dataclass(frozen=True)
class Row:
    """One line of the table of figures; a dash where there is none."""

    name: str
    now: str
    measured: str
    wanted: str
    after: str
    at_last: str


@dataclass(frozen=True)
class Sides:
    """What lies where on the sheet."""

    left: str
    right: str
    top: str
    bottom: str


def sides(role: Role) -> Sides:
    """Return the names of the four sides of the sheet: seen from the inside, left and right change places."""
    upper, lower = end_names(role)
    outside_left, outside_right = ("side of high y", "side of low y") if role == "panel" else side_names(role)
    return Sides(left=outside_right, right=outside_left, top=upper, bottom=lower)


def how_it_lies(role: Role) -> str:
    """Say how to lay the plate beside the sheet."""
    names = sides(role)
    return (
        f"The inside of the plate faces you, the {names.top} away from you: "
        f"{names.left} on the left, {names.right} on the right."
    )


def rows(content: SheetContent) -> list[Row]:
    """Return the table of figures: tones by the trade's numbers, then mass and least thickness."""
    return [*_tone_rows(content), _mass_row(content), _thinnest_row(content)]


def last_entry(content: SheetContent) -> str:
    """Say when and in which room the log was last written."""
    if not content.log:
        return "Nothing is in the log yet: weigh the plate and tap it before you begin."
    entry = content.log[-1]
    room = [
        f"{value:g} {unit}"
        for value, unit in ((entry.temperature_c, "\N{DEGREE SIGN}C"), (entry.humidity_pct, "% humidity"))
        if value is not None
    ]
    unnamed = ", ".join(f"{hz:g}" for hz in entry.tones_hz)
    tones = f"tones of no known mode: {unnamed} Hz" if unnamed else ""
    said = [f"{entry.taken:%Y-%m-%d %H:%M}", entry.stage, ", ".join(room), tones, entry.note]
    return f"Last in the log: {'; '.join(part for part in said if part)}."


def limits(content: SheetContent) -> Iterator[str]:
    """Say what must not be passed, and where the plate is near to it."""
    if content.least is None:
        yield "No least thickness is set: write min_thickness_mm under [wanted] in plate.toml."
    else:
        yield f"Nowhere thinner than {_least_words(content, content.least)}."
        spare = _on_wood(content, content.plate.graduation.at) - _on_wood(content, content.least)
        if spare.min() < -_READ:
            there = _wood_points(content)[spare.argmin()]
            thin = content.plate.graduation.at(there[None])[0] / MM
            yield f"Already thinner: {thin:.2f} mm at {_place(there)}. Take nothing there."
    if content.removal is not None:
        yield "Take no more than the printed number anywhere; it is the lower end of its step."
        if _on_wood(content, content.taken).max() < removal_step(content) * MM - _READ:
            yield "Nowhere is a step to go: weigh, tap and plan again before you take anything."


def the_plan(content: SheetContent) -> Iterator[str]:
    """Say what is known of the plan or the trial, if there is one, else which tones share a shape."""
    if content.removal is not None:
        yield from content.removal.said
    else:
        yield from mixed_words(content.modes)


def how_to_print(sheets: int) -> Iterator[str]:
    """Say how the sheets are printed and joined."""
    yield "Print at 100 %, not fitted to the page, and measure both rulers: 100 mm and 4 in."
    if sheets > 1:
        yield (
            f"Neighbouring sheets share {OVERLAP:g} mm. Cut one of them along the dashed line through its crosses, "
            "lay it on the other so that the halves of crosses with one number meet, and tape."
        )


def _tone_rows(content: SheetContent) -> Iterator[Row]:
    modes, removal = content.modes, content.removal
    measured = {name for entry in content.log for name in entry.modes_hz}
    named = {name for i in content.shown if (name := modes.names[i])} | measured | set(content.wanted_hz)
    named |= set(removal.after.hz) if removal else set()
    for name in sorted(named, key=lambda key: (key.startswith("#"), int(key.lstrip("#")))):
        now = tone_name(modes.hz[modes.names.index(name)]) if name in modes.names else _NOTHING
        yield Row(
            key_called(name),
            now,
            _measured([(entry, entry.modes_hz.get(name)) for entry in content.log], "Hz"),
            _figure(content.wanted_hz.get(name), "Hz"),
            _figure(removal.after.hz.get(name) if removal else None, "Hz"),
            _figure(removal.at_last.hz.get(name) if removal and removal.at_last else None, "Hz"),
        )
    for index in content.shown:
        if modes.names[index] is None:
            yield Row(mode_name(modes, index), tone_name(modes.hz[index]), *4 * (_NOTHING,))


def _mass_row(content: SheetContent) -> Row:
    removal = content.removal
    return Row(
        "mass",
        f"{content.modes.mass / GRAM:.1f} g",
        _measured([(entry, entry.mass_g) for entry in content.log], "g"),
        _mass(content.wanted_mass),
        _mass(removal.after.mass if removal else None),
        _mass(removal.at_last.mass if removal and removal.at_last else None),
    )


def _thinnest_row(content: SheetContent) -> Row:
    least = content.least
    return Row(
        "thinnest",
        _thinnest(content, content.plate.graduation.at),
        _NOTHING,
        _NOTHING if least is None else f"at least {_least_words(content, least)}",
        _thinnest(content, content.thickness_after) if content.removal else _NOTHING,
        _NOTHING,
    )


def _least_words(content: SheetContent, least: Map) -> str:
    """Say how thin the plate may get, by place where it is not the same everywhere."""
    values = _on_wood(content, least) / MM
    if np.ptp(values) < _READ / MM:
        return f"{values.min():.2f} mm"
    return f"{values.min():.2f} to {values.max():.2f} mm, by place"


def _measured(figures: Sequence[tuple[LogEntry, float | None]], unit: str) -> str:
    """Return the newest figure of the log and its day; ``figures`` are the entries, oldest first, and what they say."""
    for entry, value in reversed(figures):
        if value is not None:
            return f"{value:g} {unit}, {entry.taken:%Y-%m-%d}"
    return _NOTHING


def _mass(value: float | None) -> str:
    return _figure(None if value is None else value / GRAM, "g")


def _figure(value: float | None, unit: str) -> str:
    return _NOTHING if value is None else f"{value:.1f} {unit}"


def _thinnest(content: SheetContent, thickness: Map) -> str:
    """Say how thin the plate is at its thinnest, and where."""
    values = _on_wood(content, thickness)
    least = f"{values.min() / MM:.2f} mm"
    if np.ptp(values) < _READ:
        return f"{least} everywhere"
    return f"{least} at {_place(_wood_points(content)[values.argmin()])}"


def _place(point: Floats) -> str:
    x, y = (f"{value / MM:.0f}".replace("-", MINUS) for value in point)
    return f"x\N{NO-BREAK SPACE}{x}, y\N{NO-BREAK SPACE}{y}"


def _on_wood(content: SheetContent, values: Map) -> Floats:
    """Return the values (n,) of a map at points all over the wood."""
    return values(_wood_points(content))


def _wood_points(content: SheetContent) -> Floats:
    grid = plan_grid(content.plate.outline)
    return grid.points[grid.inside.ravel()]
