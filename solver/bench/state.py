"""What one start of the bench knows: its key and the tickets to it, its port, the open plates and the work going on."""

import secrets
from dataclasses import dataclass, field
from pathlib import Path

from starlette.requests import Request

from solver.bench.cards import Cards
from solver.bench.offers import Known, Memory, Offers, known_folders, remember, remembered, with_folder
from solver.bench.plates import OpenPlate, Plates
from solver.bench.tickets import Tickets
from solver.bench.work import Jobs


@dataclass(eq=False)
class BenchState:
    """One start. ``place`` is where new plates are made; ``memory_file`` where folders and port are remembered.

    ``offers`` are the folders of plates that may be opened, ``shelves`` those in which such folders lie.
    """

    place: Path
    memory_file: Path
    key: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    port: int = 0
    tickets: Tickets = field(default_factory=Tickets)
    start_file: Path | None = None
    plates: Plates = field(default_factory=Plates)
    cards: Cards = field(default_factory=Cards)
    jobs: Jobs = field(default_factory=Jobs)
    offers: Offers = field(
        default_factory=lambda: Offers(
            "That folder is not offered here; expected one of the first page. Choose one there."
        )
    )
    shelves: Offers = field(
        default_factory=lambda: Offers(
            "That folder of plates is not offered here; expected one of the list. Choose one there."
        )
    )
    memory: Memory = field(init=False)

    def __post_init__(self) -> None:
        self.memory = remembered(self.memory_file)

    def known(self) -> Known:
        """Return the folders of plates that are known beside the open ones."""
        return known_folders(self.memory, self.place, [plate.folder for plate in self.plates.all()])

    def open(self, folder: Path) -> OpenPlate:
        """Open a plate and remember its folder; raises InputError if there is none."""
        plate = self.plates.open(folder)
        self.memory = with_folder(self.memory, plate.folder)
        self.keep_memory()
        return plate

    def keep_memory(self) -> None:
        """Remember folders and port for the next start."""
        remember(self.memory_file, Memory(self.memory.folders, self.port or self.memory.port))


def bench_of(request: Request) -> BenchState:
    """Return the state of the bench that a request came to."""
    state = request.app.state.bench
    assert isinstance(state, BenchState)
    return state


def plate_of(request: Request) -> OpenPlate:
    """Return the open plate that a request names; raises InputError if there is none."""
    return bench_of(request).plates.find(request.path_params["plate"])
