"""A trial on the sheet: the wood that strokes or a plan take on the screen, to be taken at the bench."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from solver.core.errors import InputError
from solver.plate_folder.trial_schema import TrialTable
from solver.plate_folder.trials import read_trials, trial_key, trial_removals

if TYPE_CHECKING:
    from solver.modal.modes import Modes
    from solver.plate_folder.read import PlateFolder
    from solver.viewer.sheet.content import Predicted, SheetContent


def open_trial(folder: Path, name: str) -> TrialTable:
    """Return the trial of this name; raises InputError if there is none, it was carved, or it takes no wood."""
    trials = read_trials(folder)
    trial = trials.get(trial_key(name))
    if trial is None:
        still = [found.name for found in trials.values() if found.carved is None]
        there = f"one of: {', '.join(still)}" if still else "one made in Thin, and there is none yet"
        raise InputError(
            f'--trial: there is no trial "{name}" of this plate; expected {there}. Write its name.'
        )
    if trial.carved is not None:
        raise InputError(
            f'--trial: the wood of "{trial.name}" was carved on {trial.carved:%Y-%m-%d}; expected a trial that is still '
            "open. Draw the plate as it is."
        )
    if not trial_removals(trial):
        raise InputError(f'--trial: "{trial.name}" takes no wood; expected one with strokes. Scrape first.')
    return trial


def trial_content(read: "PlateFolder", name: str, marked: Sequence[str]) -> "SheetContent":
    """Return what stands on a sheet with all the wood that a trial takes, and a full solve of what it leaves.

    Raises InputError as `open_trial`, or if a mode to be ``marked`` is not found.
    """
    from meshes.removal import Together
    from solver.commands.belief import solve_as_expected
    from solver.commands.sheet_content import TONES, content_as_it_is
    from solver.plate.thinning import thinned
    from solver.viewer.sheet.content import Removal

    trial = open_trial(read.description.folder, name)
    content, taken = content_as_it_is(read, marked), Together(trial_removals(trial))
    modes, _ = solve_as_expected(read, thinned(read.plate, taken), TONES)
    return replace(
        content, removal=Removal(taken.at, _predicted(modes), None, tuple(_said(trial)), trial=trial.name)
    )


def _predicted(modes: "Modes") -> "Predicted":
    from solver.viewer.sheet.content import Predicted

    hz = {name: float(value) for name, value in zip(modes.names, modes.hz, strict=True) if name}
    return Predicted(hz, modes.mass)


def _said(trial: TrialTable) -> list[str]:
    """Say what the trial is made of, and that it is one."""
    count = len(trial.strokes)
    strokes = [f"{count} {'stroke' if count == 1 else 'strokes'} of a scraper"] if count else []
    parts = [*(["a carving plan"] if trial.plan else []), *strokes]
    return [
        f'This is the trial "{trial.name}" of {trial.begun:%Y-%m-%d}, tried on the screen: {" and ".join(parts)}. '
        "All of its wood is shown.",
        "Take half at most, then weigh, tap, log and try again.",
    ]
