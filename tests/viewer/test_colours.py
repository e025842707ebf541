import numpy as np
import pytest
from matplotlib.colors import to_rgb

from solver.core.arrays import Floats
from solver.viewer.colours import INWARD, OUTWARD, motion_colours, thickness_colours

# Machado, Oliveira & Fernandes, IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291, full severity, linear RGB (from memory)
SEEN_BY = {
    "deuteranope": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "protanope": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "tritanope": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def linear(rgb: Floats) -> Floats:
    """Linear light of sRGB colours (IEC 61966-2-1)."""
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def lightness(rgb: Floats) -> Floats:
    """CIE L*, 0 to 100, of sRGB colours (n, 3); it is what a grey copy keeps."""
    y = linear(rgb) @ [0.2126, 0.7152, 0.0722]
    return np.asarray(116 * np.cbrt(y) - 16)


def test_thickness_still_reads_in_a_grey_copy() -> None:
    shades = lightness(np.asarray(thickness_colours()(np.linspace(0, 1, 65)))[:, :3])
    steps = np.diff(shades)
    assert (steps < 0).all()
    assert steps.min() / steps.max() < 3  # no step more than three times another


def test_motion_grows_darker_away_from_rest_both_ways() -> None:
    shades = lightness(np.asarray(motion_colours()(np.linspace(0, 1, 65)))[:, :3])
    assert (np.diff(shades[:33]) > 0).all()
    assert (np.diff(shades[32:]) < 0).all()
    assert shades[32] > 97


def test_out_and_in_differ_in_a_grey_copy() -> None:
    out, inward = lightness(np.array([to_rgb(OUTWARD), to_rgb(INWARD)]))
    assert inward - out > 20


@pytest.mark.parametrize("eye", SEEN_BY)
def test_out_and_in_differ_for_the_colour_blind(eye: str) -> None:
    seen = np.clip(linear(np.array([to_rgb(OUTWARD), to_rgb(INWARD)])) @ np.array(SEEN_BY[eye]).T, 0, 1)
    assert np.abs(seen[0] - seen[1]).max() > 0.3
