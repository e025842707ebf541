"""The records [[fitted]] of plate.toml: what each fit found, beside the wood as it was stated."""

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import numpy as np

from meshes.input_file import file_bytes
from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.core.units import GPA
from solver.plate.wood import Wood
from solver.plate.wood_posterior import ARCH, FITTED, WoodPosterior
from solver.plate_folder.act import write_together
from solver.plate_folder.description import PLATE_FILE
from solver.plate_folder.schema import FittedTable, PlateTable
from solver.plate_folder.toml_file import parse_toml

_DIGITS, _EXACT = 6, 8
_MOST_WIDE = 110


def newest_posterior(table: PlateTable, stated: Wood) -> WoodPosterior | None:
    """Return the belief of the record that holds, if there is one.

    Raises
    ------
    InputError
        If its figures were changed so that no wood can have them.
    """
    record = table.fit_that_holds
    if record is None:
        return None
    posterior = _posterior(record)
    least = float(np.linalg.eigvalsh(posterior.covariance).min())
    if least < -1e-6 * float(posterior.covariance.max()) or not posterior.wood(stated).is_stable():
        raise InputError(
            f"{PLATE_FILE}: [[fitted]] of {record.date:%Y-%m-%d %H:%M} holds figures that no wood can have; expected them "
            "as the fit wrote them. Take the record out, and fit again."
        )
    return posterior


def _posterior(record: FittedTable) -> WoodPosterior:
    moduli = [getattr(record, f"{constant}_GPa") * GPA for constant in FITTED[1:]]
    form = [getattr(record.arch, way) for way in ARCH]
    values = [record.density_kg_m3, *moduli, *form, record.caliper_mm, record.bar_share]
    n = len(record.covariance)
    lower = np.zeros((n, n))
    for i, row in enumerate(record.covariance):
        lower[i, : i + 1] = row
    covariance = lower + np.tril(lower, -1).T
    return WoodPosterior(
        np.array(values), record.tones, np.array(record.offsets), covariance, record.uneven_share
    )


def record_text(posterior: WoodPosterior, date: datetime, entries: Sequence[str]) -> str:
    """Return a record as it stands in plate.toml: what is found first, then what the intervals need."""
    arch = ", ".join(f"{way} = {_figure(posterior[way])}" for way in ARCH)
    lines = [
        "[[fitted]]    # from the tones in the log; holds until it is taken out, then [wood] holds again",
        f"date = {date.isoformat(timespec='seconds')}",
        f"entries = {_texts(entries)}",
        f"density_kg_m3 = {_figure(posterior['density'])}",
    ]
    for constant in FITTED[1:]:
        low, high = (bound / GPA for bound in posterior.interval(constant))
        lines.append(
            f"{constant}_GPa = {_figure(posterior[constant] / GPA):<10} # 95 %: {low:.3g} to {high:.3g}"
        )
    lines += [
        f"arch = {{ {arch} }}    # logarithm of the rise; fullness across and along",
        f"caliper_mm = {_figure(posterior['caliper'])}    # by how much every thickness is greater than read",
        f"bar_share = {_figure(posterior['bar'])}    # logarithm of the stiffness of the bar's wood over the stated one",
        f"uneven_share = {_figure(posterior.uneven)}    # of each tone, because the wood is not the same everywhere",
        "# what the model misses each tone by, and the covariance of all these: for the intervals, not for reading",
        f"tones = {_texts(posterior.tones)}",
        f"offsets = [{', '.join(_figure(offset) for offset in posterior.offsets)}]",
        "covariance = [",
        *_rows(posterior.covariance),
        "]",
    ]
    return "\n".join(lines) + "\n"


def _rows(covariance: Floats) -> list[str]:
    """Rows of the lower half, broken where a line gets long."""
    lines = []
    for i, row in enumerate(covariance):
        line = "    ["
        for j, value in enumerate(row[: i + 1]):
            figure = f"{_figure(value, _EXACT)}" + (", " if j < i else "],")
            if len(line) + len(figure) > _MOST_WIDE:
                lines.append(line.rstrip())
                line = "     "
            line += figure
        lines.append(line)
    return lines


def _figure(value: float, digits: int = _DIGITS) -> str:
    """Write a number as TOML has it: always with a point or an exponent."""
    text = f"{value:.{digits}g}"
    return text if "." in text or "e" in text else f"{text}.0"


def _texts(names: Sequence[str]) -> str:
    quoted = ", ".join(f'"{name}"' for name in names)
    return f"[{quoted}]"


def write_record(folder: Path, before: bytes, record: str) -> None:
    """Add a record at the end of plate.toml, of which all else stays as it is, comments included.

    ``before`` is what the file held when the fit began.

    Raises
    ------
    InputError
        If the file has changed since then, or nothing can be written there; then it is left as it is.
    """
    text = before.decode("utf-8-sig")
    newline = "\r\n" if "\r\n" in text else "\n"
    gap = newline if text.endswith(newline) else 2 * newline
    addition = gap + record.replace("\n", newline)

    def check() -> None:
        if file_bytes(folder / PLATE_FILE) != before:
            raise InputError(
                f"{PLATE_FILE}: it has changed since the fit began; expected it as it was read. Nothing was written: fit "
                "again."
            )
        parse_toml(text + addition, PlateTable, PLATE_FILE)

    write_together(folder, {PLATE_FILE: before + addition.encode()}, check)
