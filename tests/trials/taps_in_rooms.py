"""Which mode a tone is said to be, where a room answers and other things ring: ``python -m tests.trials.taps_in_rooms``.

Plates are drawn as the program believes them possible: all tones together by what is not known of wood and thickness. They
are tapped in rooms of different reverberation, with up to three things on the bench that ring along, stronger or weaker.
Told is how often a number is given wrongly, and the twin: how often a right and strong tone gets none. "Alike" is the
same reading of the same tones with all of them taken for equally strong.
"""

import argparse
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
from scipy.signal import fftconvolve, resample_poly

from solver.advice.fit_states import parameter_covariance
from solver.advice.tap_reading import MOST_COMPUTED, TappedPlate, TapReading, read_taps
from solver.advice.tone_response import meshed, tone_response
from solver.commands.tap import tapped_plate
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.measured.recording import RATE_HZ, Recording
from solver.measured.tap_tones import TapTones, hear_tones
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_folder
from tests.measured.simulated_taps import RATE, Simulated, simulate_modes

CASES = ("violin-top-finished", "viola-top")
ALIKE_DB = -12.3
"""A level at which a tone is the plate's as often as was once taken of all."""

STRONG_DB = -6.0
"""A tone no more than this below the strongest is one that a maker hears and wants named."""

SAME = 0.008
"""A tone this near to a mode, as a share of it, is that mode's."""

DRY, HALL = "dry", "room"


@dataclass(frozen=True)
class Count:
    """Numbers given ``right`` and ``wrong``, ``strong`` tones of numbered modes, those ``doubted``, takes ``refused``."""

    right: int = 0
    wrong: int = 0
    strong: int = 0
    doubted: int = 0
    refused: int = 0

    def __add__(self, other: "Count") -> "Count":
        return Count(
            self.right + other.right,
            self.wrong + other.wrong,
            self.strong + other.strong,
            self.doubted + other.doubted,
            self.refused + other.refused,
        )


@cache
def tapped(case: str) -> TappedPlate:
    """Return a demonstration plate, solved, as taps are held against it."""
    folder = read_folder(read_description(Path("cases") / case))
    plate = folder.plate
    return tapped_plate(folder, lambda doubts: tone_response(meshed(plate), plate, doubts, MOST_COMPUTED))


def drawn_hz(rng: np.random.Generator, plate: TappedPlate) -> Floats:
    """Return the modes of a plate as it may be in truth."""
    response = plate.response
    known = parameter_covariance(plate.prior, [plate.doubts])
    covariance = response.slopes @ known @ response.slopes.T + response.own_covariance
    hz = np.exp(rng.multivariate_normal(np.log(response.modes.hz), covariance))
    return np.asarray(hz)


def in_a_room(rng: np.random.Generator, take: Simulated) -> Floats:
    """Return the sound of a take where the walls answer and up to three other things ring along."""
    sound = take.sound.copy()
    loudest = float(np.abs(take.strengths).max())
    for _ in range(int(rng.integers(0, 4))):
        hz, q = np.exp(rng.uniform(np.log(70), np.log(900))), np.exp(rng.uniform(np.log(20), np.log(200)))
        for free in take.free:
            since = np.arange(len(sound) - free) / RATE
            size = loudest * 10 ** (rng.uniform(-30, 3) / 20)
            sound[free:] += size * np.exp(-np.pi * hz / q * since) * np.sin(2 * np.pi * hz * since)
    seconds = rng.uniform(0.15, 0.5)  # until the room has fallen by 60 dB
    time = np.arange(int(seconds * RATE)) / RATE
    answer = rng.normal(size=len(time)) * 10 ** (-3 * time / seconds)
    answer *= 10 ** (rng.uniform(-25, -8) / 20) / np.linalg.norm(answer)
    answer[0] += 1
    return np.asarray(fftconvolve(sound, answer)[: len(sound)])


def heard_in(sound: Floats) -> TapTones:
    """Return the tones of a sound; raises InputError if there are none."""
    slow = resample_poly(0.5 * sound / np.abs(sound).max(), 40, 441)
    assert RATE * 40 // 441 == RATE_HZ
    return hear_tones([Recording("take", slow, np.zeros(len(slow), dtype=bool))])


def takes(count: int, seed: int, where: str) -> Iterator[tuple[Floats, TapTones | None, TappedPlate]]:
    """Yield the true modes, the tones heard (None if the recording is refused) and the plate as it is described."""
    for number in range(count):
        rng = np.random.default_rng([seed, number])
        plate = tapped(CASES[number % len(CASES)])
        hz = drawn_hz(rng, plate)
        take = simulate_modes(rng, hz, float(rng.uniform(15, 40)))
        try:
            heard = heard_in(take.sound if where == DRY else in_a_room(rng, take))
        except InputError:
            yield hz, None, plate
        else:
            yield hz, heard, plate


def judged(hz: Floats, reading: TapReading) -> Count:
    """Count the numbers that a reading gives, by the true modes."""
    right = wrong = strong = doubted = 0
    for place, tone in enumerate(reading.tones):
        off = np.abs(hz / tone.hz - 1)
        true = int(off.argmin()) if off.min() < SAME else None
        number = None if true is None or true >= len(reading.modes.hz) else reading.modes.names[true]
        name = reading.name(place)
        right += name is not None and name == number
        wrong += name is not None and name != number
        strong += number is not None and tone.level_db >= STRONG_DB
        doubted += number is not None and tone.level_db >= STRONG_DB and name is None
    return Count(right, wrong, strong, doubted)


def alike(heard: TapTones) -> TapTones:
    """Return tones as if all of them were equally strong."""
    return replace(heard, tones=tuple(replace(tone, level_db=ALIKE_DB) for tone in heard.tones))


def judged_takes(count: int, seed: int, where: str) -> tuple[Count, Count]:
    """Return what comes of takes by strength, and with all tones alike."""
    by_strength, all_alike = Count(), Count()
    for hz, heard, plate in takes(count, seed, where):
        reading = None if heard is None else read_taps(heard, plate)
        if heard is None or reading is None or reading.doubtful:
            by_strength, all_alike = by_strength + Count(refused=1), all_alike + Count(refused=1)
            continue
        by_strength += judged(hz, reading)
        all_alike += judged(hz, replace(read_taps(alike(heard), plate), tones=heard.tones))
    return by_strength, all_alike


def main() -> None:
    """Print one line for each kind of room and way of reading."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    for where in (DRY, HALL):
        for words, count in zip(
            ("by strength", "alike"), judged_takes(asked.count, asked.seed, where), strict=True
        ):
            print(f"{where}, {words}: {asked.count} takes, {count}", flush=True)


if __name__ == "__main__":
    main()
