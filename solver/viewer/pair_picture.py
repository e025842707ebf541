"""A pair drawn: by how many cents each mode of the back lies above the top's, and the range that is wanted, if one is."""

from pathlib import Path
from typing import TYPE_CHECKING

from solver.advice.plate_pair import PairedMode, PairTone, PlatePair, Relation
from solver.modal.pitch import INTERVALS, interval_in_words
from solver.viewer.colours import INK, INWARD, OUTWARD, PAPER, QUIET_INK
from solver.viewer.page_files import save_pages

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_WIDTH, _ROW, _HEAD, _FOOT = 9.0, 0.62, 1.25, 0.95
_LEFT, _RIGHT = 2.25, 0.35
_MARGIN_CENTS = 45.0
_WANTED = "#cfe1f0"
_ASIDE = 0.17
"""How far apart [rows] what was heard and what was computed are drawn."""


def draw_pair(pair: PlatePair, path: Path) -> tuple[Path, ...]:
    """Write the picture; raises InputError if its name is of no picture, or nothing can be written there."""
    return save_pages([pair_figure(pair)], path)


def pair_figure(pair: PlatePair) -> "Figure":
    """Return a page with a row for each mode, lowest at the bottom, and the interval along it."""
    from matplotlib.figure import Figure

    height = _HEAD + _ROW * len(pair.modes) + _FOOT
    figure = Figure(figsize=(_WIDTH, height), facecolor=PAPER)
    axes = figure.add_axes(
        (
            _LEFT / _WIDTH,
            _FOOT / height,
            1 - (_LEFT + _RIGHT) / _WIDTH,
            _ROW * len(pair.modes) / height,
        )
    )
    _lay_out(axes, pair)
    for row, paired in enumerate(pair.modes):
        for relation in pair.relations:
            if relation.mode == paired.mode:
                _draw_wanted(axes, row, relation)
        if paired.heard is not None:
            _draw_tone(axes, row + _ASIDE, paired.heard, INK, heard=True)
        _draw_tone(axes, row - _ASIDE if paired.heard else row, paired.computed, QUIET_INK, heard=False)
    _write(figure, pair)
    return figure


def _lay_out(axes: "Axes", pair: PlatePair) -> None:
    """Set the range, name the rows by the modes and their tones, and draw a line at every semitone."""
    cents = [end for paired in pair.modes for tone in _tones(paired) for end in (tone.low, tone.high)]
    cents += [end for relation in pair.relations for end in (relation.low, relation.high)] + [0.0]
    low, high = min(cents) - _MARGIN_CENTS, max(cents) + _MARGIN_CENTS
    axes.set_xlim(low, high)
    axes.set_ylim(-0.5, len(pair.modes) - 0.5)
    steps = [step for step in range(-12, 13) if low <= 100 * step <= high]
    # names of every second step where they would run into one another
    apart = 1 if len(steps) <= 6 else 2
    axes.set_xticks([100 * step for step in steps])
    axes.set_xticklabels([_name_of(step) if step % apart == 0 else "" for step in steps])
    axes.set_yticks(range(len(pair.modes)), [_words(paired) for paired in pair.modes])
    axes.tick_params(length=0, labelsize=9, labelcolor=INK)
    axes.grid(visible=True, axis="x", color="#e4dfd8", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.axvline(0.0, color=QUIET_INK, linewidth=1.2, zorder=1.5)
    axes.spines[["top", "right", "left"]].set_visible(False)
    axes.spines["bottom"].set_color(QUIET_INK)
    for words, side, away in (("back below top", "right", -8), ("back above top", "left", 8)):
        axes.annotate(
            words,
            (0.0, 0.0),
            (away, -38),
            xycoords=("data", "axes fraction"),
            textcoords="offset points",
            fontsize=9.5,
            color=INK,
            horizontalalignment=side,
        )


def _tones(paired: PairedMode) -> tuple[PairTone, ...]:
    return (paired.computed,) if paired.heard is None else (paired.computed, paired.heard)


def _name_of(step: int) -> str:
    """Return what a step of so many semitones is called, on two lines if long."""
    name = INTERVALS[abs(step)].split(" ", 1)[1].replace(" ", "\n")
    return f"{name}" if step >= 0 else f"-{name}"


def _words(paired: PairedMode) -> str:
    tone = paired.taken
    return f"mode {paired.mode}: top {tone.top.middle:.1f},\nback {tone.back.middle:.1f} Hz"


def _draw_wanted(axes: "Axes", row: int, relation: Relation) -> None:
    """Shade the wanted range, or draw a line at a single interval."""
    if relation.low == relation.high:
        axes.plot([relation.low] * 2, [row - 0.42, row + 0.42], color=OUTWARD, linewidth=2.5, zorder=2)
        return
    axes.fill_between(
        [relation.low, relation.high], row - 0.42, row + 0.42, color=_WANTED, edgecolor=OUTWARD, zorder=1
    )


def _draw_tone(axes: "Axes", row: float, tone: PairTone, colour: str, heard: bool) -> None:
    """Draw an interval with its band: full where heard, hollow where computed."""
    axes.plot([tone.low, tone.high], [row, row], color=colour, linewidth=1.6, zorder=3)
    axes.plot(
        [tone.cents],
        [row],
        "o",
        markersize=7,
        color=INWARD if heard else colour,
        markeredgecolor=INK if heard else colour,
        markerfacecolor=INWARD if heard else PAPER,
        zorder=4,
    )
    words = axes.annotate(
        f"{tone.cents:+.0f}",
        (max(tone.high, tone.cents), row),
        (8, 0),
        textcoords="offset points",
        fontsize=8.5,
        color=colour,
        verticalalignment="center",
    )
    words.set_bbox({"facecolor": PAPER, "edgecolor": PAPER, "pad": 0.6})


def _write(figure: "Figure", pair: PlatePair) -> None:
    """Write the titles, the room, and what the marks mean."""
    height, left = figure.get_figheight(), 0.25 / _WIDTH
    titles = (pair.top.response.plate.title, pair.back.response.plate.title)
    figure.text(
        left, 1 - 0.15 / height, f"Top: {titles[0]}", fontsize=11.5, fontweight="bold", color=INK, va="top"
    )
    figure.text(
        left, 1 - 0.40 / height, f"Back: {titles[1]}", fontsize=11.5, fontweight="bold", color=INK, va="top"
    )
    room = (
        f"cents by which the back lies above the top, both at {pair.room.temperature_c:g} °C and "
        f"{pair.room.humidity_pct:g} % humidity"
    )
    figure.text(left, 1 - 0.68 / height, room, fontsize=8.5, color=QUIET_INK, va="top")
    holding = "; ".join(
        f"mode {relation.mode}: {interval_in_words(pair.tone(relation).cents)}, "
        f"{'as wanted' if pair.holds(relation) else 'not as wanted'}"
        for relation in pair.relations
    )
    figure.text(left, 1 - 0.88 / height, holding, fontsize=9, color=INK, va="top")
    marks = "full dot: as heard; hollow: as computed; line: what weather and fitted wood leave open"
    if pair.relations:
        marks += "; blue: wanted"
    figure.text(left, 0.18 / height, marks, fontsize=8.5, color=QUIET_INK)
