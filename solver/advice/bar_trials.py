"""One dimension of a bar varied, and what that does to the tones of the plate."""

import os
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from threadpoolctl import threadpool_limits

from meshes.outline import Outline
from meshes.triangulate import PlateMesh, triangulate
from solver.advice.bar_dimension import DIMENSIONS, BarDimension, check_taper
from solver.advice.fitted_tones import corrected
from solver.advice.mode_tracking import agreed_names, followed, matched, weighed_shapes
from solver.core.arrays import Floats, Ints, freeze
from solver.core.units import MM
from solver.modal.assembly import assemble
from solver.modal.modes import Modes, modes_of
from solver.modal.shell import CubicMesh, cubic_mesh
from solver.plate.bar import Bar
from solver.plate.bar_place import check_place
from solver.plate.mass import survey_cells
from solver.plate.plate import Plate

TONES = 8
"""Tones computed with every bar, among which the numbered ones are followed."""

_MOST_AT_ONCE = 4
"""Plates solved side by side, as far as there are cores; each takes some 200 MB."""


@dataclass(frozen=True, eq=False)
class BarTrial:
    """The plate with one bar, or with none: the ``value`` of the dimension [m] (nan without a bar) and the tones.

    The numbers in ``modes`` are those that the shapes bear in most of the trials; ``own_names`` are those that this plate
    alone gives them. Where the wood was fitted, the tones are those expected, and ``spreads`` the standard deviations of
    their logarithms by the numbers.
    """

    value: float
    bar: Bar | None
    modes: Modes
    own_names: tuple[str | None, ...]
    spreads: Mapping[str, float] | None = None

    def place(self, name: str) -> int:
        """Return the place of a numbered mode among the tones."""
        return self.modes.names.index(name)

    def hz(self, name: str) -> float:
        """Return the frequency of a numbered mode [Hz]."""
        return float(self.modes.hz[self.place(name)])

    def is_clear(self, name: str) -> bool:
        """Tell whether this plate alone gives the mode its number, and no other tone has part in its shape."""
        return self.own_names[self.place(name)] == name and not self.modes.pattern(name).is_mixed


@dataclass(frozen=True, eq=False)
class SureBars:
    """What fitted wood adds to a sweep: found at some ``values`` (v,) [m] of the dimension, nan first for no bar.

    ``factors`` (v, n) take tones and mass, by their ``names`` (n,), from what the model makes to what is expected;
    ``spreads`` (v, n) are the standard deviations of their logarithms. In between they run straight.
    """

    values: Floats
    names: tuple[str, ...]
    factors: Floats
    spreads: Floats

    def __post_init__(self) -> None:
        v, n = len(self.values), len(self.names)
        freeze(self, values=((v,), float), factors=((v, n), float), spreads=((v, n), float))

    def factors_at(self, value: float) -> dict[str, float]:
        """Return the factors by names at a value [m]."""
        return dict(zip(self.names, self._at(self.factors, value).tolist(), strict=True))

    def spreads_at(self, value: float) -> dict[str, float]:
        """Return the standard deviations of the logarithms by names at a value [m]."""
        return dict(zip(self.names, self._at(self.spreads, value).tolist(), strict=True))

    def _at(self, rows: Floats, value: float) -> Floats:
        if np.isnan(value):
            return np.asarray(rows[0])
        return np.array([np.interp(value, self.values[1:], column[1:]) for column in rows.T])


@dataclass(frozen=True, eq=False)
class BarSweep:
    """``bare`` without any bar, ``trials`` by rising value of one ``dimension`` of the bar ``base``.

    ``sure`` tells how sure the tones are, where the wood was fitted; they are then those expected.
    """

    plate: Plate
    base: Bar
    dimension: BarDimension
    bare: BarTrial
    trials: tuple[BarTrial, ...]
    sure: "SureBars | None" = None

    @property
    def names(self) -> tuple[str, ...]:
        """The trade's numbers that were found, in their order."""
        return tuple(sorted(name for name in self.bare.modes.names if name))

    @property
    def present(self) -> float:
        """The dimension [m] of the bar that is varied."""
        return self.dimension.read(self.base)

    @property
    def values(self) -> Floats:
        """The dimension (r,) [m] in every trial."""
        return np.array([trial.value for trial in self.trials])

    def hz(self, name: str) -> Floats:
        """Frequency (r,) [Hz] of a numbered mode in every trial."""
        return np.array([trial.hz(name) for trial in self.trials])

    def nearest(self, value: float) -> BarTrial:
        """Return the trial whose value [m] is nearest."""
        return self.trials[int(np.abs(self.values - value).argmin())]


def check_bar(bar: Bar, plate: Plate, where: str) -> None:
    """Refuse a bar that leaves the plate, meets a hole, or is higher than its taper allows (InputError)."""
    check_place(bar, plate.outline, where)
    check_taper(bar, where)


def bars_between(
    plate: Plate, base: Bar, dimension: BarDimension, values: Floats, where: str
) -> tuple[Bar, ...]:
    """Return the bar ``base`` with each of the ``values`` (r,) [m] of a dimension; ``where`` says who asked for them.

    Raises
    ------
    InputError
        If one of them would leave the plate, meet a hole, or be higher than its taper allows.
    """
    bars = tuple(dimension.changed(base, value) for value in values)
    for bar, value in zip(bars, values, strict=True):
        check_bar(bar, plate, f"{where}: at {value / MM:.4g} mm the bar")
    return bars


def solve_bars(plate: Plate, bars: Sequence[Bar]) -> Iterator[Modes]:
    """Yield the modes of the plate without a bar, then with each of the bars (r).

    Bars on the same strip share one mesh, and the plate without a bar has that of the first, so that no difference comes
    from the mesh.
    """
    meshes = [_mesh_for(bars[0], plate.outline)]
    for bar in bars:
        same = np.array_equal(bar.footprint, meshes[-1].strip)
        meshes.append(meshes[-1] if same else _mesh_for(bar, plate.outline))
    plates = [replace(plate, bar=bar) for bar in (None, *bars)]
    with (
        threadpool_limits(1, user_api="blas"),
        ThreadPoolExecutor(min(_MOST_AT_ONCE, os.cpu_count() or 1)) as pool,
    ):
        yield from pool.map(_solve, plates, meshes)


def make_sweep(
    plate: Plate, base: Bar, dimension: BarDimension, values: Floats, solved: Sequence[Modes]
) -> BarSweep:
    """Return the sweep over ``values`` (r,) [m] from what `solve_bars` gave (r + 1), its tones followed by their shape."""
    bars = [(value, dimension.changed(base, value)) for value in values.tolist()]
    return _sweep(plate, base, dimension, bars, solved)


def compare_bars(plate: Plate, present: Bar, tried: Bar, solved: Sequence[Modes]) -> BarSweep:
    """Return the plate with its ``present`` bar, then with the one ``tried``, from what `solve_bars` gave of the two.

    They may differ in everything; their height stands for the dimension of a sweep.
    """
    dimension = DIMENSIONS["height"]
    bars = [(dimension.read(bar), bar) for bar in (present, tried)]
    return _sweep(plate, present, dimension, bars, solved)


def _sweep(
    plate: Plate,
    base: Bar,
    dimension: BarDimension,
    bars: Sequence[tuple[float, Bar]],
    solved: Sequence[Modes],
) -> BarSweep:
    cells = survey_cells(plate.outline)
    places = followed([weighed_shapes(modes, cells) for modes in solved])
    names = agreed_names([modes.names for modes in solved], places)
    renamed = [_renamed(modes, names, row) for modes, row in zip(solved, places, strict=True)]
    bare = BarTrial(np.nan, None, renamed[0], solved[0].names)
    trials = (
        BarTrial(value, bar, modes, own.names)
        for (value, bar), modes, own in zip(bars, renamed[1:], solved[1:], strict=True)
    )
    return BarSweep(plate, base, dimension, bare, tuple(trials))


def one_more(sweep: BarSweep, value: float) -> BarTrial:
    """Return one more trial, solved, its tones numbered by their likeness to those of the nearest in the sweep.

    Raises
    ------
    InputError
        If its bar would leave the plate or meet a hole that lies between two trials.
    """
    (bar,) = bars_between(sweep.plate, sweep.base, sweep.dimension, np.array([value]), sweep.dimension.words)
    with threadpool_limits(1, user_api="blas"):
        modes = _solve(replace(sweep.plate, bar=bar), _mesh_for(bar, sweep.plate.outline))
    cells = survey_cells(sweep.plate.outline)
    known = sweep.nearest(value).modes
    places = matched(weighed_shapes(known, cells), weighed_shapes(modes, cells))
    renamed = _renamed(modes, known.names, places)
    return sure_trial(BarTrial(value, bar, renamed, modes.names), sweep.sure)


def sure_trial(trial: BarTrial, sure: SureBars | None) -> BarTrial:
    """Return the trial at the frequencies and the mass that are expected, where the wood was fitted."""
    if sure is None:
        return trial
    modes = corrected(trial.modes, sure.factors_at(trial.value))
    return replace(trial, modes=modes, spreads=sure.spreads_at(trial.value))


def mesh_of_bar(plate: Plate, bar: Bar) -> tuple[PlateMesh, CubicMesh]:
    """Return the mesh on which a bar is tried."""
    on = _mesh_for(bar, plate.outline)
    return on.mesh, on.cubic


def _renamed(modes: Modes, names: Sequence[str | None], places: Ints) -> Modes:
    """Give the followed shapes (k,), which stand at ``places`` (k,) among the tones, their ``names`` (k,)."""
    at = dict(zip(places.tolist(), names, strict=True))
    return replace(modes, names=tuple(at[place] for place in range(len(names))))


@dataclass(frozen=True, eq=False)
class _StripMesh:
    """The mesh that follows a bar's strip (4, 2) [m]."""

    strip: Floats
    mesh: PlateMesh
    cubic: CubicMesh


def _mesh_for(bar: Bar, outline: Outline) -> _StripMesh:
    mesh = triangulate(outline, bar.footprint)
    return _StripMesh(bar.footprint, mesh, cubic_mesh(mesh))


def _solve(plate: Plate, on: _StripMesh) -> Modes:
    return modes_of(assemble(plate, on.mesh, on.cubic), TONES)
