"""Files as no program writes them: each is told of in one sentence, and spoils no plate beside it."""

import json
import os
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from meshes.outline import Outline
from solver.advice.removal_basis import removal_basis
from solver.cli import main
from solver.core.errors import InputError
from solver.plate_folder.read import read_plate
from solver.plate_folder.trial_schema import StrokeTable, TrialTable
from solver.plate_folder.trials import planned_table, read_trials, write_trial
from tests.plate_folders import panel_files, write_folder
from tests.rights import nobody, open_to_all

BEGUN = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)
STROKE = StrokeTable(width_mm=40.0, cut_mm=0.1, path_mm=((100.0, 10.0),))
posix = pytest.mark.skipif(os.name == "nt", reason="links need rights on Windows")


def panel(place: Path, name: str = "panel") -> Path:
    return write_folder(place / name, panel_files())


def refused(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    assert main(arguments) == 2
    return capsys.readouterr().err


def with_more(folder: Path, text: str) -> Path:
    path = folder / "plate.toml"
    path.write_text(path.read_text() + text)
    return folder


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (
            "[[fitted]]\ndensty_kg_m3 = 400\n",
            r"fitted item 1.densty_kg_m3 is not a known key; did you mean density_kg_m3?",
        ),
        (
            "[[fitted]]\n[fitted.arch]\nrize = 0.1\n",
            "fitted item 1.arch.rize is not a known key; did you mean rise?",
        ),
        (
            "[[fitted]]\ncolour = 1\n",
            "fitted item 1.colour is not a known key; known there are date, entries",
        ),
    ],
)
def test_an_unknown_key_in_a_list_of_tables_is_named(
    more: str, said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert said in refused(["check", str(with_more(panel(tmp_path), more))], capsys)


def trial_text(folder: Path, **more: object) -> str:
    """Write a trial as the program does and return its text."""
    trial = TrialTable(name="one", begun=BEGUN, strokes=(STROKE,)).model_copy(update=more)
    write_trial(folder, "one", trial)
    return (folder / "trials" / "one.toml").read_text()


def planned(folder: Path) -> str:
    outline: Outline = read_plate(folder).outline
    basis = removal_basis(outline)
    return trial_text(folder, plan=planned_table(basis.removal(np.full(basis.size, 1e-4))))


def said_of_trial(folder: Path, text: str) -> str:
    (folder / "trials" / "one.toml").write_text(text)
    with pytest.raises(InputError) as caught:
        read_trials(folder)
    return str(caught.value)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "width_mm = 40.0",
            "width_mm = 40.0\nwidht_mm = 1",
            "strokes item 1.widht_mm is not a known key; did you mean width_mm?",
        ),
        (
            "begun = 2026-03-01T12:00:00+00:00",
            "begun = 0001-01-01",
            "begun is 0001-01-01; expected a date and time",
        ),
        (
            "begun = 2026-03-01T12:00:00+00:00",
            "begun = 0001-01-01T00:00:00",
            "begun is 0001-01-01 00:00:00; expected a year from 1500 to 3000",
        ),
        (
            "begun = 2026",
            "carved = 0001-01-01T00:00:00\nbegun = 2026",
            "carved is 0001-01-01 00:00:00; expected a year",
        ),
    ],
)
def test_what_is_wrong_in_a_trial_is_named(old: str, new: str, said: str, tmp_path: Path) -> None:
    folder = panel(tmp_path)
    text = trial_text(folder)
    assert said in said_of_trial(folder, text.replace(old, new))


@pytest.mark.parametrize(
    ("knots", "said"),
    [
        (lambda knots: knots[::-1], "[plan] has x_knots_mm that fall; expected them to rise"),
        (lambda knots: [knots[0]] * len(knots), "[plan] has x_knots_mm without a step between them"),
        (lambda knots: [float("nan"), *knots[1:]], "plan.x_knots_mm item 1 is nan; expected -2000 to 2000"),
    ],
)
def test_knots_out_of_order_are_refused(knots: object, said: str, tmp_path: Path) -> None:
    assert callable(knots)
    folder = panel(tmp_path)
    before = planned(folder)
    line = next(line for line in before.splitlines() if line.startswith("x_knots_mm"))
    changed = knots(json.loads(line.partition(" = ")[2]))
    text = before.replace(line, f"x_knots_mm = [{', '.join(map(repr, changed))}]")
    assert said in said_of_trial(folder, text)


def test_rows_of_a_plan_that_do_not_fit_its_knots_are_refused_in_words(tmp_path: Path) -> None:
    folder = panel(tmp_path)
    text = planned(folder)
    row = next(line for line in text.splitlines() if line.startswith("    ["))
    said = said_of_trial(folder, text.replace(f"{row}\n", "", 1))
    assert "[plan] has depth_mm of another size than its knots; expected" in said
    assert "Value error" not in said


@posix
@pytest.mark.parametrize("name", ["outline.csv", "plate.toml", "trials", "log", "thickness-2.csv"])
def test_a_link_to_itself_is_refused(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = panel(tmp_path)
    if name == "thickness-2.csv":
        path = folder / "plate.toml"
        path.write_text(path.read_text().replace("uniform_mm = 3.0", f'file = "{name}"'))
    (folder / name).unlink(missing_ok=True)
    (folder / name).symlink_to(name)
    if name == "trials":
        with pytest.raises(InputError, match=r"trials: nothing can be written there"):
            write_trial(folder, "one", TrialTable(name="one", begun=BEGUN))
        return
    sentence = refused(["check", str(folder)], capsys)
    assert sentence.count("\n") == 1
    assert name in sentence


def test_a_plate_that_cannot_be_read_spoils_no_other_in_the_book(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    panel(tmp_path, "good")
    with_more(panel(tmp_path, "bad"), "[[fitted]]\ncolour = 1\n")
    assert main(["book", str(tmp_path), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [plate["name"] for plate in told["plates"]] == ["good"]
    assert told["left_out"][0].startswith(
        "bad is left out. plate.toml: fitted item 1.colour is not a known key"
    )
    sentence = refused(["book", str(tmp_path), "--min", "mass=50"], capsys)
    assert "its one plate that can be read is not as asked for (another cannot be read); expected" in sentence


def test_a_book_of_one_plate_that_cannot_be_read_says_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with_more(panel(tmp_path, "bad"), "[[fitted]]\ncolour = 1\n")
    sentence = refused(["book", str(tmp_path)], capsys)
    assert sentence.startswith(
        f"{tmp_path}: its one plate cannot be read; expected at least one that can. bad is left out. plate.toml: fitted"
    )
    with_more(panel(tmp_path, "worse"), "colour = 1\n")
    sentence = refused(["book", str(tmp_path)], capsys)
    assert (
        "none of its 2 plates can be read; expected at least one that can. bad is left out. plate.toml: "
        in sentence
    )


@posix
def test_a_folder_that_may_not_be_entered_spoils_no_other(capsys: pytest.CaptureFixture[str]) -> None:
    with open_to_all() as place:
        panel(place, "good")
        panel(place, "shut").chmod(0)
        with nobody():
            assert main(["book", str(place), "--json"]) == 0
        (place / "shut").chmod(0o755)
    told = json.loads(capsys.readouterr().out)
    assert [plate["name"] for plate in told["plates"]] == ["good"]
    assert "shut is left out" in told["left_out"][0]
