"""Functions of the plan together with their first and second derivatives, by the chain and product rules."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from solver.core.arrays import Floats


@dataclass(frozen=True, eq=False)
class Jet:
    """A function at n plan points: ``value`` (n,), ``gradient`` (n, 2), ``hessian`` (n, 2, 2); SI units."""

    value: Floats
    gradient: Floats
    hessian: Floats

    def __add__(self, other: "Jet | float") -> "Jet":
        if isinstance(other, Jet):
            return Jet(self.value + other.value, self.gradient + other.gradient, self.hessian + other.hessian)
        return Jet(self.value + other, self.gradient, self.hessian)

    def __mul__(self, other: "Jet | float") -> "Jet":
        if not isinstance(other, Jet):
            return Jet(self.value * other, self.gradient * other, self.hessian * other)
        cross = self.gradient[:, :, None] * other.gradient[:, None, :]
        return Jet(
            self.value * other.value,
            self.value[:, None] * other.gradient + other.value[:, None] * self.gradient,
            self.value[:, None, None] * other.hessian
            + other.value[:, None, None] * self.hessian
            + cross
            + cross.transpose(0, 2, 1),
        )

    def __rmul__(self, other: float) -> "Jet":
        return self * other

    def __radd__(self, other: float) -> "Jet":
        return self + other

    def __neg__(self) -> "Jet":
        return self * -1.0

    def __sub__(self, other: "Jet | float") -> "Jet":
        return self + (-other)

    def __rsub__(self, other: float) -> "Jet":
        return -self + other

    def through(self, f: Callable[[Floats], tuple[Floats, Floats, Floats]]) -> "Jet":
        """The outer function f of this one; ``f`` returns its value, first and second derivative."""
        value, first, second = f(self.value)
        cross = self.gradient[:, :, None] * self.gradient[:, None, :]
        return Jet(
            value,
            first[:, None] * self.gradient,
            second[:, None, None] * cross + first[:, None, None] * self.hessian,
        )


def plan(points: Floats) -> tuple[Jet, Jet]:
    """The plan coordinates x and y themselves at ``points`` (n, 2) [m]."""
    n = len(points)
    flat = np.zeros((n, 2, 2))
    return (
        Jet(points[:, 0], np.tile([1.0, 0.0], (n, 1)), flat),
        Jet(points[:, 1], np.tile([0.0, 1.0], (n, 1)), flat),
    )


def power(p: Jet, exponent: float) -> Jet:
    """``p`` to a power."""
    n = exponent
    return p.through(lambda v: (v**n, n * v ** (n - 1), n * (n - 1) * v ** (n - 2)))


def cosine(p: Jet) -> Jet:
    """The cosine of ``p`` [rad]."""
    return p.through(lambda v: (np.cos(v), -np.sin(v), -np.cos(v)))


def bell(p: Jet) -> Jet:
    """Gauss's bell exp(-p^2)."""

    def f(v: Floats) -> tuple[Floats, Floats, Floats]:
        e = np.exp(-(v**2))
        return e, -2 * v * e, (4 * v**2 - 2) * e

    return p.through(f)
