"""Whether modes 2 and 5 are found on plausible plates, and whether they are the same tones once a hollow was taken.

``python -m tests.trials.plausible_identity --count 200 --seed 1``: violins, violas and cellos, tops with and without holes
and bar, backs. A number keeps its tone if the tone that bears it afterwards is, of all, by shape and weighed by mass most
like the one that bore it before.
"""

import argparse
import multiprocessing
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

import numpy as np
from threadpoolctl import threadpool_limits

from meshes.removal import Hollow
from solver.advice.mode_tracking import likeness, weighed_shapes
from solver.core.arrays import Floats
from solver.core.units import MM
from solver.modal.modes import Modes, solve_modes
from solver.plate.mass import survey_cells
from solver.plate.thinning import thinned
from tests.trials.plausible_plates import PlausiblePlate, plausible_plate

FORMS = (
    ("violin-top", True, True),
    ("violin-top", True, False),
    ("violin-back", False, False),
    ("viola-top", True, True),
    ("violin-top", False, False),
    ("cello-top", True, True),
    ("viola-top", True, False),
    ("viola-back", False, False),
    ("cello-top", False, False),
    ("cello-back", False, False),
)
"""Kinds of plates in turn, with holes and with a bar or not."""
ASKED = ("2", "5")
HOLLOW_MM, RADII_MM = 0.4, (18.0, 40.0)
"""Depth of the hollow, and least and greatest radius on a violin."""
TONES = 10


@dataclass(frozen=True)
class Found:
    """A number on one plate before the hollow and after: what ``became`` of it, and of how many tones the answer speaks."""

    plate: str
    number: str
    tones: int
    became: str


def look_at(task: tuple[int, int]) -> list[Found]:
    """Return what becomes of the numbers on one plate, by the run's seed and the plate's place in it."""
    seed, place = task
    kind, holes, bar = FORMS[place % len(FORMS)]
    with threadpool_limits(1):
        drawn = plausible_plate(kind, seed, place, holes, bar)
        plate = drawn.plate
        before, after = solve_modes(plate, TONES), solve_modes(thinned(plate, hollow(drawn)), TONES)
    name = f"{kind} {place}{' with holes' if plate.outline.holes else ''}{' and bar' if plate.bar else ''}"
    alike = likeness(*(weighed_shapes(modes, survey_cells(plate.outline)) for modes in (before, after)))
    return [
        Found(name, number, len(before.pattern(number).places), became(before, after, alike, number))
        for number in ASKED
    ]


def became(before: Modes, after: Modes, alike: Floats, number: str) -> str:
    """Say what became of a number; ``alike`` (k, k) tells which tone before is which after."""
    if number not in before.names:
        return "not found"
    if number not in after.names:
        return "lost by the hollow"
    followed = int(np.argmax(alike[before.names.index(number)]))
    if after.names[followed] == number:
        return "kept"
    pair = followed in after.pattern(number).places
    return (
        "on the other tone of a stated pair after the hollow" if pair else "on another tone after the hollow"
    )


def hollow(drawn: PlausiblePlate) -> Hollow:
    """Draw a hollow somewhere on the wood."""
    cells = survey_cells(drawn.plate.outline)
    middle = cells.points[drawn.noise.choice(len(cells.points), p=cells.areas / cells.areas.sum())]
    return Hollow(middle, float(drawn.noise.uniform(*RADII_MM)) * drawn.scale * MM, HOLLOW_MM * MM)


def report(found: Sequence[Found]) -> Iterator[str]:
    """Yield a line for each number that was not kept, then the counts."""
    for one in found:
        if one.became != "kept":
            yield f"{one.plate}: mode {one.number} {one.became}"
    for number in ASKED:
        mine = [one for one in found if one.number == number]
        shared = sum(one.tones > 1 for one in mine)
        said = ", ".join(
            f"{what} {count}" for what, count in Counter(one.became for one in mine).most_common()
        )
        yield f"mode {number}, {len(mine)} plates: {said}; stated to be shared {shared}"


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    todo = [(asked.seed, place) for place in range(asked.count)]
    with ProcessPoolExecutor(asked.workers, multiprocessing.get_context("spawn")) as pool:
        found = [one for plate in pool.map(look_at, todo) for one in plate]
    print("\n".join(report(found)))


if __name__ == "__main__":
    main()
