"""Tones by frequency and damping."""

from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats, freeze

LEAST_Q, MOST_Q = 4.0, 600.0
"""Q of what can be a mode of a plate; wood alone stands between 20 and 150 (common practice, no source)."""

STEADY_DAMPING = 1e-3
"""Damping [1/s] of tones that do not ring down, so little that none is lost in a second."""


@dataclass(frozen=True, eq=False)
class Poles:
    """Tones of a band: damped ones at ``hz`` (m,) with ``damping`` (m,) [1/s], steady ones at ``steady_hz`` (s,)."""

    hz: Floats
    damping: Floats
    steady_hz: Floats

    def __post_init__(self) -> None:
        freeze(self, hz=((None,), float), damping=((len(self.hz),), float), steady_hz=((None,), float))

    @property
    def q(self) -> Floats:
        """Quality factor: pi f / d, the frequency over the half-power width."""
        return np.asarray(np.pi * self.hz / self.damping)

    def without(self, place: int) -> "Poles":
        """Return all but one of the damped tones."""
        return Poles(np.delete(self.hz, place), np.delete(self.damping, place), self.steady_hz)

    def joined(self, other: "Poles") -> "Poles":
        """Return these tones and others."""
        pairs = ((self.hz, other.hz), (self.damping, other.damping), (self.steady_hz, other.steady_hz))
        return Poles(*(np.concatenate(pair) for pair in pairs))

    @classmethod
    def none(cls) -> "Poles":
        """Return no tones."""
        return cls(np.zeros(0), np.zeros(0), np.zeros(0))
