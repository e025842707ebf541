"""First guesses of damped tones: the signal subspace of the ring-downs' averaged covariances.

A sum of p damped tones fills p dimensions of the windows that slide along it, and going one sample on turns this
subspace by the tones' factors z: the eigenvalues of that turn are the tones (Roy and Kailath 1989, ESPRIT). The windows
of all taps go into one covariance, so that a tone that one tap excites badly is found by another.
"""

from collections.abc import Iterator

import numpy as np

from solver.arrays import Floats
from solver.measured.band import Band, Complexes
from solver.measured.ring_down import LEAST_Q, MOST_Q, Poles

_MOST_WINDOW = 120


def subspace_poles(band: Band, coefficients: tuple[Complexes, ...], count: int) -> Poles:
    """Return up to ``count`` damped tones in the ``coefficients`` of a band; raises nothing where there are none."""
    rows = list(_zoomed(band, coefficients))
    window = min(_MOST_WINDOW, min(len(x) for x, _ in rows) // 2)
    count = min(count, window - 2)
    if count < 1:
        return Poles.none()
    covariance = np.zeros((window, window), complex)
    for x, _ in rows:
        slid = np.lib.stride_tricks.sliding_window_view(x, window)
        covariance += slid.T @ slid.conj() / float(np.mean(np.abs(x[len(x) // 2 :]) ** 2) + 1e-30)
    space = np.linalg.eigh(covariance)[1][:, -count:]
    turn = np.linalg.lstsq(space[:-1], space[1:], rcond=None)[0]
    s = np.log(np.linalg.eigvals(turn)) * np.mean([rate for _, rate in rows])
    hz, damping = s.imag / (2 * np.pi) + (band.low + band.high) / 2, -s.real
    return _possible(band, hz, damping)


def _zoomed(band: Band, coefficients: tuple[Complexes, ...]) -> Iterator[tuple[Complexes, float]]:
    """Yield each ring-down in the band as complex samples about its middle frequency, and their rate [Hz].

    All have one rate: the band's width rounded to what suits a second.
    """
    width = band.high - band.low
    for bins, weights, found, length, rings in zip(
        band.hz, band.weights, coefficients, band.lengths, band.rings, strict=True
    ):
        if not rings:
            continue
        edge = np.minimum(bins - band.low, band.high - bins) / (0.12 * width)
        taper = np.sin(0.5 * np.pi * np.clip(edge, 0, 1)) ** 2
        seconds = length / 4000.0
        count = round(width * seconds)
        times = np.arange(count) / width
        middle = bins - (band.low + band.high) / 2
        yield np.exp(2j * np.pi * times[:, None] * middle) @ (taper * found / weights) / len(bins), width


def _possible(band: Band, hz: Floats, damping: Floats) -> Poles:
    kept = (hz > band.low) & (hz < band.high) & (damping > 0)
    hz, damping = hz[kept], damping[kept]
    order = np.argsort(hz)
    hz, damping = hz[order], damping[order]
    q = np.clip(np.pi * hz / damping, 2 * LEAST_Q, MOST_Q / 2)
    return Poles(hz, np.pi * hz / q, np.zeros(0))
