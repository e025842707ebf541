"""Which tone a wish is for: a number's, one by its place, or, of two that share a pattern, the one that was heard."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from solver.advice.fitted_tones import MASS
from solver.advice.plan_trials import PlanTrial
from solver.plate.mode_label import tone_key

_PLAINLY = 0.5
"""A heard tone is another than its number says where that one lies nearer by this factor."""


@dataclass(frozen=True)
class HeardElsewhere:
    """A mode that the log numbers at ``heard`` [Hz], nearer to a tone that shows its pattern too, known by ``key``."""

    name: str
    heard: float
    key: str


def with_keys(trial: PlanTrial, keys: Iterable[str]) -> PlanTrial:
    """Return the trial in which tones without a number are followed by their ``keys``, as "#6" for the 6th tone."""
    names = list(trial.modes.names)
    for key in keys:
        if key.startswith("#") and (place := int(key[1:]) - 1) < len(names) and names[place] is None:
            names[place] = key
    return replace(trial, modes=replace(trial.modes, names=tuple(names)))


def own_key(trial: PlanTrial, key: str) -> str:
    """Return by what a tone is known that is asked for by its place: its number, if it has one."""
    if not key.startswith("#") or (place := int(key[1:]) - 1) >= len(trial.modes.names):
        return key
    return tone_key(trial.modes.names[place], place)


def partners(trial: PlanTrial) -> tuple[str, ...]:
    """Return the keys of the tones that have part in a pattern whose number another tone bears."""
    places = [place for pattern in trial.modes.mixed for place in pattern.places]
    return tuple(dict.fromkeys(tone_key(trial.modes.names[place], place) for place in places))


def heard_elsewhere(
    trial: PlanTrial, names: Iterable[str], heard: Mapping[str, float]
) -> tuple[HeardElsewhere, ...]:
    """Return the modes among ``names`` whose tone ``heard`` [Hz] is another of those that show the pattern."""
    found = []
    for name in names:
        if name in heard and name in trial.modes.names:
            place = _nearest(trial, name, heard[name])
            key = tone_key(trial.modes.names[place], place)
            if key != name:
                found.append(HeardElsewhere(name, heard[name], key))
    return tuple(found)


def _nearest(trial: PlanTrial, name: str, heard: float) -> int:
    """Return the place of the tone that was heard: the one that bears the number, unless another lies plainly nearer."""
    own, logs = trial.row(name), np.log(trial.expected.hz)
    places = [place for place, part in enumerate(trial.modes.parts) if name in part]
    off = np.abs(logs[places] - np.log(heard))
    return places[int(off.argmin())] if float(off.min()) < _PLAINLY * abs(logs[own] - np.log(heard)) else own


def wishes_for(wanted: Mapping[str, float], elsewhere: Iterable[HeardElsewhere]) -> dict[str, float]:
    """Return the wishes by the keys of the tones that they are for; the mass keeps its name."""
    heard_as = {one.name: one.key for one in elsewhere}
    return {name if name == MASS else heard_as.get(name, name): value for name, value in wanted.items()}
