"""The states of a plate that were measured - rough, thinned, with holes - answering together to wood, arch and caliper."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from threadpoolctl import threadpool_limits

from solver.advice.joint_belief import Belief, in_common, side_by_side
from solver.advice.mode_tracking import likeness, matched, weighed_shapes
from solver.advice.plate_doubt import Doubts
from solver.advice.tone_response import (
    ARCH,
    PARAMETERS,
    MeshedPlate,
    ToneResponse,
    meshed,
    response_again,
    response_of,
)
from solver.advice.wood_posterior import with_wood
from solver.advice.wood_prior import FITTED, WoodPrior
from solver.arrays import Floats, Ints
from solver.modal.modes import modes_of
from solver.plate.mass import survey_cells
from solver.plate.plate import Plate
from solver.plate.reshaped_arch import ArchForm, with_arch_form

_ALIKE = 0.5
"""Likeness from which two tones of two states count as one, with one error of the model."""
_SOLVED = np.array([name in (*FITTED, *ARCH) for name in PARAMETERS])
"""Parameters (q,) that the plate is solved with; the caliper's and the bar's are taken to first order."""


@dataclass(frozen=True, eq=False)
class PlateState:
    """One state of the plate, of the wood believed in before the fit."""

    on: MeshedPlate
    doubts: Doubts

    def at(self, prior: WoodPrior, theta: Floats) -> Plate:
        """Return the plate at some deviation ``theta`` (q,) of the parameters from the belief before."""
        shares = dict(zip(FITTED, np.exp(theta[: len(FITTED)]), strict=True))
        wood = replace(prior.wood, **{c: getattr(prior.wood, c) * float(shares[c]) for c in FITTED})
        start = len(FITTED)
        form = ArchForm(*(float(value) for value in theta[start : start + len(ARCH)]))
        return with_wood(with_arch_form(self.on.plate, form), wood)


def plate_states(plates: Sequence[tuple[Plate, Doubts]], size: float | None = None) -> tuple[PlateState, ...]:
    """Return the states with their meshes; raises InputError if one has none."""
    return tuple(PlateState(meshed(plate, size), doubts) for plate, doubts in plates)


@dataclass(frozen=True, eq=False)
class Linearised:
    """All states at deviations ``theta`` (q,), and their answers to first order from there."""

    theta: Floats
    responses: tuple[ToneResponse, ...]

    @property
    def names(self) -> tuple[str | None, ...]:
        """The trade's numbers of all tones (m,), state by state."""
        return tuple(name for response in self.responses for name in response.modes.names)

    @property
    def states(self) -> Ints:
        """The state (m,) of each tone."""
        return np.repeat(np.arange(len(self.responses)), [len(r.modes.hz) for r in self.responses])

    @property
    def slopes(self) -> Floats:
        """Slopes (m, q) of all tones."""
        return np.vstack([response.slopes for response in self.responses])

    @property
    def constant(self) -> Floats:
        """``ln f`` (m,) that the slopes lead to where no parameter deviates."""
        logs = np.log(np.concatenate([response.modes.hz for response in self.responses]))
        return np.asarray(logs - self.slopes @ self._solved_at)

    @property
    def _solved_at(self) -> Floats:
        return np.where(_SOLVED, self.theta, 0.0)

    def log_mass(self, state: int) -> tuple[Floats, float]:
        """Return the slopes (q,) of ``ln m`` of a state and what they lead to where no parameter deviates."""
        response = self.responses[state]
        return response.mass_slopes, float(
            np.log(response.modes.mass) - response.mass_slopes @ self._solved_at
        )

    def moved(self, theta: Floats, which: slice = slice(None)) -> float:
        """Return by how much at most a step to ``theta`` moves ``ln f`` of any tone, by some of the parameters."""
        step = np.where(_SOLVED, theta - self.theta, 0.0)
        return float(np.abs(self.slopes[:, which] @ step[which]).max())

    def belief(self, prior: Floats, apart: Floats) -> Belief:
        """Return the law of parameters and tones together (q + m,).

        ``prior`` (q, q) is the covariance of the parameters before the fit, ``apart`` (m, m) what moves tones besides.
        """
        to_all = np.vstack([np.eye(len(prior)), self.slopes])
        covariance = to_all @ prior @ to_all.T
        covariance[len(prior) :, len(prior) :] += apart
        return Belief(np.concatenate([np.zeros(len(prior)), self.constant]), covariance)


def parameter_covariance(prior: WoodPrior, doubts: Sequence[Doubts]) -> Floats:
    """Return the covariance (q, q) of all parameters before the fit: the wood's, and of the plate the widest doubts."""
    out = np.zeros((len(PARAMETERS), len(PARAMETERS)))
    out[: len(FITTED), : len(FITTED)] = prior.covariance
    for name in (*ARCH, "bar"):
        out[PARAMETERS.index(name), PARAMETERS.index(name)] = max(getattr(d, name) for d in doubts) ** 2
    caliper = 1e3 * max(d.caliper for d in doubts)
    out[PARAMETERS.index("caliper"), PARAMETERS.index("caliper")] = caliper**2
    return out


def linearised(
    states: Sequence[PlateState],
    prior: WoodPrior,
    theta: Floats,
    count: int,
    before: Linearised | None = None,
    is_reshaped: bool = True,
) -> Linearised:
    """Solve ``count`` tones of every state in full at ``theta`` and return their slopes there.

    With ``before``, an earlier result, only the slopes by the wood are made anew, and by the arch if it ``is_reshaped``.
    """
    responses = []
    for i, state in enumerate(states):
        with threadpool_limits(1, user_api="blas"):
            model = state.on.model(state.at(prior, theta))
            modes = modes_of(model, count)
            if before is None:
                responses.append(response_of(state.on, model, modes, state.doubts))
            else:
                responses.append(
                    response_again(before.responses[i], state.on, model, modes, state.doubts, is_reshaped)
                )
    return Linearised(theta, tuple(responses))


@dataclass(frozen=True, eq=False)
class Apart:
    """What moves the tones of all states besides the parameters.

    ``covariance`` (m, m); ``alike`` (m, m) is 1 between a tone and the same tone of another state, told by its shape.
    """

    covariance: Floats
    alike: Floats

    def with_unevenness(self, spread: float) -> Floats:
        """Return the covariance (m, m) if the wood is so uneven that each tone is off by ``spread`` [-] besides."""
        return np.asarray(self.covariance + spread**2 * self.alike)


def tones_apart(linear: Linearised, states: Sequence[PlateState]) -> Apart:
    """Return what moves the tones of all states besides the parameters.

    Uneven thickness is each state's own; holes and Poisson's ratios are the same in all; so is the rest of each tone.
    """
    common = in_common([response.common for response in linear.responses])
    uneven = side_by_side([response.uneven for response in linear.responses])
    same = _same_tones(linear, states)
    rest = np.array([response.rest for response in linear.responses])[linear.states, None] * same
    return Apart(common @ common.T + uneven @ uneven.T + rest @ rest.T, same @ same.T)


def _same_tones(linear: Linearised, states: Sequence[PlateState]) -> Floats:
    """Return ones (m, t) in a column for each tone of the first state, and for each of another that is like none."""
    if len(states) == 1:
        return np.eye(len(linear.names))
    cells = survey_cells(states[0].on.plate.outline)
    first = weighed_shapes(linear.responses[0].modes, cells)
    rows: list[int] = []
    columns = len(first)
    for response in linear.responses:
        shapes = weighed_shapes(response.modes, cells)
        places = matched(shapes, first)
        alike = likeness(shapes, first)[np.arange(len(shapes)), places]
        for place, like in zip(places, alike, strict=True):
            rows.append(int(place) if like > _ALIKE else columns)
            columns += int(like <= _ALIKE)
    out = np.zeros((len(rows), columns))
    out[np.arange(len(rows)), rows] = 1.0
    return out
