"""Recordings that keep their reader for ever, brought to the bench: others are heard meanwhile, each gets its sentence."""

import json
import time
from pathlib import Path

import pytest

from solver.core.bounded_reading import OverboundError
from tests.bench.served import Served, serving
from tests.hostile_files import looping_wav, titled
from tests.measured.demonstration_taps import RECORDING
from tests.plate_folders import ellipse_files, write_folder

LONG_S = 240


def begun(served: Served, name: str, content: bytes) -> str:
    """Bring a recording and have it listened to; return the key of that work."""
    plate = f"/api/plates/{served.plate}"
    key = json.loads(served.ask("POST", f"{plate}/brought?name={name}", content)[1])["key"]
    mark = json.loads(served.ask("GET", plate)[1])["mark"]
    question = json.dumps({"mark": mark, "brought": key}).encode()
    return str(json.loads(served.ask("POST", f"{plate}/listen", question)[1])["key"])


def told(served: Served, job: str, wait: bool = True) -> dict[str, str]:
    """Return what is told of a piece of work, once it is over if it is to be waited for."""
    for _ in range(20 * LONG_S):
        state: dict[str, str] = json.loads(served.ask("GET", f"/api/jobs/{job}")[1])
        if not wait or state["state"] not in ("waiting", "working"):
            return state
        time.sleep(0.05)
    raise AssertionError(state)


@pytest.mark.slow
def test_a_good_recording_is_heard_while_two_bad_ones_are_being_read(tmp_path: Path) -> None:
    with serving(tmp_path) as served:
        assert told(served, begun(served, "first.flac", RECORDING.read_bytes()))["state"] == "done"
        bad = [begun(served, f"bad-{number}.mp3", titled(looping_wav())) for number in (1, 2)]
        good = begun(served, "good.flac", RECORDING.read_bytes())
        while (states := {job: told(served, job, wait=False)["state"] for job in (*bad, good)})[good] in (
            "waiting",
            "working",
        ):
            time.sleep(0.05)
        assert states[good] == "done"
        assert [states[job] for job in bad] == ["waiting", "waiting"]
        for number, job in enumerate(bad, 1):
            end = told(served, job)
            assert end["state"] == "refused"
            assert end["said"].startswith(f"bad-{number}.mp3: ")
            assert "to read it would take" in end["said"] or "it was not read within" in end["said"]


def test_a_drawing_over_the_bounds_is_not_read_again_until_a_file_changes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = []

    def too_much(description: object) -> None:
        asked.append(description)
        raise OverboundError("outline.svg: to read it would take more than 20 s.")

    monkeypatch.setattr("solver.plate_folder.read.read_folder", too_much)
    folder = write_folder(tmp_path / "top", ellipse_files())
    with serving(tmp_path, folder) as served:
        for _ in range(3):
            status, said, _ = served.ask("GET", f"/api/plates/{served.plate}")
            assert (status, "outline.svg: to read it" in said) == (400, True)
        assert len(asked) == 1
        (folder / "thickness.csv").write_text((folder / "thickness.csv").read_text() + "\n")
        assert served.ask("GET", f"/api/plates/{served.plate}")[0] == 400
        assert len(asked) == 2
