"""A program that adds entries to the log of a plate and says each stamp once it is told it: to be run, and to be killed."""

import sys
from datetime import datetime
from pathlib import Path

from solver.plate_folder.log_writing import add_entry
from solver.plate_folder.schema import LogEntry


def add_many(folder: Path, writer: int, entries: int) -> None:
    """Add so many entries, each with its writer and number in its note, and print its stamp."""
    for number in range(entries):
        taken = datetime.now().astimezone().replace(microsecond=0)
        note = f"{writer}/{number} " + "scraped the lower bouts " * 40
        entry = LogEntry(taken=taken, mass_g=60.0 + number / 100, modes_hz={"5": 340.0}, note=note)
        print(add_entry(folder, entry), flush=True)


if __name__ == "__main__":
    add_many(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
