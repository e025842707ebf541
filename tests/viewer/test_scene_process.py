import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from solver.viewer import scene_process
from solver.viewer.pictures import write_pictures
from solver.viewer.scene import NO_SCREEN
from solver.viewer.scene_data import load_scene, save_scene, scene_data
from solver.viewer.scene_process import render_scenes, show_modes
from tests.viewer.plain_plate import plain_modes, plain_plate

FLAT = ["graduation.png", "modes.png"]
SOLID = ["arch.png", "shape-01.png", "shape-02.png"]


def stand_in(monkeypatch: pytest.MonkeyPatch, program: str) -> None:
    """Let a few lines of Python draw instead of VTK."""
    monkeypatch.setattr(scene_process, "COMMAND", (sys.executable, "-c", program))


def names_in(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_crash_costs_the_3d_pictures_and_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    half = "import os, sys; open(os.path.join(sys.argv[3], 'arch.png'), 'w').write('half'); os.abort()"
    stand_in(monkeypatch, half)
    report = write_pictures(plain_modes(2), plain_plate(), tmp_path / "pictures")
    assert report.problem is not None
    assert report.problem.startswith("the 3-D pictures are missing")
    assert "apt-get install libegl1 libgl1" in report.problem
    assert "\n" not in report.problem
    assert names_in(tmp_path / "pictures") == FLAT
    assert [path.name for path in report.paths] == FLAT
    for path in report.paths:
        assert np.asarray(Image.open(path).convert("L")).std() > 20


def test_any_other_failure_is_passed_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(monkeypatch, "raise MemoryError('no room for the picture')")
    report = render_scenes(plain_modes(1), plain_plate(), tmp_path)
    assert report.problem == "the 3-D pictures are missing: MemoryError: no room for the picture"
    assert report.paths == ()
    assert names_in(tmp_path) == []


def test_a_process_that_hangs_is_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(monkeypatch, "import time; time.sleep(60)")
    monkeypatch.setattr(scene_process, "_START_SECONDS", 0.3)
    monkeypatch.setattr(scene_process, "_PICTURE_SECONDS", 0.0)
    report = render_scenes(plain_modes(1), plain_plate(), tmp_path)
    assert report.problem is not None
    assert "stopped" in report.problem
    assert names_in(tmp_path) == []


def test_without_a_screen_the_window_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(monkeypatch, f"raise SystemExit({NO_SCREEN})")
    problem = show_modes(plain_modes(1), plain_plate())
    assert problem is not None
    assert "no screen" in problem
    assert "--pictures" in problem


def test_a_window_that_was_closed_is_no_problem(monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in(monkeypatch, "import sys; assert sys.argv[1] == 'window'; open(sys.argv[2], 'rb').close()")
    assert show_modes(plain_modes(1), plain_plate()) is None


def test_scene_data_come_back_as_they_were(tmp_path: Path) -> None:
    data = scene_data(plain_modes(2), plain_plate())
    save_scene(data, tmp_path / "scene.npz")
    again = load_scene(tmp_path / "scene.npz")
    for name in ("points", "triangles", "thickness", "displacement", "normal_motion"):
        np.testing.assert_array_equal(getattr(again, name), getattr(data, name))
    assert (again.labels, again.title, again.upper_end) == (data.labels, data.title, "neck end")
    assert data.labels[1].startswith("mode 2   150.0 Hz")


def test_the_pictures_show_arch_and_motion(tmp_path: Path) -> None:
    report = render_scenes(plain_modes(2, rings=10, spokes=40), plain_plate(), tmp_path)
    if report.problem is not None and "libegl1" in report.problem:
        pytest.skip(report.problem)
    assert report.problem is None
    assert names_in(tmp_path) == SOLID
    arch, twist, bend = (np.asarray(Image.open(path).convert("RGB"), dtype=int) for path in report.paths)
    for picture in (arch, twist, bend):
        drawn = picture.min(axis=2) < 245
        assert 0.25 < drawn.mean() < 0.75
        assert np.ptp(np.flatnonzero(drawn.any(axis=0))) > 0.85 * picture.shape[1]
    assert (np.abs(twist - bend).max(axis=2) > 60).mean() > 0.1
    for picture in (twist, bend):
        bluer = picture[..., 2] - picture[..., 0]
        assert (bluer > 40).mean() > 0.05
        assert (bluer < -40).mean() > 0.05
    assert (arch[..., 2] - arch[..., 0] < -40).mean() > 0.25  # bare wood
    assert (arch[..., 2] - arch[..., 0] > 40).mean() < 0.001


SWING = """
import sys
from pathlib import Path
import numpy as np
from solver.viewer.scene import _stage, _Swinging
from solver.viewer.scene_data import load_scene
data = load_scene(Path(sys.argv[1]))
shown = _Swinging(_stage(off_screen=True), data)
widest = 0.10 * np.ptp(data.points[:, 1])
for step, index in ((0, 0), (1, 1), (1, 0), (-1, 1)):
    shown.choose(step)
    body = shown._meshes[0]
    way = data.displacement[index] / np.linalg.norm(data.displacement[index], axis=1).max()
    for frame, share in ((0, 0), (10, 1), (20, 0), (30, -1)):
        shown.swing(frame)
        np.testing.assert_allclose(body.points[: len(way)] - data.points, share * widest * way, atol=1e-6)
print("swung")
"""


@pytest.mark.slow
def test_the_arrow_keys_choose_and_the_shape_swings(tmp_path: Path) -> None:
    """A swing takes 1.6 s at 25 frames a second, so that frame 10 stands at its end."""
    save_scene(scene_data(plain_modes(2, rings=8, spokes=30), plain_plate()), tmp_path / "scene.npz")
    command = [sys.executable, "-c", SWING, str(tmp_path / "scene.npz")]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=Path(__file__).parents[2])
    if done.returncode < 0:
        pytest.skip("VTK crashed: there is no GL library")
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip().endswith("swung")
