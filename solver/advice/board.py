"""A rectangular board: its sizes, and what the thin plate's formulas make of the tones that bend or twist it purely."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.modal.labels import node_areas
from solver.modal.modes import Modes
from solver.plate.mass import survey_cells
from solver.plate.plate import Plate
from solver.plate.reshaped_arch import is_arched
from solver.plate.species import Constant
from solver.plate.wood import Wood

Form = Literal["twist", "along", "across"]

BEAM = 4.730040744862704
"""First root of ``cos(b) cosh(b) = 1``, the free beam's; its square is 22.3733 (exact)."""

PURE = 0.8
"""Share of a mode's motion that a form must make up for its formula to be used."""

SQUARE = np.radians(5.0)
"""How far grain and rings may be turned from the board's sides for the formulas to know a constant by its name."""

_LEAST_FILL = 0.985
"""Share of its own box that a board fills; an outline that fills less is no rectangle."""


@dataclass(frozen=True)
class Board:
    """Length along x, width along y, mean thickness [m]."""

    length: float
    width: float
    thickness: float


def board_of(plate: Plate, where: str) -> Board:
    """Return the sizes of a plate that is a rectangular board; raises InputError if it is none."""
    x_low, y_low, x_high, y_high = plate.outline.bounds
    length, width = x_high - x_low, y_high - y_low
    faults = {
        f'its role is "{plate.role}"': plate.role != "panel",
        "it has holes": bool(plate.outline.holes),
        "it has a bar": plate.bar is not None,
        "it is arched": is_arched(plate),
        "its outline is no rectangle along x and y": plate.outline.area < _LEAST_FILL * length * width,
    }
    for fault, found in faults.items():
        if found:
            raise InputError(
                f'{where}: {fault}; expected a flat rectangular board, role "panel". '
                "For a carved plate the wood is found by: platewright fit"
            )
    cells = survey_cells(plate.outline)
    thickness = float(np.average(plate.graduation.at(cells.points), weights=cells.areas))
    return Board(length, width, thickness)


@dataclass(frozen=True)
class PureTone:
    """The tone of a board that is of one form, as a place among its modes, and the share of its motion that is."""

    form: Form
    index: int
    share: float


def pure_tones(modes: Modes) -> tuple[PureTone, ...]:
    """Return the twist and the first bending along and across, as far as the board has a tone that is little else.

    A mode belongs to the form that makes up most of it, by its motion against that of the thin strip:
    ``cosh b s + cos b s - c (sinh b s + sin b s)`` along, the same across, ``u v`` for the twist.
    """
    plan = modes.points[:, :2]
    weights = node_areas(plan, modes.triangles)
    u, v = ((plan - plan.min(axis=0)) / np.ptp(plan, axis=0)).T
    forms: dict[Form, Floats] = {
        "twist": (u - 0.5) * (v - 0.5),
        "along": _strip_shape(u),
        "across": _strip_shape(v),
    }
    found = []
    for form, shape in forms.items():
        share = _shares(modes.normal_motion, shape, weights)
        index = int(share.argmax())
        if share[index] >= PURE:
            found.append(PureTone(form, index, float(share[index])))
    return tuple(found)


def _strip_shape(s: Floats) -> Floats:
    """Return the first bending shape (n,) of a free strip at shares ``s`` (n,) of its length."""
    c = (np.cosh(BEAM) - np.cos(BEAM)) / (np.sinh(BEAM) - np.sin(BEAM))
    return np.asarray(np.cosh(BEAM * s) + np.cos(BEAM * s) - c * (np.sinh(BEAM * s) + np.sin(BEAM * s)))


def _shares(motion: Floats, shape: Floats, weights: Floats) -> Floats:
    """Return the share (k,) of the mean square of motions (k, n) that a shape (n,) makes up."""
    along = (motion * weights) @ shape
    return np.asarray(along**2 / ((motion**2 @ weights) * (weights @ shape**2)))


def constant_of(form: Form, wood: Wood) -> Constant | None:
    """Return the constant that rules a form, by the cut of the board; None where it lies askew to its sides."""
    along_x = _turned(wood.grain, 0.0)
    quarter = _turned(wood.ring, 0.0)
    if not (along_x or _turned(wood.grain, np.pi / 2)) or not (quarter or _turned(wood.ring, np.pi / 2)):
        return None
    if form == "twist":
        return "GLR" if quarter else "GLT"
    if (form == "along") == along_x:
        return "EL"
    return "ER" if quarter else "ET"


def _turned(angle: float, to: float) -> bool:
    """Tell whether a line lies within some degrees of another."""
    return bool(abs((angle - to + np.pi / 2) % np.pi - np.pi / 2) <= SQUARE)


def thin_plate_modulus(form: Form, board: Board, density: float, hz: float) -> float:
    """Return the modulus [Pa] by the thin plate's formula for one tone.

    ``D4 = 0.274 rho f^2 a^2 b^2 / h^2`` by the twist and ``D1 = 0.0789 rho f^2 a^4 / h^2`` by bending, with
    ``G = 3 D4`` and ``E = 12 D1`` (M. E. McIntyre and J. Woodhouse, Acta Metall. 36 (1988) 1397; from memory). Re-derived:
    for ``w = x y`` Rayleigh's quotient gives ``G = (2 pi f)^2 rho a^2 b^2 / 48 h^2``, and the free beam's
    ``2 pi f = 22.373 sqrt(E h^2 / 12 rho) / a^2`` the other.
    """
    a, b, h = board.length, board.width, board.thickness
    turns = (2 * np.pi * hz) ** 2 * density / h**2
    if form == "twist":
        return float(turns * (a * b) ** 2 / 48)
    return float(12 * turns * (a if form == "along" else b) ** 4 / BEAM**4)


def thin_plate_moduli(
    board: Board, wood: Wood, tones: Iterator[tuple[PureTone, float]]
) -> dict[Constant, tuple[float, float]]:
    """Return by constants the heard tone [Hz] that is its own, and the modulus [Pa] by the formula."""
    return {
        constant: (hz, thin_plate_modulus(tone.form, board, wood.density, hz))
        for tone, hz in tones
        if (constant := constant_of(tone.form, wood)) is not None
    }
