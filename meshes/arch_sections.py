"""The arch lofted between arching templates, in units of the local half-width."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from meshes.arch_checks import check_none_astray
from meshes.fair_width import FairWidth, fair_width
from meshes.height_fit import MOST_NOISE, curve_smoother, map_smoother
from meshes.outline import Outline
from meshes.smooth_map import DEGREE
from meshes.surface import Arch, MappedArch
from meshes.templates import Templates, sort_templates
from solver.core.arrays import Floats

if TYPE_CHECKING:
    from scipy.interpolate import BSpline, CubicSpline


STEPS = 80
"""Places along the plate at which the loft is taken, and as far apart across it."""

BEYOND = 0.06
"""Half-widths by which the curve of a template is trusted beyond its last point; from there it goes straight on."""


def arch_from_sections(readings: Floats, outline: Outline) -> Arch:
    """Return the arch lofted between templates (n, 3) [m]: points along y = 0, and along lines of constant x.

    z = e(x) + (l(x) - e(x)) p(x, y / w(x)) with the long arch l, the height e of the edge, the fair half-width w, and
    the cross arch p from 0 at the edge to 1 in the middle. From template to template e and p change smoothly;
    beyond the last one p keeps its form, and e comes to the end of the long arch.

    Raises
    ------
    InputError
        As `sort_templates`, or if one point stands off from the rest of its template.
    """
    templates = sort_templates(readings, outline)
    loft = _make_loft(templates, fair_width(outline, 0.0), outline)
    places = _places(outline)
    grid, smoother = map_smoother(np.column_stack([places, loft.height(places)]), outline.bounds)
    return MappedArch(grid.map(smoother.coefficients(smoother.best_smoothing)))


@dataclass(frozen=True, eq=False)
class Profile:
    """A cross arch from 0 at the edge to 1 in the middle; ``ends`` (2,) [half-widths] are as far as it curves."""

    curve: "BSpline"
    ends: Floats
    edge: float
    rise: float

    def at(self, across: Floats) -> Floats:
        """Return the share (n,) of the rise at places ``across`` in half-widths; straight on beyond its ends."""
        inside = np.clip(across, *self.ends)
        height = self.curve(inside) + self.curve.derivative()(inside) * (across - inside)
        return np.asarray((height - self.edge) / self.rise)


@dataclass(frozen=True, eq=False)
class Loft:
    """The long arch and the height of the edge along x, and profiles between which to go from ``stations`` (k,)."""

    long_arch: "BSpline"
    edge: "CubicSpline"
    width: FairWidth
    stations: Floats
    profiles: tuple[Profile, ...]

    def height(self, points: Floats) -> Floats:
        """Return the height (n,) [m] of the loft at plan points (n, 2) [m]."""
        across = self.width.across(points)
        shapes = np.stack([profile.at(across) for profile in self.profiles])
        share = np.sum(_blend(self.stations, points[:, 0]) * shapes, axis=0)
        edge = self.edge(points[:, 0])
        return np.asarray(edge + (self.long_arch(points[:, 0]) - edge) * share)


def _blend(stations: Floats, x: Floats) -> Floats:
    """Return the weight (k, n) of each station at each x: smooth, summing to one, level beyond the outer ones."""
    from scipy.interpolate import CubicSpline

    spline = CubicSpline(stations, np.eye(len(stations)), bc_type="clamped")
    return np.asarray(spline(np.clip(x, stations[0], stations[-1]))).T


def _make_loft(templates: Templates, width: FairWidth, outline: Outline) -> Loft:
    from scipy.interpolate import CubicSpline

    left, _, right, _ = outline.bounds
    along = templates.long_arch
    long_arch = _smooth_section(along, along[:, 0], left, right)
    profiles = tuple(_profile(arch, width) for arch in templates.cross_arches)
    # The form of the outer templates stands at the ends of the plate too.
    edges = [float(long_arch(left)), *(profile.edge for profile in profiles), float(long_arch(right))]
    stations = np.array([left, *(float(arch[0, 0]) for arch in templates.cross_arches), right])
    edge = CubicSpline(stations, edges, bc_type="natural")
    return Loft(long_arch, edge, width, stations, (profiles[0], *profiles, profiles[-1]))


def _profile(arch: Floats, width: FairWidth) -> Profile:
    """Return the form over half-widths of a cross arch (n, 3) [m], smoothed by as much as its points scatter."""
    across = width.across(arch[:, :2])
    low, high = across[0] - BEYOND, across[-1] + BEYOND
    curve = _smooth_section(arch, across, low, high)
    ends = np.array([max(-1.0, low), min(1.0, high)])
    edge = float(np.mean(curve(ends) + curve.derivative()(ends) * ([-1.0, 1.0] - ends)))
    return Profile(curve, ends, edge, float(curve(0.0)) - edge)


def _smooth_section(section: Floats, coordinate: Floats, low: float, high: float) -> "BSpline":
    """Return the height over a coordinate (n,) from low to high, of points (n, 3) [m] along a section."""
    from scipy.interpolate import BSpline

    knots, smoother = curve_smoother(np.column_stack([coordinate, section[:, 2]]), low, high)
    check_none_astray("arch sections", smoother, section, around=2)
    return BSpline(knots, smoother.coefficients(smoother.smoothing_within(MOST_NOISE)), DEGREE)


def _places(outline: Outline) -> Floats:
    """Return places (n, 2) [m] all over the plate and along its edge."""
    left, low, right, high = outline.bounds
    step = (right - left) / STEPS
    x, y = np.meshgrid(np.arange(left, right, step), np.arange(low, high, step), indexing="ij")
    grid = np.column_stack([x.ravel(), y.ravel()])
    return np.vstack([grid[outline.without_holes().contains(grid)], outline.edge.sampled(step)])
