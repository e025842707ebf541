"""What a maker does that writes into a plate's folder, asked as the page asks it, and what the folder then says."""

import asyncio
import json
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from meshes.input_file import file_bytes
from solver.bench.app import make_app
from solver.bench.guard import KEY_HEADER
from solver.bench.live import live_bench
from solver.bench.picture import draw
from solver.bench.solving import LivePlate, solve_plate
from solver.bench.state import BenchState
from solver.bench.trial_runs import TrialRuns
from solver.commands.tones import Json
from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate.wood_posterior import WoodPosterior
from solver.plate_folder.description import PLATE_FILE, read_description
from solver.plate_folder.fitted_table import record_text, write_record
from solver.plate_folder.read import read_folder, read_plate
from solver.plate_folder.trial_schema import StrokeTable, TrialTable
from solver.plate_folder.trials import read_trials, write_trial
from tests.bench.handed_over import Kept
from tests.fitted_folders import posterior
from tests.plate_folders import panel_files, write_folder

TRIAL = "one"
PORT = 8000
BAR: dict[str, Json] = {"from_mm": [60.0, 20.0], "to_mm": [240.0, 20.0], "width_mm": 6.0, "height_mm": 8.0}
ENTRY: dict[str, Json] = {
    **{
        "taken": "2026-03-01T18:00:00+00:00",
        "mass": "43.2",
        "modes": {},
        "tones": "201.5",
        "temperature": "",
        "humidity": "",
    },
    **{"stage": "planed", "note": "", "corrects": None, "as_typed": True},
}
_BEGUN = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
_PLACES = np.array([[100.0, 0.0], [150.0, -15.0], [200.0, 30.0]]) * MM
_STROKES = (
    StrokeTable(width_mm=40.0, cut_mm=0.3, path_mm=((90.0, 5.0), (130.0, -10.0))),
    StrokeTable(width_mm=30.0, cut_mm=0.2, path_mm=((150.0, -15.0), (160.0, -15.0))),
)


@dataclass(frozen=True)
class Said:
    """What a folder says, without the hours at which it was written."""

    thickness_mm: tuple[float, ...]
    masses_g: tuple[float | None, ...]
    stages: tuple[str | None, ...]
    strokes: int
    undone: int
    is_carved: bool
    fits: int
    bar_mm: float | None


def said_by(folder: Path) -> Said | str:
    """Read everything as a command does; a sentence if something cannot be understood."""
    try:
        read, trials = read_folder(read_description(folder)), read_trials(folder)
    except InputError as error:
        return str(error)
    table, log, trial = read.description.table, read.description.log.values(), trials[TRIAL]
    return Said(
        tuple(np.round(read.stated.graduation.at(_PLACES) / MM, 2).tolist()),
        tuple(entry.mass_g for entry in log),
        tuple(entry.stage for entry in log),
        len(trial.strokes),
        len(trial.undone),
        trial.carved is not None,
        len(table.fitted),
        None if table.bar is None else table.bar.height_mm[1][1],
    )


class Maker:
    """A maker at a bench with one plate, a blank with a trial of two strokes."""

    def __init__(self, place: Path) -> None:
        files = panel_files()
        files[PLATE_FILE] = files[PLATE_FILE].replace('role = "panel"', 'role = "top"')
        files["log/2026-02-01T120000.toml"] = "taken = 2026-02-01T12:00:00Z\nmass_g = 44.0\n"
        self.first = write_folder(place / "first", files)
        write_trial(self.first, TRIAL, TrialTable(name=TRIAL, begun=_BEGUN, strokes=_STROKES))
        self.folder = place / "plate"
        self.state = BenchState(place, place / "bench.json", port=PORT)
        self.posterior: WoodPosterior = posterior(read_plate(self.first))
        self.begin_anew()
        self._plate = self.state.open(self.folder)
        kept = Kept()
        solve_plate(kept, str(self.folder))
        live, plate = kept.parts["live"], read_plate(self.folder)
        assert isinstance(live, LivePlate)
        self._bench = live_bench(plate, live, draw(plate))
        self._app = make_app(self.state)

    def begin_anew(self) -> None:
        """Put the plate back as it was at first."""
        shutil.rmtree(self.folder, ignore_errors=True)
        shutil.copytree(self.first, self.folder)

    def sit_down(self) -> None:
        """Start the bench, see the plate as it is, and note what the page then knows of it."""
        self._plate.solved.runs = TrialRuns(self.folder, self._bench, None)
        self.mark = self._plate.read().mark
        self.version = str(self._plate.solved.runs.whole(TRIAL)["version"])
        self.text = file_bytes(self.folder / PLATE_FILE)

    def acts(self) -> Mapping[str, Callable[[], int]]:
        """Return all acts by their names; each returns the status of the answer."""
        trial = f"/trials/{TRIAL}"
        return {
            "carved": lambda: self._ask(f"{trial}/carved", {"version": self.version, "mark": self.mark}),
            "undo": lambda: self._ask(f"{trial}/undo", {"version": self.version}),
            "log": lambda: self._ask("/log", {**ENTRY, "mark": self.mark}),
            "fit": self._keep_fit,
            "bar": lambda: self._ask("/bar/use", {**BAR, "mark": self.mark}),
        }

    def _keep_fit(self) -> int:
        try:
            write_record(self.folder, self.text, record_text(self.posterior, _BEGUN, ("1.toml",)))
        except InputError:
            return 409
        return 200

    def _ask(self, path: str, question: Mapping[str, Json]) -> int:
        return asyncio.run(self._asked(f"/api/plates/{self._plate.key}{path}", json.dumps(question).encode()))

    async def _asked(self, path: str, body: bytes) -> int:
        """Send a question to the application without a network between, and return the status of its answer."""
        headers = {"host": f"127.0.0.1:{PORT}", KEY_HEADER: self.state.key, "content-length": str(len(body))}
        scope = {
            **{
                "type": "http",
                "method": "POST",
                "path": path,
                "raw_path": path.encode(),
                "query_string": b"",
            },
            "headers": [(name.lower().encode(), value.encode()) for name, value in headers.items()],
        }
        said: list[Mapping[str, object]] = []

        async def receive() -> dict[str, object]:
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(message: Mapping[str, object]) -> None:
            said.append(message)

        await self._app(scope, receive, send)
        status = said[0]["status"]
        assert isinstance(status, int)
        return status
