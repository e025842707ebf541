"""The way into the bench: a start file for its owner alone, a ticket that is good once, a port that nobody shares."""

import http.client
import json
import os
import socket
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from solver.bench.serve import listen
from solver.bench.start_file import write_start_file
from tests.bench.conftest import ROOT, SIZE, WAIT_MS, RunningBench, end, next_address, start_bench
from tests.bench.served import Served, serving
from tests.plate_folders import ellipse_files, write_folder

RECORDER = """#!/bin/sh
printf '%s\\n' "$@" > "{seen}.part" && mv "{seen}.part" "{seen}"
"""


def exchange(served: Served, ticket: str) -> tuple[int, dict[str, str]]:
    """Bring a ticket as a browser does that has no key yet."""
    status, said, _ = served.ask("POST", "/api/key", json.dumps({"ticket": ticket}).encode(), x_bench_key="")
    return status, json.loads(said)


def test_a_ticket_is_good_for_one_exchange_and_a_used_one_is_said_with_the_cure(tmp_path: Path) -> None:
    with serving(tmp_path) as served:
        ticket = served.state.tickets.issue()
        assert exchange(served, ticket) == (200, {"key": served.state.key})
        status, said = exchange(served, ticket)
        assert status == 400
        assert "was used already" in said["sentence"]
        assert "the terminal of the bench shows" in said["sentence"]
        assert (
            exchange(served, "")[0]
            == exchange(served, "\u00e9" * 43)[0]
            == exchange(served, served.state.key)[0]
            == 400
        )


def test_only_the_page_itself_is_opened_from_elsewhere(tmp_path: Path) -> None:
    """The start file is no page of the server: what follows it comes, for the browser, from another site."""
    with serving(tmp_path) as served:

        def status(
            method: str, path: str, kind: str, site: str = "cross-site", mode: str = "navigate"
        ) -> int:
            headers = {"sec_fetch_site": site, "sec_fetch_mode": mode, "sec_fetch_dest": kind}
            return served.ask(method, path, None, **headers)[0]

        assert status("GET", "/", "document") == 200
        assert status("GET", "/api/start", "document") == 403
        assert status("GET", "/", "iframe") == 403
        assert status("POST", "/", "document") == 403
        assert status("GET", "/", "empty", mode="no-cors") == 403


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps a user's folders to the user by itself")
def test_the_start_file_is_its_owners_alone(tmp_path: Path) -> None:
    folder = tmp_path / "start"
    folder.mkdir(mode=0o755)
    before = os.umask(0)  # nothing may rest on what the user lets others do by default
    try:
        path = write_start_file(folder, "http://127.0.0.1:1/#start=abc")
        again = write_start_file(folder, "http://127.0.0.1:1/#start=def")
    finally:
        os.umask(before)
    assert path == again
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert "#start=def" in path.read_text(encoding="utf-8")
    assert "abc" not in path.read_text(encoding="utf-8")


@pytest.mark.skipif(os.name == "nt", reason="the browser's stand-in is a shell script")
def test_the_browsers_command_line_names_a_file_and_no_key(tmp_path: Path) -> None:
    recorder, seen = tmp_path / "browser", tmp_path / "seen"
    recorder.write_text(RECORDER.format(seen=seen))
    recorder.chmod(0o755)
    process = subprocess.Popen(
        [sys.executable, "-m", "solver.cli", "bench"],
        cwd=tmp_path,
        env={
            **os.environ,
            "XDG_STATE_HOME": str(tmp_path / "state"),
            "PYTHONPATH": str(ROOT),
            "BROWSER": f"{recorder} %s",
        },
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    for _ in range(400):
        if seen.exists():
            break
        time.sleep(0.05)
    address = seen.read_text(encoding="utf-8").strip()
    assert address.startswith("file://")
    assert "start=" not in address
    start = Path(address.removeprefix("file://"))
    assert stat.S_IMODE(start.stat().st_mode) == 0o600
    assert "/#start=" in start.read_text(encoding="utf-8")
    process.terminate()
    said, _ = process.communicate(timeout=20)
    assert "Stop it with Ctrl-C" in said
    assert "Traceback" not in said
    assert not start.exists()  # it opens nothing any more


def test_a_port_is_had_for_oneself_where_the_system_would_share_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """Under Windows SO_REUSEADDR lets a second program listen at the same port; another option forbids it."""
    monkeypatch.setattr(socket, "SO_EXCLUSIVEADDRUSE", socket.SO_KEEPALIVE, raising=False)
    with listen(0, 0) as listening:
        assert listening.getsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE) != 0
        assert listening.getsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR) == 0


@pytest.mark.slow
@pytest.mark.xdist_group("browser")
def test_the_start_file_opens_the_page_once_and_reload_and_restart_go_on(
    tmp_path: Path, browser: Browser
) -> None:
    folder = write_folder(tmp_path / "top", ellipse_files())
    running = start_bench(folder, tmp_path / "state")
    start = write_start_file(tmp_path / "start", f"{running.address}/#start={running.ticket}").as_uri()
    own, foreign = (browser.new_context(viewport=SIZE, reduced_motion="reduce") for _ in range(2))
    page = own.new_page()
    page.set_default_timeout(WAIT_MS)
    try:
        page.goto(start)
        expect(page.locator("#title")).to_have_text("Ellipse for trying things out")
        assert running.ticket not in page.url
        page.reload()
        expect(page.locator("#title")).to_have_text("Ellipse for trying things out")
        page.goto(start)  # used, but this browser has the key
        expect(page.locator("#title")).to_have_text("Ellipse for trying things out")
        expect(page.locator("#notices")).to_be_empty()
        other = foreign.new_page()
        other.goto(start)
        expect(other.locator("#notices")).to_contain_text("was used already")
        address, ticket = running.address, next_address(running.process)[1]
        other.goto(f"{address}/#start={ticket}")  # in the same window: only what follows the # is new
        expect(other.locator("#title")).to_have_text("Ellipse for trying things out")
        expect(other.locator("#notices")).to_be_empty()
        running = restarted(running, page)
    finally:
        own.close()
        foreign.close()
        assert "Traceback" not in end(running)


def restarted(running: RunningBench, page: Page) -> RunningBench:
    """End the bench under an open page and start it again: the page goes on once another window has the new key."""
    end(running)
    expect(page.locator("#notices")).to_contain_text("The bench has stopped")
    again = start_bench(running.folder, running.state)
    assert again.address == running.address
    another = page.context.new_page()
    another.goto(f"{again.address}/#start={again.ticket}")
    expect(page.locator("#notices")).to_be_empty()
    page.reload()
    expect(page.locator("#title")).to_have_text("Ellipse for trying things out")
    return again


def test_a_program_without_a_ticket_is_let_in_nowhere(tmp_path: Path) -> None:
    running = start_bench(write_folder(tmp_path / "top", ellipse_files()), tmp_path / "state")
    try:
        connection = http.client.HTTPConnection("127.0.0.1", running.port, timeout=30)
        connection.request("POST", "/api/key", json.dumps({"ticket": "x" * 43}))
        assert connection.getresponse().status == 400
    finally:
        end(running)
