"""The states of a plate that were measured - rough, thinned, with holes - answering together to wood, arch and caliper."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from threadpoolctl import threadpool_limits

from solver.advice.joint_belief import Belief, in_common, side_by_side
from solver.advice.mode_tracking import likeness, matched, same_tones, weighed_shapes
from solver.advice.tone_response import (
    MeshedPlate,
    SlopesAgain,
    ToneResponse,
    meshed,
    response_again,
    response_of,
)
from solver.advice.wood_prior import WoodPrior
from solver.core.arrays import Floats, Ints, freeze
from solver.modal.assembly import ModalModel
from solver.modal.modes import Modes, modes_of
from solver.modal.patterns import mode_patterns
from solver.plate.mass import survey_cells
from solver.plate.plate import Plate
from solver.plate.plate_doubt import Doubts
from solver.plate.reshaped_arch import ArchForm, with_arch_form
from solver.plate.wood_posterior import ARCH, FITTED, PARAMETERS, with_wood

_ALIKE = 0.5
"""Likeness from which two tones of two states count as one, with one error of the model."""
_SOLVED = np.array([name in (*FITTED, *ARCH) for name in PARAMETERS])
"""Parameters (q,) that the plate is solved with; the caliper's and the bar's are taken to first order."""
STEADY = 3e-3
"""Change of ``ln f`` that is none: what first order leaves goes with its square."""
_MOVED = 0.02
"""Change of ``ln f`` up to which an older state is not solved anew: to first order it is then right to 3 in 10 000."""
_WOOD_AGAIN, _ARCH_AGAIN = 0.003, 0.01
"""Change of ``ln f``, by all and by the arch's form, after which the slopes by the wood and by the arch are taken anew."""
_PATTERNS_AGAIN = 0.01
"""The same from which on the plate is near enough to rest that the patterns are to be those of its own arch."""
_SAME_ARCH = 0.8
"""Likeness of the shapes of two states from which a tone of the one answers to the arch as that of the other."""
_ARCH = slice(len(FITTED), len(FITTED) + len(ARCH))


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
    """Return the states with their meshes, the newest last; raises InputError if one has none.

    Those that differ from the newest in thickness alone have its mesh.
    """
    newest = meshed(plates[-1][0], size)
    older = [_of_one_mesh(plate, plates[-1][0], newest) or meshed(plate, size) for plate, _ in plates[:-1]]
    return tuple(PlateState(on, doubts) for on, (_, doubts) in zip((*older, newest), plates, strict=True))


def _of_one_mesh(plate: Plate, other: Plate, on: MeshedPlate) -> MeshedPlate | None:
    parts = ((plate.outline, other.outline), (plate.arch, other.arch), (plate.bar, other.bar))
    if any(one is not another for one, another in parts):
        return None
    return replace(on, plate=replace(plate, arch=on.plate.arch))


@dataclass(frozen=True, eq=False)
class Linearised:
    """All states, each at the deviations where it was last solved, and their answers to first order from there.

    ``points`` (s, q) are those deviations; ``followed`` (m,) gives for each tone of the result before, told by its shape,
    its place among all tones now.
    """

    points: Floats
    responses: tuple[ToneResponse, ...]
    followed: Ints

    def __post_init__(self) -> None:
        freeze(self, points=((len(self.responses), None), float), followed=((None,), int))

    @property
    def names(self) -> tuple[str | None, ...]:
        """The trade's numbers of all tones (m,), state by state."""
        return tuple(name for response in self.responses for name in response.modes.names)

    @property
    def parts(self) -> tuple[Mapping[str, float], ...]:
        """The numbers in whose patterns each tone has part, with that part (see `Modes.parts`)."""
        return tuple(part for response in self.responses for part in response.modes.parts)

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
        logs = [
            np.log(response.modes.hz) - response.slopes @ solved
            for response, solved in zip(self.responses, self._solved_at, strict=True)
        ]
        return np.concatenate(logs)

    @property
    def _solved_at(self) -> Floats:
        return np.where(_SOLVED, self.points, 0.0)

    def log_mass(self, state: int) -> tuple[Floats, float]:
        """Return the slopes (q,) of ``ln m`` of a state and what they lead to where no parameter deviates."""
        response = self.responses[state]
        left = response.mass_slopes @ self._solved_at[state]
        return response.mass_slopes, float(np.log(response.modes.mass) - left)

    def moved(self, theta: Floats, state: int, which: slice = slice(None)) -> float:
        """Return by how much at most a step to ``theta`` moves ``ln f`` of any tone of a state, by some parameters."""
        step = np.where(_SOLVED, theta - self.points[state], 0.0)
        return float(np.abs(self.responses[state].slopes[:, which] @ step[which]).max())

    def is_at(self, theta: Floats) -> bool:
        """Tell whether the newest state is solved at ``theta`` (q,) itself, and the older ones near enough to it."""
        older = range(len(self.responses) - 1)
        return self.moved(theta, len(older)) <= STEADY and all(self.moved(theta, i) <= _MOVED for i in older)

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
) -> Linearised:
    """Solve ``count`` tones of the states in full at ``theta`` and return their slopes there.

    With ``before``, an earlier result, an older state is solved anew only where its tones have moved by more than 2 %, and
    slopes are made anew only as far as they can have changed.
    """
    responses, points, followed, first = [], [], [], 0
    for i, state in enumerate(states):
        old = None if before is None else before.responses[i]
        if before is None or i == len(states) - 1 or before.moved(theta, i) > _MOVED:
            response, point = _solved(state, prior, theta, count, before, i), theta
        else:
            response, point = before.responses[i], before.points[i]
        responses.append(response)
        points.append(point)
        places = (
            np.arange(len(response.modes.hz)) if old is None else same_tones(old.modes, response.modes)[0]
        )
        followed.append(first + places)
        first += len(places)
    return Linearised(np.array(points), tuple(responses), np.concatenate(followed))


def joined(states: Sequence[PlateState], prior: WoodPrior, count: int, newest: Linearised) -> Linearised:
    """Solve the older ``states`` where the ``newest`` was solved already.

    Older ones of the newest's mesh have its slopes by arch and caliper, as far as their tones have its shapes: thickness
    changes those by a few parts in a hundred, and they are followed only over the little that is to be moved from there.
    """
    theta, known = newest.points[-1], newest.responses[-1]
    responses = []
    for state in states[:-1]:
        with threadpool_limits(1, user_api="blas"):
            model, modes = _tones_of(state, prior, theta, count, is_near=False)
            if state.on.mesh is states[-1].on.mesh and same_tones(known.modes, modes)[1] > _SAME_ARCH:
                again = SlopesAgain(wood=True, arch=False)
                responses.append(response_again(known, state.on, model, modes, state.doubts, again))
            else:
                responses.append(response_of(state.on, model, modes, state.doubts))
    responses.append(known)
    tones = sum(len(response.modes.hz) for response in responses)
    return Linearised(np.tile(theta, (len(states), 1)), tuple(responses), np.arange(tones))


def _solved(
    state: PlateState, prior: WoodPrior, theta: Floats, count: int, before: Linearised | None, place: int
) -> ToneResponse:
    """Solve one state at ``theta``; with ``before`` only those slopes are new that a move as great as this changes."""
    with threadpool_limits(1, user_api="blas"):
        is_near = before is not None and before.moved(theta, place) <= _PATTERNS_AGAIN
        model, modes = _tones_of(state, prior, theta, count, is_near)
        if before is None:
            return response_of(state.on, model, modes, state.doubts)
        again = SlopesAgain(
            wood=before.moved(theta, place) > _WOOD_AGAIN,
            arch=before.moved(theta, place, _ARCH) > _ARCH_AGAIN,
        )
        return response_again(before.responses[place], state.on, model, modes, state.doubts, again)


def _tones_of(
    state: PlateState, prior: WoodPrior, theta: Floats, count: int, is_near: bool
) -> tuple[ModalModel, Modes]:
    """Solve one state at ``theta``, its tones named by the patterns of its own arch where it ``is_near`` to rest."""
    model = state.on.model(state.at(prior, theta))
    patterns = mode_patterns(model.plate if is_near else state.on.plate)
    return model, modes_of(model, count, patterns)


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
