"""Takes in which something loose rattles, and good ones: ``python -m tests.trials.rattling_takes [--count N] [--seed S]``.

A loose part is thrown up by the plate and falls back on it again and again while the plate moves: each time it strikes
the plate, and itself rings shortly. Told is how often such takes are doubted, by how much weaker the rattle is than the
tap, and the twin: how often good takes are doubted, in a dry room and in one that answers.
"""

import argparse
import sys
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from solver.advice.tap_reading import read_taps
from solver.core.arrays import Floats
from solver.core.errors import InputError
from tests.measured.simulated_taps import RATE, Simulated, simulate_modes, struck
from tests.trials.taps_in_rooms import CASES, drawn_hz, heard_in, in_a_room, tapped

RATTLE_DB = (-12.0, -20.0, -30.0)
"""How much weaker the loose part is heard than the tap."""

DRY, ROOM = "good, dry", "good, in a room"
KINDS = (DRY, ROOM, *(f"rattle at {level:.0f} dB" for level in RATTLE_DB))


@dataclass(frozen=True)
class Doubt:
    """Whether a take was doubted by the sound ``alone`` and ``with_plate``; ``refused`` as no taps at all."""

    alone: bool = False
    with_plate: bool = False
    refused: bool = False


def with_a_rattle(rng: np.random.Generator, take: Simulated, level_db: float) -> Floats:
    """Return the sound of a take with a loose part on the plate: its strikes die away with the plate's motion."""
    pushes = np.zeros(len(take.sound))
    lasts = rng.uniform(0.05, 0.2)
    for free in take.free:
        times = np.cumsum(rng.exponential(rng.uniform(0.004, 0.02), 60))
        for time in times[times < 3 * lasts]:
            length = int(rng.uniform(0.0003, 0.001) * RATE)
            at = int(free + time * RATE)
            push = np.sin(np.pi * (np.arange(length) + 0.5) / length)[: max(0, len(pushes) - at)]
            pushes[at : at + length] += rng.uniform(0.3, 1.0) * np.exp(-time / lasts) * push
    own = struck(pushes, float(np.exp(rng.uniform(np.log(400), np.log(3000)))), float(rng.uniform(3, 15)))
    plate = np.zeros(len(pushes))
    for hz, q in zip(take.hz, take.q, strict=True):
        plate += rng.normal() / np.sqrt(hz / 100) * struck(pushes, hz, q)
    loud = 10 ** (level_db / 20) * float(np.abs(take.sound).max())
    return np.asarray(take.sound + loud * sum(answer / np.abs(answer).max() for answer in (own, plate)))


def doubts(seed: int, number: int) -> Iterator[tuple[str, Doubt]]:
    """Yield whether a take is doubted, good and, of every third take, with rattles."""
    for kind, level in zip(KINDS, (None, None, *RATTLE_DB), strict=True):
        if level is not None and number % 3:
            continue
        rng = np.random.default_rng([seed, number])
        plate = tapped(CASES[number % len(CASES)])
        take = simulate_modes(rng, drawn_hz(rng, plate), float(rng.uniform(15, 40)))
        answered = in_a_room(rng, take) if kind == ROOM else take.sound
        sound = answered if level is None else with_a_rattle(rng, take, level)
        try:
            heard = heard_in(sound)
        except InputError:
            yield kind, Doubt(refused=True)
        else:
            yield kind, Doubt(heard.doubtful, read_taps(heard, plate).doubtful)


def main() -> None:
    """Print one line for each kind of take."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=6)
    asked = parser.parse_args()
    found = []
    for number in range(asked.count):
        for kind, doubt in doubts(asked.seed, number):
            found.append((kind, doubt))
            print(number, kind, doubt, file=sys.stderr, flush=True)
    for kind in KINDS:
        of_kind = [doubt for one, doubt in found if one == kind]
        with_plate, alone, refused = (
            sum(getattr(doubt, name) for doubt in of_kind) for name in ("with_plate", "alone", "refused")
        )
        print(
            f"{kind}: of {len(of_kind)} takes {with_plate} doubted beside the plate, {alone} by the sound alone, "
            f"{refused} refused"
        )


if __name__ == "__main__":
    main()
