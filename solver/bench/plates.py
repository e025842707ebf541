"""The plates that are open at the bench, each known to the page by a key and never by a path."""

import gc
import secrets
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from solver.bench.answers import ChangedError
from solver.bench.fingerprint import body_fingerprint, fingerprint
from solver.core.bounded_reading import OverboundError
from solver.core.errors import InputError
from solver.plate_folder.act import settle
from solver.plate_folder.description import read_description

if TYPE_CHECKING:
    from solver.advice.plate_patterns import KnownShapes
    from solver.advice.tap_reading import TappedPlate
    from solver.bench.brought import Brought
    from solver.bench.listen_work import Heard
    from solver.bench.live import LiveBench
    from solver.bench.picture import Drawing
    from solver.bench.powder_work import PowderRead
    from solver.bench.shown_tones import ShownTones
    from solver.bench.solving import ShavingMaps
    from solver.bench.trial_runs import TrialRuns
    from solver.bench.wood_work import FoundWood
    from solver.bench.work import Job
    from solver.plate.plate import Plate
    from solver.plate_folder.description import Description

MOST_LIVE = 2
"""Plates whose live models are kept; each takes about 100 MB."""

CHANGED = (
    "The files of this plate were changed by something else since this page read them; nothing was written. "
    "Read the plate again, then do it once more."
)


@dataclass(frozen=True, eq=False)
class ReadPlate:
    """A folder as it was read: its ``mark`` tells whether it still is so, ``body`` whether all but the log is."""

    mark: str
    body: str
    description: "Description"
    plate: "Plate"
    drawing: "Drawing"

    @property
    def least(self) -> float | None:
        """The thickness [m] nowhere to be passed, if one is set."""
        from solver.core.units import MM

        wanted = self.description.table.wanted
        return wanted.min_thickness_mm * MM if wanted and wanted.min_thickness_mm else None


@dataclass(eq=False)
class Solved:
    """What was computed of a plate that was read with this ``body``; the parts come one after the other."""

    body: str
    job: "Job | None" = None
    tones: "ShownTones | None" = None
    bench: "LiveBench | None" = None
    shavings: "ShavingMaps | None" = None
    runs: "TrialRuns | None" = None
    tapped: "TappedPlate | None" = None
    shapes: "KnownShapes | None" = None


class OpenPlate:
    """A plate folder that is open at the bench."""

    def __init__(self, folder: Path) -> None:
        """Open a folder without reading it yet."""
        self.key = secrets.token_hex(8)
        self.folder = folder
        self.lock = threading.RLock()
        self.solved = Solved("")
        self.sheet: bytes | None = None
        self.book_files: dict[str, bytes] = {}
        self.wood: FoundWood | None = None
        self._begun: dict[str, tuple[str, Job]] = {}
        self.brought: dict[str, Brought] = {}
        self.heard: dict[str, Heard] = {}
        self.powder: dict[str, PowderRead] = {}
        self._read: ReadPlate | None = None
        self._too_much: tuple[str, str] = ("", "")

    def read(self) -> ReadPlate:
        """Return the plate as its files now say.

        Raises
        ------
        InputError
            If they cannot be understood.
        """
        with self.lock:
            settle(self.folder)
            mark, body = fingerprint(self.folder), body_fingerprint(self.folder)
            if self._read is None or self._read.body != body:
                self._read = self._made(mark, body)
            elif self._read.mark != mark:  # an entry more or less in the log leaves the plate as it is
                self._read = replace(self._read, mark=mark, description=read_description(self.folder))
            return self._read

    def _made(self, mark: str, body: str) -> ReadPlate:
        from solver.bench.picture import draw
        from solver.plate_folder.read import read_folder

        if self._too_much[0] == body:  # the page asks often, and each time would take as long
            raise InputError(self._too_much[1])
        description = read_description(self.folder)
        try:
            plate = read_folder(description).plate
        except OverboundError as error:
            self._too_much = (body, str(error))
            raise
        return ReadPlate(mark, body, description, plate, draw(plate))

    def known(self, mark: str) -> ReadPlate:
        """Return the plate as the page knows it; raises ChangedError if it was changed since."""
        read = self.read()
        if read.mark != mark:
            raise ChangedError(CHANGED)
        return read

    def check_unchanged(self, mark: str) -> None:
        """Refuse to write over what the page has not seen (ChangedError)."""
        if fingerprint(self.folder) != mark:
            raise ChangedError(CHANGED)

    def take(self, body: str, value: object) -> None:
        """Take over a part of what was computed, unless the plate was changed meanwhile."""
        from solver.advice.plate_patterns import KnownShapes
        from solver.advice.tap_reading import TappedPlate
        from solver.bench.live import live_bench
        from solver.bench.shown_tones import ShownTones
        from solver.bench.solving import LivePlate, ShavingMaps
        from solver.bench.trial_runs import TrialRuns

        read = self.read()
        with self.lock:
            if self.solved.body != body or read.body != body:
                return
            if isinstance(value, ShownTones):
                self.solved.tones = value
            elif isinstance(value, LivePlate):
                self.solved.bench = live_bench(read.plate, value, read.drawing)
                self.solved.runs = TrialRuns(self.folder, self.solved.bench, read.least)
            elif isinstance(value, ShavingMaps):
                self.solved.shavings = value
                _settle_memory()
            elif isinstance(value, TappedPlate):
                self.solved.tapped = value
            elif isinstance(value, KnownShapes):
                self.solved.shapes = value

    def begun(self, name: str, mark: str, begin: "Callable[[], Job]") -> "Job":
        """Return the work of a name on the plate as it is, which is begun unless that was done for this ``mark``.

        Raises ChangedError if the page knows another state of the plate.
        """
        self.known(mark)
        with self.lock:
            known = self._begun.get(name)
            if known is None or known[0] != mark or known[1].came_to_nothing:
                if known is not None:
                    known[1].stop()
                known = (mark, begin())
                self._begun[name] = known
            return known[1]

    def drop_brought(self) -> None:
        """Clear away the files that were brought and wait outside the plate's folder."""
        with self.lock:
            gone, self.brought = self.brought, {}
        for one in gone.values():
            one.place.cleanup()

    def drop_live(self) -> None:
        """Give back the memory of the live model."""
        with self.lock:
            if self.solved.job is None or self.solved.job.is_over:
                self.solved = Solved("")


def _settle_memory() -> None:
    """Leave what is there for good out of every later search for garbage: one holds a stroke up by tens of ms."""
    gc.collect()
    gc.freeze()


class Plates:
    """All that are open."""

    def __init__(self) -> None:
        """Begin with none."""
        self._plates: dict[str, OpenPlate] = {}
        self._used: list[str] = []
        self._lock = threading.Lock()

    def open(self, folder: Path) -> OpenPlate:
        """Open a folder, or return it if it is open; raises InputError if there is none."""
        folder = folder.resolve()
        if not folder.is_dir():
            raise InputError(
                f"{folder}: there is no such folder; expected the folder of a plate. "
                "Check the name, or make one with: platewright new"
            )
        with self._lock:
            for plate in self._plates.values():
                if plate.folder == folder:
                    return plate
            settle(folder)
            plate = OpenPlate(folder)
            self._plates[plate.key] = plate
            return plate

    def find(self, key: str) -> OpenPlate:
        """Return an open plate by its key; raises InputError if there is none."""
        plate = self._plates.get(key)
        if plate is None:
            raise InputError(
                "That plate is not open here; expected one that is. Choose it from the first page."
            )
        return plate

    def all(self) -> list[OpenPlate]:
        """Return the open plates in the order in which they were opened."""
        return list(self._plates.values())

    def using(self, plate: OpenPlate) -> None:
        """Note that a plate is worked on, and give back the memory of those that were not for longest."""
        with self._lock:
            self._used = [key for key in self._used if key != plate.key] + [plate.key]
            idle, self._used = self._used[:-MOST_LIVE], self._used[-MOST_LIVE:]
        for key in idle:
            self._plates[key].drop_live()
