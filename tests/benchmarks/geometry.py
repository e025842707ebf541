"""How long geometry takes: ``python -m tests.benchmarks.geometry``.

Reading 5,000 noisy caliper readings into a map and evaluating it at 20,000 points, each as a ratio to the factorization of
a dense 1,500 x 1,500 matrix timed in the same run.
"""

import numpy as np

from meshes.graduation import graduation_from_readings
from solver.core.arrays import Floats
from tests.benchmarks.timing import best_of_three
from tests.meshes.plates import A, B, ellipse_outline


def main() -> None:
    """Print seconds and ratios."""
    rng = np.random.default_rng(5)
    points = rng.uniform(-1, 1, (9000, 2))
    points = points[np.sum(points**2, axis=1) < 1][:5000] * [A, B]
    readings = np.column_stack([points, _thickness(points) + rng.normal(0, 0.02e-3, len(points))])
    outline = ellipse_outline()
    graduation = graduation_from_readings(readings, outline)
    many = rng.uniform(-1, 1, (20_000, 2)) * [A, B]
    matrix = rng.standard_normal((1500, 1500))
    reference = best_of_three(lambda: np.linalg.qr(matrix))
    for name, work in (
        ("5,000 readings to a map", lambda: graduation_from_readings(readings, outline)),
        ("the map at 20,000 points", lambda: (graduation.at(many), graduation.gradient(many))),
    ):
        seconds = best_of_three(work)
        print(f"{name}: {seconds:.3f} s, {seconds / reference:.2f} times the factorization")


def _thickness(points: Floats) -> Floats:
    return np.asarray(3.5e-3 - 1e-3 * ((points / [A, B]) ** 2).sum(axis=1))


if __name__ == "__main__":
    main()
