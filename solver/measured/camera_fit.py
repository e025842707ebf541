"""A camera moved until what it sees lies where it was seen: Gauss-Newton steps, held back, far points counted little."""

from collections.abc import Callable

import numpy as np

from solver.core.arrays import Floats
from solver.measured.camera import FREEDOMS, Camera

PRIOR = np.array([np.inf, np.inf, np.inf, np.inf, np.inf, np.inf, 0.25, 0.04, 0.04])
"""How far each freedom of a camera may be off what is usual: focal length by a quarter, the axis by 4 % of it."""

_HELD_BACK = (1e-4, 1e6)
_SMALLEST_GAIN = 1e-5

Misses = Callable[[Camera], tuple[Floats, Floats]]
"""How far (n,) each point is missed from a camera, and the rates (n, 9) of that with the camera's freedoms."""


def best_camera(
    start: Camera, misses: Misses, hold: float, loose: float = np.inf, most: int = 20
) -> tuple[Camera, float]:
    """Return the camera near ``start`` that misses the points least, and how much it still does.

    Least is ``sum log(1 + (r/l)^2) l^2 + hold^2 |usual|^2`` over the misses r with l = ``loose`` (Cauchy's loss; squares
    where it is infinite), and over how far focal length and axis have moved as shares of `PRIOR`. Steps are those of
    Levenberg and Marquardt with the losses' weights; after ``most`` of them it ends in any case. Theory: B. Triggs et al.,
    Bundle adjustment, a modern synthesis (2000), sections 3 and 4 (from memory).
    """
    camera, moved, back = start, np.zeros(FREEDOMS), _HELD_BACK[0]
    missed, rates = misses(camera)
    cost = _cost(missed, moved, hold, loose)
    for _ in range(most):
        weight = 1 / (1 + (missed / loose) ** 2)
        normal = (rates * weight[:, None]).T @ rates + np.diag((hold / PRIOR) ** 2)
        down = rates.T @ (weight * missed) + (hold / PRIOR) ** 2 * moved
        step: Floats = np.asarray(-np.linalg.solve(normal + back * np.diag(np.diag(normal) + 1e-12), down))
        trial = camera.moved(step)
        trial_missed, trial_rates = misses(trial)
        trial_cost = _cost(trial_missed, moved + step, hold, loose)
        if trial_cost >= cost:
            back *= 10
            if back > _HELD_BACK[1]:
                break
            continue
        gain = cost - trial_cost
        camera, moved, missed, rates, cost = trial, moved + step, trial_missed, trial_rates, trial_cost
        back = max(back / 10, _HELD_BACK[0])
        if gain < _SMALLEST_GAIN * cost:
            break
    return camera, cost


def _cost(missed: Floats, moved: Floats, hold: float, loose: float) -> float:
    off = (
        float(missed @ missed) if np.isinf(loose) else float(loose**2 * np.log1p((missed / loose) ** 2).sum())
    )
    return off + float(((hold * moved / PRIOR) ** 2).sum())
