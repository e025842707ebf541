"""A log as it is drawn over time: which of its figures get a panel."""

from datetime import datetime

from solver.commands.log_dialogue import USUAL_MODES
from solver.commands.log_history import History
from solver.core.errors import InputError
from solver.viewer.log_chart import Air, Line, LogChart, Point

MOST_MODES = 6
"""More panels than this fit on no page that can be read at a glance."""


def chart_of(history: History) -> LogChart:
    """Return what is drawn of a log: the modes that are wanted or usual before others, then mass and unnumbered tones.

    Raises
    ------
    InputError
        If no entry has a mass or a tone.
    """
    named = [name for name in history.mode_names if name in _shown(history)]
    lines = (*(_mode(history, name) for name in named), *_mass(history), *_tones(history))
    if not lines:
        raise InputError(
            "--picture: no entry of the log has a mass or a tone; expected something to draw. Enter what you measure."
        )
    air = tuple(
        Air(_local(h.entry.taken), h.entry.temperature_c, h.entry.humidity_pct, h.entry.stage or "")
        for h in history.happenings
    )
    room = history.reference
    said = None if room is None else f"{room.temperature_c:g} °C, {room.humidity_pct:g} %"
    return LogChart(history.table.title, lines, air, said)


def _shown(history: History) -> set[str]:
    wanted = [*history.table.wanted.modes_hz] if history.table.wanted else []
    return {*[*dict.fromkeys([*wanted, *USUAL_MODES, *history.mode_names])][:MOST_MODES]}


def _local(taken: datetime) -> datetime:
    """Return a moment by the computer's clock, as it is written along the page."""
    return taken.astimezone().replace(tzinfo=None)


def _mode(history: History, name: str) -> Line:
    read = [(h.entry.taken, h.modes[name]) for h in history.happenings if name in h.modes]
    points = tuple(Point(_local(taken), r.hz, r.at_reference) for taken, r in read)
    return Line(f"mode {name}  [Hz]", points, "mode", read[-1][1].wanted_hz)


def _mass(history: History) -> list[Line]:
    points = [
        Point(_local(h.entry.taken), h.entry.mass_g) for h in history.happenings if h.entry.mass_g is not None
    ]
    return [Line("mass  [g]", tuple(points), "mass")] if points else []


def _tones(history: History) -> list[Line]:
    points = [Point(_local(h.entry.taken), r.hz, r.at_reference) for h in history.happenings for r in h.tones]
    return [Line("tones of no known mode  [Hz]", tuple(points), "tones")] if points else []
