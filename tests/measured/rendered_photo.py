"""Photographs of plates with powder on them, drawn by ray casting: the truth for tests of the reader.

Nothing of the reader is used here, nor its way of thinking: for every pixel a ray is followed until it meets the arched
surface or the bench. Powder is laid grain by grain where the motion given is small beside its slope. Lengths in mm.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import shapely
from PIL import Image, ImageDraw, ImageFilter
from scipy.ndimage import gaussian_filter, map_coordinates

from solver.core.arrays import Bools, Floats, Ints
from tests.measured.photographed_plate import GRID, PlateMaps, Subject, maps_of


@dataclass(frozen=True)
class Scene:
    """What differs from photo to photo. Angles in degrees, lengths in mm, sizes in pixels; colours 0 to 1.

    ``inside`` looks at the hollow side. ``grain`` and ``flame`` are contrasts of the wood, ``shade`` that of the light from
    one side to the other. ``spread`` is how far grains lie off the line, ``strays`` the share that lies anywhere.
    ``cover`` is "", "hand" or "foam"; ``mirrored`` exchanges left and right, as some telephones do.
    """

    seed: int
    inside: bool = False
    turn: float = 0.0
    tilt: float = 0.0
    tilt_towards: float = 0.0
    focal: float = 1.0
    fill: float = 0.8
    size: tuple[int, int] = (1280, 960)
    wood: tuple[float, float, float] = (0.86, 0.74, 0.54)
    powder: tuple[float, float, float] = (0.16, 0.11, 0.08)
    bench: str = "cloth"
    bench_colour: tuple[float, float, float] = (0.18, 0.2, 0.24)
    grain: float = 0.06
    flame: float = 0.0
    shade: float = 0.3
    spread: float = 1.6
    strays: float = 0.08
    grains: float = 14.0
    blur: float = 1.0
    noise: float = 0.012
    cover: str = ""
    mirrored: bool = False


def render(subject: Subject, motion: Floats | None, scene: Scene) -> Image.Image:
    """Return the photo; ``motion`` (p,) is what the powder showed, None where no powder was strewn."""
    random = np.random.default_rng(scene.seed)
    maps = maps_of(subject)
    powder = np.zeros_like(maps.outer) if motion is None else _powder(motion, maps, scene, random)
    rays = rays_of(subject, scene)
    bench_x, bench_y = rays.at_height(_bench_height(maps, scene))
    picture = _bench(scene, bench_x, bench_y, random)
    picture *= 1 - 0.45 * _shadow(maps, scene, bench_x, bench_y)[..., None]
    shown, x, y = _hit(maps, scene, rays)
    wood = map_coordinates(maps.wood.astype(float), _places(maps, x, y), order=1, mode="constant", cval=0.0)
    plate = _plate_colours(maps, scene, x, y, powder, random)
    picture[shown] += wood[:, None] * (plate - picture[shown])
    picture *= _light(scene, random)[..., None]
    picture = _covered(picture, subject, scene, rays, random).astype(np.float32)
    picture = gaussian_filter(picture, (scene.blur, scene.blur, 0))
    picture += scene.noise * random.standard_normal(picture.shape, np.float32)
    pixels = (255 * np.clip(picture, 0, 1)).astype(np.uint8)
    return Image.fromarray(pixels[:, ::-1] if scene.mirrored else pixels)


def plain(picture: str, seed: int, size: tuple[int, int] = (1280, 960)) -> Image.Image:
    """Return a photo on which there is no plate: a "bench", a "book" or a "bowl" upon it."""
    random = np.random.default_rng(seed)
    scene = Scene(seed, bench="board", bench_colour=(0.55, 0.42, 0.3), size=size)
    rows, columns = np.mgrid[: size[1], : size[0]]
    pixels = _bench(scene, 0.4 * columns, 0.4 * rows, random) * _light(scene, random)[..., None]
    image = Image.fromarray((255 * np.clip(pixels, 0, 1)).astype(np.uint8))
    pen, (w, h) = ImageDraw.Draw(image), size
    if picture == "book":
        corners = np.array([[-0.25, -0.3], [0.25, -0.3], [0.25, 0.3], [-0.25, 0.3]]) * min(size)
        turn = random.uniform(0, np.pi)
        turned = corners @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        pen.polygon([tuple(p) for p in turned + np.array([w / 2, h / 2])], fill=(150, 40, 40))
    elif picture == "bowl":
        pen.ellipse(
            (0.3 * w, 0.2 * h, 0.3 * w + 0.55 * h, 0.75 * h), fill=(225, 225, 215), outline=(90, 90, 90)
        )
    return image.filter(ImageFilter.GaussianBlur(1.5))


@dataclass(frozen=True, eq=False)
class Rays:
    """A ray for each pixel: the eye (3,) and directions (h, w, 3) [mm]; ``pixel`` takes plate points to pixels."""

    eye: Floats
    directions: Floats
    pixel: Callable[[Floats], Floats]

    def at_height(self, z: Floats | float) -> tuple[Floats, Floats]:
        """Return where the rays pass a height."""
        along = (z - self.eye[2]) / self.directions[..., 2]
        return self.eye[0] + along * self.directions[..., 0], self.eye[1] + along * self.directions[..., 1]


def rays_of(subject: Subject, scene: Scene) -> Rays:
    """Place the camera so that the plate fills its share of the frame, and send out rays."""
    w, h = scene.size
    focal = scene.focal * max(w, h)
    low, high = subject.rim.min(axis=0), subject.rim.max(axis=0)
    centre = np.array([*(low + high) / 2, 0.0])
    side = -1.0 if scene.inside else 1.0
    turn, tilt, towards = np.radians([scene.turn, scene.tilt, scene.tilt_towards])
    forward = -side * np.array([0.0, 0.0, 1.0])
    lean = np.array([np.cos(towards), np.sin(towards), 0.0])
    forward = np.cos(tilt) * forward + np.sin(tilt) * lean
    right = np.cross(forward, [np.cos(turn), np.sin(turn), 0.0])
    right /= np.linalg.norm(right)
    down = np.cross(forward, right)
    diagonal = float(np.linalg.norm(high - low))
    eye = centre - forward * focal * diagonal / (scene.fill * min(w, h) * 1.1)
    for _ in range(30):  # until the rim fits into the frame
        shown = (np.column_stack([subject.rim, np.zeros(len(subject.rim))]) - eye) @ np.array(
            [right, down, forward]
        ).T
        pixels = shown[:, :2] / shown[:, 2:] * focal
        if np.all(np.abs(pixels).max(axis=0) < 0.485 * np.array([w, h])):
            break
        eye = centre + 1.05 * (eye - centre)
    columns, rows = np.meshgrid(np.arange(w) + 0.5 - w / 2, np.arange(h) + 0.5 - h / 2)
    directions = columns[..., None] * right + rows[..., None] * down + focal * forward

    def pixel(points: Floats) -> Floats:
        shown = (points - eye) @ np.array([right, down, forward]).T
        return np.asarray(shown[:, :2] / shown[:, 2:] * focal + [w / 2, h / 2])

    return Rays(eye, directions, pixel)


def _powder(motion: Floats, maps: PlateMaps, scene: Scene, random: np.random.Generator) -> Floats:
    """Return how densely powder covers each place, 0 to 1: grains off the line by a normal law, some anywhere."""
    field = gaussian_filter(np.nan_to_num(maps.drawn(motion)), 2.0)
    steep = np.hypot(*np.gradient(field, GRID))
    off = np.abs(field) / np.maximum(steep, 0.25 * np.median(steep[maps.wood]))
    inside = gaussian_filter(maps.wood.astype(float), 6.0) > 0.97
    density = np.exp(-0.5 * (off / scene.spread) ** 2) * inside
    length = density.sum() * GRID**2 / (np.sqrt(2 * np.pi) * scene.spread)
    on_line = _throw(density, int(scene.grains * length), random)
    strays = _throw(maps.wood.astype(float), int(scene.strays * scene.grains * length), random)
    laid = np.zeros(maps.wood.shape)
    np.add.at(laid, tuple(np.concatenate([on_line, strays]).T), 1.0)
    laid = gaussian_filter(laid, 0.8) * 2.2
    return np.asarray(np.where(maps.wood, np.minimum(laid, 1.0), 0.0))


def _throw(density: Floats, count: int, random: np.random.Generator) -> Ints:
    total = np.cumsum(density.ravel())
    cells = np.searchsorted(total, random.uniform(0, total[-1], count))
    return np.column_stack(np.unravel_index(np.minimum(cells, density.size - 1), density.shape))


def _hit(maps: PlateMaps, scene: Scene, rays: Rays) -> tuple[Bools, Floats, Floats]:
    """Return which rays pass near the plate (h, w), and where they meet the side of it that is seen (n,) [mm]."""
    surface = maps.inner if scene.inside else maps.outer
    z = float(np.median(surface[maps.wood]))
    x, y = rays.at_height(z)
    place = _places(maps, x, y)
    height = float(np.ptp(surface[maps.wood]))
    spare = height / GRID  # a ray leans by less than 45 degrees
    size = np.array(maps.wood.shape)[:, None, None]
    shown: Bools = np.all((place > -spare) & (place < size + spare), axis=0, keepdims=True)[0]
    near = Rays(rays.eye, rays.directions[shown], rays.pixel)
    x, y = x[shown], y[shown]
    for _ in range(4):
        x, y = near.at_height(maps.at(surface, x, y))
    return shown, x, y


def _places(maps: PlateMaps, x: Floats, y: Floats) -> Floats:
    return np.stack([(x - maps.origin[0]) / GRID, (y - maps.origin[1]) / GRID])


def _bench_height(maps: PlateMaps, scene: Scene) -> float:
    """The bench lies beyond the plate, which rests on small feet."""
    lowest = float(maps.inner[maps.wood].min()), float(maps.outer[maps.wood].max())
    return lowest[1] + 12.0 if scene.inside else lowest[0] - 12.0


def _plate_colours(
    maps: PlateMaps, scene: Scene, x: Floats, y: Floats, powder: Floats, random: np.random.Generator
) -> Floats:
    """Return the colours of wood and powder, shaded as the surface leans."""
    surface = maps.inner if scene.inside else maps.outer
    slope = np.gradient(surface, GRID)
    lit = random.uniform(0, 2 * np.pi)
    lean = gaussian_filter(np.cos(lit) * slope[0] + np.sin(lit) * slope[1], 3.0)
    shaded = 1 + 0.35 * maps.at(lean, x, y)
    spacing = random.uniform(1.0, 2.2)
    wander = 2.0 * np.sin(x / 90.0 + random.uniform(0, 6)) + 0.8 * np.sin(x / 31.0 + y / 50.0)
    rings = np.sin(2 * np.pi * (y + wander) / spacing + 1.5 * np.sin(y / 17.0))
    broad = np.sin((y + wander) / 14.0 + random.uniform(0, 6))
    wood = 1 + scene.grain * (rings + 0.5 * broad)
    wood = wood + scene.flame * np.sin(x / 1.6 + 1.4 * np.sin(y / 13.0) + 2.2 * np.sin(x / 37.0))
    colours = np.array(scene.wood) * (wood * shaded)[..., None]
    covered = maps.at(powder, x, y)[..., None]
    return np.asarray(colours + covered * (np.array(scene.powder) * shaded[..., None] - colours))


def _bench(scene: Scene, x: Floats, y: Floats, random: np.random.Generator) -> Floats:
    colour = np.array(scene.bench_colour)
    turn = random.uniform(0, np.pi)
    along, across = np.cos(turn) * x + np.sin(turn) * y, np.cos(turn) * y - np.sin(turn) * x
    if scene.bench == "board":
        pattern = 0.10 * np.sin(across / 2.1 + 3 * np.sin(along / 120) + 2 * np.sin(across / 23))
        pattern = pattern - 0.35 * (np.abs(np.mod(across, 140.0) - 70) < 0.8)
    elif scene.bench == "mat":
        lines = np.minimum(np.abs(np.mod(along, 50.0) - 25), np.abs(np.mod(across, 50.0) - 25))
        pattern = 0.5 * (lines < 0.6)
    elif scene.bench == "speckled":
        pattern = gaussian_filter(random.normal(0, 1, x.shape), 2.0) * 0.6
    else:
        pattern = gaussian_filter(random.normal(0, 1, x.shape), 1.0) * 0.12
    return np.asarray(colour * (1 + pattern)[..., None])


def _shadow(maps: PlateMaps, scene: Scene, x: Floats, y: Floats) -> Floats:
    """A soft shadow of the plate on the bench."""
    away = np.random.default_rng(scene.seed + 1).uniform(-6, 6, 2)
    soft = gaussian_filter(np.pad(maps.wood, 60).astype(float), 9.0)
    where = _places(maps, x - away[0], y - away[1]) + 60
    return np.asarray(map_coordinates(soft, where, order=1, mode="constant", cval=0.0))


def _light(scene: Scene, random: np.random.Generator) -> Floats:
    """Return the light (h, w): brighter towards one side, and a dim round patch."""
    w, h = scene.size
    columns, rows = np.meshgrid(np.linspace(-1, 1, w), np.linspace(-1, 1, h))
    turn = random.uniform(0, 2 * np.pi)
    light = 1 - scene.shade * (0.5 + 0.5 * (np.cos(turn) * columns + np.sin(turn) * rows) / 1.4)
    spot = random.uniform(-0.6, 0.6, 2)
    dim = np.exp(-((columns - spot[0]) ** 2 + (rows - spot[1]) ** 2) / 0.25)
    return np.asarray(light * (1 - 0.4 * scene.shade * dim))


def _covered(
    picture: Floats, subject: Subject, scene: Scene, rays: Rays, random: np.random.Generator
) -> Floats:
    """Lay a hand's fingers or blocks of foam over the edge."""
    if not scene.cover:
        return picture
    image = Image.fromarray((255 * np.clip(picture, 0, 1)).astype(np.uint8))
    pen = ImageDraw.Draw(image)
    middle = subject.rim.mean(axis=0)
    blocks = 1 if scene.cover == "hand" else int(random.integers(1, 4))
    for _ in range(blocks):
        place = subject.rim[random.integers(len(subject.rim))]
        outward = (place - middle) / np.linalg.norm(place - middle)
        across = np.array([-outward[1], outward[0]])
        if scene.cover == "foam":
            half, deep = random.uniform(12, 22), random.uniform(8, 18)
            corners = [
                place + a * half * across + b * outward
                for a, b in ((-1, -deep), (1, -deep), (1, 30), (-1, 30))
            ]
            pen.polygon(
                _on_photo(np.array(corners), rays), fill=tuple(int(c) for c in random.integers(90, 230, 3))
            )
            continue
        skin = np.array([205, 150, 120]) + random.integers(-40, 25)
        for finger in range(4):
            root = place + 350 * outward + (finger - 1.5) * 22 * across
            tip = place - random.uniform(10, 32) * outward + (finger - 1.5) * 17 * across
            ends = _on_photo(np.array([root, tip]), rays)
            wide = int(shapely.LineString(_on_photo(np.array([place, place + 15 * across]), rays)).length)
            pen.line(ends, fill=tuple(int(c) for c in skin - 6 * finger), width=wide)
            (u, v), r = ends[1], wide / 2
            pen.ellipse((u - r, v - r, u + r, v + r), fill=tuple(int(c) for c in skin - 6 * finger))
    return np.asarray(image, dtype=float) / 255


def _on_photo(points: Floats, rays: Rays) -> list[tuple[float, float]]:
    pixels = rays.pixel(np.column_stack([points, np.zeros(len(points))]))
    return [(float(u), float(v)) for u, v in pixels]
