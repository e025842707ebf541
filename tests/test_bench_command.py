"""``platewright bench`` on the command line: what cannot be served is refused in one sentence."""

import socket
from pathlib import Path

import pytest

from solver.bench.offers import Memory, remember, remembered, with_folder
from solver.cli import main


def test_no_such_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert main(["bench", "--no-browser", str(tmp_path / "none")]) == 2
    assert "there is no such folder" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_port_taken(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        assert main(["bench", "--no-browser", "--port", str(port)]) == 2
    assert f"--port: {port} cannot be had" in capsys.readouterr().err


@pytest.mark.parametrize("port", ["-1", "65536", "eighty"])
def test_no_port(port: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["bench", "--no-browser", "--port", port]) == 2
    assert "--port" in capsys.readouterr().err


def test_what_is_remembered_comes_back_and_rubbish_does_not(tmp_path: Path) -> None:
    file = tmp_path / "state" / "bench.json"
    assert remembered(file) == Memory()
    remember(file, with_folder(with_folder(Memory(port=8123), Path("/a")), Path("/b")))
    assert remembered(file) == Memory(("/b", "/a"), 8123)
    for rubbish in ("", "[]", "{", '{"folders": 7, "port": 1}', '{"folders": [], "port": "x"}', "\0"):
        file.write_text(rubbish)
        assert remembered(file) == Memory()


def test_the_folder_used_last_comes_first_and_only_once() -> None:
    memory = Memory()
    for name in "abcdefghijab":
        memory = with_folder(memory, Path(name))
    assert memory.folders == ("b", "a", "j", "i", "h", "g", "f", "e")
