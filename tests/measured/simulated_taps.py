"""Recordings of taps made from known modes, and the best that any reader can do with them.

Shares no code with the reader: everything is laid out sample by sample in time. A tap strikes modes of known frequency and
Q by a half-sine push of a few milliseconds; each mode answers with the strength that it has where it was tapped, which may
be next to nothing. Noise is Gaussian and white; hum has harmonics and goes on through the taps.

Frequencies are those of the stock plates' modal model, as `platewright modes` gives them: violin top and back of 356
mm, viola top of 410 mm, cello back of 755 mm (those above 60 Hz), panel of 300 mm.
"""

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from solver.core.arrays import Bools, Floats, Ints

RATE = 44100
PLATES = {
    "violin top": (87.6, 156.2, 234.8, 313.2, 364.7, 373.0, 423.7, 437.3, 513.6, 527.9, 557.8, 628.8),
    "violin back": (91.0, 177.2, 233.5, 279.8, 369.4, 393.8, 441.7, 505.6, 576.1, 600.1, 627.1, 699.3),
    "viola top": (70.9, 125.8, 189.7, 256.0, 297.7, 305.0, 343.3, 356.8, 418.3, 431.3, 456.0, 508.8),
    "cello back": (69.1, 88.4, 106.4, 141.7, 149.0, 169.0, 196.0, 223.5, 233.1, 244.5, 270.3, 298.0),
    "panel": (149.0, 249.6, 386.3, 394.3, 488.3, 686.6, 744.6, 805.7, 1030.7, 1109.7, 1158.5, 1331.8),
}
BAND_HZ = 2000.0
"""Signal to noise is told within the band below this: the noise above has nothing to do with the plate."""

CLEARLY_HEARD = 10**1.5
"""Energy over noise density of a tone that is clearly heard in noise: 15 dB, where 10 dB is about the threshold (from
memory: detection of a tone shorter than a fifth of a second hangs on its energy; Plomp and Bouman 1959)."""


@dataclass(frozen=True, eq=False)
class Simulated:
    """A recording (n,) at `RATE` and the truth: modes' ``hz``, ``q`` (m,), complex ``strengths`` (taps, m) at the ``free``
    samples (taps,), where contact is over; ``noise`` rms of a sample; ``hum_hz`` (h,)."""

    sound: Floats
    hz: Floats
    q: Floats
    strengths: np.ndarray[tuple[int, ...], np.dtype[np.complex128]]
    free: Ints
    noise: float
    hum_hz: Floats

    @property
    def damping(self) -> Floats:
        return np.pi * self.hz / self.q


def simulate(seed: int, snr_db: float) -> Simulated:
    """Return the recording of one to six taps on a stock plate, drawn by a seed, over noise of a given level."""
    rng = np.random.default_rng(seed)
    return simulate_modes(rng, _drawn_hz(rng, seed), snr_db)


def simulate_modes(rng: np.random.Generator, hz: Floats, snr_db: float) -> Simulated:
    """Return the recording of one to six taps that strike modes of these frequencies, all else drawn."""
    q = np.exp(rng.uniform(np.log(20), np.log(80), len(hz)))
    taps = int(rng.integers(1, 7))
    first, waits = rng.uniform(0.6, 1.2), rng.uniform(0.7, 1.5, taps - 1)
    starts = (RATE * (first + np.concatenate([[0], np.cumsum(waits)]))).astype(np.int64)
    contact = int(rng.uniform(0.0015, 0.003) * RATE)
    push = np.sin(np.pi * (np.arange(contact) + 0.5) / contact)
    at = rng.normal(size=(taps, len(hz))) / np.sqrt(hz / 100)
    poles = (-np.pi * hz / q + 2j * np.pi * hz) / RATE
    sound = np.zeros(int(starts[-1] + 1.2 * RATE))
    for sizes, pole in zip(at.T, poles, strict=True):
        pushes = np.zeros(len(sound))
        for start, size in zip(starts, sizes, strict=True):
            pushes[start : start + contact] = size * push
        sound += _answer(pushes, pole)
    strengths = at * (push * np.exp(poles[:, None] * (contact - 1 - np.arange(contact)))).sum(axis=1)
    free = np.asarray(starts + contact - 1, dtype=np.int64)
    loud = float(np.sqrt(np.mean(np.concatenate([sound[f : f + RATE // 10] for f in free]) ** 2)))
    noise = loud * 10 ** (-snr_db / 20) * float(np.sqrt(RATE / 2 / BAND_HZ))
    hum_hz = (
        float(rng.choice([50.0, 60.0])) * rng.uniform(0.9995, 1.0005) * np.arange(1.0, 1 + rng.integers(0, 7))
    )
    time = np.arange(len(sound)) / RATE
    for f in hum_hz:
        size = loud * 10 ** rng.uniform(-2, -0.3)
        sound = sound + size * np.cos(2 * np.pi * f * time + rng.uniform(0, 2 * np.pi))
    sound = sound + noise * rng.normal(size=len(sound))
    scale = 0.5 / float(np.abs(sound).max())
    return Simulated(
        sound * scale, hz, q, strengths * scale, free, noise * scale, np.asarray(hum_hz, dtype=float)
    )


def _drawn_hz(rng: np.random.Generator, seed: int) -> Floats:
    """Return the modes of one of the plates, all up to 3 % off; every third plate has two 4 Hz apart."""
    hz = np.array(PLATES[list(PLATES)[seed % len(PLATES)]])
    if seed % 3 == 0:
        hz = np.sort(np.append(hz, hz[rng.integers(1, len(hz) - 1)] + 4.0))
    return np.asarray(hz * rng.uniform(0.97, 1.03), dtype=float)


def struck(pushes: Floats, hz: float, q: float) -> Floats:
    """Return how something of this frequency and Q answers pushes (n,)."""
    return _answer(pushes, complex(-np.pi * hz / q, 2 * np.pi * hz) / RATE)


def _answer(pushes: Floats, pole: complex) -> Floats:
    """Return how a mode answers pushes (n,): the sum of ring-downs ``Im exp(pole n)`` from each sample.

    That sum obeys ``y[n] = 2 r cos(w) y[n - 1] - r^2 y[n - 2] + r sin(w) x[n - 1]`` with ``r exp(i w) = exp(pole)``.
    """
    turn = np.exp(pole)
    return np.asarray(lfilter([0.0, turn.imag], [1.0, -2 * turn.real, abs(turn) ** 2], pushes))


@dataclass(frozen=True, eq=False)
class Bound:
    """The least standard error of frequency ``sd_hz`` (m,) that any unbiased reader can have (Cramér and Rao).

    ``heard`` (m,) is the energy over noise density that a mode has for itself in the tap that excites it best.
    """

    sd_hz: Floats
    heard: Floats


def bound(truth: Simulated) -> Bound:
    """Return the Cramér-Rao bound of all taps together, from the end of each contact to the next tap.

    Unknown are frequency and damping of each mode, and strength and phase of each mode and each hum tone in each tap; the
    noise is known. The information is ``sum_k T' (I - P) T / sigma^2``, with T the derivatives of tap k by frequencies and
    dampings and P the projection on its cosines and sines. What a mode has for itself is what remains of it beside the
    others' cosines, sines and derivatives. Sampled at a tenth of the rate: the tones lie far below, so that a tenth of the
    samples with a tenth of the variance tell as much.
    """
    rate, m = RATE / 10, len(truth.hz)
    ends = [*(truth.free[1:] - int(0.004 * RATE)), len(truth.sound)]
    information, heard = np.zeros((2 * m, 2 * m)), np.zeros(m)
    for strength, free, end in zip(truth.strengths, truth.free, ends, strict=True):
        time = np.arange((end - free) // 10)[:, None] / rate
        rings = np.exp((-truth.damping + 2j * np.pi * truth.hz) * time)
        hum = np.exp(2j * np.pi * truth.hum_hz * time)
        columns = np.hstack([rings.real, rings.imag, hum.real, hum.imag])
        sounds = (-1j * strength * rings).real
        slopes = np.hstack([(2 * np.pi * time * strength * rings).real, -time * sounds])
        scale = np.linalg.norm(slopes, axis=0) + 1e-30
        gram = _products(np.hstack([columns, slopes / scale, sounds])) / (truth.noise**2 / 10)
        c, s = columns.shape[1], slopes.shape[1]
        rows = np.arange(c, c + s)
        information += _beside(gram, rows, np.arange(c)) * np.outer(scale, scale)
        for k in range(m):
            others = np.delete(np.arange(c + s), [k, m + k, c + k, c + m + k])
            heard[k] = max(heard[k], _beside(gram, np.array([c + s + k]), others)[0, 0] / 2)
    return Bound(np.sqrt(np.diag(np.linalg.inv(information)))[:m], heard)


def _products(columns: Floats) -> Floats:
    return np.asarray(columns.T @ columns)


def _beside(gram: Floats, some: Ints, others: Ints) -> Floats:
    """Return the products of some columns with what the others account for taken out: a Schur complement."""
    across = gram[np.ix_(others, some)]
    size = 1 / np.sqrt(np.diag(gram)[others])
    scaled = gram[np.ix_(others, others)] * np.outer(size, size)
    return np.asarray(
        gram[np.ix_(some, some)] - (across.T * size) @ np.linalg.solve(scaled, size[:, None] * across)
    )


def parted(truth: Simulated) -> Bools:
    """Tell which modes (m,) have no neighbour and no hum within twice the sum of their half-power widths."""
    width = truth.hz / truth.q
    apart = np.abs(truth.hz[:, None] - truth.hz) / (width[:, None] + width) + 1e9 * np.eye(len(truth.hz))
    from_hum = np.abs(truth.hz[:, None] - truth.hum_hz) / width[:, None]
    return np.asarray((apart.min(axis=1) > 2) & (from_hum.min(axis=1, initial=1e9) > 2))
