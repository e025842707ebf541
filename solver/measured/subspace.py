"""First guesses of damped tones: the signal subspace of the ring-downs' averaged covariances.

A sum of p damped tones fills p dimensions of the windows that slide along it, and going one sample on turns this
subspace by the tones' factors z: the eigenvalues of that turn are the tones (Roy and Kailath 1989, ESPRIT). The windows
of all taps go into one covariance, so that a tone that one tap excites badly is found by another.
"""

from collections.abc import Iterator

import numpy as np

from solver.core.arrays import Floats
from solver.measured.band import Band, Complexes
from solver.measured.poles import LEAST_Q, MOST_Q, Poles
from solver.measured.recording import RATE_HZ

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

    All have one rate, the band's width.
    """
    width = band.high - band.low
    for some, found in zip(band.alike, coefficients, strict=True):
        if not some.rings:
            continue
        edge = np.minimum(some.hz - band.low, band.high - some.hz) / (0.12 * width)
        taper = np.sin(0.5 * np.pi * np.clip(edge, 0, 1)) ** 2 / some.weights
        times = np.arange(round(width * some.length / RATE_HZ)) / width
        middle = some.hz - (band.low + band.high) / 2
        slowed = np.exp(2j * np.pi * times[:, None] * middle) @ (taper[:, None] * found) / len(some.hz)
        yield from ((x, width) for x in slowed.T)


def _possible(band: Band, hz: Floats, damping: Floats) -> Poles:
    kept = (hz > band.low) & (hz < band.high) & (damping > 0)
    hz, damping = hz[kept], damping[kept]
    order = np.argsort(hz)
    hz, damping = hz[order], damping[order]
    q = np.clip(np.pi * hz / damping, 2 * LEAST_Q, MOST_Q / 2)
    return Poles(hz, np.pi * hz / q, np.zeros(0))
