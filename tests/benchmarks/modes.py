"""How fast and how lean: ``python -m tests.benchmarks.modes``.

Two tables. First, a violin top with sound holes: platewright on the coarsest mesh whose first eight modes are within
half a per cent of the converged solid, and CalculiX, as a 3-D solid of two layers, on the coarsest mesh that is as
accurate, both timed in this run. Second, what the modes cost as the mesh is refined over a factor of 30 in unknowns, split
into mesh, assembly and solution.
Every solution runs in a process of its own, so that its peak memory is its own.
"""

import json
import resource
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context

import numpy as np

from solver.core.arrays import Floats
from solver.modal.modes import solve_modes
from tests.validation.make_references import STORE
from tests.validation.shell_plate import as_plate
from tests.validation.solid import ccx
from tests.validation.solid.plan_mesh import plan_mesh
from tests.validation.solid.wedges import wedge_mesh
from tests.validation.solid_plates import PLATES

ACCURACY = 0.005
MODES = 8
SHELL_MM = (30.0, 20.0, 14.0, 10.0)
SOLID_MM = (14.0, 12.0, 10.0, 8.0, 6.0, 5.0)
SCALING_MM = (30.0, 20.0, 14.0, 9.0, 6.5, 4.3)


@dataclass(frozen=True, eq=False)
class Cost:
    """One solution: frequencies (8,) [Hz], seconds by part, peak memory of its process [MB]."""

    size_mm: float
    unknowns: int
    hz: Floats
    seconds: dict[str, float]
    megabytes: float

    @property
    def total(self) -> float:
        """Seconds in all."""
        return sum(self.seconds.values())


def main() -> None:
    """Print both tables."""
    if ccx.installed():
        print_ratio("violin-top")
    else:
        print("CalculiX (ccx) is not on the path; only the cost against unknowns is measured.")
    print_scaling("violin-back")


def print_ratio(name: str) -> None:
    """CalculiX against platewright at equal accuracy."""
    stored = json.loads(STORE.read_text())[name]
    finest, off = (np.array(a[:MODES]) for a in (stored["runs"][-1]["hz"], stored["error_pct"]))
    converged = finest / (1 + off / 100)
    print(
        f"{name} against the stored solid, extrapolated to no element size, largest error of {MODES} modes:"
    )
    shell = _first_within(shell_cost, name, SHELL_MM, converged, ACCURACY)
    solid = _first_within(solid_cost, name, SOLID_MM, converged, _worst(shell, converged))
    for program, cost in (("platewright", shell), ("CalculiX C3D15", solid)):
        print(f"  {program:15s} {_line(cost)}  largest error {100 * _worst(cost, converged):.2f} %")
    print(f"  ratio of the times: {solid.total / shell.total:.0f}")


def print_scaling(name: str) -> None:
    """Cost against unknowns, and the exponents between the smallest and the largest."""
    print(f"{name}, {MODES} modes, finer and finer:")
    costs = [_alone(shell_cost, name, size) for size in SCALING_MM]
    for cost in costs:
        print(f"  {_line(cost)}  " + "  ".join(f"{k} {v:.2f}" for k, v in cost.seconds.items()))
    growth = np.log(costs[-1].unknowns / costs[0].unknowns)
    print(f"  unknowns grow by {np.exp(growth):.0f}; seconds grow with unknowns to the power of")
    for part in costs[0].seconds:
        print(f"    {part:9s} {np.log(costs[-1].seconds[part] / costs[0].seconds[part]) / growth:.2f}")
    print(f"    {'in all':9s} {np.log(costs[-1].total / costs[0].total) / growth:.2f}")


def shell_cost(name: str, size_mm: float) -> Cost:
    """The median of three solutions by platewright, after one on a coarse mesh that loads the libraries."""
    plate = as_plate(PLATES[name])
    solve_modes(plate, 1, 0.05)
    runs = [solve_modes(plate, MODES, size_mm * 1e-3) for _ in range(3)]
    modes = sorted(runs, key=lambda run: sum(run.seconds.values()))[1]
    return Cost(size_mm, modes.unknowns, modes.hz, modes.seconds, _peak(resource.RUSAGE_SELF))


def solid_cost(name: str, size_mm: float) -> Cost:
    """One solution by CalculiX with two layers of wedges; its own meshing is not counted."""
    plate = PLATES[name]
    mesh = wedge_mesh(plate, plan_mesh(plate, size_mm * 1e-3), layers=2)
    start = time.perf_counter()
    hz = ccx.solve(mesh, plate.wood, None, MODES)
    seconds = {"all": time.perf_counter() - start}
    return Cost(size_mm, mesh.unknowns, hz, seconds, _peak(resource.RUSAGE_CHILDREN))


def _first_within(
    solve: Callable[[str, float], Cost],
    name: str,
    sizes_mm: Sequence[float],
    converged: Floats,
    accuracy: float,
) -> Cost:
    for size in sizes_mm:
        cost = _alone(solve, name, size)
        if _worst(cost, converged) <= accuracy:
            break
    return cost


def _worst(cost: Cost, converged: Floats) -> float:
    return float(np.abs(cost.hz / converged - 1).max())


def _alone(solve: Callable[[str, float], Cost], name: str, size_mm: float) -> Cost:
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as process:
        return process.submit(solve, name, size_mm).result()


def _peak(who: int) -> float:
    return resource.getrusage(who).ru_maxrss / 1024


def _line(cost: Cost) -> str:
    return f"{cost.size_mm:5.1f} mm {cost.unknowns:8d} unknowns {cost.total:8.2f} s {cost.megabytes:6.0f} MB"


if __name__ == "__main__":
    main()
