"""The notebook that comes along runs from top to bottom."""

import json
from pathlib import Path

import matplotlib
import pytest

NOTEBOOKS = sorted((Path(__file__).parents[2] / "solver" / "api" / "notebooks").glob("*.ipynb"))


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_it_runs(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    matplotlib.use("agg")
    monkeypatch.chdir(tmp_path)
    cells = [
        "".join(cell["source"])
        for cell in json.loads(path.read_text())["cells"]
        if cell["cell_type"] == "code"
    ]
    known: dict[str, object] = {}
    for number, cell in enumerate(cells):
        exec(compile(cell, f"{path.name}, cell {number}", "exec"), known)
    assert [*tmp_path.glob("*.png")]


def test_there_is_one_of_about_twenty_lines() -> None:
    (path,) = NOTEBOOKS
    cells = json.loads(path.read_text())["cells"]
    assert sum(len(cell["source"]) for cell in cells if cell["cell_type"] == "code") <= 22
