"""How long the book takes: ``python -m tests.benchmarks.book``.

A thousand made-up plates of twenty entries each: reading them into rows in one room, and the whole command as a process,
each as a ratio to reading the same TOML files with Python's own reader and doing nothing with them, timed in the same run.
"""

import resource
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

from solver.commands.book_rows import read_rows
from solver.plate.climate import Climate
from tests.benchmarks.timing import best_of_three
from tests.book_plates import write_book

PLATES, ENTRIES = 1000, 20
ROOT = Path(__file__).parent.parent.parent


def main() -> None:
    """Print seconds, ratios and memory."""
    with tempfile.TemporaryDirectory() as place:
        folder = write_book(Path(place), PLATES, ENTRIES)
        print(f"{PLATES} plates of {ENTRIES} entries; the best of three")
        reference = best_of_three(
            lambda: [tomllib.loads(path.read_text()) for path in folder.rglob("*.toml")]
        )
        print(f"the TOML files alone, by tomllib: {reference:.2f} s")
        for name, work in (
            ("read into rows, with the thickness readings", lambda: _read(folder)),
            ("the whole command", lambda: _run(folder)),
            ("the whole command, with a trend and its picture", lambda: _run(folder, place)),
        ):
            seconds = best_of_three(work)
            print(f"{name}: {seconds:.2f} s, {seconds / reference:.2f} times that")
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"most memory of the command: {peak:.0f} MB")


def _read(folder: Path) -> None:
    rows, left_out = read_rows(folder, Climate(20, 50))
    assert (len(rows), len(left_out)) == (PLATES, 0)


def _run(folder: Path, pictures: str | None = None) -> None:
    more = ["--scatter", "mass,mode5", "--picture", f"{pictures}/trend.png"] if pictures else []
    command = [sys.executable, "-m", "solver.cli", "book", str(folder), "--sort", "mode5", *more]
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)


if __name__ == "__main__":
    main()
