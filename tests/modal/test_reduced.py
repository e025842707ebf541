"""The live model against full solves of thinned plates; strokes and their undoing."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from meshes.removal import Hollow, Together
from solver.core.errors import InputError
from solver.modal.assembly import assemble
from solver.modal.reduced import DEEPEST_SHARE, ReducedModel, reduced_model
from solver.modal.reduced_basis import FINE
from solver.modal.sensitivity import thinning_sensitivity
from solver.plate.thinning import thinned
from tests.modal.thinned_plates import Meshed, arched_with_bar

ALLOWED = {0.5e-3: 1e-3, 1.0e-3: 3e-3}
"""What an answer may be off by, as a share of the frequency, for a hollow of that depth."""


@pytest.fixture(scope="module")
def meshed() -> Meshed:
    return arched_with_bar()


@pytest.fixture(scope="module")
def live(meshed: Meshed) -> ReducedModel:
    return reduced_model(meshed.model, meshed.modes(20))


def test_untouched_plate_is_the_full_solve(live: ReducedModel) -> None:
    assert live.untouched.hz == pytest.approx(live.modes.hz[:8], rel=1e-9)
    assert live.untouched.mass == pytest.approx(live.modes.mass, rel=1e-12)
    assert live.untouched.doubt == pytest.approx(0.0, abs=1e-6)
    assert live.bytes < 250e6


@pytest.mark.parametrize(
    ("x", "y", "radius", "depth"),
    [
        (-0.05, -0.03, 0.020, 0.5e-3),
        (0.04, 0.05, 0.045, 0.5e-3),
        (0.125, 0.0, 0.030, 1.0e-3),
        (-0.02, -0.01, 0.5, 0.5e-3),  # nearly the whole plate
        (-0.09, 0.02, 0.040, 1.0e-3),
    ],
)
def test_hollow_is_near_the_full_solve(
    meshed: Meshed, live: ReducedModel, x: float, y: float, radius: float, depth: float
) -> None:
    hollow = Hollow(np.array([x, y]), radius, depth)
    trial = live.untouched.with_removal(hollow.at(live.places))
    full = meshed.after(hollow)
    assert np.abs(trial.hz / full.hz - 1).max() < ALLOWED[depth]
    assert np.abs(trial.hz / full.hz - 1).max() < 0.25 * np.abs(full.hz / live.modes.hz[:8] - 1).max()
    assert trial.mass == pytest.approx(full.mass, rel=2e-5)


def test_shapes_are_those_of_the_full_solve(meshed: Meshed, live: ReducedModel) -> None:
    hollow = Hollow(np.array([0.03, -0.03]), 0.05, 0.6e-3)
    full = meshed.after(hollow)
    shapes = live.untouched.with_removal(hollow.at(live.places)).shapes(full.thickness)
    overlap = np.einsum("kn,kn->k", shapes.normal_motion, full.normal_motion)
    lengths = np.linalg.norm(shapes.normal_motion, axis=1) * np.linalg.norm(full.normal_motion, axis=1)
    assert np.abs(overlap) / lengths == pytest.approx(1.0, abs=1e-4)
    assert shapes.names == full.names


def test_small_stroke_is_the_first_order(meshed: Meshed, live: ReducedModel) -> None:
    """An independent route to the tables: a stroke of 0.01 mm changes what the densities say."""
    hollow = Hollow(np.array([-0.06, 0.045]), 0.035, 0.01e-3)
    change = live.untouched.with_removal(hollow.at(live.places)).hz - live.untouched.hz
    expected = thinning_sensitivity(meshed.model, meshed.modes(8)).hz_change(hollow)
    assert change == pytest.approx(expected, abs=0.02 * np.abs(expected).max())


def test_matrices_are_the_thinned_plates_own_in_its_shapes(meshed: Meshed, live: ReducedModel) -> None:
    """The tables against the full matrices of the thinned plate, projected, over a wide hollow."""
    hollow = Hollow(np.array([0.03, 0.02]), 0.055, 0.8e-3)
    reduced = live.untouched.with_removal(hollow.at(live.places)).reduced
    after = assemble(thinned(meshed.plate, hollow), meshed.mesh, meshed.cubic)
    shapes = live.basis.shapes.astype(float)
    whole = shapes.T @ (after.inertia @ shapes)
    lowest, responses = slice(0, FINE), slice(live.basis.modes, None)
    for within, matrix, exact, built in (
        (
            0.05,
            reduced.stiffness,
            shapes[:, 6:].T @ (after.stiffness @ shapes[:, 6:]),
            live.basis.stiffness,
        ),
        (0.1, reduced.inertia, whole[6:, 6:], live.basis.inertia),
    ):
        for columns in (lowest, responses):
            change = (exact - built)[lowest, columns]
            off = matrix[lowest, columns] - exact[lowest, columns]
            assert np.linalg.norm(off) < within * np.linalg.norm(change)
    assert reduced.rigid[:, : 6 + FINE] == pytest.approx(whole[:6, : 6 + FINE], abs=1e-4)


place = st.tuples(
    st.floats(-0.12, 0.12), st.floats(-0.07, 0.07), st.floats(0.01, 0.08), st.floats(0.0, 0.3e-3)
)


@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(place, min_size=1, max_size=4))
def test_undoing_leaves_nothing(live: ReducedModel, strokes: list[tuple[float, ...]]) -> None:
    """However a map was reached, and after any way back, the numbers are the same to the last bit."""
    parts = [Hollow(np.array(s[:2]), s[2], s[3]) for s in strokes]
    removal = Together(tuple(parts)).at(live.places)
    at_once = live.untouched.with_removal(removal)
    trial = live.untouched
    for part in parts:
        trial = trial.with_removal(np.minimum(removal, trial.removal + part.at(live.places)))
    stepwise = trial.with_removal(removal)
    back = stepwise.with_removal(np.zeros(len(live.places)))
    assert np.array_equal(stepwise.hz, at_once.hz)
    assert np.array_equal(stepwise.doubt, at_once.doubt)
    assert np.array_equal(back.hz, live.untouched.hz)


@pytest.mark.slow
def test_ten_thousand_strokes_do_not_drift(live: ReducedModel) -> None:
    """Strokes and their opposites by turns, the matrices compared at the end."""
    rng = np.random.default_rng(3)
    base = Hollow(np.array([0.0, 0.03]), 0.06, 0.2e-3).at(live.places)
    strokes = [Hollow(live.places[rng.integers(len(base))], 0.02, 0.05e-3).at(live.places) for _ in range(10)]
    start = live.untouched.with_removal(base)
    trial = start
    for k in range(5000):
        trial = trial.with_removal(base + strokes[k % 10]).with_removal(base)
    assert all(map(np.array_equal, trial.sums.nodes, start.sums.nodes))
    assert np.array_equal(trial.hz, start.hz)


def test_removing_wood_anywhere_lightens(live: ReducedModel) -> None:
    trial = live.untouched.with_removal(np.full(len(live.places), 0.1e-3))
    assert trial.mass < live.modes.mass


def test_says_when_it_leaves_its_range(meshed: Meshed, live: ReducedModel) -> None:
    """The estimate grows with depth, covers the error of a deep narrow hollow, and in the end refuses."""
    centre = np.array([0.06, -0.045])
    doubts = []
    for depth in (0.2e-3, 0.6e-3, 1.2e-3):
        trial = live.untouched.with_removal(Hollow(centre, 0.03, depth).at(live.places))
        doubts.append(trial.doubt.max())
    full = meshed.after(Hollow(centre, 0.03, 1.2e-3))
    assert np.all(np.diff(doubts) > 0)
    assert np.abs(trial.hz / full.hz - 1).max() < doubts[-1]
    assert live.untouched.holds
    assert not live.untouched.with_removal(0.5 * live.thickness).holds
    with pytest.raises(InputError, match=r"removal: .* mm would go of .* expected 60% at most"):
        live.untouched.with_removal(1.01 * DEEPEST_SHARE * live.thickness)


def test_too_few_modes(meshed: Meshed) -> None:
    with pytest.raises(ValueError, match="needs 16"):
        reduced_model(meshed.model, meshed.modes(8))
