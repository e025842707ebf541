"""The eigen-solver on matrices whose eigenvalues are known."""

import numpy as np
import pytest
import scipy.sparse as sp
from hypothesis import given, settings
from hypothesis import strategies as st

from solver.modal.eigen import lowest_modes, orthonormal


def _grid(n: int, m: int) -> sp.csc_array:
    """Free five-point grid; eigenvalues 4 sin^2(i pi/2n) + 4 sin^2(j pi/2m), one constant null vector."""

    def path(k: int) -> sp.csc_array:
        ends = np.r_[1.0, np.full(k - 2, 2.0), 1.0]
        return sp.csc_array(sp.diags_array([-np.ones(k - 1), ends, -np.ones(k - 1)], offsets=[-1, 0, 1]))

    return sp.csc_array(sp.kron(path(n), sp.eye_array(m)) + sp.kron(sp.eye_array(n), path(m)))


def _exact(n: int, m: int, count: int) -> np.ndarray:
    i, j = np.meshgrid(np.arange(n), np.arange(m))
    values = 4 * np.sin(i * np.pi / 2 / n) ** 2 + 4 * np.sin(j * np.pi / 2 / m) ** 2
    return np.sort(values.ravel())[1 : count + 1]


@pytest.mark.parametrize("count", [1, 8, 40])
def test_square_grid_has_every_double_value_twice(count: int) -> None:
    matrix = _grid(23, 23)
    pairs = lowest_modes(matrix, sp.csc_array(sp.eye_array(529)), np.ones((529, 1)), count, -0.01)
    assert pairs.values == pytest.approx(_exact(23, 23, count), rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(n=st.integers(9, 24), m=st.integers(9, 24), count=st.integers(2, 12))
def test_any_grid(n: int, m: int, count: int) -> None:
    pairs = lowest_modes(_grid(n, m), sp.csc_array(sp.eye_array(n * m)), np.ones((n * m, 1)), count, -0.01)
    assert pairs.values == pytest.approx(_exact(n, m, count), rel=1e-9)


def test_vectors_are_mass_normal_and_free_of_rigid_motion() -> None:
    mass = sp.csc_array(sp.diags_array(np.linspace(1.0, 3.0, 400)))
    rigid = np.ones((400, 1))
    pairs = lowest_modes(_grid(20, 20), mass, rigid, 6, -0.01)
    v = pairs.vectors
    assert v.T @ (mass @ v) == pytest.approx(np.eye(6), abs=1e-10)
    assert np.abs(rigid.T @ np.asarray(mass @ v)).max() < 1e-8


def test_held_plate_needs_no_rigid_motion() -> None:
    matrix = sp.csc_array(_grid(12, 15) + 0.5 * sp.eye_array(180))
    pairs = lowest_modes(matrix, sp.csc_array(sp.eye_array(180)), np.zeros((180, 0)), 3, -0.1)
    assert pairs.values == pytest.approx(np.r_[0.5, 0.5 + _exact(12, 15, 2)], rel=1e-9)


def test_orthonormal_keeps_the_span() -> None:
    vectors = np.random.default_rng(3).standard_normal((50, 4))
    out = orthonormal(vectors, sp.csc_array(2.0 * sp.eye_array(50)))
    assert 2 * out.T @ out == pytest.approx(np.eye(4))
    assert np.linalg.matrix_rank(np.hstack([vectors, out])) == 4
