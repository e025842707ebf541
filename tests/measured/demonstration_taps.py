"""The recording of the demonstration top: invented taps, laid out in time. ``python -m tests.measured.demonstration_taps``.

Four taps on a top whose tones are those of its log. No tap excites mode 4; what sounds at 300 Hz is the mains.
"""

from pathlib import Path

import numpy as np
import soundfile
from scipy.signal import lfilter

from solver.core.arrays import Floats

RECORDING = Path("cases/violin-top-finished/recordings/taps.flac")
HZ = (87.0, 149.5, 227.5, 352.5, 364.5, 395.5, 429.0, 501.0)
Q = (52.0, 61.0, 44.0, 38.0, 57.0, 33.0, 49.0, 58.0)
FAN_HZ = 237.3
RATE = 8000


def taps() -> Floats:
    """Return the sound: knocks at 1.1, 2.4, 3.8 and 5.1 s over hum, a fan, rumble and hiss."""
    rng = np.random.default_rng(5)
    time = np.arange(int(6.4 * RATE)) / RATE
    sound = np.zeros(len(time))
    for start in (1.1, 2.4, 3.8, 5.1):
        since = np.maximum(time - start, 0)
        for hz, q in zip(HZ, Q, strict=True):
            size = rng.uniform(0.3, 1.0) * rng.choice([-1, 1]) * min(1, 300 / hz)
            sound += size * np.exp(-np.pi * hz / q * since) * np.sin(2 * np.pi * hz * since)
        knock = slice(int(start * RATE), int(start * RATE) + 24)
        sound[knock] += np.hanning(24) * rng.normal(size=24)
    for times in (1, 2, 3, 6):
        sound += 0.03 / times * np.cos(2 * np.pi * 50.01 * times * time + times)
    sound += 0.02 * np.cos(2 * np.pi * FAN_HZ * time)
    rumble = lfilter([1.0], [1.0, -0.98], rng.normal(size=len(time)))
    sound += 0.003 * np.asarray(rumble) + 0.01 * rng.normal(size=len(time))
    return np.asarray(0.6 * sound / np.abs(sound).max())


def taps_with_a_door() -> Floats:
    """Return the same sound where at every tap something rattles and dies away."""
    rng, sound, count = np.random.default_rng(4), taps(), int(0.9 * RATE)
    for start in (1.1, 2.4, 3.8, 5.1):
        rattle = 0.12 * rng.normal(size=count) * np.exp(-np.arange(count) / RATE / 0.2)
        sound[int(start * RATE) :][:count] += rattle
    return sound


if __name__ == "__main__":
    RECORDING.parent.mkdir(exist_ok=True)
    soundfile.write(RECORDING, taps(), RATE, subtype="PCM_16")
