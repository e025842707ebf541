"""The answer of ``platewright bar``, as a table to read and as an object for other programs."""

from collections.abc import Iterator, Sequence

import numpy as np
from rich.console import Group
from rich.table import Table
from rich.text import Text

from solver.advice.bar_choice import WantedBar
from solver.advice.bar_trials import BarSweep, BarTrial
from solver.advice.node_balance import off_mirror, ring_shares
from solver.commands.belief import FITTED_NOTE
from solver.commands.tones import Json, shares_of
from solver.core.units import GRAM, MM
from solver.modal.pitch import pitch
from solver.plate.wood_posterior import TWO_SIDED_95
from solver.viewer.bar_sweep import shown_modes
from solver.viewer.captions import side_names
from solver.viewer.tone_words import mixed_words

RING = "5"
BALANCED = ("2", RING)
"""The modes whose node lines a bar pushes aside most visibly."""


def bar_as_json(sweep: BarSweep, wanted: WantedBar | None) -> dict[str, Json]:
    """Return the object that ``--json`` prints: frequencies in Hz, lengths in mm, mass in g."""
    return {
        "title": sweep.plate.title,
        "role": sweep.plate.role,
        "varied": f"{sweep.dimension.name}_mm",
        "without_bar": _row(sweep, sweep.bare),
        "rows": [_row(sweep, trial) for trial in sweep.trials],
        "solution": None if wanted is None else _solution(sweep, wanted),
    }


def _row(sweep: BarSweep, trial: BarTrial) -> dict[str, Json]:
    return {
        f"{sweep.dimension.name}_mm": round(trial.value / MM, 3) if trial.bar else None,
        "mass_g": round(trial.modes.mass / GRAM, 2),
        "modes": [_tone(trial, index) | _interval(trial, index) for index in range(len(trial.modes.hz))],
        "off_mirror_mm": {name: _off(trial, name) for name in _balanced(sweep)},
        "inside_ring_pct": _ring(trial) if RING in sweep.names else None,
    }


def _tone(trial: BarTrial, index: int) -> dict[str, Json]:
    hz, name = float(trial.modes.hz[index]), trial.modes.names[index]
    note, cents = pitch(hz)
    return {
        "order": index + 1,
        "hz": round(hz, 3),
        "mode": name,
        "note": note,
        "cents": round(cents, 1),
        "shares": shares_of(trial.modes, index),
        "clear": name is None or trial.is_clear(name),
    }


def _interval(trial: BarTrial, index: int) -> dict[str, Json]:
    """Return the interval of a numbered tone, where the wood was fitted."""
    name = trial.modes.names[index]
    if trial.spreads is None or name is None:
        return {}
    hz, half = float(trial.modes.hz[index]), TWO_SIDED_95 * trial.spreads[name]
    return {"low_hz": round(hz * np.exp(-half), 3), "high_hz": round(hz * np.exp(half), 3)}


def _off(trial: BarTrial, name: str) -> float | None:
    """Return how far [mm] a mode's node lines lie from their mirror image, if it has any."""
    off = off_mirror(trial.modes, trial.place(name))
    return None if np.isnan(off) else round(off / MM, 2)


def _ring(trial: BarTrial) -> dict[str, Json]:
    """Return how much [%] of either half of the plate moves with its middle in mode 5."""
    shares = ring_shares(trial.modes, trial.place(RING))
    return {"left": round(100 * shares.left, 1), "right": round(100 * shares.right, 1)}


def _solution(sweep: BarSweep, wanted: WantedBar) -> dict[str, Json]:
    return {
        **_row(sweep, wanted.trial),
        "wanted": {"mode": wanted.name, "hz": wanted.wanted_hz},
        "reached": wanted.reached,
        "others_mm": [round(float(value / MM), 3) for value in wanted.others],
    }


def bar_as_table(sweep: BarSweep, wanted: WantedBar | None) -> Group:
    """Return the table of the sweep with the wanted bar among its rows, and under it what to make of it."""
    modes = shown_modes(sweep, wanted)
    table = Table()
    for head in _heads(sweep, modes):
        table.add_column(head, justify="right", no_wrap=head.startswith("Mode"))
    trials = [*sweep.trials]
    if wanted and wanted.trial not in trials:
        trials = sorted([*trials, wanted.trial], key=lambda trial: trial.value)
    for trial in (sweep.bare, *trials):
        style = "bold" if wanted and trial is wanted.trial else ""
        table.add_row(*_cells(sweep, trial, modes), style=style)
    said = [*_legend(sweep, modes), *([_verdict(sweep, wanted)] if wanted else [])]
    return Group(table, *(Text(line) for line in said))


def _heads(sweep: BarSweep, modes: Sequence[str]) -> Iterator[str]:
    yield f"{sweep.dimension.name.replace('_', ' ').capitalize()}\nmm"
    yield "Mass\ng"
    yield from (f"Mode {name}\nHz" for name in modes)
    yield from (f"{name} off\nmm" for name in _balanced(sweep))
    if RING in sweep.names:
        yield "In the ring\n% of halves"


def _cells(sweep: BarSweep, trial: BarTrial, modes: Sequence[str]) -> Iterator[str]:
    yield f"{trial.value / MM:.2f}" if trial.bar else "no bar"
    yield f"{trial.modes.mass / GRAM:.1f}"
    for name in modes:
        sure = f" ±{trial.hz(name) * TWO_SIDED_95 * trial.spreads[name]:.1f}" if trial.spreads else ""
        yield f"{'' if trial.is_clear(name) else '~'}{trial.hz(name):.1f}{sure}"
    offs = (_off(trial, name) for name in _balanced(sweep))
    yield from ("-" if off is None else f"{off:.1f}" for off in offs)
    if RING in sweep.names:
        shares = ring_shares(trial.modes, trial.place(RING))
        yield f"{100 * shares.left:.0f}  {100 * shares.right:.0f}"


def _balanced(sweep: BarSweep) -> tuple[str, ...]:
    return tuple(name for name in BALANCED if name in sweep.names)


def _legend(sweep: BarSweep, modes: Sequence[str]) -> Iterator[str]:
    """Yield what the columns mean."""
    if sweep.sure is not None:
        yield f"±: half of the 95 % interval. {FITTED_NOTE}"
    if _balanced(sweep):
        yield "Off: how far the node lines lie from their mirror image about the centre line, on the mean along them."
    if RING in sweep.names:
        left, right = side_names(sweep.plate.role)
        yield f"In the ring: shares of the {left} (y > 0) and the {right} that move with the middle in mode 5."
    if not all(trial.is_clear(name) for trial in (sweep.bare, *sweep.trials) for name in modes):
        yield "~: mixed with a neighbour, which has part in the shape; which of the two bears the number is not sure."
    yield from (f"As the bar is now: {words}" for words in mixed_words(sweep.nearest(sweep.present).modes))


def _verdict(sweep: BarSweep, wanted: WantedBar) -> str:
    """Say which bar brings the wanted tone, or how near one can come and what would have to give."""
    trial, words = wanted.trial, sweep.dimension.words
    value, hz = f"{trial.value / MM:.2f} mm", f"{trial.hz(wanted.name):.1f} Hz"
    if wanted.reached:
        also = ", ".join(f"{value / MM:.1f}" for value in wanted.others)
        return f"Mode {wanted.name} at {wanted.wanted_hz:g} Hz: {words} {value} ({hz} by a full solve)." + (
            f" About {also} mm does it too." if also else ""
        )
    low, high = sweep.hz(wanted.name).min(), sweep.hz(wanted.name).max()
    return (
        f"Mode {wanted.name} cannot be brought to {wanted.wanted_hz:g} Hz in this range: it stays between {low:.1f} and "
        f"{high:.1f} Hz, and comes nearest with {words} {value}, {abs(wanted.miss_hz):.1f} Hz too "
        f"{'low' if wanted.miss_hz > 0 else 'high'}. Widen the range, or change another dimension or the plate."
    )
