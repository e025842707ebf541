"""It was carved: the wood of a trial taken from the plate once, whatever happens and however often it is asked."""

from datetime import datetime, timedelta
from pathlib import Path

from meshes.input_file import file_text
from solver.bench.plates import OpenPlate
from solver.bench.trial_runs import TrialRuns
from solver.core.errors import InputError
from solver.plate_folder.carved import carved_files, carved_readings
from solver.plate_folder.change import write_change
from solver.plate_folder.description import PLATE_FILE
from solver.plate_folder.log_writing import entry_text, free_name
from solver.plate_folder.schema import LogEntry
from solver.plate_folder.trials import trial_name, trial_removals, trial_text


def take_from_plate(plate: OpenPlate, runs: TrialRuns, key: str, version: str, mark: str) -> tuple[str, str]:
    """Write the map of thickness that is expected now, an entry of the log, and that the trial was carved: one act.

    Returns the names of the file of thickness and of that which names it; the same where this was done before.

    Raises
    ------
    ChangedError
        If plate or trial are not as the page knows them.
    InputError
        If the trial takes no wood or was carved as another version, no plate would be left, or nothing can be written.
    """
    with plate.lock:
        before = runs.carved_from(key, version)
        if before is not None:
            return carved_readings(before), PLATE_FILE
        read, trial = plate.known(mark), runs.table(key, version)
        if not trial_removals(trial):
            raise InputError("This trial takes no wood; expected one with strokes. Scrape first.")
        now = _moment(plate.folder)
        note = f'the wood of the trial "{trial.name}" was taken; the thickness is as it was tried, not measured yet'
        entry = LogEntry(taken=now, stage="carved", note=note)
        text = file_text(plate.folder / PLATE_FILE)
        files = {
            **carved_files(text, read.plate, trial_removals(trial), now),
            free_name(plate.folder, entry): entry_text(entry),
            trial_name(key): trial_text(trial.model_copy(update={"carved": now})),
        }

        def check() -> None:
            plate.check_unchanged(mark)
            runs.check_unchanged(key, version)

        write_change(plate.folder, files, check)
    return carved_readings(now), PLATE_FILE


def _moment(folder: Path) -> datetime:
    """Return the time, a second later where a file of thickness has its name."""
    now = datetime.now().astimezone().replace(microsecond=0)
    while (folder / carved_readings(now)).exists():
        now += timedelta(seconds=1)
    return now
