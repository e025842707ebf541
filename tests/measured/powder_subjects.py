"""Plates and modes for the photos of the tests, solved once in a run, and scenes as various as a workshop's."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits

from solver.core.arrays import Floats
from solver.core.units import MM
from solver.modal.modes import Modes, solve_modes
from solver.plate.plate import Plate
from solver.plate_folder.read import read_plate
from tests.measured.photographed_plate import Subject
from tests.measured.rendered_photo import Scene

CASES = Path(__file__).parent.parent.parent / "cases"
MODES = 12

WOODS = {
    "violin-top-finished": ("dark", (0.86, 0.74, 0.54)),
    "violin-top-before-holes": ("dark", (0.88, 0.78, 0.60)),
    "viola-top": ("dark", (0.80, 0.66, 0.47)),
    "violin-back-walnut": ("light", (0.46, 0.30, 0.17)),
    "spruce-blank": ("dark", (0.85, 0.73, 0.52)),
}
"""The demonstration plates, the powder strewn on them, and the colour of their wood."""

POWDERS = {
    "dark": ((0.16, 0.11, 0.08), (0.08, 0.08, 0.09), (0.12, 0.16, 0.34)),
    "light": ((0.92, 0.9, 0.84), (0.85, 0.8, 0.6)),
}


@dataclass(frozen=True, eq=False)
class Solved:
    """A plate, its modes, and the same as a subject for the camera."""

    plate: Plate
    modes: Modes
    subject: Subject


@cache
def solved(case: str) -> Solved:
    """Return a demonstration plate with its modes."""
    plate = read_plate(CASES / case)
    with threadpool_limits(1, user_api="blas"):
        modes = solve_modes(plate, MODES)
    return Solved(plate, modes, subject_of(plate, modes))


def subject_of(plate: Plate, modes: Modes) -> Subject:
    """Return the plate in mm as the renderer wants it."""
    rings = [edge.sampled(1.0 * MM) / MM for edge in (plate.outline.edge, *plate.outline.holes)]
    points = modes.points / MM
    return Subject(
        rings[0], tuple(rings[1:]), points[:, :2], modes.triangles, points[:, 2], modes.thickness / MM
    )


def powder_shows(modes: Modes, index: int) -> Floats:
    """Return the motion (n,) that the powder of a mode is laid by."""
    return np.asarray(modes.normal_motion[index])


def scenes(case: str, count: int, seed: int) -> Iterator[tuple[int, Scene]]:
    """Yield places of a plate's modes (0 for the first) and scenes: any turn, tilts to 20 degrees, all benches."""
    seed += 1000 * list(WOODS).index(case)
    random = np.random.default_rng(seed)
    powder, wood = WOODS[case]
    benches = {
        "cloth": ((0.18, 0.2, 0.24), (0.12, 0.12, 0.12), (0.3, 0.12, 0.12)),
        "board": ((0.42, 0.28, 0.17), (0.6, 0.46, 0.3)),
        "mat": ((0.1, 0.3, 0.22), (0.15, 0.2, 0.35)),
        "speckled": ((0.5, 0.5, 0.5), (0.25, 0.27, 0.3)),
    }
    for number in range(count):
        bench = list(benches)[random.integers(len(benches))]
        colours = benches[bench]
        if case == "violin-back-walnut":  # a dark wood is not photographed on a dark board
            bench, colours = ("cloth", ((0.82, 0.82, 0.8), (0.6, 0.66, 0.72)))
        yield (
            int(random.integers(0, 6)),
            Scene(
                seed=seed + number,
                inside=bool(random.integers(2)),
                turn=random.uniform(0, 360),
                tilt=random.uniform(0, 20),
                tilt_towards=random.uniform(0, 360),
                focal=random.uniform(0.65, 0.95),
                fill=random.uniform(0.65, 0.95),
                size=((1280, 960), (960, 1280))[random.integers(2)],
                wood=wood,
                powder=POWDERS[powder][random.integers(len(POWDERS[powder]))],
                bench=bench,
                bench_colour=colours[random.integers(len(colours))],
                grain=random.uniform(0.02, 0.09),
                flame=random.uniform(0.0, 0.06) if case == "violin-back-walnut" else 0.0,
                shade=random.uniform(0.1, 0.5),
                spread=random.uniform(1.2, 3.0),
                strays=random.uniform(0.02, 0.25),
                grains=random.uniform(6, 18),
                blur=random.uniform(0.6, 2.2),
                noise=random.uniform(0.005, 0.02),
                cover=("", "hand", "foam")[random.integers(3)],
                mirrored=bool(random.uniform() < 0.12),
            ),
        )
