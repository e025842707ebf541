"""Trials on the disk and under the scraper: what is written is read again, undoing leaves nothing, limits hold."""

import os
import threading
from datetime import UTC, datetime
from pathlib import Path
from typing import cast

import numpy as np
import pytest
import shapely

from meshes.removal import Removal, SmoothRemoval, Stroke
from solver.advice.removal_basis import removal_basis
from solver.bench.answers import ChangedError
from solver.bench.carving import take_from_plate
from solver.bench.live import LiveBench, Taken, live_bench
from solver.bench.picture import draw
from solver.bench.plates import OpenPlate
from solver.bench.solving import LivePlate, solve_plate
from solver.bench.trial_runs import TrialRuns
from solver.commands.tones import Json
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.modal.modes import solve_modes
from solver.modal.node_lines import node_lines
from solver.plate.thinning import thinned
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_plate
from solver.plate_folder.trial_schema import StrokeTable, TrialTable
from solver.plate_folder.trials import (
    planned_removal,
    planned_table,
    read_trials,
    stroke_removal,
    trial_key,
    trial_path,
    write_trial,
)
from tests.bench.handed_over import Kept
from tests.plate_folders import contents, panel_files, write_folder

STROKE = StrokeTable(width_mm=40.0, cut_mm=0.1, path_mm=((100.0, 10.0), (150.0, -20.5)))
BEGUN = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)


pytestmark = pytest.mark.xdist_group("trials")  # one worker, so that what they share is made once


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_folder(tmp_path_factory.mktemp("trials") / "panel", panel_files())


@pytest.fixture(scope="module")
def bench(folder: Path) -> LiveBench:
    kept = Kept()
    solve_plate(kept, str(folder))
    live = kept.parts["live"]
    assert isinstance(live, LivePlate)
    plate = read_plate(folder)
    return live_bench(plate, live, draw(plate))


@pytest.fixture
def runs(folder: Path, bench: LiveBench) -> TrialRuns:
    for path in (folder / "trials").glob("*"):
        path.unlink()
    return TrialRuns(folder, bench, 2.5 * MM)


def removal(folder: Path) -> SmoothRemoval:
    basis = removal_basis(read_plate(folder).outline)
    return basis.removal(np.random.default_rng(4).uniform(0, 0.3e-3, basis.size))


def test_what_is_written_is_read_again(folder: Path, tmp_path: Path) -> None:
    trial = TrialTable(name='He said "half", \\ then 1/2\t', begun=BEGUN, plan=planned_table(removal(folder)))
    trial = trial.model_copy(update={"strokes": (STROKE, STROKE)})
    write_trial(tmp_path, "half", trial)
    assert read_trials(tmp_path)["half"] == trial


def test_a_plan_drawn_in_is_the_plan(folder: Path) -> None:
    planned = removal(folder)
    places = np.random.default_rng(3).uniform((0.01, -0.05), (0.29, 0.05), (200, 2))
    assert planned_removal(planned_table(planned)).at(places) == pytest.approx(planned.at(places), abs=1e-7)


@pytest.mark.parametrize("name", ["...", "\u00e4", "  ", "-"])
def test_a_name_without_letters_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="no letter or digit"):
        trial_key(name)


@pytest.mark.parametrize("key", ["../plate", "a/b", "", "A", ".a", "a.toml"])
def test_no_key_leads_out_of_the_trials(key: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such trial"):
        trial_path(tmp_path, key)


def test_undo_leaves_nothing_and_redo_brings_all_back(runs: TrialRuns) -> None:
    begun = runs.begin("one")
    first = runs.stroke("one", str(begun["version"]), STROKE)
    other = StrokeTable(width_mm=30.0, cut_mm=0.2, path_mm=((200.0, 0.0),))
    second = runs.stroke("one", str(first["version"]), other)
    back = runs.undo("one", str(second["version"]))
    assert back["modes"] == first["modes"]
    assert (back["strokes"], back["undone"]) == (1, 1)
    again = runs.redo("one", str(back["version"]))
    assert again["modes"] == second["modes"]
    for _ in range(2):
        again = runs.undo("one", str(again["version"]))
    assert again["modes"] == runs.untouched()["modes"]
    with pytest.raises(InputError, match="no stroke to take back"):
        runs.undo("one", str(again["version"]))


def test_a_trial_read_from_the_disk_is_the_same_as_the_one_at_hand(
    runs: TrialRuns, folder: Path, bench: LiveBench
) -> None:
    begun = runs.begin("one")
    struck = runs.stroke("one", str(begun["version"]), STROKE)
    fresh = TrialRuns(folder, bench, None).whole("one")
    assert fresh["modes"] == struck["modes"]
    assert fresh["version"] == struck["version"]


def test_a_stroke_that_is_still_made_is_not_kept(runs: TrialRuns, folder: Path) -> None:
    begun = runs.begin("one")
    tried = runs.try_stroke("one", str(begun["version"]), STROKE)
    assert tried["removed_g"] == pytest.approx(_grams(STROKE), rel=0.03)
    assert read_trials(folder)["one"].strokes == ()


def test_what_was_undone_is_there_after_a_new_start_until_another_stroke_is_made(
    runs: TrialRuns, folder: Path, bench: LiveBench
) -> None:
    struck = runs.stroke("one", str(runs.begin("one")["version"]), STROKE)
    runs.undo("one", str(struck["version"]))
    anew = TrialRuns(folder, bench, None)
    found = anew.whole("one")
    assert (found["strokes"], found["undone"]) == (0, 1)
    again = anew.redo("one", str(found["version"]))
    assert again["modes"] == struck["modes"]
    assert read_trials(folder)["one"].strokes == (STROKE,)
    back = anew.undo("one", str(again["version"]))
    other = anew.stroke("one", str(back["version"]), STROKE.model_copy(update={"cut_mm": 0.05}))
    assert other["undone"] == 0
    with pytest.raises(InputError, match="No stroke was taken back"):
        anew.redo("one", str(other["version"]))


def test_a_trial_begins_with_its_first_stroke_or_not_at_all(runs: TrialRuns, folder: Path) -> None:
    tried = runs.try_first(STROKE)
    with pytest.raises(InputError, match=r"expected at least 0\.8 mm"):
        runs.begin_with("one", STROKE.model_copy(update={"cut_mm": 2.4}))
    assert read_trials(folder) == {}
    begun = runs.begin_with("one", STROKE)
    assert (begun["modes"], begun["patch"]) == (tried["modes"], tried["patch"])
    assert read_trials(folder)["one"].strokes == (STROKE,)
    assert runs.stroke("one", str(begun["version"]), STROKE)["strokes"] == 2


def _grams(stroke: StrokeTable) -> float:
    """Wood of 400 kg/m3 in a stroke on a flat panel: 16/15 r d L for the channel, pi r^2 d / 3 for its ends."""
    radius, depth = 0.5 * stroke.width_mm, stroke.cut_mm
    length = float(np.linalg.norm(np.subtract(stroke.path_mm[0], stroke.path_mm[1])))
    return 400e-6 * (16 / 15 * radius * depth * length + np.pi / 3 * radius**2 * depth)


def test_another_hand_in_the_same_trial_is_noticed(runs: TrialRuns, folder: Path) -> None:
    begun = runs.begin("one")
    write_trial(folder, "one", read_trials(folder)["one"].model_copy(update={"strokes": (STROKE,)}))
    with pytest.raises(ChangedError, match="nothing was written"):
        runs.stroke("one", str(begun["version"]), STROKE)
    assert len(read_trials(folder)["one"].strokes) == 1


def test_limits(runs: TrialRuns) -> None:
    version = str(runs.begin("one")["version"])
    deep = STROKE.model_copy(update={"cut_mm": 2.4})
    with pytest.raises(InputError, match=r"expected at least 0\.8 mm"):
        runs.stroke("one", version, deep)
    thin = runs.stroke("one", version, STROKE.model_copy(update={"cut_mm": 0.6}))
    assert thin["too_thin"] is True
    assert thin["thinnest_mm"] == pytest.approx(2.4, abs=0.01)
    with pytest.raises(InputError, match="already"):
        runs.begin("ONE")
    for nameless in ("", "  ", "..."):
        with pytest.raises(InputError, match="no letter or digit"):
            runs.begin(nameless)
        with pytest.raises(InputError, match="no letter or digit"):
            runs.begin_with(nameless, STROKE)


def test_a_drawn_plan_counts_as_taken_and_gets_a_name_of_its_own(
    runs: TrialRuns, folder: Path, bench: LiveBench
) -> None:
    plan = planned_table(removal(folder))
    first, second = runs.draw_plan("plan", plan), runs.draw_plan("plan", plan)
    assert (first["name"], second["name"]) == ("plan", "plan 2")
    places = bench.live.points
    expected = removal(folder).at(places).max() / MM
    assert first["deepest_mm"] == pytest.approx(expected, abs=1e-3)


def test_the_lines_of_a_trial_are_those_of_a_full_solve(
    runs: TrialRuns, folder: Path, bench: LiveBench
) -> None:
    begun = runs.begin("one")
    deep = STROKE.model_copy(update={"cut_mm": 0.4})
    struck = runs.stroke("one", str(begun["version"]), deep)
    told = runs.lines("one")
    assert told["version"] == struck["version"]
    full = solve_modes(thinned(read_plate(folder), stroke_removal(deep)), count=8)
    tried = [
        np.concatenate([np.asarray(line) for line in cast("list[list[list[float]]]", tone)])
        for tone in cast("list[Json]", told["lines_mm"])
    ]
    before = [np.concatenate(node_lines(bench.live.tones.modes, k)) / MM for k in range(8)]
    of_full = [shapely.MultiLineString([line / MM for line in node_lines(full, k)]) for k in range(8)]

    def farthest_tenth(points: list[Floats]) -> list[float]:
        """How far off nine tenths of the points lie at most [mm]; where two lines cross they part or join by chance."""
        return [
            float(np.quantile(shapely.distance(shapely.points(some), line), 0.9))
            for some, line in zip(points, of_full, strict=True)
        ]

    assert max(farthest_tenth(tried)) < 0.5
    assert max(farthest_tenth(before)) > 1.2


def test_the_picture_changes_only_where_the_stroke_went(runs: TrialRuns, bench: LiveBench) -> None:
    begun = runs.begin("one")
    patch = runs.stroke("one", str(begun["version"]), STROKE)["patch"]
    assert isinstance(patch, dict)
    grid = bench.drawing.grid
    taken = Stroke(np.array(STROKE.path_mm) * MM, 0.02, 0.1e-3).at(grid.points).reshape(grid.inside.shape)
    row, rows, column, columns = (int(str(patch[name])) for name in ("row", "rows", "column", "columns"))
    there = (slice(row, row + rows), slice(column, column + columns))
    assert patch["taken_um"] == np.rint(taken[there].ravel() * 1e6).astype(int).tolist()
    taken[there] = 0.0
    assert taken.max() < 1e-7


def open_plate(folder: Path, bench: LiveBench) -> tuple[OpenPlate, TrialRuns, str, str]:
    """Open a plate with a trial as a bench of its own does; also the version of the trial and the mark of the plate."""
    plate, runs = OpenPlate(folder), TrialRuns(folder, bench, None)
    return plate, runs, str(runs.whole("one")["version"]), plate.read().mark


@pytest.fixture
def to_carve(tmp_path: Path) -> Path:
    folder = write_folder(tmp_path / "panel", panel_files())
    write_trial(folder, "one", TrialTable(name="one", begun=BEGUN, strokes=(STROKE,)))
    return folder


def thickness_mm(folder: Path) -> float:
    return float(read_plate(folder).graduation.at(np.array([[0.1, 0.01]]))[0]) / MM


def test_carved_asked_twice_is_one_act(to_carve: Path, bench: LiveBench) -> None:
    plate, runs, version, mark = open_plate(to_carve, bench)
    first = take_from_plate(plate, runs, "one", version, mark)
    after = contents(to_carve)
    assert thickness_mm(to_carve) == pytest.approx(2.9, abs=0.02)
    assert take_from_plate(plate, runs, "one", version, mark) == first
    anew, runs_anew, version_now, mark_now = open_plate(to_carve, bench)
    assert take_from_plate(anew, runs_anew, "one", version, mark) == first
    with pytest.raises(InputError, match="was carved"):
        take_from_plate(anew, runs_anew, "one", version_now, mark_now)
    assert contents(to_carve) == after
    assert [entry.stage for entry in read_description(to_carve).log.values()] == ["carved"]


def test_two_benches_that_carve_at_once_take_the_wood_once(to_carve: Path, bench: LiveBench) -> None:
    opened = [open_plate(to_carve, bench) for _ in range(3)]
    outcomes: list[object] = []

    def carve(plate: OpenPlate, runs: TrialRuns, version: str, mark: str) -> None:
        try:
            outcomes.append(take_from_plate(plate, runs, "one", version, mark))
        except ChangedError as refused:
            outcomes.append(type(refused))

    threads = [threading.Thread(target=carve, args=one) for one in opened]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(outcomes) == 3
    assert len({*outcomes} - {ChangedError}) == 1
    assert thickness_mm(to_carve) == pytest.approx(2.9, abs=0.02)
    assert len(read_description(to_carve).log) == 1


def test_what_cannot_be_written_leaves_the_trial_as_it_was(
    runs: TrialRuns, monkeypatch: pytest.MonkeyPatch
) -> None:
    struck = runs.stroke("one", str(runs.begin("one")["version"]), STROKE)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "fsync", full)
        with pytest.raises(InputError, match="No space left"):
            runs.undo("one", str(struck["version"]))
    assert runs.whole("one")["modes"] == struck["modes"]
    back = runs.undo("one", str(struck["version"]))
    assert back["modes"] == runs.untouched()["modes"]


def count_cuts(monkeypatch: pytest.MonkeyPatch) -> list[Removal]:
    """Note every removal that is taken from the plate on the screen."""
    cuts, after = [], LiveBench.after

    def counted(bench: LiveBench, taken: Taken, removal: Removal) -> Taken:
        cuts.append(removal)
        return after(bench, taken, removal)

    monkeypatch.setattr(LiveBench, "after", counted)
    return cuts


def light_stroke(number: int) -> StrokeTable:
    x = 40.0 + 2.0 * (number % 100)
    return StrokeTable(width_mm=20.0, cut_mm=0.01, path_mm=((x, 0.0), (x + 20.0, 10.0)))


def test_undoing_in_a_trial_of_many_strokes_begins_near_by(
    folder: Path, bench: LiveBench, monkeypatch: pytest.MonkeyPatch
) -> None:
    strokes = tuple(light_stroke(number) for number in range(110))
    for path in (folder / "trials").glob("*"):
        path.unlink()
    write_trial(folder, "long", TrialTable(name="long", begun=BEGUN, strokes=strokes))
    cuts = count_cuts(monkeypatch)
    runs = TrialRuns(folder, bench, None)
    version = runs.whole("long")["version"]
    assert len(cuts) == 110
    for _ in range(40):
        told = runs.undo("long", version)
        version = told["version"]
    assert len(cuts) <= 110 + 40 + 25
    fresh = TrialRuns(folder, bench, None).whole("long")
    assert (told["modes"], told["thinnest_mm"]) == (fresh["modes"], fresh["thinnest_mm"])
    for _ in range(40):
        told = runs.redo("long", version)
        version = told["version"]
    assert told["modes"] == TrialRuns(folder, bench, None).whole("long")["modes"]


def test_what_a_stroke_does_is_computed_once(runs: TrialRuns, monkeypatch: pytest.MonkeyPatch) -> None:
    cuts = count_cuts(monkeypatch)
    tried = runs.try_first(STROKE)
    begun = runs.begin_with("one", STROKE)
    assert (len(cuts), begun["modes"]) == (1, tried["modes"])
    other = STROKE.model_copy(update={"cut_mm": 0.05})
    tried = runs.try_stroke("one", str(begun["version"]), other)
    kept = runs.stroke("one", str(begun["version"]), other)
    assert (len(cuts), kept["modes"], kept["patch"]) == (2, tried["modes"], tried["patch"])
    again = runs.stroke("one", str(kept["version"]), other)
    assert len(cuts) == 3
    assert again["removed_g"] != kept["removed_g"]
