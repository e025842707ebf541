"""A bench that is stopped or killed: it ends without a murmur, every folder is whole, what it said it kept is there."""

import http.client
import json
import shutil
import signal
import socket
import threading
import time
import tomllib
from pathlib import Path
from typing import cast

import pytest

from solver.commands.tones import Json
from solver.plate_folder.read import read_plate
from solver.plate_folder.trials import read_trials
from tests.bench.conftest import ROOT, RunningBench, end, start_bench, start_empty_bench

ROUNDS = 3
STROKE: dict[str, Json] = {"width_mm": 20.0, "cut_mm": 0.01, "path_mm": [[120.0, 10.0], [140.0, -10.0]]}


def ask(bench: RunningBench, method: str, path: str, body: Json = None) -> dict[str, Json]:
    """Ask as the page does; raises OSError or HTTPException once nobody answers."""
    connection = http.client.HTTPConnection("127.0.0.1", bench.port, timeout=30)
    connection.request(method, path, None if body is None else json.dumps(body), {"x-bench-key": bench.key})
    told = cast("dict[str, Json]", json.loads(connection.getresponse().read()))
    connection.close()
    return told


def live_plate(bench: RunningBench) -> str:
    """Return the path of the plate once it can be scraped."""
    offered = cast("list[dict[str, Json]]", ask(bench, "GET", "/api/start")["open"])
    path = f"/api/plates/{offered[0]['plate']}"
    for _ in range(600):
        if "trials" in ask(bench, "GET", f"{path}/trials"):
            return path
        time.sleep(0.1)
    raise AssertionError("the plate never came to the scraper")


@pytest.mark.slow
def test_a_bench_killed_in_mid_stroke_loses_nothing_that_it_said_was_kept(tmp_path: Path) -> None:
    folder = tmp_path / "blank"
    shutil.copytree(ROOT / "cases" / "spruce-blank", folder)
    before = {path: path.read_bytes() for path in folder.glob("*.*")}
    for round_ in range(ROUNDS):
        running = start_bench(folder, tmp_path / "state")
        path, name = live_plate(running), f"round-{round_}"
        version = ask(running, "POST", f"{path}/trials", {"name": name})["version"]
        threading.Timer(0.4 + 0.37 * round_, running.process.send_signal, [signal.SIGKILL]).start()
        kept = 0
        try:
            while True:
                question: Json = {"version": version, "stroke": STROKE, "done": True}
                told = ask(running, "POST", f"{path}/trials/{name}/stroke", question)
                version, kept = told["version"], cast("int", told["strokes"])
        except (OSError, http.client.HTTPException):
            running.process.communicate()
        assert kept > 0
        assert len(read_trials(folder)[name].strokes) in (kept, kept + 1)
        assert read_plate(folder).title
        for file in folder.rglob("*.toml"):
            assert file.name.startswith(".") or tomllib.loads(file.read_text())
    assert {file: file.read_bytes() for file in folder.glob("*.*")} == before
    again = start_bench(folder, tmp_path / "state")
    assert len(cast("list[Json]", ask(again, "GET", f"{live_plate(again)}/trials")["trials"])) == ROUNDS
    assert "Traceback" not in end(again)


def test_a_bench_stopped_in_the_middle_of_a_question_ends_without_a_murmur(tmp_path: Path) -> None:
    running = start_empty_bench(tmp_path, tmp_path / "state")
    with socket.create_connection(("127.0.0.1", running.port)) as asking:
        head = f"POST /api/open HTTP/1.1\r\nHost: 127.0.0.1:{running.port}\r\nx-bench-key: {running.key}\r\n"
        asking.sendall(f"{head}Content-Type: application/json\r\nContent-Length: 100\r\n\r\n{{".encode())
        time.sleep(0.5)  # until the server waits for the rest
        said = end(running)
    assert "Traceback" not in said
    assert "Cancel" not in said
