"""The arch that is a little higher or fuller: geometry against finite differences, and what stays."""

import numpy as np
import pytest

from meshes.arch import arch_from_function
from meshes.surface import FlatArch
from solver.core.arrays import Floats
from solver.plate.reshaped_arch import ArchForm, ReshapedArch, is_arched, with_arch_form
from tests.modal.thinned_plates import BOUNDS, A, B, arched_with_bar, flat_with_hole

RISE = 0.018
FORM = ArchForm(rise=0.05, across=0.3, along=-0.2)


def dome(points: Floats) -> Floats:
    return np.asarray(RISE * (1 - (points[:, 0] / A) ** 2 - (points[:, 1] / B) ** 2) ** 2)


def reshaped(form: ArchForm) -> ReshapedArch:
    return ReshapedArch(arch_from_function(dome, BOUNDS), form, 0.0, RISE, 0.0)


PLACES = np.random.default_rng(3).uniform([-0.09, -0.05], [0.09, 0.05], (20, 2))


def test_slopes_and_curvatures_are_those_of_the_height() -> None:
    arch, step = reshaped(FORM), 1e-5
    there = arch.at(PLACES)
    for k, way in enumerate(np.eye(2)):
        after, before = arch.at(PLACES + step * way), arch.at(PLACES - step * way)
        slope = (after.height - before.height) / (2 * step)
        assert there.gradient[:, k] == pytest.approx(slope, abs=1e-7)
        turn = (after.gradient - before.gradient) / (2 * step)
        assert there.hessian[:, k] == pytest.approx(turn, abs=1e-4)


def test_edge_and_crest_stay_but_for_the_rise() -> None:
    angle = np.linspace(0, 2 * np.pi, 40)
    edge = np.column_stack([A * np.cos(angle), B * np.sin(angle)])
    arch = reshaped(FORM)
    assert arch.at(edge).height == pytest.approx(0.0, abs=1e-6)
    assert arch.at(np.zeros((1, 2))).height == pytest.approx(RISE * np.exp(0.05))


def test_fullness_lifts_by_a_fortieth_of_the_rise_half_way_up() -> None:
    """Across: where the surface is half as high as the crest; along: where the ridge is."""
    half = np.sqrt(1 - np.sqrt(0.5))
    flank, ridge = np.array([[0.0, B * half]]), np.array([[A * half, 0.0]])
    assert reshaped(ArchForm(across=0.1)).at(flank).height == pytest.approx(RISE * 0.525)
    assert reshaped(ArchForm(across=0.1)).at(ridge).height == pytest.approx(RISE * 0.5)
    assert reshaped(ArchForm(along=0.1)).at(ridge).height == pytest.approx(RISE * 0.525)


def test_a_flat_plate_has_no_arch_to_reshape() -> None:
    flat = flat_with_hole().plate
    assert isinstance(flat.arch, FlatArch)
    assert not is_arched(flat)
    assert with_arch_form(flat, FORM) is flat
    assert is_arched(arched_with_bar().plate)
