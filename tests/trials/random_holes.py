"""Random sound holes through the mesher and the solver: ``python -m tests.trials.random_holes [--count N] [--seed S]``.

Each plate must be solved, or refused by a sentence that names the place, within 4 s of processor time and 40,000 unknowns.
The holes are right ones, so a refusal is a fault too, and is counted. Every eighth plate is solved once more with its holes
traced at 0.4 mm without the tremor of a hand; the tones must agree.
"""

import argparse
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from meshes.arch_drawn import drawn_arch
from meshes.edge import Edge
from meshes.graduation import uniform_graduation
from meshes.outline import make_outline
from solver.core.errors import InputError
from solver.core.units import MM
from solver.modal.modes import Modes, solve_modes
from solver.modal.strains import FIELDS
from solver.plate.bar_place import check_place
from solver.plate.plate import Plate
from solver.plate.wood import Wood
from solver.plate_folder.schema import WoodTable
from solver.plate_folder.wood_table import make_wood
from solver.stock import usual_bar
from tests.trials.hole_shapes import Drawn, drawn, traced

MOST_SECONDS, MOST_UNKNOWNS, USUAL_UNKNOWNS = 4.0, 40_000, 30_000
FINE_MM = 0.4
LIMITS_PCT = {False: 0.2, True: 0.5}
"""Most by which a tone may differ from that of the finely traced holes: up to 2.5 mm between points, and beyond."""

_EVERY = 8
_MODES = 8


@dataclass(frozen=True)
class Outcome:
    """What came of one plate; ``off_pct`` is the largest difference from the fine tracing, where that was solved."""

    number: int
    kind: str
    spacing: float
    noise: float
    barred: bool
    seconds: float
    unknowns: int
    refusal: str = ""
    off_pct: float | None = None

    @property
    def fault(self) -> str:
        """Why this outcome is none that may be, or nothing."""
        if self.refusal:
            return "" if " near x = " in self.refusal else f"refused without a place: {self.refusal}"
        if self.seconds > MOST_SECONDS or self.unknowns > MOST_UNKNOWNS:
            return f"{self.seconds:.1f} s, {self.unknowns} unknowns"
        if self.off_pct is not None and self.off_pct > LIMITS_PCT[self.spacing > 2.5]:
            return f"{self.off_pct:.2f} % from the fine tracing"
        return ""


def outcome(seed: int, number: int, compared: bool) -> Outcome:
    """Solve the plate of this number; an error that is no ``InputError`` is let through."""
    rng = np.random.default_rng([seed, number])
    plate = drawn(rng)
    wants_bar = bool(rng.random() < 0.5)
    with TemporaryDirectory() as folder:
        begun = time.process_time()
        try:
            modes, barred = _solved(plate, traced(plate, Path(folder), rng), wants_bar)
        except InputError as refused:
            seconds = time.process_time() - begun
            return Outcome(
                number, plate.kind, plate.spacing, plate.noise, wants_bar, seconds, 0, str(refused)
            )
        seconds = time.process_time() - begun
        off = None
        if compared:
            fine, _ = _solved(plate, traced(plate, Path(folder), rng, FINE_MM), barred)
            off = 100 * float(np.abs(modes.hz / fine.hz - 1).max())
    unknowns = FIELDS * len(modes.points)
    return Outcome(number, plate.kind, plate.spacing, plate.noise, barred, seconds, unknowns, "", off)


def _solved(plate: Drawn, holes: tuple[Edge, Edge], wants_bar: bool) -> tuple[Modes, bool]:
    """The modes of the plate in spruce with these holes, and whether it has a bar."""
    outline = make_outline(plate.outline, holes)
    scale = plate.length / 355
    wood = spruce()
    bar = usual_bar(outline, wood) if wants_bar else None
    if bar is not None:
        check_place(bar, outline, "bar")
    arch = drawn_arch(outline, 15.5 * scale * MM, 9 * scale * MM)
    made = Plate(plate.kind, "top", outline, arch, uniform_graduation(2.8 * scale**0.8 * MM), wood, bar)
    return solve_modes(made, _MODES), bar is not None


def spruce() -> Wood:
    """Norway spruce of the tables."""
    return make_wood(WoodTable(species="Norway spruce", density_kg_m3=400.0), "wood")


def report(outcomes: Sequence[Outcome]) -> str:
    """Return what came of all, in a few lines."""
    solved = [o for o in outcomes if not o.refusal]
    refused = [o for o in outcomes if o.refusal]
    lines = [f"{len(outcomes)} plates: {len(solved)} solved, {len(refused)} right ones refused"]
    per_spacing = Counter(o.spacing for o in refused)
    lines += [f"  refused at {spacing} mm: {per_spacing[spacing]}" for spacing in sorted(per_spacing)]
    lines += [f"  {o.number} {o.kind}, {o.spacing} mm, noise {o.noise}: {o.refusal}" for o in refused]
    if solved:
        seconds, unknowns = (np.array([getattr(o, name) for o in solved]) for name in ("seconds", "unknowns"))
        lines.append(f"seconds: median {np.median(seconds):.2f}, most {seconds.max():.2f}")
        many = int((unknowns > USUAL_UNKNOWNS).sum())
        lines.append(
            f"unknowns: median {np.median(unknowns):.0f}, most {unknowns.max()}, {many} over {USUAL_UNKNOWNS}"
        )
    for wide in (False, True):
        off = [o.off_pct for o in solved if o.off_pct is not None and (o.spacing > 2.5) == wide]
        if off:
            spread = f"median {np.median(off):.3f} %, most {max(off):.3f} %"
            lines.append(f"{'beyond' if wide else 'up to'} 2.5 mm: {len(off)} compared, {spread}")
    lines += [
        f"FAULT {o.number} {o.kind}, {o.spacing} mm, noise {o.noise}, bar {o.barred}: {o.fault}"
        for o in outcomes
        if o.fault
    ]
    return "\n".join(lines)


def main() -> None:
    """Run the trial and print what came of it."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--count", type=int, default=300)
    asked.add_argument("--seed", type=int, default=17)
    asked.add_argument("--first", type=int, default=0)
    given = asked.parse_args()
    outcomes = []
    for number in range(given.first, given.first + given.count):
        outcomes.append(outcome(given.seed, number, number % _EVERY == 0))
        print(outcomes[-1], file=sys.stderr, flush=True)
    print(report(outcomes))


if __name__ == "__main__":
    main()
