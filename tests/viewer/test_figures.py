import errno
from dataclasses import replace
from pathlib import Path
from typing import NoReturn

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from PIL import Image

from meshes.arch import flat_arch
from solver.core.errors import InputError
from solver.plate.plate import Role
from solver.viewer.figures import check_figure, draw_check, draw_graduation, graduation_figure, height_steps
from solver.viewer.graduation_map import thickness_steps
from tests.viewer.plain_plate import BAR, RISE, TITLE, A, B, measured, plain_outline, plain_plate, uniform


def words_on(axes: Axes) -> list[str]:
    return [line for text in axes.texts for line in text.get_text().splitlines()]


def numbers_on(axes: Axes) -> set[float]:
    """Numbers on contour lines and beside readings."""
    words = [word for word in words_on(axes) if word.replace(".", "").isdigit()]
    return {float(word) for word in words}


def test_check_says_what_was_understood() -> None:
    form, graduation = check_figure(plain_plate()).axes
    assert f"arch {1e3 * RISE:.1f} mm high; lines: height in mm" in words_on(form)
    assert "2 holes" in words_on(form)
    assert f"dashed: bar underneath, {1e3 * BAR.length:.0f} mm long" in words_on(form)
    assert {2.0, 4.0, 8.0, 12.0} <= numbers_on(form)
    assert f"dots: {len(measured().readings)} readings" in words_on(graduation)
    assert "2.40 to 3.20 mm thick; lines: thickness in mm" in words_on(graduation)
    assert "hatched: a guess, no reading near" in words_on(graduation)
    assert {2.5, 2.8, 3.1} <= numbers_on(graduation)


def test_check_leaves_out_what_is_not_there() -> None:
    outline = plain_outline().without_holes()
    bare = replace(plain_plate("panel", uniform(), flat_arch()), outline=outline, bar=None)
    form, graduation = check_figure(bare).axes
    assert words_on(form)[-1:] == ["flat, no arch"]
    assert words_on(graduation)[-1:] == ["2.60 mm thick everywhere"]
    assert numbers_on(form) == numbers_on(graduation) == set()


@pytest.mark.parametrize(
    ("role", "words"),
    [
        ("top", {"neck end", "tail end", "bass side", "treble side"}),
        ("back", {"neck end", "tail end", "bass side", "treble side"}),
        ("panel", {"upper end", "lower end", "left", "right"}),
    ],
)
def test_ends_and_sides_are_named(role: Role, words: set[str]) -> None:
    (axes,) = graduation_figure(plain_plate(role)).axes
    assert words <= set(words_on(axes))


def side_at_left(figure: Figure) -> str:
    (axes,) = figure.axes
    named = {text.get_text(): text.get_position()[0] for text in axes.texts if "side" in text.get_text()}
    return min(named, key=lambda word: named[word])


def test_the_bass_side_is_left_on_a_top_and_right_on_a_back() -> None:
    """Seen from outside with the neck up; the back is looked at from behind."""
    assert side_at_left(graduation_figure(plain_plate("top"))) == "bass side"
    assert side_at_left(graduation_figure(plain_plate("back"))) == "treble side"


def test_x_runs_up_and_y_to_the_left_at_one_scale() -> None:
    for axes in check_figure(plain_plate()).axes:
        paper = axes.transData.transform([(0.0, 0.0), (0.0, 100.0), (50.0, 0.0)])  # (y, x) in mm to pixels
        (across, up), (left, rise) = paper[1] - paper[0], paper[2] - paper[0]
        assert up > 0 > left
        assert across == pytest.approx(0, abs=1e-9)
        assert rise == pytest.approx(0, abs=1e-9)
        assert -left / 50 == pytest.approx(up / 100)


def test_the_thick_end_is_dark_and_up(tmp_path: Path) -> None:
    (path,) = draw_graduation(plain_plate(graduation=measured(0.2)), tmp_path / "graduation.png")
    grey = np.asarray(Image.open(path).convert("L"), dtype=float)
    middle = grey[:, int(0.35 * grey.shape[1]) : int(0.65 * grey.shape[1])]
    upper, lower = (
        np.median(middle[int(f * len(middle)) : int((f + 0.05) * len(middle))]) for f in (0.25, 0.7)
    )
    assert upper < lower - 40


def test_few_readings_show_their_values_and_many_are_dots_only() -> None:
    (few,) = graduation_figure(plain_plate(graduation=measured(0.03))).axes
    values = [word for word in words_on(few) if len(word) == 4 and word[1] == "."]
    assert len(values) == len(measured(0.03).readings)
    (many,) = graduation_figure(plain_plate(graduation=measured(0.004))).axes
    assert not [word for word in words_on(many) if len(word) == 4 and word[1] == "."]
    for axes, spacing in ((few, 0.03), (many, 0.004)):
        (dots,) = (line for line in axes.lines if line.get_marker() == "o")
        np.testing.assert_allclose(np.asarray(dots.get_xydata()), 1e3 * measured(spacing).readings[:, 1::-1])


def test_contour_lines_stand_at_round_thicknesses() -> None:
    steps = thickness_steps(np.array([2.31, 3.46]))
    np.testing.assert_allclose(np.diff(steps), 0.2)
    assert steps[0] <= 2.31
    assert steps[-1] >= 3.46
    assert len(thickness_steps(np.array([2.6, 2.6]))) >= 2


def test_no_contour_line_wanders_about_a_flat_channel() -> None:
    for channel in (-1e-4, 0.0, 1e-4):
        steps = height_steps(channel, 15.5)
        assert steps.min() == pytest.approx(2.0)
        assert steps[steps < 15.5].max() > 13.0


@pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
def test_kinds_of_file(tmp_path: Path, kind: str) -> None:
    (path,) = draw_check(plain_plate(), tmp_path / f"check.{kind}")
    start = {"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[kind]
    assert path.read_bytes().startswith(start)
    assert [file.name for file in tmp_path.iterdir()] == [path.name]
    if kind == "svg":
        assert TITLE in path.read_text(encoding="utf-8")


def test_a_full_disk_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: Figure, path: Path, **__: float) -> NoReturn:
        path.write_bytes(b"half a picture")
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Figure, "savefig", full)
    with pytest.raises(InputError, match="No space left"):
        draw_check(plain_plate(), tmp_path / "check.png")
    assert list(tmp_path.iterdir()) == []


def test_holes_stay_white(tmp_path: Path) -> None:
    """Of the picture's plan, the share that is paper inside the outline is that of the holes."""
    figure = graduation_figure(replace(plain_plate(graduation=uniform()), bar=None))
    (axes,) = figure.axes
    figure.savefig(tmp_path / "g.png", dpi=150)
    pixels = np.asarray(Image.open(tmp_path / "g.png").convert("RGB"), dtype=int)
    y, x = np.meshgrid(np.linspace(-B, B, 200), np.linspace(-A, A, 300))
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    inside = plain_outline().without_holes().contains(points)
    holes = inside & ~plain_outline().contains(points)
    at = axes.transData.transform(1e3 * points[:, ::-1]) * 150 / figure.dpi
    seen = pixels[len(pixels) - 1 - at[:, 1].astype(int), at[:, 0].astype(int)].min(axis=1)
    assert (seen[holes] > 250).mean() > 0.85  # the rest lies under the hole's drawn edge
    assert (seen[inside & ~holes] > 250).mean() < 0.01
