"""The picture of the taps: labels that can be read, whatever was heard."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest

from solver.measured.spectrum import Spectrum
from solver.measured.tap_tones import TapTones, Tone
from solver.viewer.tap_picture import tap_figure


def heard(hz: Sequence[float], steady: Sequence[float]) -> TapTones:
    return TapTones(tuple(Tone(f, 0.1, 40.0, 1.0, 0.0, 2.0) for f in hz), tuple(steady), 2)


def spectrum() -> Spectrum:
    hz = np.arange(0.0, 2000.0, 0.5)
    return Spectrum(hz, -20.0 - 0.01 * hz, np.zeros(0))


@pytest.mark.parametrize(
    ("hz", "steady"),
    [
        ([88.0, 160.0, 341.0], [50.0, 100.0]),
        ([300.0 + 3 * k for k in range(16)], [50.0, 300.0, 301.0]),
        ([60.0, 61.0, 1400.0], []),
    ],
)
def test_labels_do_not_meet(hz: Sequence[float], steady: Sequence[float]) -> None:
    figure = tap_figure(spectrum(), heard(hz, steady))
    figure.canvas.draw()
    labels = [text.get_window_extent() for text in figure.axes[0].texts]
    assert len(labels) == len(hz) + len(steady)
    for left, right in pairwise(sorted(labels, key=lambda box: box.x0)):
        assert left.x1 <= right.x0 + 0.5
    heading = min(text.get_window_extent().y0 for text in figure.texts)
    assert max(box.y1 for box in labels) < heading
