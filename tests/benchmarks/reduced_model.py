"""The reduced model against full solves: how fast, how near, how well it knows what it lacks.

    python -m tests.benchmarks.reduced_model [HOLLOWS]

On the stock violin top with holes and bar, for hollows of 0.5 mm and of 1 mm at HOLLOWS (200) random places, radius 10 to
60 mm. Times are by the clock, on one BLAS thread; beside other work the processor time tells more.
"""

import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import numpy as np
from threadpoolctl import threadpool_limits

from meshes.removal import Hollow
from meshes.triangulate import PlateMesh, triangulate
from solver.core.arrays import Floats
from solver.core.parallel import both
from solver.modal.assembly import ModalModel, assemble
from solver.modal.modes import modes_of
from solver.modal.reduced import ReducedModel, reduced_model
from solver.modal.reduced_section import reduced_section
from solver.modal.shell import CubicMesh, cubic_mesh
from solver.plate.plate import Plate
from solver.plate.thinning import thinned
from solver.plate_folder.read import read_plate
from solver.stock import write_stock_plate

T = TypeVar("T")

DEPTHS = (0.5e-3, 1.0e-3)
RADII = (0.010, 0.060)
QUANTILES = (0.5, 0.9, 0.99, 1.0)
ALLOWED = {0.5e-3: 1e-3, 1.0e-3: 3e-3}
"""What an answer may be off by, as a share of the frequency, for a hollow of that depth."""


@dataclass(frozen=True, eq=False)
class Bench:
    plate: Plate
    mesh: PlateMesh
    cubic: CubicMesh
    model: ModalModel
    live: ReducedModel

    def full(self, hollow: Hollow) -> Floats:
        after = assemble(thinned(self.plate, hollow), self.mesh, self.cubic)
        return modes_of(after, 8).hz


def timed(what: Callable[[], T]) -> tuple[float, T]:
    begin = time.perf_counter()
    made = what()
    return time.perf_counter() - begin, made


def set_up() -> Bench:
    with tempfile.TemporaryDirectory() as place:
        write_stock_plate(Path(place) / "top", "violin-top")
        plate = read_plate(Path(place) / "top")
    assert plate.bar is not None
    mesh = triangulate(plate.outline, plate.bar.footprint)
    cubic = cubic_mesh(mesh)
    model = assemble(plate, mesh, cubic)
    alone, _ = timed(lambda: modes_of(assemble(plate, mesh, cubic), 20))
    solving, (modes, section) = timed(
        lambda: both(lambda: modes_of(model, 20), lambda: reduced_section(model))
    )
    working = time.process_time()
    building = [timed(lambda: reduced_model(model, modes, section)) for _ in range(5)]
    working = (time.process_time() - working) / len(building)
    live = building[-1][1]
    print(f"{modes.unknowns} unknowns, full solve of 20 modes {solving:.2f} s with the section beside it")
    times = " ".join(f"{t:.2f}" for t, _ in building)
    print(f"build after it: {times} s (processor {working:.2f} s on two threads), {live.bytes / 1e6:.0f} MB")
    print(
        f"  matrices and solve alone: {alone:.2f} s; build over that {min(t for t, _ in building) / alone:.2f}"
    )
    return Bench(plate, mesh, cubic, model, live)


def report_times(bench: Bench, rng: np.random.Generator) -> None:
    """A stroke that touches 5 % of the plate's area, and a change everywhere, each on top of the one before.

    The worst by the clock is what other work on the machine makes it; the processor's own times are the model's.
    """
    area = bench.live.tables.patches.areas
    full, _ = timed(lambda: bench.full(Hollow(bench.live.places[0], 0.03, 0.1e-3)))
    print(
        f"full solve of a thinned plate: {full:.2f} s; quantiles: " + "  ".join(f"{q:.0%}" for q in QUANTILES)
    )
    radius = float(np.sqrt(0.05 * area.sum() / np.pi))
    for name, reach, estimated in (
        ("stroke on 5 %", radius, False),
        ("stroke on 5 % and its own estimate", radius, True),
        ("whole map", 10.0, False),
    ):
        trial, spent, busy = bench.live.untouched, [], []
        for _ in range(300):
            stroke = Hollow(bench.live.places[rng.integers(len(area))], reach, 2e-6)
            removal = trial.removal + stroke.at(bench.live.places)
            begin, working = time.perf_counter(), time.thread_time()
            trial = trial.with_removal(removal)
            _ = trial.hz, estimated and trial.doubt
            spent.append(time.perf_counter() - begin)
            busy.append(time.thread_time() - working)
        for clock, times in (("by the clock", spent), ("processor", busy)):
            print(
                f"{name}, ms {clock}: " + "  ".join(f"{1e3 * np.quantile(times, q):.2f}" for q in QUANTILES)
            )
        print(f"  the full solve takes {full / np.median(spent):.0f} times as long")


def report_errors(bench: Bench, count: int, rng: np.random.Generator) -> None:
    """Greatest error over the eight modes for each hollow, in quantiles over the hollows."""
    print("greatest error of 8 modes, % of the frequency: " + "  ".join(f"{q:.0%}" for q in QUANTILES))
    for depth in DEPTHS:
        errors, doubts, changes = [], [], []
        for _ in range(count):
            hollow = Hollow(
                bench.live.places[rng.integers(len(bench.live.places))], rng.uniform(*RADII), depth
            )
            trial = bench.live.untouched.with_removal(hollow.at(bench.live.places))
            full = bench.full(hollow)
            errors.append(np.abs(trial.hz / full - 1).max())
            doubts.append(trial.doubt.max())
            changes.append(np.abs(full / bench.live.modes.hz[:8] - 1).max())
        for name, share in (("change", changes), ("error", errors), ("its own estimate", doubts)):
            line = "  ".join(f"{100 * np.quantile(share, q):.3f}" for q in QUANTILES)
            print(f"  {depth * 1e3:.1f} mm {name}: {line}")
        within = np.mean(np.array(errors) <= ALLOWED[depth])
        covered = np.mean(np.array(errors) <= np.array(doubts))
        print(f"  {within:.1%} within {ALLOWED[depth]:.1%}; the estimate covers {covered:.0%}")


def main() -> None:
    rng = np.random.default_rng(20)
    with threadpool_limits(1):
        bench = set_up()
        report_times(bench, rng)
        report_errors(bench, int(sys.argv[1]) if len(sys.argv) > 1 else 200, rng)


if __name__ == "__main__":
    main()
