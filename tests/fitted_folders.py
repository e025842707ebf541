"""The record of a fit added to a plate's folder, without the work of a fit."""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from solver.advice.forecast import tone_keys
from solver.modal.modes import solve_modes
from solver.plate.plate import Plate
from solver.plate.wood_posterior import FITTED, PARAMETERS, WoodPosterior
from solver.plate_folder.fitted_table import record_text
from solver.plate_folder.read import read_plate

OFF = 0.01
"""What the model misses every tone by, in the record."""
SPREAD = 0.05
"""Standard deviation of the logarithm of every constant, in the record."""
STAMP = datetime(2026, 3, 15, 20, 0, tzinfo=UTC)


def posterior(plate: Plate) -> WoodPosterior:
    """A belief about a plate's own wood with an offset of its five lowest tones, as a fit might have left it."""
    keys = tone_keys(solve_modes(plate, 5))
    q, t = len(PARAMETERS), len(keys)
    spreads = np.concatenate([np.full(len(FITTED), SPREAD), np.full(q - len(FITTED), 1e-3), np.full(t, 1e-3)])
    values = [getattr(plate.wood, constant) for constant in FITTED] + [0.0] * (q - len(FITTED))
    return WoodPosterior(np.array(values), keys, np.full(t, OFF), np.diag(spreads**2))


def fitted(folder: Path) -> Path:
    """Add the record of a fit to a folder."""
    toml = folder / "plate.toml"
    record = record_text(posterior(read_plate(folder)), STAMP, ("1.toml",))
    toml.write_text(toml.read_text() + "\n[wanted]\nmin_thickness_mm = 2.0\n" + record)
    return folder
