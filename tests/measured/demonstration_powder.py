"""The photo of the demonstration top: an invented pattern, rendered. ``python -m tests.measured.demonstration_powder``.

Mode 5 of the top, seen from the inside, on a plate that is a quarter of a millimetre thinner in one place of the lower bout
than its readings say. It writes the photo and, as ``platewright pattern`` reads them, its lines.
"""

from pathlib import Path

import numpy as np
from PIL import Image

from meshes.removal import Hollow
from solver.core.units import MM
from solver.modal.modes import solve_modes
from solver.plate.thinning import thinned
from solver.plate_folder.read import read_plate
from tests.measured.powder_subjects import MODES, powder_shows, subject_of
from tests.measured.rendered_photo import Scene, render

CASE = Path("cases/violin-top-finished")
PHOTO, LINES = CASE / "photos" / "mode-5.jpg", CASE / "photos" / "mode-5-lines.csv"
HZ = 352.5
THIN = Hollow(np.array([85.0, -50.0]) * MM, 45.0 * MM, 0.25 * MM)
SCENE = Scene(21, inside=True, turn=98, tilt=9, tilt_towards=70, size=(960, 720), bench="cloth")


def photo() -> Image.Image:
    """Return the photo."""
    plate = thinned(read_plate(CASE), THIN)
    modes = solve_modes(plate, MODES)
    return render(subject_of(plate, modes), powder_shows(modes, modes.names.index("5")), SCENE)


if __name__ == "__main__":
    from solver.cli import main

    PHOTO.parent.mkdir(exist_ok=True)
    photo().save(PHOTO, quality=80)
    LINES.unlink(missing_ok=True)
    main(["pattern", str(CASE), str(PHOTO), "--hz", str(HZ)])
