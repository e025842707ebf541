"""The lowest elastic modes of a free plate: none missed, none twice, no rigid motion among them."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.sparse.linalg import SuperLU, splu

from solver.core.arrays import Floats

BLOCK = 4
"""Vectors carried together; a value repeated up to this many times is found as often as it occurs."""

_TOLERANCE = 1e-6
_MOST_BLOCKS = 200


@dataclass(frozen=True, eq=False)
class Eigenpairs:
    """``values`` (k,) [rad2/s2] ascending, ``vectors`` (n, k) with ``V^T M V = I``."""

    values: Floats
    vectors: Floats


@dataclass(frozen=True, eq=False)
class _Krylov:
    """An M-orthonormal basis (n, m) of blocks, the inverse projected on it (m, m), and how it goes on.

    ``coupling`` (b, b) is what the inverse makes of the last block outside the basis.
    """

    basis: Floats
    projected: Floats
    coupling: Floats


def lowest_modes(
    stiffness: sp.csc_array, inertia: sp.csc_array, rigid: Floats, count: int, shift: float
) -> Eigenpairs:
    """Return the ``count`` lowest eigenpairs that are M-orthogonal to the motions ``rigid`` (n, r), r = 0 if held.

    ``K - shift M``, positive definite for a ``shift`` [rad2/s2] below zero, is factored once. Block Lanczos with full
    orthogonalization runs on its inverse, from which the rigid motions are projected out; a single vector could miss one
    copy of a repeated value, a block does not (G. H. Golub and R. Underwood, Mathematical Software III, 1977). It ends
    when every wanted residual is below 1e-6 of its value; the frequency, whose error goes with the square of the
    residual, is then exact to rounding.

    Raises
    ------
    RuntimeError
        If that is not reached within 200 blocks, which is a fault of the matrices.
    """
    return factored_modes(factored(stiffness, inertia, shift), inertia, rigid, count, shift)


def factored(stiffness: sp.csc_array, inertia: sp.csc_array, shift: float) -> SuperLU:
    """Return the factors of ``K - shift M``, whose ``shift`` [rad2/s2] lies below zero."""
    return splu(
        sp.csc_array(stiffness - shift * inertia),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )


def factored_modes(
    factor: SuperLU, inertia: sp.csc_array, rigid: Floats, count: int, shift: float
) -> Eigenpairs:
    """Return what `lowest_modes` does from factors of ``K - shift M`` that are there already."""
    for space in _krylov(factor, inertia, orthonormal(rigid, inertia)):
        theta, ritz = np.linalg.eigh(space.projected)
        theta, ritz = theta[: -count - 1 : -1], ritz[:, : -count - 1 : -1]
        residual = np.linalg.norm(space.coupling @ ritz[-BLOCK:], axis=0)
        if len(space.projected) >= count + BLOCK and np.all(residual < _TOLERANCE * theta):
            return Eigenpairs(shift + 1.0 / theta, space.basis @ ritz)
    raise RuntimeError(f"block Lanczos did not converge in {_MOST_BLOCKS} blocks")


def orthonormal(motions: Floats, inertia: sp.csc_array) -> Floats:
    """Return vectors of the same span (n, r) with ``V^T M V = I``; done twice, so that rounding leaves nothing."""
    once, _, _ = _split(motions, inertia)
    return _split(once, inertia)[0]


def _krylov(factor: SuperLU, inertia: sp.csc_array, known: Floats) -> Iterator[_Krylov]:
    """Yield the growing space of the inverse, free of the ``known`` motions, block by block."""
    known_inertia = inertia @ known
    start = np.random.default_rng(1).standard_normal((len(known), BLOCK))
    block, heavy_block, _ = _split(orthonormal(start - known @ (known_inertia.T @ start), inertia), inertia)
    basis, heavy = np.empty((len(known), 0)), np.empty((len(known), 0))
    projected = np.empty((0, 0))
    for _ in range(_MOST_BLOCKS):
        basis, heavy = np.hstack([basis, block]), np.hstack([heavy, heavy_block])
        image = factor.solve(heavy_block)
        image -= known @ (known_inertia.T @ image)
        projected = _bordered(projected, heavy.T @ image)
        for _ in range(2):
            image -= basis @ (heavy.T @ image)
        block, heavy_block, coupling = _split(image, inertia)
        yield _Krylov(basis, projected, coupling)


def _split(block: Floats, inertia: sp.csc_array) -> tuple[Floats, Floats, Floats]:
    """Split a block (n, b) into M-orthonormal columns and the (b, b) factor that restores it.

    Between the two comes M times the columns.
    """
    heavy = np.asarray(inertia @ block)
    lower = np.linalg.cholesky(block.T @ heavy)
    inverse = np.linalg.inv(lower).T
    return block @ inverse, heavy @ inverse, np.asarray(lower.T)


def _bordered(matrix: Floats, column: Floats) -> Floats:
    """Add a block column and its transpose to a symmetric matrix."""
    old, new = len(matrix), len(column)
    out = np.zeros((new, new))
    out[:old, :old] = matrix
    out[:, old:] = column
    out[old:, :] = column.T
    out[old:, old:] = 0.5 * (column[old:] + column[old:].T)
    return out
