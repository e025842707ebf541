"""The trials of one plate while they are worked on: strokes, undo and redo, each kept on the disk as soon as it is made."""

import hashlib
import threading
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from solver.bench.answers import ChangedError
from solver.bench.live import LiveBench, Taken, patch_as_json, trial_as_json, trial_lines
from solver.bench.picture import in_microns
from solver.bench.trial_steps import TrialSteps
from solver.bench.trial_told import (
    Effect,
    TrialAbout,
    TrialFigures,
    TrialLines,
    TrialShown,
    TrialStroke,
    WholeTrial,
)
from solver.core.errors import InputError
from solver.plate_folder.trial_schema import MOST_STROKES, PlannedTable, StrokeTable, TrialTable
from solver.plate_folder.trials import (
    planned_removal,
    read_trials,
    remove_trial,
    stroke_removal,
    trial_key,
    trial_path,
    trial_text,
    write_trial,
)

ELSEWHERE = "This trial was changed in another window or by another program; nothing was written. It is shown as it now is."


@dataclass(eq=False)
class _Run:
    """A trial at hand, as its file stands under ``version``, and what was taken after its strokes."""

    trial: TrialTable
    version: str
    steps: TrialSteps

    @property
    def taken(self) -> Taken:
        return self.steps.after(self.trial.strokes)


@dataclass(frozen=True, eq=False)
class _Tried:
    """A stroke after what was taken ``before``, and what it does."""

    before: Taken
    stroke: StrokeTable
    after: Taken
    effect: Effect


class TrialRuns:
    """All trials of a plate on its bench."""

    def __init__(self, folder: Path, bench: LiveBench, least: float | None) -> None:
        """Work on the trials in a plate's folder; ``least`` [m] is the thickness nowhere to be passed."""
        self._folder, self._bench, self._least = folder, bench, least
        self._untouched = bench.untouched()
        self._runs: dict[str, _Run] = {}
        self._tried: _Tried | None = None
        self._lock = threading.RLock()

    def untouched(self) -> TrialFigures:
        """Return the plate as it stands, as a trial without strokes."""
        return trial_as_json(self._bench, self._untouched, self._least)

    def listed(self) -> list[TrialShown]:
        """Return all trials with what becomes of the plate by each, the oldest first."""
        with self._lock:
            return [self._shown(key, self._run(key)) for key in read_trials(self._folder)]

    def begin(self, name: str) -> WholeTrial:
        """Begin a trial; raises InputError if one of this name is there."""
        with self._lock:
            return self._whole(self._begun(TrialTable(name=_checked_name(name), begun=_now())))

    def try_first(self, stroke: StrokeTable) -> Effect:
        """Return what a stroke does where no trial was begun yet; nothing is kept."""
        with self._lock:
            return self._try(self._untouched, stroke).effect

    def begin_with(self, name: str, stroke: StrokeTable) -> TrialStroke:
        """Begin a trial with a stroke; one that is refused leaves no trial behind."""
        with self._lock:
            tried = self._try(self._untouched, stroke)
            key = self._begun(TrialTable(name=_checked_name(name), begun=_now(), strokes=(stroke,)))
            self._runs[key].steps.follow(1, tried.after)
            return {**tried.effect, **self._about(key, self._runs[key])}

    def _begun(self, trial: TrialTable) -> str:
        """Write a new trial and return its key."""
        key = trial_key(trial.name)
        path = trial_path(self._folder, key)

        def check() -> None:
            if path.exists():
                raise InputError(
                    f'There is a trial called "{trial.name}" already, or nearly so; expected a new name. Choose another.'
                )

        write_trial(self._folder, key, trial, check)
        self._runs[key] = _Run(trial, _version(path), self._steps(trial))
        return key

    def whole(self, key: str) -> WholeTrial:
        """Return a trial with all that was taken on the picture's grid."""
        with self._lock:
            return self._whole(key)

    def lines(self, key: str) -> TrialLines:
        """Return the node lines of the plate as a trial leaves it, and the version of the trial that they are of."""
        with self._lock:
            run = self._run(key)
            version, taken = run.version, run.taken
        return {"version": version, "lines_mm": trial_lines(self._bench, taken)}

    def try_stroke(self, key: str, version: str, stroke: StrokeTable) -> TrialStroke:
        """Return what a stroke does that is still being made; nothing is kept."""
        with self._lock:
            run = self._known(key, version)
            effect = self._struck(run, stroke).effect
            return {**self._about(key, run), **effect}

    def stroke(self, key: str, version: str, stroke: StrokeTable) -> TrialStroke:
        """Take a stroke and keep it."""
        with self._lock:
            return self._taken_and_kept(key, self._known(key, version), stroke, ())

    def undo(self, key: str, version: str) -> TrialStroke:
        """Take the last stroke back."""
        with self._lock:
            run = self._known(key, version)
            if not run.trial.strokes:
                raise InputError("There is no stroke to take back in this trial.")
            before = run.taken
            *strokes, last = run.trial.strokes
            self._keep(key, run, _with_strokes(run.trial, tuple(strokes), (*run.trial.undone, last)))
            return {**self._about(key, run), **self._effect(run.taken, before)}

    def redo(self, key: str, version: str) -> TrialStroke:
        """Make the stroke again that was taken back last."""
        with self._lock:
            run = self._known(key, version)
            if not run.trial.undone:
                raise InputError("No stroke was taken back that could be made again.")
            *undone, stroke = run.trial.undone
            return self._taken_and_kept(key, run, stroke, tuple(undone))

    def draw_plan(self, name: str, plan: PlannedTable) -> WholeTrial:
        """Begin a trial with a carving plan drawn into it; a number is put to its name where there is one already."""
        with self._lock:
            names = [name, *(f"{name} {number}" for number in range(2, 1000))]
            free = next(n for n in names if not trial_path(self._folder, trial_key(n)).exists())
            return self._whole(self._begun(TrialTable(name=free, begun=_now(), plan=plan)))

    def throw_away(self, key: str, version: str) -> None:
        """Remove a trial."""
        with self._lock:
            self._known(key, version)
            remove_trial(self._folder, key, lambda: self.check_unchanged(key, version))
            self._runs.pop(key)

    def table(self, key: str, version: str) -> TrialTable:
        """Return a trial as it stands in its file."""
        with self._lock:
            return self._known(key, version).trial

    def carved_from(self, key: str, version: str) -> datetime | None:
        """Return when the wood of a trial was taken, if that was asked of this very version of it; None else."""
        with self._lock:
            trial = self._run(key).trial
            open_still = trial.model_copy(update={"carved": None})
            same = _digest(trial_text(open_still).encode()) == version
            return trial.carved if same else None

    def check_unchanged(self, key: str, version: str) -> None:
        """Refuse to write over what the page has not seen (ChangedError)."""
        if _version(trial_path(self._folder, key)) != version:
            raise ChangedError(ELSEWHERE)

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
            run = self._runs[key] = _Run(trial, version, self._steps(trial))
        return run

    def _steps(self, trial: TrialTable) -> TrialSteps:
        """Return the steps of a trial, which begins with its plan."""
        if trial.plan is None:
            return TrialSteps(self._bench, self._untouched)
        return TrialSteps(self._bench, self._bench.after(self._untouched, planned_removal(trial.plan)))

    def _struck(self, run: _Run, stroke: StrokeTable) -> _Tried:
        if len(run.trial.strokes) >= MOST_STROKES:
            raise InputError(f"A trial holds {MOST_STROKES} strokes; begin a new one.")
        return self._try(run.taken, stroke)

    def _try(self, before: Taken, stroke: StrokeTable) -> _Tried:
        """Return what a stroke does, computed once while it is made and not again when it is kept."""
        tried = self._tried
        if tried is None or tried.before is not before or tried.stroke != stroke:
            after = self._bench.after(before, stroke_removal(stroke))
            self._bench.check_left(after)
            tried = self._tried = _Tried(before, stroke, after, self._effect(after, before))
        return tried

    def _taken_and_kept(
        self, key: str, run: _Run, stroke: StrokeTable, undone: tuple[StrokeTable, ...]
    ) -> TrialStroke:
        """Take a stroke; ``undone`` are those that can be made again after it."""
        tried = self._struck(run, stroke)  # before it is kept: it may be refused
        self._keep(key, run, _with_strokes(run.trial, (*run.trial.strokes, stroke), undone))
        run.steps.follow(len(run.trial.strokes), tried.after)
        return {**self._about(key, run), **tried.effect}

    def _keep(self, key: str, run: _Run, trial: TrialTable) -> None:
        write_trial(self._folder, key, trial, lambda: self.check_unchanged(key, run.version))
        run.trial, run.version = trial, _version(trial_path(self._folder, key))

    def _effect(self, taken: Taken, before: Taken) -> Effect:
        return {
            **trial_as_json(self._bench, taken, self._least),
            "patch": patch_as_json(self._bench, taken, before),
        }

    def _shown(self, key: str, run: _Run) -> TrialShown:
        return {**self._about(key, run), **trial_as_json(self._bench, run.taken, self._least)}

    def _whole(self, key: str) -> WholeTrial:
        run = self._run(key)
        return {**self._shown(key, run), "taken_um": in_microns(run.taken.grid)}

    def _about(self, key: str, run: _Run) -> TrialAbout:
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


def _checked_name(name: str) -> str:
    """Return a name without needless blanks; raises InputError if no file can be called by it."""
    trial_key(name)
    return " ".join(name.split())


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:16]


def _version(path: Path) -> str:
    try:
        return _digest(path.read_bytes())
    except FileNotFoundError:
        raise InputError("There is no such trial any more; choose another from the list.") from None


def _now() -> datetime:
    return datetime.now().astimezone().replace(microsecond=0)
