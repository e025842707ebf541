"""Make the stored reference frequencies: ``python -m tests.validation.make_references [NAME...]``.

Every plate is solved by CalculiX as a 3-D solid on two meshes. What the finer one is still off by is judged
from their difference, as if it fell with the square of the size; on the ellipse it falls with its cube.

A plate with a hollow ("violin-top at 85,45") is meshed anew at the thinned thickness, on the same two plan meshes as
before, so that what a mesh is off by drops out of the change.
"""

import json
import sys
import time
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import TypedDict

from tests.validation.hollowed_plates import HOLLOWED, Hollowed
from tests.validation.solid import ccx
from tests.validation.solid.plan_mesh import plan_mesh
from tests.validation.solid.plate import ReferencePlate
from tests.validation.solid.wedges import wedge_mesh
from tests.validation.solid_plates import PLATES

STORE = Path(__file__).with_name("references.json")
STORE_HOLLOWED = Path(__file__).with_name("references_hollowed.json")
COUNT = 10
"""Elastic modes kept: eight are compared, two more show that none was missed."""


@dataclass(frozen=True)
class Division:
    """How finely a plate is divided: plan size, layers through it, elements across the bar and down it."""

    size_mm: float
    layers: int
    bar_across: int = 1
    bar_layers: int = 1


class Run(TypedDict):
    """One solution: its division, unknowns, seconds in CalculiX, and frequencies [Hz]."""

    division: dict[str, float]
    unknowns: int
    seconds: float
    hz: list[float]


class Reference(TypedDict):
    """What is known of one plate: both runs, and by how much the finer is judged to be off [%]."""

    made: str
    program: str
    element: str
    error_pct: list[float]
    runs: list[Run]


class HollowedReference(TypedDict):
    """A plate after a hollow: the hollow, and the runs on the same divisions as the plate before."""

    made: str
    program: str
    element: str
    hollow: dict[str, str | float]
    runs: list[Run]


LIVE = Division(10, 1)
"""The quick division of the ellipse that the tests solve again."""

PLAIN = (Division(10, 2), Division(5, 2))
BARRED = (Division(12, 2, 2, 3), Division(7, 3, 4, 4))
CHOSEN = {
    "ellipse-bar-low": (Division(12, 2, 2, 2), Division(8, 3, 4, 2)),
    "ellipse-bar-high": (Division(12, 2, 2, 3), Division(8, 2, 4, 4)),
    "violin-top": (Division(10, 2), Division(6, 2)),
    "violin-back": (Division(10, 2), Division(6, 2)),
    "violin-top-bar": (Division(12, 2, 2, 3), Division(8, 2, 3, 3)),
    "spruce-panel": (Division(18, 2), Division(11, 2)),
    "sitka-flat": (Division(10, 1), Division(5, 2)),
    "cap": (Division(11, 1), Division(6, 1)),
}


def divisions(plate: ReferencePlate) -> tuple[Division, Division]:
    """The coarser and the finer division for a plate."""
    return CHOSEN.get(plate.name, BARRED if plate.bar else PLAIN)


def solve(plate: ReferencePlate, division: Division) -> Run:
    """One run of CalculiX."""
    plan = plan_mesh(plate, division.size_mm * 1e-3, division.bar_across)
    mesh = wedge_mesh(plate, plan, division.layers, division.bar_layers)
    start = time.perf_counter()
    hz = ccx.solve(mesh, plate.wood, plate.bar.wood if plate.bar else None, COUNT)
    seconds = round(time.perf_counter() - start, 1)
    return Run(division=asdict(division), unknowns=mesh.unknowns, seconds=seconds, hz=[float(f) for f in hz])


def reference(plate: ReferencePlate) -> Reference:
    """Both runs and the judgement of the finer one."""
    coarse, fine = (solve(plate, d) for d in divisions(plate))
    ratio = (fine["division"]["size_mm"] / coarse["division"]["size_mm"]) ** 2
    off = [
        round(100 * abs(c - f) / f * ratio / (1 - ratio), 3)
        for c, f in zip(coarse["hz"], fine["hz"], strict=True)
    ]
    return Reference(
        made=date.today().isoformat(),
        program=f"CalculiX {ccx.version()}",
        element="C3D15",
        error_pct=off,
        runs=[coarse, fine],
    )


def hollowed_reference(hollowed: Hollowed, before: Reference) -> HollowedReference:
    """Both runs of a plate with a hollow.

    Raises
    ------
    RuntimeError
        If the meshes are not those of the stored plate before: then that has to be made again first.
    """
    runs = [solve(hollowed.after, d) for d in divisions(hollowed.before)]
    for run, first in zip(runs, before["runs"], strict=True):
        if (run["division"], run["unknowns"]) != (first["division"], first["unknowns"]):
            raise RuntimeError(f"{hollowed.plate} was stored on another mesh; make it again first")
    return HollowedReference(
        made=date.today().isoformat(),
        program=f"CalculiX {ccx.version()}",
        element="C3D15",
        hollow=asdict(hollowed),
        runs=runs,
    )


def main(names: list[str]) -> None:
    """Solve the named plates, or all, and keep what the others already have."""
    for name in names or [*PLATES, *HOLLOWED]:
        plates = json.loads(STORE.read_text()) if STORE.exists() else {}
        if name in HOLLOWED:
            _keep(STORE_HOLLOWED, name, hollowed_reference(HOLLOWED[name], plates[HOLLOWED[name].plate]))
        else:
            _keep(STORE, name, reference(PLATES[name]))


def _keep(store: Path, name: str, made: Reference | HollowedReference) -> None:
    """Put one reference in its store, in the order of the plates, and say what came out."""
    stored = json.loads(store.read_text()) if store.exists() else {}
    stored[name] = made
    order = [known for known in (*PLATES, *HOLLOWED) if known in stored]
    store.write_text(json.dumps({known: stored[known] for known in order}, indent=1) + "\n")
    print(f"{name}: {made['runs'][-1]['hz']}, {made['runs'][-1]['seconds']} s", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
