"""CalculiX: write the deck, run the program, read the frequencies."""

import os
import re
import shutil
import subprocess
import tempfile
from io import StringIO
from pathlib import Path

import numpy as np
from scipy.spatial.transform import Rotation

from solver.core.arrays import Floats, Ints
from solver.plate.wood import Wood
from tests.validation.solid.wedges import WedgeMesh

PROGRAM = "ccx"
THREADS = "1"
"""Two gain nothing at these sizes, and wait for each other for long where the machine is busy."""


def installed() -> bool:
    """Whether CalculiX is on the path."""
    return shutil.which(PROGRAM) is not None


def version() -> str:
    """The version that CalculiX states."""
    told = subprocess.run([PROGRAM, "-v"], capture_output=True, text=True, check=False).stdout
    found = re.search(r"[Vv]ersion\s+([\d.]+)", told)
    return found.group(1) if found else "unknown"


def solve(mesh: WedgeMesh, wood: Wood, bar_wood: Wood | None, count: int, held: Ints | None = None) -> Floats:
    """Frequencies (count,) [Hz] above the rigid motions; ``held`` are nodes (m,) fixed in all directions."""
    rigid = 6 if held is None else 0
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "plate.inp"
        job.write_text(deck(mesh, wood, bar_wood, count + rigid, held))
        ran = subprocess.run(
            [PROGRAM, "-i", "plate"],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "OMP_NUM_THREADS": THREADS},
        )
        result = job.with_suffix(".dat")
        if not result.exists():
            raise RuntimeError(f"CalculiX gave no result: {ran.stdout[-2000:]}")
        hz = frequencies(result.read_text())
    return hz[rigid : rigid + count]


def frequencies(dat: str) -> Floats:
    """All frequencies (n,) [Hz] of the first table in CalculiX's .dat file."""
    table = dat.split("P A R T I C I P A T I O N")[0]
    rows = re.findall(r"^\s+\d+\s+(\S+)\s+(\S+)\s+(\S+)\s+(\S+)\s*$", table, flags=re.MULTILINE)
    return np.array([float(row[2]) for row in rows])


def deck(mesh: WedgeMesh, wood: Wood, bar_wood: Wood | None, count: int, held: Ints | None = None) -> str:
    """The whole input deck as text, in SI units."""
    parts = ["*NODE,NSET=ALL\n", _numbered(mesh.nodes, "%.12e")]
    for name, chosen in (("PLATE", ~mesh.in_bar), ("BAR", mesh.in_bar)):
        if chosen.any():
            rows = np.flatnonzero(chosen) + 1
            table = np.column_stack([rows, mesh.wedges[chosen] + 1])
            parts += [f"*ELEMENT,TYPE=C3D15,ELSET={name}\n", _element_lines(table)]
            parts.append(_material(name, wood if name == "PLATE" or bar_wood is None else bar_wood))
    if held is not None:
        parts += ["*BOUNDARY\n", "".join(f"{n + 1},1,3\n" for n in held)]
    parts.append(f"*STEP\n*FREQUENCY\n{count}\n*END STEP\n")
    return "".join(parts)


def _numbered(rows: Floats, form: str) -> str:
    text = StringIO()
    np.savetxt(
        text,
        np.column_stack([np.arange(1, len(rows) + 1), rows]),
        fmt=["%d"] + [form] * rows.shape[1],
        delimiter=",",
    )
    return text.getvalue()


def _element_lines(table: Ints) -> str:
    """Sixteen numbers a line: CalculiX reads no more, and a line that ends in a comma goes on."""
    return "".join(",".join(map(str, row)) + "\n" for row in table)


def _material(name: str, wood: Wood) -> str:
    """Engineering constants in the order E1 E2 E3 nu12 nu13 nu23 G12 G13 / G23, along axes fixed in space."""
    turned = Rotation.from_euler("ZX", [wood.grain, wood.ring])
    along, across = turned.apply([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    axes = ",".join(f"{v:.12f}" for v in [*along, *across])
    w = wood
    constants = [w.EL, w.ER, w.ET, w.nu_LR, w.nu_LT, w.nu_RT, w.GLR, w.GLT]
    return (
        f"*ORIENTATION,NAME=O{name},SYSTEM=RECTANGULAR\n{axes}\n"
        f"*MATERIAL,NAME=M{name}\n*ELASTIC,TYPE=ENGINEERING CONSTANTS\n"
        + ",".join(f"{c:.10e}" for c in constants)
        + f",\n{w.GRT:.10e},293.\n*DENSITY\n{w.density:.10e}\n"
        f"*SOLID SECTION,ELSET={name},MATERIAL=M{name},ORIENTATION=O{name}\n"
    )
