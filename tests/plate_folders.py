"""Plate folders for the tests: an ellipse the size of a violin, arched, with two slots, a bar and a log."""

from collections.abc import Callable, Mapping
from pathlib import Path

import numpy as np

from solver.core.arrays import Floats
from solver.plate_folder.write import table_text, write_new_folder

LENGTH, WIDTH, RISE = 356.0, 208.0, 15.0
"""Of the ellipse and its arch [mm]."""
THICKEST, THINNEST = 3.2, 2.4

PLATE_TOML = """\
format = 1
title = "Ellipse for trying things out"
role = "top"

[outline]
file = "outline.csv"
holes = ["holes/left.csv", "holes/right.csv"]

[arch]
file = "arch.csv"

[thickness]
file = "thickness.csv"

[wood]
species = "Sitka spruce"
density_kg_m3 = 400
EL_GPa = 11.9

[bar]
from_mm = [75.0, 17.0]
to_mm = [285.0, 12.0]
width_mm = 5.5
height_mm = [[0.0, 2.5], [0.5, 12.0], [1.0, 2.5]]

[climate]
temperature_c = 20.0
humidity_pct = 50.0

[wanted]
modes_hz = { 2 = 165.0, 5 = 350.0 }
min_thickness_mm = 2.2
"""

LOG_TOML = """\
taken = 2026-03-14T19:05:00+01:00
stage = "holes cut"
temperature_c = 14.0
humidity_pct = 48.0
mass_g = 55.0
modes_hz = { 1 = 88.0, 2 = 168.5, 5 = 342.0 }
tones_hz = [224.0, 261.0]
note = "scraped the lower bouts"
"""


def ellipse(x: float, y: float, half_length: float, half_width: float, points: int) -> Floats:
    """Points (n, 2) [mm] on an ellipse, the first not repeated."""
    angle = 2 * np.pi * np.arange(points) / points
    return np.stack([x + half_length * np.cos(angle), y + half_width * np.sin(angle)], axis=1)


def inside(step: float) -> Floats:
    """Points (n, 2) [mm] of a grid that lie on the ellipse or near its edge."""
    x, y = np.meshgrid(
        np.arange(0, LENGTH + 1, step), np.arange(-WIDTH / 2, WIDTH / 2 + 1, step), indexing="ij"
    )
    radius = ((x - LENGTH / 2) / (LENGTH / 2)) ** 2 + (y / (WIDTH / 2)) ** 2
    return np.column_stack([x[radius <= 1.0], y[radius <= 1.0]])


def from_middle(points: Floats) -> Floats:
    """0 in the middle of the ellipse, 1 at its edge, for points (n, 2) [mm]."""
    return ((points[:, 0] - LENGTH / 2) / (LENGTH / 2)) ** 2 + (points[:, 1] / (WIDTH / 2)) ** 2


def heights(points: Floats) -> Floats:
    """Rows (n, 3) [mm] of a dome that meets its edge flat."""
    return np.column_stack([points, RISE * (1 - from_middle(points)) ** 2])


def readings(points: Floats) -> Floats:
    """Rows (n, 3) [mm] of a thickness that falls from the middle to the edge."""
    return np.column_stack([points, THINNEST + (THICKEST - THINNEST) * (1 - from_middle(points))])


def ellipse_files() -> dict[str, str]:
    """Return the texts of a whole plate folder by their names in it."""
    edge = ellipse(LENGTH / 2, 0, LENGTH / 2, WIDTH / 2, 72)
    rim = ellipse(LENGTH / 2, 0, LENGTH / 2, WIDTH / 2, 48)
    return {
        "plate.toml": PLATE_TOML,
        "outline.csv": table_text(("x_mm", "y_mm"), edge),
        "holes/left.csv": table_text(("x_mm", "y_mm"), ellipse(190, 45, 32, 4, 32)),
        "holes/right.csv": table_text(("x_mm", "y_mm"), ellipse(190, -45, 32, 4, 32)),
        "arch.csv": table_text(("x_mm", "y_mm", "z_mm"), heights(np.vstack([inside(18.0), rim]))),
        "thickness.csv": table_text(
            ("x_mm", "y_mm", "t_mm"), readings(np.vstack([inside(24.0), 0.999 * rim]))
        ),
        "log/2026-03-14T190500.toml": LOG_TOML,
    }


def panel_files() -> dict[str, str]:
    """Return the texts of the smallest folder that solves: a flat blank of one thickness."""
    corners = ((0, -60), (300, -60), (300, 60), (0, 60))
    edge = [corner for corner in corners for _ in range(2)]
    return {
        "plate.toml": (
            'format = 1\ntitle = "Blank"\nrole = "panel"\n[outline]\nfile = "outline.csv"\n'
            "[arch]\nflat = true\n[thickness]\nuniform_mm = 3.0\n"
            '[wood]\nspecies = "Sitka spruce"\ndensity_kg_m3 = 400\n'
        ),
        "outline.csv": table_text(("x_mm", "y_mm"), edge),
    }


def write_folder(folder: Path, files: Mapping[str, str]) -> Path:
    """Write a plate folder and return it."""
    write_new_folder(folder, files)
    return folder


Change = Callable[[dict[str, str]], None]


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file under a folder, to see that nothing in it was changed."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def replaced(name: str, old: str, new: str) -> Change:
    """Return a change of one text in one file, which must be there exactly once."""

    def change(files: dict[str, str]) -> None:
        assert files[name].count(old) == 1, f"{old!r} stands {files[name].count(old)} times in {name}"
        files[name] = files[name].replace(old, new)

    return change
