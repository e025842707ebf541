"""From ridges to lines: crests joined to curves, specks left out."""

import numpy as np
import shapely
from scipy.ndimage import label
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from solver.core.arrays import Floats
from solver.core.units import MM
from solver.measured.powder_ridges import Ridges
from solver.measured.straightened import Straightened

_SURE, _MAYBE = 0.5, 0.22
"""Strength at which a crest begins a line and above which it goes on, as shares of the strong ones."""

_SURE_NOISE, _MAYBE_NOISE = 6.0, 3.0
"""The same over the strength that clear wood has."""

_SURE_LEAST, _MAYBE_LEAST = 0.2, 0.08
"""The same at the least: bare wood has a tenth, a full line of powder a half."""

_SHORTEST = 0.05
"""Shortest line, as a share of the plate's length."""

_BESIDE = 3.5 * MM
_SMOOTH = 4.0 * MM
_BENT = 5.0 * MM


def trace_lines(ridges: Ridges, flat: Straightened) -> tuple[Floats, ...]:
    """Return the powder lines as curves (p, 2) [m] in plan, the longest first."""
    strong, crests = ridges.strong, ridges.crests
    maybe = crests & (ridges.strength > max(_MAYBE * strong, _MAYBE_NOISE * ridges.noise, _MAYBE_LEAST))
    sure = crests & (ridges.strength > max(_SURE * strong, _SURE_NOISE * ridges.noise, _SURE_LEAST))
    parts, count = label(maybe, np.ones((3, 3)))
    kept = np.zeros(count + 1, bool)
    kept[np.unique(parts[sure])] = True
    kept[0] = False
    shortest = _SHORTEST * float(np.ptp(flat.x))
    lines = []
    for number in np.flatnonzero(kept):
        cells = np.argwhere(parts == number).astype(float)
        lines += _curves(flat.places(cells), 1.6 * flat.step, shortest)
    return tuple(sorted(lines, key=_length, reverse=True))


def _curves(points: Floats, near: float, shortest: float) -> list[Floats]:
    """Part crest points (n, 2) into curves: the longest way through those that hang together, then through the rest."""
    curves: list[Floats] = []
    waiting = [points]
    while waiting:
        for part in _joined(waiting.pop(), near):
            path = _longest_way(part, near)
            if len(path) > 2 and _length(path) >= shortest:
                curves.append(_smoothed(path))
                waiting.append(
                    part[shapely.distance(shapely.LineString(path), shapely.points(part)) > _BESIDE]
                )
    return curves


def _graph(points: Floats, near: float) -> csr_array:
    """Return the distances between neighbours."""
    pairs = cKDTree(points).query_pairs(near, output_type="ndarray")
    lengths = np.linalg.norm(points[pairs[:, 0]] - points[pairs[:, 1]], axis=1)
    return csr_array((lengths, (pairs[:, 0], pairs[:, 1])), shape=(len(points), len(points)))


def _joined(points: Floats, near: float) -> list[Floats]:
    """Return the points parted into those that hang together."""
    if len(points) == 0:
        return []
    count, part = connected_components(_graph(points, near), directed=False)
    return [points[part == number] for number in range(count)]


def _longest_way(points: Floats, near: float) -> Floats:
    """Return the way (p, 2) between the two of the joined points that lie farthest apart along it."""
    graph = _graph(points, near)
    start = int(dijkstra(graph, directed=False, indices=[0])[0].argmax())
    reach, before = dijkstra(graph, directed=False, indices=[start], return_predecessors=True)
    end, way = int(reach[0].argmax()), []
    while end >= 0:
        way.append(end)
        end = int(before[0, end])
    return np.asarray(points[way])


def _smoothed(path: Floats) -> Floats:
    """Return the curve without the stairs of the grid, points about 1 mm apart; ends are cut, where crests bend round."""
    line = shapely.LineString(path)
    cut = min(_BENT, 0.15 * line.length)
    count = max(4, round((line.length - 2 * cut) / MM))
    even = shapely.get_coordinates(line.interpolate(np.linspace(cut, line.length - cut, count)))
    half = max(1, round(_SMOOTH / MM / 2))
    padded = np.concatenate([2 * even[0] - even[half:0:-1], even, 2 * even[-1] - even[-2 : -half - 2 : -1]])
    kernel = np.hanning(2 * half + 3)[1:-1]
    kernel /= kernel.sum()
    return np.column_stack([np.convolve(padded[:, i], kernel, mode="valid") for i in range(2)])


def _length(line: Floats) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
