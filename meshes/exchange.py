"""Shapes for other programs: a plate and its modes as a VTU file. The only door to meshio."""

from pathlib import Path

import numpy as np

from solver.core.arrays import Floats, Ints
from solver.core.atomic_write import whole_file
from solver.core.errors import InputError


def write_vtu(
    path: Path, points: Floats, triangles: Ints, thickness: Floats, hz: Floats, displacement: Floats
) -> None:
    """Write a file that a general viewer opens, to turn, colour and animate the plate there.

    ``points`` (n, 3) [m] lie on the outer surface, ``triangles`` (t, 3) between them. Its point data are
    ``thickness`` (n,) [m] and for each mode the motion (n, 3), from ``hz`` (k,) and ``displacement``
    (k, n, 3) in any unit, under a name of order and frequency such as ``shape_06_342.1Hz``.

    Raises
    ------
    InputError
        If the name does not end in .vtu, or the file cannot be written; then nothing half-written stays.
    """
    import meshio

    if path.suffix.lower() != ".vtu":
        raise InputError(
            f"{path}: it would be a VTU file; expected a name that ends in .vtu. Choose such a name."
        )
    data = {"thickness": np.asarray(thickness)}
    for order, (frequency, motion) in enumerate(zip(hz, displacement, strict=True), start=1):
        data[f"shape_{order:02d}_{frequency:.1f}Hz"] = np.asarray(motion)
    mesh = meshio.Mesh(points, [("triangle", triangles)], point_data=data)
    with whole_file(path) as part:
        meshio.write(part, mesh, file_format="vtu")
