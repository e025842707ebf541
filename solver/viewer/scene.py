"""The plate in three dimensions: pictures made without a screen, and a window in which the shapes swing.

The only door to pyvista. It runs as a process of its own (``python -m solver.viewer.scene``), because VTK
ends its process with a crash where the machine has no GL library.
"""

import dataclasses
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solver.core.arrays import Floats
from solver.viewer.colours import CUT_EDGE, INK, PAPER, QUIET_INK, WOOD, motion_colours
from solver.viewer.scene_data import SceneData, load_scene
from solver.viewer.solid import point_normals, rim_edges, solid_plate

if TYPE_CHECKING:
    import pyvista

NO_SCREEN = 3
"""Exit code of this process where there is no screen to open a window on."""

_SIZE = [1500, 940]
_LOOK_FROM = np.array([-0.42, -1.0, 0.95])
_LIGHTS = (((-1.0, 0.6, 0.45), 0.75), ((-0.4, -0.8, 1.2), 0.55))
"""Where each light comes from, and how strong it is: one grazing along the plate, one from the viewer."""
_SWING = 0.10
"""Largest motion drawn, as a share of the plate's width."""
_ARCH_DRAWN = 1.5
"""How much higher than true the arch is drawn in its own picture: at true height its forms hardly show."""
_LINE_LIFT = 0.0004
"""How far [m] lines float above the surface, so that it does not swallow them."""
_SWING_SECONDS, _FRAME_SECONDS = 1.6, 0.04


def main(arguments: list[str]) -> int:
    """Draw the pictures into a folder (``pictures FILE FOLDER``) or open the window (``window FILE``)."""
    data = load_scene(Path(arguments[1]))
    if arguments[0] == "window":
        return open_window(data)
    draw_pictures(data, Path(arguments[2]))
    return 0


def draw_pictures(data: SceneData, folder: Path) -> None:
    """Write a picture of the arch, ``arch.png``, and one of each shape, ``shape-01.png`` and so on."""
    plotter = _stage(off_screen=True)
    _set_arch(plotter, data)
    _shoot(plotter, folder / "arch.png")
    for index in range(len(data.labels)):
        _set_shape(plotter, data, index)
        _shoot(plotter, folder / f"shape-{index + 1:02d}.png")
    plotter.close()


def _set_arch(plotter: "pyvista.Plotter", data: SceneData) -> None:
    """Show the arched outer surface with lines of equal height."""
    rise_mm = 1e3 * float(np.ptp(data.points[:, 2]))
    step_mm = next(step for step in (1, 2, 5, 10, 20, np.inf) if rise_mm <= 15 * step)
    levels = 1e-3 * np.arange(step_mm, rise_mm, step_mm) + data.points[:, 2].min()
    data = dataclasses.replace(data, points=data.points * [1.0, 1.0, _ARCH_DRAWN])
    plotter.clear_actors()
    _add_wood(plotter, _body(data), _walls(data), motion=False)
    _add_lines(plotter, _level_lines(data, data.points[:, 2], _ARCH_DRAWN * levels), 2, QUIET_INK)
    arch = f"arch {rise_mm:.1f} mm high" if len(levels) else "flat"
    drawn = (
        f"a line every {step_mm:g} mm, drawn {_ARCH_DRAWN:g} times as high as it is; " if len(levels) else ""
    )
    _write(plotter, f"{data.title}: {arch}", f"{drawn}{data.upper_end} to the right")
    _aim(plotter, data.points)


def _set_shape(plotter: "pyvista.Plotter", data: SceneData, index: int) -> None:
    """Show one shape at the end of its swing, coloured by motion along the normal."""
    plotter.clear_actors()
    for mesh in _add_shape(plotter, data, index):
        _move(mesh, 1.0)
    words = "blue moves out while orange moves in; the black line stands still; thin grey line: at rest"
    _write(plotter, data.labels[index], f"{words}; {data.upper_end} to the right")
    _aim(plotter, _reach(data))


def open_window(data: SceneData) -> int:
    """Open a window in which one shape swings; the arrow keys choose the shape."""
    plotter = _stage(off_screen=False)
    if not _has_screen(plotter):
        return NO_SCREEN
    shown = _Swinging(plotter, data)
    plotter.add_key_event("Right", lambda: shown.choose(1))
    plotter.add_key_event("Left", lambda: shown.choose(-1))
    plotter.add_timer_event(max_steps=10**9, duration=round(1e3 * _FRAME_SECONDS), callback=shown.swing)
    _aim(plotter, _reach(data))
    plotter.show(title=f"platewright: {data.title}")
    return 0


class _Swinging:
    """What changes in the window: which shape is up, and where in its swing it is."""

    def __init__(self, plotter: "pyvista.Plotter", data: SceneData) -> None:
        self._plotter, self._data, self._index = plotter, data, 0
        self.choose(0)

    def choose(self, step: int) -> None:
        self._index = (self._index + step) % len(self._data.labels)
        self._plotter.clear_actors()
        self._meshes = _add_shape(self._plotter, self._data, self._index)
        place = f"{self._index + 1} of {len(self._data.labels)}"
        words = f"{place}: left and right arrow keys choose; drag to turn, wheel to zoom, q to close"
        _write(self._plotter, self._data.labels[self._index], words)

    def swing(self, frame: int) -> None:
        for mesh in self._meshes:
            _move(mesh, float(np.sin(2 * np.pi * frame * _FRAME_SECONDS / _SWING_SECONDS)))
        self._plotter.render()


def _stage(off_screen: bool) -> "pyvista.Plotter":
    import pyvista

    plotter = pyvista.Plotter(off_screen=off_screen, window_size=_SIZE, lighting="none")
    plotter.set_background(PAPER)
    for place, strength in _LIGHTS:
        plotter.add_light(pyvista.Light(position=place, focal_point=(0, 0, 0), intensity=strength))
    plotter.enable_anti_aliasing("msaa", multi_samples=8)
    return plotter


def _has_screen(plotter: "pyvista.Plotter") -> bool:
    """Tell whether VTK found a screen: without one it quietly falls back to a window that nobody sees."""
    kind = plotter.render_window.GetClassName()
    return "EGL" not in kind and "OSOpenGL" not in kind


def _add_shape(plotter: "pyvista.Plotter", data: SceneData, index: int) -> list["pyvista.PolyData"]:
    """Add one shape, its node lines and its rim at rest; return the meshes that swing."""
    import pyvista

    motion = data.normal_motion[index] / np.abs(data.normal_motion[index]).max()
    moved = data.displacement[index] / np.linalg.norm(data.displacement[index], axis=1).max()
    swing = _SWING * float(np.ptp(data.points[:, 1])) * moved
    body, walls, lines = _body(data), _walls(data), _level_lines(data, motion, np.zeros(1), swing)
    body["motion"] = np.tile(motion, 2)
    body["swing"] = walls["swing"] = np.tile(swing, (2, 1))
    _add_wood(plotter, body, walls, motion=True)
    _add_lines(plotter, lines, 5, INK)
    rim = rim_edges(data.triangles)
    at_rest = np.column_stack([np.full(len(rim), 2), rim]).ravel()
    _add_lines(plotter, pyvista.PolyData(data.points, lines=at_rest), 1, QUIET_INK)
    return [body, walls, lines]


def _move(mesh: "pyvista.PolyData", share: float) -> None:
    """Put a mesh at ``share`` of its full swing, from -1 to 1, and light it as it now lies."""
    mesh.points = mesh["rest"] + share * mesh["swing"]
    if "motion" in mesh.point_data:
        mesh.point_data["Normals"] = point_normals(np.asarray(mesh.points), mesh.regular_faces)


def _body(data: SceneData) -> "pyvista.PolyData":
    """Return the two carved surfaces, with the normals that make them look smooth."""
    import pyvista

    solid = solid_plate(data.points, data.triangles, data.thickness)
    body = pyvista.PolyData.from_regular_faces(solid.points, solid.faces)
    body["rest"] = solid.points
    body.point_data["Normals"] = point_normals(solid.points, solid.faces)
    return body


def _walls(data: SceneData) -> "pyvista.PolyData":
    """Return the cut edge round the plate and its holes."""
    import pyvista

    solid = solid_plate(data.points, data.triangles, data.thickness)
    walls = pyvista.PolyData.from_regular_faces(solid.points, solid.walls)
    walls["rest"] = solid.points
    return walls


def _level_lines(
    data: SceneData, values: Floats, levels: Floats, swing: Floats | None = None
) -> "pyvista.PolyData":
    """Return the lines along which ``values`` (n,) is one of ``levels``, just above the outer surface."""
    import pyvista

    surface = pyvista.PolyData.from_regular_faces(data.points, data.triangles)
    surface["values"] = values
    surface["rest"] = data.points + _LINE_LIFT * point_normals(data.points, data.triangles)
    surface["swing"] = np.zeros_like(data.points) if swing is None else swing
    lines = surface.contour(levels, scalars="values")
    if lines.n_points:
        _move(lines, 0.0)
    return lines


def _add_wood(
    plotter: "pyvista.Plotter", body: "pyvista.PolyData", walls: "pyvista.PolyData", motion: bool
) -> None:
    """Add the body, coloured by its motion or as bare wood, and its cut edge."""
    finish = {"ambient": 0.3, "diffuse": 0.75, "specular": 0.12, "specular_power": 15}
    if motion:
        paint = {"scalars": "motion", "cmap": motion_colours(), "clim": (-1, 1), "show_scalar_bar": False}
    else:
        paint = {"color": WOOD}
    plotter.add_mesh(body, **paint, **finish, render=False).prop.interpolation = "Phong"
    plotter.add_mesh(walls, color=CUT_EDGE, **finish, render=False)


def _add_lines(plotter: "pyvista.Plotter", lines: "pyvista.PolyData", width: float, colour: str) -> None:
    if lines.n_points:
        plotter.add_mesh(lines, color=colour, line_width=width, lighting=False, render=False)


def _write(plotter: "pyvista.Plotter", headline: str, line: str) -> None:
    """Put a headline at the top and a line of words at the bottom."""
    plotter.add_text(
        headline,
        position=(0.02, 0.935),
        viewport=True,
        font_size=16,
        color=INK,
        name="headline",
        render=False,
    )
    plotter.add_text(
        line, position=(0.02, 0.025), viewport=True, font_size=12, color=QUIET_INK, name="line", render=False
    )


def _reach(data: SceneData) -> Floats:
    """Return points (2n, 3) [m] that no shape's swing goes beyond, so that all shapes are drawn alike."""
    swing = [0.0, 0.0, _SWING * float(np.ptp(data.points[:, 1]))]
    return np.vstack([data.points + swing, data.points - swing])


def _aim(plotter: "pyvista.Plotter", points: Floats) -> None:
    """Look at the points (n, 3) [m] from above the right side, without perspective, filling the picture."""
    toward = -_LOOK_FROM / np.linalg.norm(_LOOK_FROM)
    right = np.cross(toward, [0.0, 0.0, 1.0])
    right /= np.linalg.norm(right)
    up = np.cross(right, toward)
    spans = [(axis @ points.T) for axis in (right, up, toward)]
    middle = sum(0.5 * (s.min() + s.max()) * a for s, a in zip(spans, (right, up, toward), strict=True))
    width, height = np.ptp(spans[0]), np.ptp(spans[1])
    plotter.camera_position = [middle - 2.0 * toward, middle, (0.0, 0.0, 1.0)]
    plotter.camera.parallel_projection = True
    plotter.camera.parallel_scale = 0.5 * max(height / 0.84, width / 0.94 * _SIZE[1] / _SIZE[0])
    plotter.reset_camera_clipping_range()


def _shoot(plotter: "pyvista.Plotter", path: Path) -> None:
    plotter.render()
    plotter.screenshot(str(path))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
