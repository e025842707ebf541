"""Trials in a plate folder: wood taken on the screen only, one file each under ``trials/``, apart from the readings."""

import json
import re
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np

from meshes.removal import Removal, SmoothRemoval, Stroke
from meshes.smooth_map import SmoothMap
from solver.core.atomic_write import UnwritableError, settle_entries
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate_folder.act import changing, settle, write_together
from solver.plate_folder.added_file import folder_in
from solver.plate_folder.inside import places_in
from solver.plate_folder.portable_name import is_reserved
from solver.plate_folder.toml_file import read_toml
from solver.plate_folder.trial_schema import PlannedTable, StrokeTable, TrialTable

FOLDER = "trials"
_KEY = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")


def stroke_removal(stroke: StrokeTable) -> Stroke:
    """Return what a stroke takes."""
    return Stroke(np.array(stroke.path_mm) * MM, 0.5 * stroke.width_mm * MM, stroke.cut_mm * MM)


def planned_removal(plan: PlannedTable) -> SmoothRemoval:
    """Return what a plan that was drawn in takes."""
    x, y = np.array(plan.x_knots_mm) * MM, np.array(plan.y_knots_mm) * MM
    return SmoothRemoval(SmoothMap(x, y, np.array(plan.depth_mm) * MM))


def trial_removals(trial: TrialTable) -> tuple[Removal, ...]:
    """Return everything that a trial takes, in order."""
    planned = () if trial.plan is None else (planned_removal(trial.plan),)
    return (*planned, *(stroke_removal(stroke) for stroke in trial.strokes))


def planned_table(removal: SmoothRemoval) -> PlannedTable:
    """Return a plan's removal as it stands in the file, to a tenth of a micrometre."""
    depth = removal.depth
    return PlannedTable(
        x_knots_mm=tuple(np.round(depth.x_knots / MM, 6).tolist()),
        y_knots_mm=tuple(np.round(depth.y_knots / MM, 6).tolist()),
        depth_mm=tuple(map(tuple, np.round(depth.coefficients / MM, 4).tolist())),
    )


def trial_key(name: str) -> str:
    """Return the name of a trial's file without its ending.

    Raises
    ------
    InputError
        If the name has no letter or digit of which a file name can be made, or that is one which Windows keeps.
    """
    key = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60].strip("-")
    if not _KEY.fullmatch(key):
        raise InputError(
            f'The trial "{name}" has no letter or digit in its name; expected some, of which a file can be named. '
            "Give it another name."
        )
    if is_reserved(key):
        raise InputError(
            f'Of the trial "{name}" a file "{key}" would be made, and Windows keeps that name for a device; expected '
            "another. Give it another name."
        )
    return key


def trial_path(folder: Path, key: str) -> Path:
    """Return where a trial is kept; raises InputError for what is no trial's key."""
    return folder / trial_name(key)


def trial_name(key: str) -> str:
    """Return how the file of a trial is called in the folder; raises InputError for what is no trial's key."""
    if not _KEY.fullmatch(key):
        raise InputError(
            "There is no such trial; expected one of this plate. Choose it from the list of trials."
        )
    return f"{FOLDER}/{key}.toml"


def read_trials(folder: Path) -> dict[str, TrialTable]:
    """Return the trials of a plate by their keys, the oldest first; raises InputError if one cannot be understood."""
    settle(folder)
    try:
        paths = places_in(folder, FOLDER)
    except OSError as error:
        raise InputError(
            f"{FOLDER}: it cannot be opened ({error.strerror}); expected a folder with the trials. "
            "Put a real one in its place."
        ) from None
    found = {
        path.stem: read_toml(path, TrialTable, f"{FOLDER}/{path.name}")
        for path in paths
        if path.suffix == ".toml" and _KEY.fullmatch(path.stem)
    }
    return dict(sorted(found.items(), key=lambda item: item[1].begun.astimezone()))


def write_trial(
    folder: Path, key: str, trial: TrialTable, check: Callable[[], object] = lambda: None
) -> None:
    """Write a trial whole; raises InputError if nothing can be written there.

    ``check`` is called once no other program writes there, and raises InputError if the trial is not as it was known.
    """
    folder_in(folder, FOLDER)
    write_together(folder, {trial_name(key): trial_text(trial).encode()}, check)


def remove_trial(folder: Path, key: str, check: Callable[[], object]) -> None:
    """Remove a trial, if ``check`` raises nothing; see `write_trial`."""
    with changing(folder):
        check()
        path = trial_path(folder, key)
        try:
            path.unlink()
        except OSError as error:
            raise UnwritableError(path.parent, error.strerror or str(error)) from error
        settle_entries(path.parent)


def trial_text(trial: TrialTable) -> str:
    """Return a trial as it stands in its file."""
    lines = [
        "# Wood taken on the screen, not off the plate.",
        f"format = {trial.format}",
        f"name = {json.dumps(trial.name, ensure_ascii=False)}",
        f"begun = {trial.begun.isoformat()}",
    ]
    if trial.carved is not None:
        lines.append(f"carved = {trial.carved.isoformat()}")
    if trial.plan is not None:
        plan = trial.plan
        lines += [
            "",
            "[plan]",
            f"x_knots_mm = {_list(plan.x_knots_mm)}",
            f"y_knots_mm = {_list(plan.y_knots_mm)}",
        ]
        lines += ["depth_mm = [", *(f"    {_list(row)}," for row in plan.depth_mm), "]"]
    for name, strokes in (("strokes", trial.strokes), ("undone", trial.undone)):
        for stroke in strokes:
            lines += ["", f"[[{name}]]", f"width_mm = {stroke.width_mm}", f"cut_mm = {stroke.cut_mm}"]
            lines.append(f"path_mm = [{', '.join(_list(point) for point in stroke.path_mm)}]")
    return "\n".join(lines) + "\n"


def _list(values: Sequence[float]) -> str:
    return f"[{', '.join(repr(float(value)) for value in values)}]"
