"""The cards of the first page: each plate with a small picture, drawn from its files and kept until they change."""

import threading
from pathlib import Path

from solver.bench.drawn_told import Drawn
from solver.bench.fingerprint import body_fingerprint

MOST_KEPT = 60
"""Pictures that are kept, of some 60 kB each."""


class Cards:
    """The pictures drawn so far, by folder; one is drawn at a time, for they are the least that a bench has to do."""

    def __init__(self) -> None:
        """Begin without any."""
        self._kept: dict[Path, tuple[str, Drawn]] = {}
        self._lock = threading.Lock()

    def of(self, folder: Path) -> Drawn:
        """Return the picture of the plate in a folder; raises InputError if it cannot be read."""
        from solver.bench.picture import card_as_json
        from solver.plate_folder.read import read_plate

        with self._lock:
            body = body_fingerprint(folder)
            known = self._kept.get(folder)
            if known is not None and known[0] == body:
                return known[1]
            card = card_as_json(read_plate(folder))
            self._kept = dict([*self._kept.items()][1 - MOST_KEPT :]) | {folder: (body, card)}
            return card
