"""Files are there whole or not at all."""

import errno
import os
from pathlib import Path

import pytest

from solver.core.atomic_write import UnwritableError, whole_file, whole_folder
from solver.core.errors import InputError


def listing(folder: Path) -> set[str]:
    return {str(path.relative_to(folder)) for path in folder.rglob("*")}


def test_a_file_takes_the_place_of_the_old_one_only_when_it_is_whole(tmp_path: Path) -> None:
    target = tmp_path / "plate.svg"
    target.write_text("old")
    with whole_file(target) as part:
        part.write_text("new")
        assert part.suffix == ".svg"
        assert target.read_text() == "old"
    assert target.read_text() == "new"
    assert listing(tmp_path) == {"plate.svg"}


@pytest.mark.skipif(os.name == "nt", reason="rights of POSIX")
def test_others_may_read_what_was_written(tmp_path: Path) -> None:
    (tmp_path / "usual").touch()
    with whole_file(tmp_path / "ours") as part:
        part.touch()
    assert (tmp_path / "ours").stat().st_mode == (tmp_path / "usual").stat().st_mode


def test_a_folder_is_made_with_its_parents_and_keeps_what_is_in_it(tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"
    for name in ("one.txt", "two.txt"):
        with whole_folder(folder) as part:
            (part / "deep").mkdir()
            (part / "deep" / name).write_text(name)
    assert listing(folder) == {"deep", "deep/one.txt", "deep/two.txt"}


@pytest.mark.parametrize(
    "failure", [OSError(errno.ENOSPC, "No space left on device"), ValueError("a bug"), KeyboardInterrupt()]
)
def test_whatever_fails_leaves_nothing_behind(tmp_path: Path, failure: BaseException) -> None:
    kind = UnwritableError if isinstance(failure, OSError) else type(failure)

    def write_half() -> None:
        with whole_folder(tmp_path / "a" / "b") as part:
            (part / "half.txt").write_text("half")
            raise failure

    with pytest.raises(kind):
        write_half()
    assert listing(tmp_path) == set()


def test_a_folder_lent_inside_another_is_not_spoken_of(tmp_path: Path) -> None:
    with (
        pytest.raises(UnwritableError) as caught,
        whole_folder(tmp_path / "pictures") as part,
        whole_file(part / "x"),
    ):
        raise OSError(errno.ENOSPC, "No space left on device")
    assert str(caught.value).startswith(
        f"{tmp_path / 'pictures'}: nothing can be written there (No space left on device)"
    )


def test_a_sentence_for_the_maker_passes_unchanged(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"^a bar of no height$"), whole_folder(tmp_path / "x"):
        raise InputError("a bar of no height")


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="it is a folder; expected the name of a file"), whole_file(tmp_path):
        pass


def test_a_folder_that_is_not_there_comes_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    moved: list[str] = []
    rename = Path.rename

    def watched(part: Path, target: Path) -> Path:
        moved.append(target.name)
        return rename(part, target)

    monkeypatch.setattr(Path, "rename", watched)
    with whole_folder(tmp_path / "a" / "plate", "plate.toml") as part:
        for name in ("plate.toml", "thickness.csv"):
            (part / name).write_text(name)
    assert moved == ["plate"]
    assert listing(tmp_path) == {"a", "a/plate", "a/plate/plate.toml", "a/plate/thickness.csv"}
