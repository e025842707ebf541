"""Programs killed while they write into a plate's folder: nothing may be lost, nothing taken twice.

    python -m tests.trials.kills --count 1000 --seed 1

Half of them are killed before the nth thing that they do to the files, n going through all of them in turn; the other half
by another program at random moments from their first such step on. After each kill the folder is read once as one in which
nothing may be written, and once as it is: both must find it as before or as after the act, and alike. Then the same is
asked once more, by a page that knows nothing of the kill, and afterwards the folder must be as after one act.
"""

import argparse
import random
import time
from collections import Counter
from dataclasses import dataclass, field

from solver.plate_folder.inside import RECORD
from tests.rights import open_to_all, read_only
from tests.trials.acts import Maker, Said, said_by
from tests.trials.fatal_step import Ended, in_a_process


@dataclass
class Tally:
    """What came of all kills."""

    killed: Counter[str] = field(default_factory=Counter)
    done: Counter[str] = field(default_factory=Counter)
    halfway: int = 0
    faults: list[str] = field(default_factory=list)

    def __str__(self) -> str:
        acts = ", ".join(f"{name} {n} ({self.done[name]} done)" for name, n in self.killed.items())
        killed, faults = sum(self.killed.values()), len(self.faults)
        return f"{killed} killed: {acts}; {self.halfway} left an act to be finished; {faults} faults"


@dataclass(frozen=True)
class Known:
    """An act that went well: the folder before and after, and how it went."""

    before: Said | str
    after: Said | str
    went: Ended


def gone_well(maker: Maker, name: str) -> Known:
    """Return an act that nobody disturbs."""
    maker.begin_anew()
    maker.sit_down()
    before = said_by(maker.folder)
    went = in_a_process(maker.acts()[name], maker.folder)
    after = said_by(maker.folder)
    assert went.status == 200, f"{name} is answered by {went.status}"
    assert before != after, f"{name} does something"
    return Known(before, after, went)


def killed_once(
    maker: Maker, name: str, known: Known, fatal: int, delay_s: float | None, tally: Tally
) -> None:
    """Kill one act, look what is left, ask it again, and note what is not as it should be."""
    maker.begin_anew()
    maker.sit_down()
    ended = in_a_process(maker.acts()[name], maker.folder, fatal, delay_s)
    tally.halfway += (maker.folder / RECORD).exists()
    with read_only(maker.folder):
        seen = said_by(maker.folder)
    found = said_by(maker.folder)
    again = in_a_process(maker.acts()[name], maker.folder)
    at_last = said_by(maker.folder)
    tally.killed[name] += 1
    tally.done[name] += found == known.after
    at = f"{name}, step {fatal}, delay {delay_s}"
    if found not in (known.before, known.after) or seen != found:
        tally.faults.append(f"{at}: half done: {seen}, then {found}")
    if ended.status == 200 and found != known.after:
        tally.faults.append(f"{at}: told as done and lost: {found}")
    if at_last != known.after or (again.status == 200) < (found == known.before):
        tally.faults.append(f"{at}: asked again ({again.status}): {at_last}")
    if (maker.folder / RECORD).exists():
        tally.faults.append(f"{at}: the record is still there")


def run(count: int, seed: int) -> Tally:
    """Kill so many acts."""
    chance, tally = random.Random(seed), Tally()
    with open_to_all() as place:
        maker = Maker(place)
        known = {name: gone_well(maker, name) for name in maker.acts()}
        every_step = [(name, n) for name, act in known.items() for n in range(1, act.went.steps + 1)]
        chance.shuffle(every_step)
        for number in range(count):
            if number % 2:
                name = chance.choice([*known])
                delay = chance.uniform(0, 1.2 * known[name].went.seconds)
                killed_once(maker, name, known[name], 0, delay, tally)
            else:
                name, fatal = every_step[number // 2 % len(every_step)]
                killed_once(maker, name, known[name], fatal, None, tally)
    return tally


def main() -> None:
    """Run it as asked on the command line."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    asked.add_argument("--count", type=int, default=1000)
    asked.add_argument("--seed", type=int, default=1)
    arguments = asked.parse_args()
    begun = time.monotonic()
    tally = run(arguments.count, arguments.seed)
    print(*tally.faults, tally, f"{time.monotonic() - begun:.0f} s", sep="\n")
    raise SystemExit(bool(tally.faults))


if __name__ == "__main__":
    main()
