"""Simulated makings that follow the program step by step: do the plates come to their wishes, and was what it said true?

``python -m tests.trials.makings --tops 20 --altos 10 --backs 10 --seed 1``: violin tops with a bar; violas and cellos, tops
and backs; violin and viola backs. ``--only violin-top:7`` makes one of them alone, ``--keep DIR`` keeps the folders.
"""

import argparse
import multiprocessing
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path

from threadpoolctl import threadpool_limits

from tests.trials.making import MOST_PASSES, make
from tests.trials.making_records import Making, counts, row

ALTOS = ("viola-top", "cello-top", "viola-back", "viola-top", "cello-back")
BACKS = ("violin-back", "violin-back", "viola-back")


@dataclass(frozen=True)
class Task:
    """One making to be done."""

    kind: str
    number: int
    seed: int
    passes: int
    keep: Path | None


def tasks(tops: int, altos: int, backs: int) -> Iterator[tuple[str, int]]:
    """Return kinds and numbers of the plates of a run; backs are numbered apart from altos."""
    yield from (("violin-top", number) for number in range(tops))
    yield from ((ALTOS[number % len(ALTOS)], number) for number in range(altos))
    yield from ((BACKS[number % len(BACKS)], 100 + number) for number in range(backs))


def done(task: Task) -> Making:
    """Do one making, in a folder that is kept or thrown away."""
    with threadpool_limits(1), tempfile.TemporaryDirectory() as place:
        folder = (task.keep or Path(place)) / f"{task.kind}-{task.number}"
        making = make(task.kind, task.seed, task.number, folder, task.passes)
        if task.keep:
            (folder / "making.txt").write_text(row(making) + "\n")
        return making


def run(todo: Sequence[Task], workers: int) -> list[Making]:
    """Do the makings, printing a row as each ends."""
    makings = []
    with ProcessPoolExecutor(workers, multiprocessing.get_context("spawn")) as pool:
        for future in as_completed([pool.submit(done, task) for task in todo]):
            makings.append(future.result())
            print(row(makings[-1]), flush=True)
    return makings


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--tops", type=int, default=20)
    parser.add_argument("--altos", type=int, default=10)
    parser.add_argument("--backs", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--passes", type=int, default=MOST_PASSES)
    parser.add_argument("--only", metavar="KIND:NUMBER", action="append")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    chosen: list[tuple[str, int]] = [*tasks(asked.tops, asked.altos, asked.backs)]
    if asked.only:
        chosen = [(kind, int(number)) for kind, number in (name.split(":") for name in asked.only)]
    todo = [Task(kind, number, asked.seed, asked.passes, asked.keep) for kind, number in chosen]
    print(counts(run(todo, asked.workers)))


if __name__ == "__main__":
    main()
