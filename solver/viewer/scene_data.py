"""What a 3-D picture is drawn from, handed to the process that draws it as one file of plain arrays."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from solver.core.arrays import Floats, Ints, freeze
from solver.modal.modes import Modes
from solver.plate.plate import Plate
from solver.viewer.captions import end_names, mode_name, tone_name


@dataclass(frozen=True, eq=False)
class SceneData:
    """The outer surface at rest, the wood under it and how it moves in each mode.

    ``points`` (n, 3) [m]; ``triangles`` (t, 3) facing up; ``thickness`` (n,) [m]; ``displacement`` (k, n, 3) and
    ``normal_motion`` (k, n) in any one unit per mode; ``labels`` (k,) one line of words for each mode;
    ``title`` and ``upper_end`` are words too.
    """

    points: Floats
    triangles: Ints
    thickness: Floats
    displacement: Floats
    normal_motion: Floats
    labels: tuple[str, ...]
    title: str
    upper_end: str

    def __post_init__(self) -> None:
        """Check the shapes and keep the arrays from being changed."""
        n, k = len(self.points), len(self.labels)
        freeze(
            self,
            points=((n, 3), float),
            triangles=((None, 3), int),
            thickness=((n,), float),
            displacement=((k, n, 3), float),
            normal_motion=((k, n), float),
        )


def scene_data(modes: Modes, plate: Plate) -> SceneData:
    """Return what the 3-D pictures of a plate and its modes need."""
    return SceneData(
        points=modes.points,
        triangles=modes.triangles,
        thickness=modes.thickness,
        displacement=modes.displacement,
        normal_motion=modes.normal_motion,
        labels=tuple(f"{mode_name(modes, i)}   {tone_name(hz)}" for i, hz in enumerate(modes.hz)),
        title=plate.title,
        upper_end=end_names(plate.role)[0],
    )


def save_scene(data: SceneData, path: Path) -> None:
    """Write the data as plain arrays, none of them pickled."""
    np.savez(
        path,
        points=data.points,
        triangles=data.triangles,
        thickness=data.thickness,
        displacement=data.displacement,
        normal_motion=data.normal_motion,
        labels=np.array(data.labels),
        title=np.array(data.title),
        upper_end=np.array(data.upper_end),
    )


def load_scene(path: Path) -> SceneData:
    """Read back what save_scene wrote."""
    with np.load(path, allow_pickle=False) as stored:
        numbers = {name: stored[name] for name in stored.files if stored[name].dtype.kind != "U"}
        return SceneData(
            **numbers,
            labels=tuple(str(label) for label in stored["labels"]),
            title=str(stored["title"]),
            upper_end=str(stored["upper_end"]),
        )
