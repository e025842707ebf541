"""A shaving on fitted wood: the tones expected before and after, and the interval of their change, which is far smaller."""

from dataclasses import replace

import numpy as np

from solver.advice.fitted_tones import FittedBelief, FittedChange, change_between, corrected, some_modes
from solver.advice.forecast import tone_keys
from solver.advice.shaving import LiveAnswer, Shaving
from solver.advice.tone_response import MeshedPlate


def fitted_shaving(shaving: Shaving, belief: FittedBelief, count: int) -> tuple[Shaving, FittedChange]:
    """Return the shaving at the frequencies expected, and the change of its ``count`` lowest tones."""
    bench, first = shaving.bench, np.arange(count)
    on = MeshedPlate(bench.plate, bench.mesh, bench.cubic)
    names = shaving.before.names[:count]
    before = belief.tones(on, shaving.models[0], some_modes(shaving.before, first, names))
    became = some_modes(shaving.after, shaving.places[:count], names)
    after = belief.tones(on, shaving.models[1], became)
    return _at_expected(shaving, before.factors, after.factors), change_between(before, after)


def _at_expected(shaving: Shaving, before: dict[str, float], after: dict[str, float]) -> Shaving:
    """Return the shaving with every frequency and mass times its factor; a tone after has the key of that before."""
    keys = tone_keys(shaving.before)
    share = np.ones(len(keys))
    for key, place in zip(keys, shaving.places, strict=True):
        share[place] = after.get(key, 1.0)
    mass = shaving.after.mass * after["mass"]
    live = shaving.live
    if live is not None:
        moved = share[live.places]
        live = LiveAnswer(live.hz * moved, live.off * moved, live.places)
    return replace(
        shaving,
        before=corrected(shaving.before, before),
        after=replace(shaving.after, hz=shaving.after.hz * share, mass=mass),
        live=live,
    )
