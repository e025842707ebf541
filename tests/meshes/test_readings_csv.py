"""Tables of numbers: what is read, and the one sentence for everything that is not."""

import os
from pathlib import Path

import numpy as np
import pytest

from meshes.input_file import LARGEST_FILE, file_text
from meshes.readings_csv import read_table
from solver.core.errors import InputError

NAMES = ("x_mm", "y_mm", "t_mm")


def written(folder: Path, content: str | bytes) -> Path:
    path = folder / "thickness.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


def sentence(path: Path, least: int = 1) -> str:
    with pytest.raises(InputError) as caught:
        read_table(path, NAMES, least)
    return str(caught.value)


@pytest.mark.parametrize(
    "content",
    [
        "x_mm,y_mm,t_mm\n1,-2,3.5\n4e1,5,6\n",
        "\ufeffx_mm,y_mm,t_mm\r\n1,-2,3.5\r\n40.0,5,6\r\n",
        "X_mm, y_mm, t_mm\n\n1, -2, 3.5,,\n , ,\n40,5,6",
        '"x_mm","y_mm","t_mm"\n"1","-2","3.5"\n"40","+5","6"\n',
    ],
    ids=["plain", "byte-order mark and CRLF", "spaces and blank cells", "quoted"],
)
def test_same_numbers_however_the_spreadsheet_writes_them(tmp_path: Path, content: str) -> None:
    np.testing.assert_array_equal(read_table(written(tmp_path, content), NAMES), [[1, -2, 3.5], [40, 5, 6]])


def test_written_numbers_come_back_bit_for_bit(tmp_path: Path) -> None:
    numbers = np.random.default_rng(7).normal(0.0, 200.0, (500, 3))
    rows = "\n".join(",".join(repr(float(value)) for value in row) for row in numbers)
    np.testing.assert_array_equal(read_table(written(tmp_path, "x_mm,y_mm,t_mm\n" + rows), NAMES), numbers)


@pytest.mark.parametrize(
    ("content", "parts"),
    [
        ("", ["it is empty", "x_mm,y_mm,t_mm"]),
        ("\n\n  \n", ["it is empty"]),
        ("x_mm,y_mm,t_mm\n", ["0 rows", "at least 1"]),
        ("x_mm,y_mm,z_mm\n1,2,3\n", ["line 1 is x_mm,y_mm,z_mm", "expected the header x_mm,y_mm,t_mm"]),
        ("x_mm,y_mm\n1,2\n", ["line 1 is x_mm,y_mm;"]),
        ("1,2,3\n4,5,6\n", ["line 1 is numbers where the header is expected"]),
        ("x_mm;y_mm;t_mm\n1,5;2,5;3,5\n", ["semicolons", "decimal comma"]),
        ("x_mm\ty_mm\tt_mm\n1\t2\t3\n", ["tabs"]),
        ("x_mm,y_mm,t_mm\n1,2,3\n4,5,thick\n", ["line 3, t_mm is thick", "expected a number"]),
        ("x_mm,y_mm,t_mm\n1,2,3 mm\n", ["line 2, t_mm is 3 mm", "without a unit"]),
        ("x_mm,y_mm,t_mm\n1,2,3_000\n", ["3_000", "expected a number"]),
        ("x_mm,y_mm,t_mm\n1,2,\n", ["line 2, t_mm is empty"]),
        ("x_mm,y_mm,t_mm\n1,,3\n", ["line 2, y_mm is empty"]),
        ('x_mm,y_mm,t_mm\n1,"2,5",3\n', ["line 2, y_mm is 2,5", "Write 2.5"]),
        ("x_mm,y_mm,t_mm\n1,5,2,5,3,5\n", ["line 2 has 6 values", "decimal points"]),
        ("x_mm,y_mm,t_mm\n1;2;3\n", ["line 2, x_mm is 1;2;3", "semicolons"]),
        ("x_mm,y_mm,t_mm\n1,nan,3\n", ["line 2, y_mm is nan", "finite"]),
        ("x_mm,y_mm,t_mm\n1,2,-Inf\n", ["line 2, t_mm is -Inf", "finite"]),
        ("x_mm,y_mm,t_mm\n1e400,2,3\n", ["line 2, x_mm is 1e400", "finite"]),
        ("x_mm,y_mm,t_mm\n1e9,2,3\n", ["line 2, x_mm is 1e9", "decimal point"]),
        ('x_mm,y_mm,t_mm\n1,"2,3\n', ["line 2", "quotation mark"]),
        (b"x_mm,y_mm,t_mm\n1,2,3 \xb5m\n", ["line 2 is not UTF-8"]),
        ("x_mm,y_mm,t_mm\n1,2,3\n".encode("utf-16"), ["not plain text"]),
        (bytes(range(256)) * 9, ["not plain text"]),
    ],
)
def test_sentence_names_file_place_and_mend(tmp_path: Path, content: str | bytes, parts: list[str]) -> None:
    said = sentence(written(tmp_path, content))
    assert said.startswith("thickness.csv: ")
    assert "\n" not in said
    for part in parts:
        assert part in said


def test_too_few_rows(tmp_path: Path) -> None:
    path = written(tmp_path, "x_mm,y_mm,t_mm\n1,2,3\n4,5,6\n")
    assert len(read_table(path, NAMES, least=2)) == 2
    assert "2 rows of numbers; expected at least 8" in sentence(path, least=8)


def test_missing_folder_and_pipe(tmp_path: Path) -> None:
    assert f"no such file in {tmp_path}" in sentence(tmp_path / "thickness.csv")
    (tmp_path / "inner").mkdir()
    assert "it is a folder" in sentence(tmp_path / "inner")
    (tmp_path / "note").write_text("x")
    assert "is not a folder" in sentence(tmp_path / "note" / "thickness.csv")
    assert "pipe" in sentence(Path(os.devnull))


def test_large_file_is_refused_by_its_size_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "thickness.csv"
    with path.open("wb") as stream:
        stream.truncate(4 * LARGEST_FILE)
    monkeypatch.setattr(Path, "read_bytes", lambda _: pytest.fail("the file was read"))
    assert "it is 200 MB; expected at most 50 MB" in sentence(path)


def test_lacking_rights_and_broken_disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, "x_mm,y_mm,t_mm\n1,2,3\n")
    for error, part in (
        (PermissionError(13, "denied"), "rights to read"),
        (OSError(5, "I/O error"), "I/O error"),
    ):

        def fail(_: Path, error: OSError = error) -> bytes:
            raise error

        monkeypatch.setattr(Path, "read_bytes", fail)
        assert part in sentence(path)


def test_text_keeps_what_is_not_a_byte_order_mark(tmp_path: Path) -> None:
    assert file_text(written(tmp_path, "\ufeffÉrable\n")) == "Érable\n"
