from dataclasses import replace

import numpy as np
import pytest

from solver.advice.node_balance import off_mirror, ring_shares
from solver.core.arrays import Floats
from solver.modal.modes import Modes
from tests.viewer.plain_plate import A, B, plain_modes


def moving_as(motion: Floats) -> Modes:
    """One mode whose motion along the normal is ``motion`` (n,)."""
    modes = plain_modes(1)
    fields = np.zeros_like(modes.fields)
    fields[0, :, :3] = motion[:, None] * modes.normals
    return replace(modes, fields=fields)


def plan() -> tuple[Floats, Floats]:
    points = plain_modes(1).points
    return points[:, 0], points[:, 1]


def test_even_node_lines_are_their_own_mirror_image() -> None:
    x, y = plan()
    assert off_mirror(moving_as(0.4 - (x / A) ** 2 - (y / B) ** 2), 0) < 1e-4


def test_a_line_along_the_plate_lies_twice_its_distance_off() -> None:
    """y = c against y = -c; the ends of the two, cut off by the edge, are alike."""
    _, y = plan()
    assert off_mirror(moving_as(y - 0.02), 0) == pytest.approx(0.04, rel=0.01)


def test_a_round_ring_moved_aside() -> None:
    """Circles of radius R about (0, d) and (0, -d): | |p| - R | with p on one, seen from the other's middle.

    Integrated along the circle with its own closed form, not with the nearest points.
    """
    radius, aside = 0.05, 0.008
    x, y = plan()
    turn = 2 * np.pi * np.arange(720) / 720
    exact = np.abs(np.hypot(radius * np.cos(turn), radius * np.sin(turn) + 2 * aside) - radius).mean()
    found = off_mirror(moving_as(radius**2 - x**2 - (y - aside) ** 2), 0)
    assert found == pytest.approx(exact, rel=0.02)


def test_nothing_stands_still_where_all_moves_alike() -> None:
    assert np.isnan(off_mirror(moving_as(np.ones(len(plan()[0]))), 0))


@pytest.mark.parametrize("sign", [1, -1])
def test_the_ring_holds_its_share_of_either_half(sign: int) -> None:
    """(x/a)^2 + (y/b)^2 = 0.4 holds 40 % of the ellipse; moving in or out makes no difference."""
    x, y = plan()
    shares = ring_shares(moving_as(sign * (0.4 - (x / A) ** 2 - (y / B) ** 2)), 0)
    assert (shares.left, shares.right) == pytest.approx((0.4, 0.4), rel=0.01)


def test_an_open_ring_moved_to_the_left_holds_more_of_the_left() -> None:
    """The strip between y = -b/4 and y = b/2: of a half ellipse, 0 to s b is (2/pi) (asin s + s sqrt(1 - s^2))."""
    _, y = plan()
    shares = ring_shares(moving_as((y / B + 0.25) * (0.5 - y / B)), 0)
    exact = [2 / np.pi * (np.arcsin(s) + s * np.sqrt(1 - s**2)) for s in (0.5, 0.25)]
    assert (shares.left, shares.right) == pytest.approx(exact, rel=0.02)
