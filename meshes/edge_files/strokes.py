"""The strokes of a drawing, joined end to end, and which of them is the edge."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from scipy.spatial import KDTree

from meshes.edge import Edge
from meshes.edge_files.beziers import backwards, edge_from_beziers, enclosed_area
from meshes.edge_files.stroke import JOIN, Beziers, Stroke, advice
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import MM


def edge_from_strokes(path: Path, strokes: Sequence[Stroke], name: str) -> Edge:
    """Return the edge that those strokes of a drawing show which count.

    Open ones are joined where just two ends meet. The outline is then the closed line with the largest area; a
    hole's drawing holds one.

    Raises
    ------
    InputError
        If nothing is drawn, the largest line is open, or a hole's drawing holds several closed lines.
    """
    _check_drawn(path, strokes)
    lines = [one for one in strokes if one.is_closed] + _joined([one for one in strokes if not one.is_closed])
    largest = max(lines, key=lambda line: enclosed_area(line.beziers))
    if not largest.is_closed:
        raise InputError(f"{path.name}: the edge is open: {_gap(largest, lines)} {advice(name)}")
    closed = sum(line.is_closed for line in lines)
    if name != "outline" and closed > 1:
        raise InputError(
            f"{path.name}: it holds {closed} closed lines; expected one, the hole's edge. {advice(name)}"
        )
    return edge_from_beziers(largest.beziers, name)


def _joined(strokes: list[Stroke]) -> list[Stroke]:
    """Join open strokes wherever exactly two ends meet; where more do, nobody can tell which are one line."""
    strokes = [one for one in strokes if one.extent > JOIN]
    if not strokes:
        return []
    partners, left = _partners(strokes), set(range(len(strokes)))
    return [_followed(first, strokes, partners, left) for first in range(len(strokes)) if first in left]


def _partners(strokes: list[Stroke]) -> dict[int, int]:
    """Pair the ends (2 i is the start of stroke i, 2 i + 1 its end) that meet just each other."""
    ends = np.concatenate([one.ends for one in strokes])
    near = np.asarray(KDTree(ends).query(ends, k=3, distance_upper_bound=np.nextafter(JOIN, np.inf))[1])
    met = np.flatnonzero((near < len(ends)).sum(axis=1) == 2)  # itself and one more
    others = near[met][:, 0] + near[met][:, 1] - met
    return dict(zip(met.tolist(), others.tolist(), strict=True))


def _followed(first: int, strokes: list[Stroke], partners: dict[int, int], left: set[int]) -> Stroke:
    """Take one line out of those left, that of the first: from a loose end to the next, or once round."""
    start = 2 * first
    seen = {start}
    while (before := partners.get(start)) is not None and before ^ 1 not in seen:
        start = before ^ 1
        seen.add(start)
    curves: list[Floats] = []
    end: int | None = start
    while end is not None and end // 2 in left:
        left.remove(end // 2)
        piece = strokes[end // 2].beziers
        curves += _starting_at(
            curves[-1][-1] if curves else None, piece if end % 2 == 0 else backwards(piece)
        )
        end = partners.get(end ^ 1)
    return Stroke(tuple(curves))


def _starting_at(point: Floats | None, beziers: Beziers) -> Beziers:
    """Return the curves with their first point moved onto the end of the line before."""
    if point is None:
        return beziers
    return np.concatenate([point[None], beziers[0][1:]]), *beziers[1:]


def _check_drawn(path: Path, strokes: Sequence[Stroke]) -> None:
    """Refuse drawings without lines, or with numbers in them that are none."""
    if not all(np.isfinite(bezier).all() for one in strokes for bezier in one.beziers):
        raise InputError(
            f"{path.name}: a coordinate in it is not a finite number; expected numbers. Draw that line again."
        )
    if not any(one.extent > JOIN for one in strokes):
        raise InputError(
            f"{path.name}: no line is drawn in it; expected a closed one. Convert text and pictures to paths."
        )


def _gap(line: Stroke, lines: list[Stroke]) -> str:
    """Say where an open line ends, and how far the next loose end is or how many lines meet there."""
    ends = np.concatenate([one.ends for one in lines if not one.is_closed])
    distances = np.sort(np.linalg.norm(ends[None] - line.ends[:, None], axis=2), axis=1)
    nearer = int(np.argmin(distances[:, 1]))
    place = " mm, y = ".join(f"{value / MM:.2f}" for value in line.ends[nearer])
    meeting = int((distances[nearer] <= JOIN).sum())
    if meeting > 2:
        return f"{meeting} lines meet at x = {place} mm (or one is drawn twice); expected two."
    return (
        f"a line ends at x = {place} mm, {distances[nearer, 1] / MM:.2f} mm from the next end; "
        f"expected at most {JOIN / MM:.2f} mm."
    )
