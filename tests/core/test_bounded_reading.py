"""Whatever happens to the process in which a file is read, there comes a value or one sentence."""

import os
import pickle
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

import solver.core.bounded_reading
from solver.core.bounded_child import OVERTIME
from solver.core.bounded_reading import BoundedFile, BoundedReading, Kind, OverboundError, read_of
from solver.core.errors import InputError

linux = pytest.mark.skipif(sys.platform != "linux", reason="limits of Linux")
KIND = Kind("a drawing of one edge", "Export it again.")
SIGXCPU = getattr(signal, "SIGXCPU", 24)


def read(reader: str, *arguments: tuple[object, ...]) -> tuple[object, ...]:
    files = [BoundedFile(f"{number}.svg", given) for number, given in enumerate(arguments)]
    with BoundedReading(f"tests.strange_readers:{reader}", files, KIND) as reading:
        return reading.result()


def refusal(reader: str, *arguments: object) -> str:
    with pytest.raises(InputError) as refused:
        read(reader, arguments)
    assert "\n" not in str(refused.value)
    return str(refused.value)


def test_values_come_back_in_order_whatever_the_reader_prints() -> None:
    table, words = read("echo", (np.arange(6.0).reshape(3, 2),), ("é",))
    assert np.array_equal(np.asarray(table), np.arange(6.0).reshape(3, 2))
    assert words == "é"


def test_a_refusal_is_the_reader_s_own_sentence() -> None:
    assert refusal("refuse", "a.svg") == "a.svg: it is none; expected one. Bring another."


@pytest.mark.parametrize(
    ("reader", "said"),
    [("stumble", "KeyError"), ("leave", "exit code 7"), pytest.param("crash", "signal 11", marks=linux)],
)
def test_a_reader_that_breaks_down_costs_one_sentence(reader: str, said: str) -> None:
    assert (
        refusal(reader)
        == f"0.svg: what reads it broke down over it ({said}); expected a drawing of one edge. Export it again."
    )


@linux
def test_memory_is_bounded() -> None:
    assert "0.svg: to read it would take more than 1 GB of memory; expected a drawing" in refusal("flood")


@linux
@pytest.mark.slow
def test_processor_time_is_bounded() -> None:
    """On a busy computer the clock is the sooner of the two."""
    with pytest.raises(
        InputError, match=r"0\.svg: (to read it would take more than 20|it was not read within 120) s; exp"
    ):
        read("turn", ())


def test_a_process_that_sleeps_is_ended_by_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solver.core.bounded_reading, "_PATIENCE_S", 1)
    assert "0.svg: it was not read within 1 s;" in refusal("sleep")


@pytest.mark.parametrize(("code", "said"), [(-SIGXCPU, "more than 20 s"), (OVERTIME, "more than 20 s")])
def test_the_file_at_which_time_ran_out_is_named(code: int, said: str) -> None:
    files = [BoundedFile("a.svg", ()), BoundedFile("b.svg", ())]
    with pytest.raises(OverboundError, match=rf"^b\.svg: to read it would take {said}"):
        read_of(files, KIND, pickle.dumps(("done", 1)) + pickle.dumps(("done", 2))[:-4], code)


def test_the_process_ends_with_the_block_that_began_it() -> None:
    with BoundedReading("tests.strange_readers:turn", [BoundedFile("a.svg", ())], KIND) as reading:
        assert reading.process.poll() is None
    assert reading.process.returncode is not None


@linux
def test_the_process_dies_with_the_program_that_began_it() -> None:
    code = (
        "from solver.core.bounded_reading import *\n"
        "reading = BoundedReading('tests.strange_readers:turn', [BoundedFile('a.svg', ())], Kind('', ''))\n"
        "print(reading.process.pid, flush=True); reading.result()"
    )
    root = Path(__file__).parents[2]
    begun = subprocess.Popen([sys.executable, "-c", code], cwd=root, stdout=subprocess.PIPE, text=True)
    assert begun.stdout is not None
    child = int(begun.stdout.readline())
    time.sleep(0.5)  # until it has bound itself
    begun.kill()
    begun.communicate()
    for _ in range(100):
        if not Path(f"/proc/{child}").exists() or "Z" in Path(f"/proc/{child}/stat").read_text().split()[2]:
            return
        time.sleep(0.05)
    os.kill(child, signal.SIGKILL)
    raise AssertionError("it lives on")
