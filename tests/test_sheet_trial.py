"""``platewright sheet --trial``: the wood of a trial on paper, held against a solve of the thinned plate."""

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from meshes.removal import Stroke
from solver.cli import main
from solver.core.units import GRAM, MM
from solver.modal.modes import solve_modes
from solver.plate.thinning import thinned
from solver.plate_folder.read import read_plate
from solver.plate_folder.trial_schema import StrokeTable, TrialTable
from solver.plate_folder.trials import write_trial
from tests.plate_folders import panel_files, write_folder

STROKE = StrokeTable(width_mm=60.0, cut_mm=0.4, path_mm=((150.0, 0.0), (200.0, 20.0)))
BEGUN = datetime(2026, 3, 1, 10, 0, tzinfo=UTC)


@pytest.fixture
def panel(tmp_path: Path) -> Path:
    folder = write_folder(tmp_path / "blank", panel_files())
    write_trial(folder, "by-hand", TrialTable(name="by hand", begun=BEGUN, strokes=(STROKE,)))
    write_trial(folder, "empty", TrialTable(name="empty", begun=BEGUN))
    write_trial(folder, "done", TrialTable(name="done", begun=BEGUN, carved=BEGUN, strokes=(STROKE,)))
    return folder


def test_the_sheet_says_what_the_trial_leaves(panel: Path) -> None:
    assert main(["sheet", str(panel), "--trial", "by hand"]) == 0
    pages = [" ".join(page.extract_text().split()) for page in PdfReader(panel / "sheet.pdf").pages]
    left = solve_modes(thinned(read_plate(panel), Stroke(np.array(STROKE.path_mm) * MM, 0.03, 0.4e-3)), 8)
    assert all("trial by hand" in page for page in pages)
    for name, hz in zip(left.names, left.hz, strict=True):
        if name:
            assert f"{hz:.1f} Hz" in pages[0]
    assert f"{left.mass / GRAM:.1f} g" in pages[0]
    assert "after this trial" in pages[0]
    assert "in the end" not in pages[0]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--trial", "other"], 'there is no trial "other" of this plate; expected one of: by hand, empty'),
        (["--trial", "empty"], '"empty" takes no wood; expected one with strokes'),
        (["--trial", "done"], 'the wood of "done" was carved on 2026-03-01'),
        (["--trial", "by hand", "--plan"], "both a plan and a trial are asked for"),
        (["--trial", "by hand", "--want", "5=350"], "no plan is asked for"),
        (["--trial", "?!"], "has no letter or digit"),
    ],
)
def test_what_cannot_be_printed_is_said(
    arguments: list[str], said: str, panel: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", str(panel), *arguments]) == 2
    assert said in " ".join(capsys.readouterr().err.split())
    assert not list(panel.glob("*.pdf"))
