"""Where powder has gathered on a straightened photo: wood, grain and light taken away, lines brought out."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import (
    binary_dilation,
    binary_opening,
    gaussian_filter,
    label,
    map_coordinates,
    median_filter,
    uniform_filter1d,
)

from solver.core.arrays import Bools, Floats
from solver.core.units import MM
from solver.measured.straightened import Straightened

WIDTHS = (1.5 * MM, 2.2 * MM, 3.2 * MM, 4.6 * MM)
"""Half widths of powder lines that are looked for [m]."""

EDGE = 4.0 * MM
"""Nothing nearer to an edge is taken for powder: there lie bevels, purfling and shadows (common practice, no source)."""

_STRONG = 0.4
"""What the strongest crests have, as long together as this share of the plate, is strong."""

_CLEAR_GRAIN = 1.5 * MM
_STRIPE = 70 * MM
_WIDE = 26 * MM
_FULL = 0.3
_EVERY = 7
"""Of the places on the wood one in so many tells its colour."""

_COVER = 5.0 * MM
_COVER_ROUND = 5.0 * MM


@dataclass(frozen=True, eq=False)
class Ridges:
    """How strongly each place (r, c) looks like a powder line; ``seen`` is clear wood.

    ``crests`` (r, c) are where it is stronger than on both sides; ``strong`` is what the strongest of them have, ``noise``
    what clear wood has. ``dark`` tells whether the powder is darker than the wood.
    """

    strength: Floats
    seen: Bools
    crests: Bools
    strong: float
    noise: float
    dark: bool


def powder_ridges(flat: Straightened, dark: bool | None = None) -> Ridges:
    """Return where powder lies in lines: ``dark`` on light or light on dark; if left out, whichever stands out more."""
    wood = flat.depth > 0
    covered = _covered(flat, wood)
    seen = (flat.depth > EDGE) & ~covered
    powder = _powder(flat, wood & ~covered)
    curvatures = _curvatures(powder, flat.step)
    kinds = (True, False) if dark is None else (dark,)
    sides = [_ridges(curvatures, seen, max(powder.shape), kind) for kind in kinds]
    return max(sides, key=lambda side: side.strong)


def _powder(flat: Straightened, wood: Bools) -> Floats:
    """Return how much lighter each place is than the wood about it, as a logarithm, -1 to 1 where it is full of powder."""
    light = np.log(np.maximum(flat.colours.mean(axis=2), 0.02))
    filled = np.where(wood, light, _spread(light, wood, 4 * MM / flat.step))
    filled -= _stripes(filled, flat.step)
    around = median_filter(filled[::3, ::3], size=2 * round(_WIDE / flat.step / 6) + 1, mode="nearest")
    rows, columns = np.indices(filled.shape) / 3.0
    smooth = map_coordinates(gaussian_filter(around, 2.0), [rows, columns], order=1, mode="nearest")
    return np.asarray(np.where(wood, np.tanh((filled - smooth) / _FULL), 0.0))


def _stripes(light: Floats, step: float) -> Floats:
    """Return the grain: what is even along the plate but finer across it than any powder line."""
    fine = light - gaussian_filter(light, (0, _CLEAR_GRAIN / step))
    return np.asarray(
        uniform_filter1d(np.clip(fine, -0.15, 0.15), max(3, round(_STRIPE / step)), axis=0, mode="nearest")
    )


def _spread(values: Floats, known: Bools, width: float) -> Floats:
    """Return values carried a little beyond where they are known."""
    weight = gaussian_filter(known.astype(float), width)
    average = float(values[known].mean()) if known.any() else 0.0
    return np.asarray(
        (gaussian_filter(np.where(known, values, 0.0), width) + 1e-4 * average) / (weight + 1e-4)
    )


def _covered(flat: Straightened, wood: Bools) -> Bools:
    """Tell what a hand or a block hides: broad patches of another colour that reach in from the edge."""
    rows, columns = np.nonzero(wood)
    if len(rows) < 100:
        return ~wood
    colours = np.log(np.maximum(flat.colours[wood], 0.02))
    u, v = 2 * rows / rows.max() - 1, 2 * columns / columns.max() - 1
    terms = np.column_stack([u**i * v**j for i in range(4) for j in range(4 - i)])
    some_terms, some_colours = terms[::_EVERY], colours[::_EVERY]
    weight = np.ones((len(some_terms), 1))
    for _ in range(6):
        fit = np.linalg.lstsq(some_terms * weight, some_colours * weight, rcond=None)[0]
        off = np.linalg.norm(some_colours - some_terms @ fit, axis=1, keepdims=True)
        weight = 1 / (1 + (off / (1.5 * np.median(off))) ** 2)
    off = np.linalg.norm(colours - terms @ fit, axis=1)
    other = np.zeros(wood.shape, bool)
    other[rows, columns] = off > max(4.5 * float(np.median(off)), 0.18)
    disc = _disc(_COVER / flat.step)
    broad = binary_opening(other | ~wood, disc) & wood
    parts, _ = label(broad)
    at_edge = np.unique(parts[(flat.depth < 3 * MM) & wood])
    sizes = np.bincount(parts.ravel()) * flat.step**2
    hidden = np.isin(parts, [part for part in at_edge if part and sizes[part] > 60 * MM**2])
    return np.asarray(binary_dilation(hidden, _disc(_COVER_ROUND / flat.step)))


def _disc(radius: float) -> Bools:
    r = max(1, round(radius))
    rows, columns = np.mgrid[-r : r + 1, -r : r + 1]
    return np.asarray(rows**2 + columns**2 <= r * r)


def _curvatures(powder: Floats, step: float) -> Floats:
    """Return the second derivatives (w, 3, r, c) of the blurred powder at each half width s, times s^2: xx, yy and xy."""
    found = []
    for width in WIDTHS:
        s = width / step
        found.append([gaussian_filter(powder, s, order=order) * s * s for order in ((2, 0), (0, 2), (1, 1))])
    return np.array(found)


def _ridges(curvatures: Floats, seen: Bools, longest: int, dark: bool) -> Ridges:
    """Return the ridges of dark or of light powder, each at the half width at which it is strongest.

    At each half width s the greater curvature ``-s^2 lambda`` of the blurred powder, less half of what it has along the
    ridge, so that round patches count less (after T. Lindeberg, Int. J. Computer Vision 30 (1998) 117; from memory).
    """
    strength = np.full(seen.shape, -np.inf)
    across = np.zeros((*seen.shape, 2))
    for xx, yy, xy in -curvatures if dark else curvatures:
        mean, part = 0.5 * (xx + yy), np.hypot(0.5 * (xx - yy), xy)
        here = part - mean - 0.5 * np.abs(mean + part)
        stronger = here > strength
        strength = np.where(stronger, here, strength)
        turn = 0.5 * np.arctan2(xy[stronger], 0.5 * (xx - yy)[stronger]) + 0.5 * np.pi
        across[stronger] = np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    strength = np.maximum(strength, 0.0)
    crests = _crests(strength, across, seen)
    noise = float(np.median(strength[seen])) if seen.any() else 0.0
    strengths = np.sort(strength[crests])
    most = min(round(_STRONG * longest), len(strengths))
    return Ridges(strength, seen, crests, float(strengths[-most]) if most else 0.0, noise, dark)


def _crests(strength: Floats, across: Floats, seen: Bools) -> Bools:
    """Tell where a ridge is stronger than on both sides of it."""
    rows, columns = np.indices(strength.shape, dtype=float)
    sides = [
        map_coordinates(
            strength,
            [rows + s * across[..., 0], columns + s * across[..., 1]],
            order=1,
            mode="nearest",
        )
        for s in (1.0, -1.0)
    ]
    return np.asarray((strength > sides[0]) & (strength >= sides[1]) & seen)
