import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import same_color

from solver.advice.bar_choice import WantedBar
from solver.advice.bar_dimension import DIMENSIONS
from solver.advice.bar_trials import BarSweep, BarTrial
from solver.core.errors import InputError
from solver.modal.node_lines import node_lines
from solver.viewer.bar_node_lines import change_figure
from solver.viewer.bar_sweep import LINES_FILE, SWEEP_FILE, sweep_figure, write_bar_pictures
from solver.viewer.colours import INWARD, OUTWARD, PAPER
from solver.viewer.page_files import save_pages
from tests.viewer.plain_plate import BAR, TITLE, plain_modes, plain_plate

HEIGHT = DIMENSIONS["height"]


def trial(height: float, clear: bool = True) -> BarTrial:
    """Shapes by formula, 1 % higher in pitch and 0.4 g heavier for every millimetre."""
    modes = plain_modes(4)
    share = 0.0 if np.isnan(height) else height / 0.001
    modes = replace(modes, hz=modes.hz * (1 + 0.01 * share), mass=modes.mass + 0.0004 * share)
    own = modes.names if clear else (*modes.names[:-1], None)
    return BarTrial(height, None if np.isnan(height) else HEIGHT.changed(BAR, height), modes, own)


def plain_sweep(clear: bool = True) -> BarSweep:
    trials = tuple(trial(height, clear) for height in (0.009, 0.011, 0.013))
    return BarSweep(plain_plate(), BAR, HEIGHT, trial(np.nan), trials)


def words_of(svg: Path) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", svg.read_text(encoding="utf-8"))


def test_every_tone_that_makers_tap_for_is_drawn_at_one_scale_in_cents() -> None:
    sweep = plain_sweep()
    axes = {panel.get_title(loc="left"): panel for panel in sweep_figure(sweep).axes}
    spans = []
    for name in "1", "2", "5":
        panel = axes[f"mode {name}  [Hz]"]
        assert np.asarray(panel.lines[0].get_ydata()) == pytest.approx(sweep.hz(name))
        assert np.asarray(panel.lines[0].get_xdata()) == pytest.approx([9.0, 11.0, 13.0])
        assert panel.get_title(loc="right") == f"without a bar {sweep.bare.hz(name):.1f}"
        low, high = panel.get_ylim()
        assert low < sweep.hz(name).min() < sweep.hz(name).max() < high
        spans.append(high / low)
    assert spans == pytest.approx([spans[0]] * 3)
    mass = axes["mass with the bar  [g]"].lines[0].get_ydata()
    assert np.asarray(mass) == pytest.approx([73.6, 74.4, 75.2])  # 70 g and 0.4 g for every millimetre


def test_a_wanted_tone_has_its_line_and_its_bar(tmp_path: Path) -> None:
    sweep = plain_sweep()
    wanted = WantedBar("5", 275.0, trial(0.010), np.array([]))  # 250 Hz and a tenth
    save_pages([sweep_figure(sweep, wanted)], tmp_path / "bar.svg")
    assert "10.0 mm, 275.0 Hz" in words_of(tmp_path / "bar.svg")
    missed = WantedBar("5", 300.0, sweep.trials[-1], np.array([]))
    save_pages([sweep_figure(sweep, missed)], tmp_path / "missed.svg")
    assert "nearest: 13.0 mm, 282.5 Hz" in words_of(tmp_path / "missed.svg")


def test_a_mixed_tone_is_drawn_hollow_and_said_to_be(tmp_path: Path) -> None:
    figure = sweep_figure(plain_sweep(clear=False))
    (panel,) = (axes for axes in figure.axes if axes.get_title(loc="left") == "mode 5  [Hz]")
    hollow = [line for line in panel.lines if same_color(line.get_markerfacecolor(), PAPER)]
    assert [np.size(line.get_xdata()) for line in hollow if line.get_marker() == "o"] == [3]
    save_pages([figure], tmp_path / "bar.svg")
    assert any("hollow: mixed with a neighbour" in words for words in words_of(tmp_path / "bar.svg"))


def test_node_lines_are_dashed_without_and_solid_with_the_bar() -> None:
    sweep = plain_sweep()
    figure = change_figure(sweep, sweep.trials[1], ("1", "2", "5"))
    for panel, name in zip(figure.axes, ("1", "2", "5"), strict=True):
        lines = len(node_lines(sweep.bare.modes, sweep.bare.place(name)))
        bold = [line for line in panel.lines if line.get_linewidth() > 2]
        without = [line for line in bold if same_color(line.get_color(), INWARD)]
        with_bar = [line for line in bold if same_color(line.get_color(), OUTWARD)]
        assert (len(without), len(with_bar)) == (lines, lines)
        assert all(line.is_dashed() for line in without)
        assert not any(line.is_dashed() for line in with_bar)


def test_both_pictures_are_written_or_none(tmp_path: Path) -> None:
    sweep = plain_sweep()
    paths = write_bar_pictures(sweep, None, tmp_path / "pictures")
    assert [path.name for path in paths] == [SWEEP_FILE, LINES_FILE]
    assert all(path.stat().st_size > 10_000 for path in paths)
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="nothing can be written there"):
        write_bar_pictures(sweep, None, tmp_path / "file")


def test_the_pictures_say_which_plate_and_which_bar(tmp_path: Path) -> None:
    sweep = plain_sweep()
    save_pages([change_figure(sweep, sweep.trials[1], ("5",))], tmp_path / "lines.svg")
    words = words_of(tmp_path / "lines.svg")
    assert TITLE in words
    assert "with it, height of the bar 11.0 mm" in words
    assert "250.0 to 277.5 Hz" in words
