"""Names that some system keeps for itself or cuts short are refused: a folder goes from one computer to another."""

from pathlib import Path

import pytest

from solver.bench.offers import new_folder
from solver.cli import main
from solver.core.errors import InputError
from solver.plate_folder.kept_file import kept_file
from solver.plate_folder.trials import trial_key
from tests.plate_folders import contents, panel_files, write_folder

RESERVED = ["con", "NUL", "nul.txt", "aux.top.2", "Com1", "lpt9", "prn .x", "con "]
CUT_SHORT = ["top.", "top ", "top. ", "to:p", "a<b"]
FREE = ["console", "nullify.txt", "com", "com10", "lpt", "Top for the spring viola", "top.2"]


@pytest.mark.parametrize("name", [*RESERVED, *CUT_SHORT])
def test_no_plate_gets_a_name_that_cannot_be_on_windows(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", str(tmp_path / name), "--like", "panel"]) == 2
    sentence = capsys.readouterr().err
    assert sentence.startswith(f'A folder cannot be called "{name}" on every computer')
    assert contents(tmp_path) == {}


@pytest.mark.parametrize("name", [*RESERVED, "top.", "to:p"])
def test_nor_on_the_page(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be called"):
        new_folder(tmp_path, name)


@pytest.mark.parametrize("name", FREE)
def test_names_that_only_look_like_it_are_free(name: str, tmp_path: Path) -> None:
    assert new_folder(tmp_path, name) == tmp_path / name
    assert main(["new", str(tmp_path / name), "--like", "panel"]) == 0
    assert trial_key(name)


@pytest.mark.parametrize("name", ["con", "NUL", "nul ...", "com1", "-lpt1-"])
def test_no_trial_gets_such_a_name(name: str) -> None:
    with pytest.raises(InputError, match=r"Windows keeps .* Give it another name"):
        trial_key(name)


def test_a_photo_of_such_a_name_is_kept_under_another(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "panel", panel_files())
    photo = tmp_path / "con.jpg"
    photo.write_text("powder")
    assert kept_file(folder, photo, "photos", "--photo") == "photos/_con.jpg"
