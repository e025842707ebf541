"""The trials of one plate while they are worked on: strokes, undo and redo, each kept on the disk as soon as it is made."""

import hashlib
import threading
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from solver.bench.answers import ChangedError
from solver.bench.live import LiveBench, Taken, patch_as_json, trial_as_json, trial_lines
from solver.bench.picture import in_microns
from solver.commands.tones import Json
from solver.errors import InputError
from solver.plate_folder.trial_schema import MOST_STROKES, PlannedTable, StrokeTable, TrialTable
from solver.plate_folder.trials import (
    read_trials,
    stroke_removal,
    trial_key,
    trial_path,
    trial_removals,
    write_trial,
)

ELSEWHERE = "This trial was changed in another window or by another program; nothing was written. It is shown as it now is."

_STEPS_KEPT = 40
"""As many strokes are taken back at once; for more the trial is gone through from its start."""


@dataclass(eq=False)
class _Run:
    """A trial at hand, as its file stands under ``version``, and what was taken after each of its last steps."""

    trial: TrialTable
    version: str
    steps: list[Taken]

    @property
    def taken(self) -> Taken:
        return self.steps[-1]


class TrialRuns:
    """All trials of a plate on its bench."""

    def __init__(self, folder: Path, bench: LiveBench, least: float | None) -> None:
        """Work on the trials in a plate's folder; ``least`` [m] is the thickness nowhere to be passed."""
        self._folder, self._bench, self._least = folder, bench, least
        self._runs: dict[str, _Run] = {}
        self._lock = threading.RLock()

    def untouched(self) -> dict[str, Json]:
        """Return the plate as it stands, as a trial without strokes."""
        return trial_as_json(self._bench, self._bench.untouched(), self._least)

    def listed(self) -> list[Json]:
        """Return all trials with what becomes of the plate by each, the oldest first."""
        with self._lock:
            return [self._shown(key, self._run(key)) for key in read_trials(self._folder)]

    def begin(self, name: str) -> dict[str, Json]:
        """Begin a trial; raises InputError if one of this name is there."""
        with self._lock:
            return self._whole(self._begun(name, ()))

    def try_first(self, stroke: StrokeTable) -> dict[str, Json]:
        """Return what a stroke does where no trial was begun yet; nothing is kept."""
        before = self._bench.untouched()
        return self._effect(self._cut(before, stroke), before)

    def begin_with(self, name: str, stroke: StrokeTable) -> dict[str, Json]:
        """Begin a trial with a stroke; one that is refused leaves no trial behind."""
        with self._lock:
            answer = self.try_first(stroke)
            key = self._begun(name, (stroke,))
            return answer | self._about(key, self._run(key))

    def _begun(self, name: str, strokes: tuple[StrokeTable, ...]) -> str:
        """Write a new trial and return its key."""
        name = " ".join(name.split())
        key = trial_key(name)
        if trial_path(self._folder, key).exists():
            raise InputError(
                f'There is a trial called "{name}" already, or nearly so; expected a new name. Choose another.'
            )
        self._write(key, TrialTable(name=name, begun=_now(), strokes=strokes))
        return key

    def whole(self, key: str) -> dict[str, Json]:
        """Return a trial with all that was taken on the picture's grid."""
        with self._lock:
            return self._whole(key)

    def lines(self, key: str) -> dict[str, Json]:
        """Return the node lines of the plate as a trial leaves it, and the version of the trial that they are of."""
        with self._lock:
            run = self._run(key)
            version, taken = run.version, run.taken
        return {"version": version, "lines_mm": trial_lines(self._bench, taken)}

    def try_stroke(self, key: str, version: str, stroke: StrokeTable) -> dict[str, Json]:
        """Return what a stroke does that is still being made; nothing is kept."""
        with self._lock:
            run = self._known(key, version)
            return self._answer(key, run, self._struck(run, stroke), run.taken)

    def stroke(self, key: str, version: str, stroke: StrokeTable) -> dict[str, Json]:
        """Take a stroke and keep it."""
        with self._lock:
            run = self._known(key, version)
            before, after = run.taken, self._struck(run, stroke)
            answer = self._answer(key, run, after, before)  # before it is kept: it may be refused
            run.steps = [*run.steps, after][-_STEPS_KEPT:]
            self._keep(key, run, _with_strokes(run.trial, (*run.trial.strokes, stroke), ()))
            return answer | self._about(key, run)

    def undo(self, key: str, version: str) -> dict[str, Json]:
        """Take the last stroke back."""
        with self._lock:
            run = self._known(key, version)
            if not run.trial.strokes:
                raise InputError("There is no stroke to take back in this trial.")
            before = run.steps.pop()
            *strokes, last = run.trial.strokes
            shorter = _with_strokes(run.trial, tuple(strokes), (*run.trial.undone, last))
            run.steps = run.steps or [self._taken(shorter)]
            self._keep(key, run, shorter)
            return self._answer(key, run, run.taken, before)

    def redo(self, key: str, version: str) -> dict[str, Json]:
        """Make the stroke again that was taken back last."""
        with self._lock:
            run = self._known(key, version)
            if not run.trial.undone:
                raise InputError("No stroke was taken back that could be made again.")
            (*undone, stroke), before = run.trial.undone, run.taken
            run.steps = [*run.steps, self._struck(run, stroke)][-_STEPS_KEPT:]
            self._keep(key, run, _with_strokes(run.trial, (*run.trial.strokes, stroke), tuple(undone)))
            return self._answer(key, run, run.taken, before)

    def draw_plan(self, name: str, plan: PlannedTable) -> dict[str, Json]:
        """Begin a trial with a carving plan drawn into it; a number is put to its name where there is one already."""
        with self._lock:
            names = [name, *(f"{name} {number}" for number in range(2, 1000))]
            free = next(n for n in names if not trial_path(self._folder, trial_key(n)).exists())
            self._write(trial_key(free), TrialTable(name=free, begun=_now(), plan=plan))
            return self._whole(trial_key(free))

    def throw_away(self, key: str, version: str) -> None:
        """Remove a trial."""
        with self._lock:
            self._known(key, version)
            self._runs.pop(key)
            trial_path(self._folder, key).unlink()

    def table(self, key: str, version: str) -> TrialTable:
        """Return a trial as it stands in its file."""
        with self._lock:
            return self._known(key, version).trial

    def note_carved(self, key: str, version: str) -> dict[str, Json]:
        """Note that the wood of a trial was really taken."""
        with self._lock:
            run = self._known(key, version)
            self._write(key, run.trial.model_copy(update={"carved": _now()}))
            return self._shown(key, self._run(key))

    def _known(self, key: str, version: str) -> _Run:
        """Return a trial as the page knows it, ready to be worked on."""
        run = self._run(key)
        if run.version != version:
            raise ChangedError(ELSEWHERE)
        if run.trial.carved is not None:
            raise InputError(
                "The wood of this trial was carved; expected one that is still open. Begin a new trial."
            )
        return run

    def _run(self, key: str) -> _Run:
        """Return a trial as its file now says."""
        version = _version(trial_path(self._folder, key))
        run = self._runs.get(key)
        if run is None or run.version != version:
            trial = read_trials(self._folder)[key]
            run = self._runs[key] = _Run(trial, version, [self._taken(trial)])
        return run

    def _taken(self, trial: TrialTable) -> Taken:
        """Return what a trial takes, stroke by stroke in the order in which they were made."""
        taken = self._bench.untouched()
        for removal in trial_removals(trial):
            taken = self._bench.after(taken, removal)
        return taken

    def _struck(self, run: _Run, stroke: StrokeTable) -> Taken:
        if len(run.trial.strokes) >= MOST_STROKES:
            raise InputError(f"A trial holds {MOST_STROKES} strokes; begin a new one.")
        return self._cut(run.taken, stroke)

    def _cut(self, before: Taken, stroke: StrokeTable) -> Taken:
        taken = self._bench.after(before, stroke_removal(stroke))
        self._bench.check_left(taken)
        return taken

    def _keep(self, key: str, run: _Run, trial: TrialTable) -> None:
        write_trial(self._folder, key, trial)
        run.trial, run.version = trial, _version(trial_path(self._folder, key))

    def _write(self, key: str, trial: TrialTable) -> None:
        write_trial(self._folder, key, trial)
        self._runs.pop(key, None)

    def _answer(self, key: str, run: _Run, taken: Taken, before: Taken) -> dict[str, Json]:
        return {**self._about(key, run), **self._effect(taken, before)}

    def _effect(self, taken: Taken, before: Taken) -> dict[str, Json]:
        return {
            **trial_as_json(self._bench, taken, self._least),
            "patch": patch_as_json(self._bench, taken, before),
        }

    def _shown(self, key: str, run: _Run) -> dict[str, Json]:
        return {**self._about(key, run), **trial_as_json(self._bench, run.taken, self._least)}

    def _whole(self, key: str) -> dict[str, Json]:
        run = self._run(key)
        return {**self._shown(key, run), "taken_um": in_microns(run.taken.grid)}

    def _about(self, key: str, run: _Run) -> dict[str, Json]:
        trial = run.trial
        return {
            "key": key,
            "version": run.version,
            "name": trial.name,
            "begun": trial.begun.isoformat(timespec="minutes"),
            "carved": None if trial.carved is None else trial.carved.isoformat(timespec="minutes"),
            "planned": trial.plan is not None,
            "strokes": len(trial.strokes),
            "undone": len(trial.undone),
        }


def _with_strokes(
    trial: TrialTable, strokes: tuple[StrokeTable, ...], undone: tuple[StrokeTable, ...]
) -> TrialTable:
    """Return a trial with other strokes, made and taken back."""
    return trial.model_copy(update={"strokes": strokes, "undone": undone})


def _version(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()[:16]
    except FileNotFoundError:
        raise InputError("There is no such trial any more; choose another from the list.") from None


def _now() -> datetime:
    return datetime.now().astimezone().replace(microsecond=0)
