"""What a PDF page draws, read from its own operators: paths in millimetres from the lower left corner of the paper.

Follows ISO 32000-1, 8.3 to 8.5: transformations, clipping to rectangles, path construction and painting, and forms.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from pypdf import PageObject
from pypdf.generic import ArrayObject, ContentStream, DictionaryObject, FloatObject, StreamObject
from shapely.geometry.base import BaseGeometry

from solver.core.arrays import Floats

POINT = 25.4 / 72


@dataclass(frozen=True)
class State:
    """Transformation (a, b, c, d, e, f), clip [mm], fill colour (r, g, b) and line width of the graphics state."""

    matrix: Floats
    clip: BaseGeometry
    fill: tuple[float, ...] = ()
    width: float = 1.0


@dataclass(frozen=True, eq=False)
class Painted:
    """One painted path: its parts (p, 2) [mm], closed ones with the first point repeated; where it may be seen."""

    parts: tuple[Floats, ...]
    clip: BaseGeometry
    operator: str
    fill: tuple[float, ...]

    @property
    def line(self) -> BaseGeometry:
        """What is seen of it as lines."""
        return shapely.MultiLineString([part for part in self.parts if len(part) > 1]).intersection(self.clip)

    @property
    def area(self) -> BaseGeometry:
        """What is seen of it as an area, by the even-odd rule."""
        rings = [shapely.Polygon(part) for part in self.parts if len(part) > 3]
        whole: BaseGeometry = rings[0]
        for ring in rings[1:]:
            whole = whole.symmetric_difference(ring)
        return whole.intersection(self.clip)


@dataclass
class _Path:
    parts: list[list[Floats]] = field(default_factory=list)
    clips: bool = False


def painted(page: PageObject) -> list[Painted]:
    """Return all paths of a page in the order in which they are painted."""
    width, height = (float(size) * POINT for size in (page.mediabox.width, page.mediabox.height))
    start = State(np.array([POINT, 0, 0, POINT, 0, 0]), shapely.box(0, 0, width, height))
    content = page.get_contents()
    assert content is not None
    return list(_run(ContentStream(content, page.pdf), page["/Resources"].get_object(), start))


def _run(content: ContentStream, resources: object, state: State) -> Iterator[Painted]:
    assert isinstance(resources, DictionaryObject)
    stack: list[State] = []
    path = _Path()
    for operands, raw in content.operations:
        operator = raw.decode()
        numbers = [float(value) for value in operands if isinstance(value, int | float)]
        if operator == "q":
            stack.append(state)
        elif operator == "Q":
            state = stack.pop()
        elif operator == "cm":
            state = replace(state, matrix=_product(np.array(numbers), state.matrix))
        elif operator == "rg":
            state = replace(state, fill=tuple(numbers))
        elif operator in ("m", "l", "c", "re", "h"):
            _extend(path, operator, numbers, state.matrix)
        elif operator == "W":
            path.clips = True
        elif operator == "Do":
            yield from _form(resources, operands[0], state)
        elif operator in ("S", "s", "f", "f*", "F", "B", "B*", "b", "b*", "n"):
            if path.clips:
                state = replace(state, clip=state.clip.intersection(shapely.Polygon(path.parts[0])))
            if operator != "n":
                parts = tuple(np.array(part) for part in path.parts)
                yield Painted(parts, state.clip, operator, state.fill)
            path = _Path()


def _form(resources: DictionaryObject, name: str, state: State) -> Iterator[Painted]:
    objects = resources["/XObject"].get_object()
    assert isinstance(objects, DictionaryObject)
    form = objects[name].get_object()
    assert isinstance(form, StreamObject)
    matrix = _product(
        _numbers(form.get("/Matrix", ArrayObject(map(FloatObject, (1, 0, 0, 1, 0, 0))))), state.matrix
    )
    left, bottom, right, top = _numbers(form["/BBox"])
    corners = [
        _moved((u, v), matrix) for u, v in ((left, bottom), (right, bottom), (right, top), (left, top))
    ]
    inside = replace(state, matrix=matrix, clip=state.clip.intersection(shapely.Polygon(corners)))
    yield from _run(ContentStream(form, None), form["/Resources"].get_object(), inside)


def _numbers(array: object) -> Floats:
    assert isinstance(array, ArrayObject)
    return np.array([float(value) for value in array])


def _extend(path: _Path, operator: str, numbers: list[float], matrix: Floats) -> None:
    if operator == "re":
        u, v, wide, high = numbers
        corners = [(u, v), (u + wide, v), (u + wide, v + high), (u, v + high), (u, v)]
        path.parts.append([_moved(corner, matrix) for corner in corners])
    elif operator == "h":
        path.parts[-1].append(path.parts[-1][0])
    elif operator == "m":
        path.parts.append([_moved(tuple(numbers), matrix)])
    else:
        path.parts[-1].append(_moved(tuple(numbers[-2:]), matrix))


def _moved(point: tuple[float, ...], matrix: Floats) -> Floats:
    a, b, c, d, e, f = matrix
    u, v = point
    return np.array([a * u + c * v + e, b * u + d * v + f])


def _product(first: Floats, then: Floats) -> Floats:
    """Return the transformation that does ``first`` and after it ``then``."""
    one, two = (np.array([[m[0], m[1], 0], [m[2], m[3], 0], [m[4], m[5], 1]]) for m in (first, then))
    both = one @ two
    return np.array([both[0, 0], both[0, 1], both[1, 0], both[1, 1], both[2, 0], both[2, 1]])
