"""Does the fit end in the same place wherever its search begins, or say that it does not know?

``python -m tests.trials.fit_starts --count 60 --seed 1``: plausible plates with a first entry by a maker's ear, scales and
caliper; each is fitted from what is believed before and from two places drawn from that belief. ``--finer`` solves on
elements as small as the program's own, which takes five times as long.
"""

import argparse
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits

from solver.advice.fit_doubts import doubts_in
from solver.advice.fit_entry import FitEntry
from solver.advice.fit_states import PlateState, parameter_covariance, plate_states
from solver.advice.fitted_wood import WoodFit
from solver.advice.forecast import forecast_tones
from solver.advice.tone_response import meshed, tone_response
from solver.advice.wood_fit import fit_wood
from solver.advice.wood_prior import WoodPrior, wood_prior
from solver.commands.fit import chosen_entries, fit_entries
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate.wood_posterior import TWO_SIDED_95
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_folder
from tests.trials.asked import ask
from tests.trials.makings import tasks
from tests.trials.plausible_plates import plausible_plate
from tests.trials.seen_numbers import patterns_of, seen_numbers
from tests.trials.simulated_maker import Maker, a_day, true_plate

SAME = 0.005
"""Of ``ln f``: what was heard ends as near as this wherever the search began."""
UNSURE = ("several woods", "unsure")
"""Doubts by which the fit says that it does not know."""
COARSE = 36 * MM
"""Elements of a violin's plate, twice the program's own: the search is the same and takes a fifth of the time."""
LEAST_MM = 2.0


@dataclass(frozen=True)
class Compared:
    """What came of one plate: ``heard`` and ``others`` [-] by how much ``ln f`` of tones that were heard, and of
    all others, ends apart at most; ``is_within`` if each end lies in the intervals of the first; ``says`` what the first
    doubts; ``steps`` from each start; ``shown`` [-] by how much ``ln f`` of a tone differs in what is computed right after
    of the plate of the wood found."""

    name: str
    heard: float
    others: float
    is_within: bool
    says: tuple[str, ...]
    steps: tuple[int, ...]
    shown: float

    @property
    def is_same(self) -> bool:
        """Tell whether what was heard ends in one place and all else within what is said of it."""
        return self.heard <= SAME and self.is_within

    @property
    def is_honest(self) -> bool:
        """Tell whether all starts end in one place, or the fit says that it does not know."""
        return self.is_same or bool({*UNSURE, "refused"} & {*self.says})


def written(kind: str, seed: int, number: int, folder: Path) -> Path:
    """Write the folder of a plausible plate with one entry of its log, and return it."""
    plausible = plausible_plate(kind, seed, number)
    truth, room = true_plate(plausible), a_day(plausible.noise)
    patterns = patterns_of(plausible.plate)
    seen = seen_numbers(patterns, truth.modes())
    maker = Maker(folder, plausible, LEAST_MM)
    mass_g = maker.weigh(truth, room)
    maker.begin(truth, {number: seen.hz(number) for number in ("2", "5")}, mass_g)
    numbered, beside = maker.tap(seen_numbers(patterns, truth.modes(room), seen))
    options = [f"--mode={name}={hz}" for name, hz in numbered.items()] + [f"--tone={hz}" for hz in beside]
    options += [f"--temperature={room.temperature_c}", f"--humidity={room.humidity_pct}", f"--mass={mass_g}"]
    answer = ask("log", folder, *options, "--as-typed")
    assert answer.code == 0, answer.refusal
    return folder


def compared(name: str, folder: Path, seed: int, size: float | None) -> Compared:
    """Fit a folder's log from three starts, and say how far apart they end."""
    read = read_folder(read_description(folder))
    names = chosen_entries(read.description.log, ())
    entries, reference = fit_entries(read, names)
    prior = wood_prior(read.stated.wood, is_weighed=True)
    element = None if size is None else size * float(np.sqrt(read.stated.outline.area / 0.055))
    fits = []
    for start in (None, *_starts(entries, prior, element, seed)):
        try:
            fits.append(fit_wood(entries, prior, reference, element, start))
        except InputError:
            return Compared(name, 0.0, 0.0, False, ("refused",), (), 0.0)
    first = fits[0]
    heard = np.zeros(len(first.keys), dtype=bool)
    heard[[tone.pairing.mode or 0 for tone in first.tones if tone.is_used]] = True
    apart = np.array([_apart(first, other) for other in fits[1:]]).max(axis=0)
    return Compared(
        name,
        float(apart[heard].max(initial=0.0)),
        float(apart[~heard].max(initial=0.0)),
        bool(np.all(apart <= np.maximum(TWO_SIDED_95 * first.spreads, SAME))),
        tuple(doubt.kind for doubt in doubts_in(first)),
        tuple(fit.steps for fit in fits),
        _shown_apart(first, entries[-1], element),
    )


def _apart(one: WoodFit, other: WoodFit) -> Floats:
    """By how much ``ln f`` (m,) of each tone in order of pitch differs."""
    return np.asarray(np.abs(np.log(np.sort(other.expected) / np.sort(one.expected))))


def _shown_apart(fit: WoodFit, newest: FitEntry, size: float | None) -> float:
    """By how much at most the tones that every command computes after the fit are others than it expected."""
    plate = fit.posterior.applied(newest.plate)
    forecast = forecast_tones(fit.posterior, tone_response(meshed(plate, size), plate, newest.doubts))
    expected = fit.expected[fit.states == fit.states.max()][: len(forecast.expected)]
    return float(np.abs(np.log(forecast.expected[: len(expected)] / expected)).max())


def _starts(
    entries: Sequence[FitEntry], prior: WoodPrior, size: float | None, seed: int
) -> tuple[Floats, Floats]:
    """Draw two other places to begin at from what is believed before; such a wood must be possible."""
    noise = np.random.default_rng(seed)
    (state,) = plate_states([(entries[0].plate, entries[0].doubts)], size)
    spread = parameter_covariance(prior, [state.doubts])
    return _start(noise, state, prior, spread), _start(noise, state, prior, spread)


def _start(noise: np.random.Generator, state: PlateState, prior: WoodPrior, spread: Floats) -> Floats:
    while True:
        theta = noise.multivariate_normal(np.zeros(len(spread)), spread)
        if state.at(prior, theta).wood.is_stable():
            return np.asarray(theta)


def row(plate: Compared) -> str:
    """Return one line on a plate."""
    end = "same" if plate.is_same else "not the same, and says so" if plate.is_honest else "NOT THE SAME"
    says = ", ".join(plate.says) or "nothing"
    return (
        f"{plate.name:16} {end}: heard {100 * plate.heard:.2f} %, others {100 * plate.others:.1f} % apart, steps "
        f"{', '.join(map(str, plate.steps))}; shown right after {100 * plate.shown:.3f} % off; says {says}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--finer", action="store_true")
    asked = parser.parse_args()
    half, quarter = asked.count // 2, asked.count // 4
    plates = []
    for kind, number in tasks(half, asked.count - half - quarter, quarter):
        with threadpool_limits(1), tempfile.TemporaryDirectory() as place:
            folder = written(kind, asked.seed, number, Path(place) / "plate")
            plates.append(compared(f"{kind}:{number}", folder, number, None if asked.finer else COARSE))
        print(row(plates[-1]), flush=True)
    same, honest = sum(plate.is_same for plate in plates), sum(plate.is_honest for plate in plates)
    unknown, neither = honest - same, len(plates) - honest
    print(
        f"{len(plates)} plates from three starts: {same} the same, {unknown} say they do not know, {neither} neither"
    )


if __name__ == "__main__":
    main()
