"""The free modes of violin, viola and cello plates, for notebooks and programs.

A plate is read from its folder, or made anew; every function takes values and returns values, none of which it changes:

>>> import platewright
>>> panel = platewright.new_plate("my-panel", like="panel")
>>> modes = platewright.solve_modes(panel, count=5)
>>> thinner = panel.thinned(platewright.hollow(180, 0, radius_mm=60, depth_mm=0.4))
>>> bool(platewright.solve_modes(thinner, count=5).hz[0] < modes.hz[0])
True

Lengths that are typed are millimetres and say so in their names (``depth_mm``); arrays are SI, as their docstrings say.
What cannot be done raises `InputError` with one sentence. A notebook shows a plate as a picture, answers as tables.
"""

from platewright.advice import (
    CarvingPlan,
    Shaving,
    ThinningMap,
    WoodFit,
    fit_wood,
    plan,
    shave,
    where,
)
from platewright.drawing import draw_mode, draw_plate, draw_where
from platewright.live import LiveModel, live_model
from platewright.measured import PatternReading, TapTones, hear, read_powder
from platewright.modes import Modes, solve_modes
from platewright.plates import Plate, hollow, new_plate, read_plate
from solver.core.errors import InputError
from solver.core.version import VERSION

__version__ = VERSION

__all__ = [
    "CarvingPlan",
    "InputError",
    "LiveModel",
    "Modes",
    "PatternReading",
    "Plate",
    "Shaving",
    "TapTones",
    "ThinningMap",
    "WoodFit",
    "__version__",
    "draw_mode",
    "draw_plate",
    "draw_where",
    "fit_wood",
    "hear",
    "hollow",
    "live_model",
    "new_plate",
    "plan",
    "read_plate",
    "read_powder",
    "shave",
    "solve_modes",
    "where",
]
