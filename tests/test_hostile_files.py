"""Files made to do harm, given to the commands: one sentence each, within bounded time and memory."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from solver.cli import main
from tests.command_answers import refusal_of
from tests.hostile_files import DRAWINGS, PHOTOS, SOUNDS
from tests.plate_folders import ellipse_files, replaced, write_folder

MOST_S, MOST_MB = 25, 1300
TOP = Path("cases/violin-top-finished")
posix = pytest.mark.skipif(os.name == "nt", reason="pipes with names, as POSIX has them")


def asked(kind: str, file: Path, folder: Path) -> list[str | Path]:
    """Return a command that reads a file of a kind: a sound or photo as it is, a drawing or table as the plate's."""
    if kind == "sound":
        return ["tap", file]
    return ["pattern", TOP, file] if kind == "photo" else ["check", folder]


def plate_with(outline: str, folder: Path) -> Path:
    """Return a plate whose outline is in a file of that name, which is not there yet."""
    files = ellipse_files()
    replaced("plate.toml", '"outline.csv"', f'"{outline}"')(files)
    write_folder(folder, files)
    (folder / outline).unlink(missing_ok=True)
    return folder


MEASURED = """
import resource, sys
from solver.cli import main
code = main(sys.argv[1:])
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(used.ru_utime + used.ru_stime, used.ru_maxrss / 1000)
sys.exit(code)
"""
"""A program of its own, for the system tells only of the largest child that a program has ever had."""


def refused_within(*arguments: str | Path) -> str:
    """Run a command that must refuse in one sentence; assert how much processor time and memory its reader took."""
    ran = subprocess.run(
        [sys.executable, "-c", MEASURED, *map(str, arguments)], capture_output=True, text=True, check=False
    )
    assert ran.returncode == 2
    assert ran.stderr.count("\n") == 1
    seconds, megabytes = (float(figure) for figure in ran.stdout.splitlines()[-1].split())
    assert seconds < MOST_S
    assert megabytes < MOST_MB
    return ran.stderr


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="limits of Linux")
@pytest.mark.parametrize("name", [*SOUNDS, *PHOTOS, *DRAWINGS])
def test_a_hostile_file_costs_one_sentence(name: str, tmp_path: Path) -> None:
    kind = "sound" if name in SOUNDS else "photo" if name in PHOTOS else "drawing"
    folder = plate_with(name, tmp_path / "top") if kind == "drawing" else tmp_path
    (folder / name).write_bytes((SOUNDS | PHOTOS | DRAWINGS)[name]())
    assert name in refused_within(*asked(kind, folder / name, folder))


@posix
@pytest.mark.parametrize(
    ("kind", "name"),
    [("sound", "a.wav"), ("photo", "a.jpg"), ("drawing", "a.svg"), ("drawing", "a.dxf"), ("table", "a.csv")],
)
def test_a_pipe_is_no_file(kind: str, name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = plate_with(name, tmp_path / "top") if kind in ("drawing", "table") else tmp_path
    os.mkfifo(folder / name)
    said = refusal_of(capsys, *asked(kind, folder / name, folder))
    assert f"{name}: it is a device or a pipe; expected a" in said


@posix
@pytest.mark.parametrize("key", ["photo", "recording"])
def test_a_pipe_is_not_kept_with_an_entry(
    key: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(TOP, tmp_path / "top")
    os.mkfifo(tmp_path / "pipe")
    said = refusal_of(capsys, "log", tmp_path / "top", "--mass", "61", f"--{key}", tmp_path / "pipe")
    assert "is no file" in said


def test_a_plate_drawn_in_svg_is_read_as_ever(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "cases/viola-top"]) == 0
    assert "outline.svg: 412.0 mm long" in capsys.readouterr().out
