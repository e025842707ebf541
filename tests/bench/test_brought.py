"""What a killed bench left waiting is cleared away by the next one, and nothing else."""

import socket
import tempfile
from pathlib import Path

import pytest

from solver.bench.brought import clear_abandoned, waiting_place


def closed_port() -> int:
    """Return a port at which nobody answers."""
    with socket.socket() as once:
        once.bind(("127.0.0.1", 0))
        return int(once.getsockname()[1])


def left_by(port: int) -> Path:
    """Return the folder of a file that was brought to a bench at a port that was then killed."""
    place = Path(waiting_place(port).name)
    place.mkdir(exist_ok=True)  # the object above was dropped, and its folder with it
    (place / "taps.wav").write_bytes(b"sound")
    return place


def test_only_what_belongs_to_no_living_bench_is_cleared_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    own, dead = closed_port(), left_by(closed_port())
    before = left_by(own)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "kept.txt").write_text("kept")
    link = tmp_path / f"platewright-bench-{own}-link"
    link.symlink_to(elsewhere)
    strange = tmp_path / "platewright-bench-notes"
    strange.mkdir()
    with socket.create_server(("127.0.0.1", 0)) as living:
        other = left_by(int(living.getsockname()[1]))
        clear_abandoned(own)
    assert not before.exists()
    assert not dead.exists()
    assert (other / "taps.wav").read_bytes() == b"sound"
    assert (elsewhere / "kept.txt").read_text() == "kept"
    assert strange.exists()
