"""The lowest modes of the small matrices of a reduced model."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.linalg import cho_solve, cholesky, eigh

from solver.core.arrays import Floats

_SPARE = 4
_SETTLED = 1e-7
_MOST_STEPS = 40


@dataclass(frozen=True, eq=False)
class ReducedPlate:
    """A plate in s shapes: stiffness K and inertia M (s, s), and ``rigid`` (6, 6 + s), the inertia of the six rigid motions
    with themselves and with the shapes. The first shapes are nearly its modes, of which the lowest ``count`` are wanted,
    the last ``withheld`` count least.
    """

    stiffness: Floats
    inertia: Floats
    rigid: Floats
    withheld: int
    count: int

    @cached_property
    def _along(self) -> Floats:
        """Rigid motion (6, s) that goes with each shape: elastic modes are apart from it, ``M_rr q_r + M_re q_e = 0``."""
        return np.asarray(np.linalg.solve(self.rigid[:, :6], self.rigid[:, 6:]), np.float64)

    @cached_property
    def _elastic(self) -> Floats:
        """Inertia of the elastic part, ``M_ee - M_er M_rr^-1 M_re``."""
        return np.asarray(self.inertia - self.rigid[:, 6:].T @ self._along)

    @cached_property
    def _factor(self) -> Floats:
        """Upper Cholesky factor of the stiffness, column by column as LAPACK reads it."""
        return np.asarray(cholesky(self.stiffness.T, lower=False, check_finite=False))

    @cached_property
    def _block(self) -> tuple[Floats, Floats]:
        start = np.eye(len(self.stiffness), self.count + _SPARE)
        return _lowest(self._factor, self._elastic, start, self.count)

    @property
    def values(self) -> Floats:
        """The lowest elastic eigenvalues (count,) [rad2/s2]."""
        return self._block[0][: self.count]

    @property
    def vectors(self) -> Floats:
        """Their vectors (6 + s, count) over rigid motions and shapes."""
        elastic = self._block[1][:, : self.count]
        return np.vstack([-self._along @ elastic, elastic])

    @property
    def values_without(self) -> Floats:
        """The eigenvalues (count,) that come out when the weakest shapes are withheld."""
        known = len(self.stiffness) - self.withheld
        factor = np.asfortranarray(self._factor[:known, :known])
        inertia = np.ascontiguousarray(self._elastic[:known, :known])
        return _lowest(factor, inertia, self._block[1][:known], self.count)[0][: self.count]


def _lowest(factor: Floats, inertia: Floats, block: Floats, wanted: int) -> tuple[Floats, Floats]:
    """Lowest eigenvalues (b,) and vectors (s, b) by inverse iteration of a ``block`` (s, b).

    It ends when the lowest ``wanted`` are settled to 1e-7. ``factor`` is the upper Cholesky factor of the stiffness.
    Golub and Van Loan, Matrix Computations, section 8.2.
    """
    values = np.full(block.shape[1], np.inf)
    heavy = inertia @ block
    for _ in range(_MOST_STEPS):
        image = cho_solve((factor, False), heavy, check_finite=False)
        moved = inertia @ image
        before, (values, turn) = values, eigh(image.T @ heavy, image.T @ moved, check_finite=False)
        block, heavy = image @ turn, moved @ turn
        if np.all(np.abs(values - before)[:wanted] < _SETTLED * values[:wanted]):
            return values, block
    raise RuntimeError(f"block inverse iteration did not settle in {_MOST_STEPS} steps")
