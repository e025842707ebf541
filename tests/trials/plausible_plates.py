"""Plausible plates of the violin family, seeded: outlines, arches, thickness, wood and bars as boards and makers vary.

Everything is drawn around the stock plates, but not all of it is a stock plate stretched: waists are narrower, bouts wider,
bodies shorter, arches higher and fuller, the thickness uneven, the wood another board of the species, its grain and rings
a little askew.
"""

import tempfile
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from meshes.arch import drawn_arch
from meshes.edge import Edge
from meshes.graduation import graduation_from_function
from meshes.outline import Outline, make_outline
from meshes.smooth_map import Function
from solver.advice.wood_prior import wood_prior
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate.bar import Bar
from solver.plate.bar_place import check_place
from solver.plate.plate import Plate
from solver.plate.reshaped_arch import ArchForm, with_arch_form
from solver.plate.wood import Wood
from solver.plate.wood_posterior import FITTED
from solver.plate_folder.description import read_description
from solver.plate_folder.read import PlateFolder, read_folder
from solver.stock import write_stock_plate

KINDS = ("violin-top", "violin-back", "viola-top", "viola-back", "cello-top", "cello-back")
USUAL_LENGTH_MM = 355.0
"""Of a violin; distances of readings and lengths of fields grow with the plate over it."""
MOST_SIGMAS = 2.0
"""Boards farther off than this from their kind are not made into plates."""
GRAIN_DEG, RINGS_DEG = 1.0, 3.0
"""Standard deviations of the angles of grain and rings."""
POISSON = 0.15
"""Standard deviation of the logarithm of each of Poisson's ratios."""
BAR_WOOD = 0.12
"""The same of the bar's stiffness over that of its plate."""
UNEVEN_MM, UNEVEN_REACH_MM = 0.08, 50.0
"""Of the thickness of a violin's plate, by its maker's hand: standard deviation, and how far one such place reaches."""
_TRIES = 40
_WAVES = 60


@dataclass(frozen=True, eq=False)
class SmoothField:
    """A random field of even smoothness with variance 1: a sum of plane waves, their wave vectors drawn from a bell.

    Its correlation over a distance d is ``exp(-d^2 / 2 reach^2)``.
    """

    waves: Floats
    phases: Floats

    def at(self, points: Floats) -> Floats:
        """Return the field (n,) at plan points (n, 2) [m]."""
        return np.asarray(
            np.cos(points @ self.waves.T + self.phases).sum(axis=1) * np.sqrt(2 / len(self.phases))
        )


def smooth_field(noise: np.random.Generator, reach: float) -> SmoothField:
    """Draw a field that is alike over ``reach`` [m]."""
    return SmoothField(noise.normal(0, 1 / reach, (_WAVES, 2)), noise.uniform(0, 2 * np.pi, _WAVES))


@dataclass(frozen=True, eq=False)
class PlausiblePlate:
    """One plate as it is, at 20 °C and 50 %: the ``plate``, its species, the EL that its maker looked up.

    ``scale`` is its length over that of a violin; ``noise`` is what is left of its own stream of random numbers.
    """

    kind: str
    seed: int
    plate: Plate
    species: str
    usual_EL_GPa: float | None
    scale: float
    noise: np.random.Generator


def plausible_plate(
    kind: str, seed: int, number: int, holes: bool = True, bar: bool = True
) -> PlausiblePlate:
    """Return the plate of a ``number`` in a seeded run; a top with or without holes and bar."""
    noise = np.random.default_rng([seed, KINDS.index(kind), number])
    for _ in range(_TRIES):
        try:
            return _drawn(kind, seed, noise, holes, bar)
        except (
            InputError
        ):  # a bar through a hole, a waist too narrow for the holes: no maker would have made it
            continue
    raise RuntimeError(f"no sound plate in {_TRIES} draws for {kind} {number} of seed {seed}")


def _drawn(kind: str, seed: int, noise: np.random.Generator, holes: bool, bar: bool) -> PlausiblePlate:
    stock = _stock(kind)
    table, plate = stock.description.table, stock.plate
    short = noise.random() < 1 / 6
    size = noise.uniform(0.86, 0.94) if short else noise.uniform(0.95, 1.04)
    warp = _warp(noise, plate.outline, size)
    edge, *cut = (_warped(e, warp) for e in (plate.outline.edge, *plate.outline.holes))
    outline = make_outline(edge, cut)
    scale = float(outline.bounds[2] - outline.bounds[0]) / (USUAL_LENGTH_MM * MM)
    assert table.arch.rise_mm is not None
    assert table.arch.channel_mm is not None
    arch = drawn_arch(
        outline.without_holes(),
        table.arch.rise_mm * size * noise.uniform(0.85, 1.15) * MM,
        table.arch.channel_mm * size * noise.uniform(0.8, 1.3) * MM,
    )
    thickness = _thickness(noise, plate, warp, scale)
    wood = _board(noise, plate.wood)
    bare = Plate(
        f"{kind} {seed}",
        plate.role,
        outline,
        arch,
        graduation_from_function(thickness, outline.bounds, 4 * MM),
        wood,
    )
    form = ArchForm(across=_bell(noise, 0.25), along=_bell(noise, 0.25))
    shaped = with_arch_form(bare, form)
    fitted = _bar(noise, plate.bar, wood, outline, warp) if plate.bar and bar else None
    if not holes:
        shaped = replace(shaped, outline=outline.without_holes())
    whole = replace(shaped, bar=fitted)
    usual = table.wood.EL_GPa
    return PlausiblePlate(kind, seed, whole, plate.wood.species, usual, scale, noise)


@cache
def _stock(kind: str) -> PlateFolder:
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "stock"
        write_stock_plate(folder, kind)
        return read_folder(read_description(folder))


def _bell(noise: np.random.Generator, spread: float) -> float:
    return spread * float(np.clip(noise.normal(), -MOST_SIGMAS, MOST_SIGMAS))


@dataclass(frozen=True)
class _Warp:
    """From the stock plan to another: sizes, then waist and bouts narrower or wider, and moved along."""

    length: float
    size: float
    width: float
    bouts: tuple[tuple[float, float, float], ...]
    moved: float

    def at(self, points: Floats) -> Floats:
        x, y = points.T
        s = x / self.length
        wide = self.width * np.ones(len(s))
        for more, place, reach in self.bouts:
            wide += more * np.exp(-(((s - place) / reach) ** 2))
        along = s + self.moved * np.sin(np.pi * s) ** 2
        return np.column_stack([self.size * self.length * along, self.size * wide * y])


def _warp(noise: np.random.Generator, outline: Outline, size: float) -> _Warp:
    """Draw an outline's proportions: the waist up to 12 % narrower or 6 % wider, each bout by 4 % and up to 6 %."""
    waist = (float(noise.uniform(-0.12, 0.06)), 0.53, 0.10)
    lower = (float(noise.uniform(-0.04, 0.06)), 0.18, 0.16)
    upper = (float(noise.uniform(-0.04, 0.06)), 0.83, 0.14)
    width, moved = float(noise.uniform(0.97, 1.04)), float(noise.uniform(-0.015, 0.015))
    return _Warp(outline.bounds[2], size, width, (waist, lower, upper), moved)


def _warped(edge: Edge, warp: _Warp) -> Edge:
    """Points to a hundredth of a millimetre, which is what a drawing is read to."""
    return Edge(np.round(warp.at(edge.knots) / MM, 2) * MM, edge.corners, edge.name)


def _thickness(noise: np.random.Generator, stock: Plate, warp: _Warp, scale: float) -> Function:
    """Return the stock plate's hump in other proportions, and what the hand left uneven."""
    field = smooth_field(noise, UNEVEN_REACH_MM * scale * MM)
    thinnest = float(stock.graduation.readings[:, 2].min())
    low, more = noise.uniform(1.0, 1.2) * thinnest * warp.size, noise.uniform(0.7, 1.3) * warp.size
    uneven = UNEVEN_MM * MM * scale

    def thickness(points: Floats) -> Floats:
        back = points / [warp.size, warp.size * warp.width]
        hump = np.clip(stock.graduation.at(back) - thinnest, 0.0, None)
        rough = np.clip(field.at(points), -MOST_SIGMAS, MOST_SIGMAS)
        return np.asarray(low + more * hump + uneven * rough)

    return thickness


def _board(noise: np.random.Generator, usual: Wood) -> Wood:
    """Draw another board of the species, by what is known of how boards stray; drawn anew where it were no solid."""
    root = np.linalg.cholesky(wood_prior(usual, is_weighed=False).covariance)
    while True:
        stray = root @ np.clip(noise.normal(size=len(FITTED)), -MOST_SIGMAS, MOST_SIGMAS)
        constants = {
            name: getattr(usual, name) * float(np.exp(off)) for name, off in zip(FITTED, stray, strict=True)
        }
        ratios = {
            name: getattr(usual, name) * float(np.exp(_bell(noise, POISSON)))
            for name in ("nu_LR", "nu_LT", "nu_RT")
        }
        askew = {
            "grain": float(np.radians(_bell(noise, GRAIN_DEG))),
            "ring": float(np.radians(_bell(noise, RINGS_DEG))),
        }
        figures: dict[str, Any] = constants | ratios | askew
        board = replace(usual, **figures)
        if board.is_stable():
            return board


def _bar(noise: np.random.Generator, stock: Bar, plate_wood: Wood, outline: Outline, warp: _Warp) -> Bar:
    """Draw a bar: its place, slant, length, height and stiffness; raises InputError where it does not lie on wood."""
    ends = warp.at(np.array([stock.start, stock.end]))
    aside, slant = noise.uniform(-3, 3) * MM * warp.size, noise.uniform(-2.5, 2.5) * MM * warp.size
    ends[:, 1] += aside + slant * np.array([0.5, -0.5])
    ends[:, 0] += noise.uniform(-6, 6, 2) * MM * warp.size
    profile = stock.profile.copy()
    profile[:, 1] *= warp.size
    profile[1, 1] *= noise.uniform(0.75, 1.15)
    stiffer = float(np.exp(_bell(noise, BAR_WOOD)))
    wood = replace(plate_wood, EL=plate_wood.EL * stiffer, grain=0.0, ring=0.0)
    rounded = np.round(ends / MM, 1) * MM
    profile[:, 1] = np.round(profile[:, 1] / MM, 1) * MM
    bar = Bar(rounded[0], rounded[1], round(stock.width * warp.size / MM, 1) * MM, profile, wood)
    check_place(bar, outline, "the bar drawn")
    return bar
