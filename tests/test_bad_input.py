"""Whatever is wrong with a folder or a command line: one sentence, exit code 2, and nothing written."""

import errno
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from solver.cli import main
from tests.plate_folders import LOG_TOML, Change, contents, ellipse_files, panel_files, replaced, write_folder
from tests.rights import nobody, open_to_all

ROOT = Path(__file__).parent.parent
posix = pytest.mark.skipif(os.name == "nt", reason="rights and limits of POSIX")

PLATE, OUTLINE, ARCH, READINGS = "plate.toml", "outline.csv", "arch.csv", "thickness.csv"
LEFT, LOG = "holes/left.csv", "log/2026-03-14T190500.toml"


def in_plate(old: str, new: str) -> Change:
    return replaced(PLATE, old, new)


def without(name: str) -> Change:
    def change(files: dict[str, str]) -> None:
        del files[name]

    return change


def line(name: str, number: int, text: str) -> Change:
    """Put a line (counted from 1, the header) in the place of another."""

    def change(files: dict[str, str]) -> None:
        lines = files[name].splitlines()
        lines[number - 1] = text
        files[name] = "\n".join(lines) + "\n"

    return change


def scaled(name: str, factor: float, columns: tuple[int, ...], shift: float = 0.0) -> Change:
    """Multiply columns of a table, and shift its first one."""

    def change(files: dict[str, str]) -> None:
        head, *rows = files[name].splitlines()
        numbers = [[float(cell) for cell in row.split(",")] for row in rows]
        for row in numbers:
            for column in columns:
                row[column] *= factor
            row[0] += shift
        files[name] = "\n".join([head, *(",".join(f"{v:.5f}" for v in row) for row in numbers)]) + "\n"

    return change


def kept(name: str, part: slice) -> Change:
    """Keep only some of the rows of a table."""

    def change(files: dict[str, str]) -> None:
        head, *rows = files[name].splitlines()
        files[name] = "\n".join([head, *rows[part]]) + "\n"

    return change


def swapped(name: str, first: int, second: int) -> Change:
    def change(files: dict[str, str]) -> None:
        lines = files[name].splitlines()
        lines[first], lines[second] = lines[second], lines[first]
        files[name] = "\n".join(lines) + "\n"

    return change


def added(name: str, text: str) -> Change:
    def change(files: dict[str, str]) -> None:
        files[name] = files.get(name, "") + text

    return change


SPRUCE = 'species = "Sitka spruce"\ndensity_kg_m3 = 400\nEL_GPa = 11.9'

CASES: dict[str, tuple[Change, str]] = {
    # files
    "no plate.toml": (without(PLATE), r"there is no plate\.toml in it.*platewright new"),
    "outline file missing": (without(OUTLINE), r"outline\.csv: there is no such file"),
    "hole file missing": (without(LEFT), r"left\.csv: there is no such file"),
    "readings missing": (without(READINGS), r"thickness\.csv: there is no such file"),
    "path out of the folder": (
        in_plate('"outline.csv"', '"../outline.csv"'),
        r'outline\.file is "\.\./outline\.csv"; expected a file inside the plate\'s folder',
    ),
    "absolute path": (in_plate('"arch.csv"', '"/etc/hostname"'), "expected a file inside the plate's folder"),
    "path with a drive": (
        in_plate('"arch.csv"', "'C:\\arch.csv'"),
        "expected a file inside the plate's folder",
    ),
    "backslash in a path": (in_plate('"holes/left.csv"', "'holes\\left.csv'"), r"Write holes/left\.csv"),
    "outline of unknown kind": (
        in_plate('"outline.csv"', '"outline.txt"'),
        r"outline\.txt.*\.csv.*\.svg.*\.dxf",
    ),
    # tables
    "wrong header": (line(READINGS, 1, "x,y,t"), r"expected the header x_mm,y_mm,t_mm"),
    "no header": (kept(READINGS, slice(0, 0)), r"it has 0 rows|expected at least"),
    "text in a number": (line(READINGS, 5, "10,20,thin"), r"line 5, t_mm is thin; expected a number"),
    "decimal comma": (line(READINGS, 5, "10,20,2,9"), r"line 5 has 4 values; expected 3.*write points"),
    "semicolons": (line(READINGS, 1, "x_mm;y_mm;t_mm"), r"separates its columns by semicolons"),
    "empty cell": (line(READINGS, 5, "10,20,"), r"line 5, t_mm is empty"),
    "NaN": (line(READINGS, 5, "10,20,nan"), r"line 5, t_mm is nan; expected a finite number"),
    # thickness
    "negative thickness": (line(READINGS, 5, "178,0,-2.5"), r"-2\.5"),
    "zero thickness": (line(READINGS, 5, "178,0,0"), r"thick"),
    "thickness in inches": (scaled(READINGS, 1 / 25.4, (2,)), r"inch"),
    "readings outside the outline": (scaled(READINGS, 1.0, (), 400.0), r"outside"),
    "too few readings": (kept(READINGS, slice(0, 5)), r"expected at least 8"),
    "one thickness in inches": (
        in_plate('file = "thickness.csv"', "uniform_mm = 0.11"),
        r"thickness\.uniform_mm is 0\.11; expected 0\.5 to 40\. If that was inches, write 2\.794\.",
    ),
    "two thicknesses": (
        in_plate('file = "thickness.csv"', 'file = "thickness.csv"\nuniform_mm = 2.6'),
        r"\[thickness\] gives file and uniform_mm; expected exactly one",
    ),
    # outline and holes
    "outline open": (kept(OUTLINE, slice(0, 60)), r"the edge is open"),
    "outline crossing": (swapped(OUTLINE, 10, 30), r"crosses itself"),
    "outline in inches": (scaled(OUTLINE, 1 / 25.4, (0, 1)), r"inches, multiply them by 25\.4"),
    "outline in metres": (scaled(OUTLINE, 1e-3, (0, 1)), r"metres, multiply them by 1000"),
    "too few points": (kept(OUTLINE, slice(0, 4)), r"outline"),
    "hole touching the edge": (scaled(LEFT, 2.1, (1,)), r"left: the hole (crosses|comes within)"),
    "hole outside": (scaled(LEFT, 1.0, (), 400.0), r"left: the hole lies outside the plate"),
    "hole listed twice": (in_plate('"holes/right.csv"', '"holes/left.csv"'), r"overlaps left"),
    # arch
    "two arches": (
        in_plate('file = "arch.csv"', 'file = "arch.csv"\nflat = true'),
        r"\[arch\] gives file and flat",
    ),
    "no arch": (in_plate('file = "arch.csv"', ""), r"\[arch\] gives none of its keys; expected exactly one"),
    "rise without channel": (in_plate('file = "arch.csv"', "rise_mm = 15.0"), r"expected both together"),
    "arch in inches": (
        in_plate('file = "arch.csv"', "rise_mm = 0.6\nchannel_mm = 9"),
        r"arch\.rise_mm is 0\.6; expected 1 to 80\. If that was inches, write 15\.24\.",
    ),
    "arch does not cover the plate": (kept(ARCH, slice(0, 60)), r"arch"),
    "sections that are none": (in_plate('file = "arch.csv"', 'sections = "arch.csv"'), r"section"),
    # bar
    "bar off the plate": (in_plate("[285.0, 12.0]", "[385.0, 12.0]"), r"\[bar\] reaches over the edge"),
    "bar through a hole": (
        in_plate("[285.0, 12.0]", "[285.0, 72.0]"),
        r'\[bar\] runs through the hole "left"',
    ),
    "bar shorter than wide": (in_plate("[285.0, 12.0]", "[80.0, 17.0]"), r"at least twice as long as wide"),
    "bar's heights in disorder": (
        in_plate("[0.5, 12.0]", "[1.5, 12.0]"),
        r"bar\.height_mm item 2 item 1 is 1\.5",
    ),
    "bar of no height": (
        in_plate("[[0.0, 2.5], [0.5, 12.0], [1.0, 2.5]]", "[[0.0, 0.0], [1.0, 0.0]]"),
        r"\[bar\] has no height anywhere",
    ),
    "bar ending short": (in_plate("[1.0, 2.5]", "[0.9, 2.5]"), r"expected them to rise from 0 to 1"),
    # wood
    "unknown species": (in_plate("Sitka spruce", "Stika spruce"), r"Did you mean Sitka spruce\?"),
    "wood without anything": (in_plate(SPRUCE, "density_kg_m3 = 400"), r"not given; expected a species"),
    "softer along the grain": (
        in_plate("EL_GPa = 11.9", "EL_GPa = 0.9\nER_GPa = 11.9"),
        r"stiffest along the grain",
    ),
    "impossible constants": (
        in_plate("EL_GPa = 11.9", "nu_LR = 1.0\nnu_RT = 1.0\nET_GPa = 2.0"),
        r"every strain costs",
    ),
    "stiffness in MPa": (in_plate("EL_GPa = 11.9", "EL_GPa = 11900"), r"If that was MPa, write 11\.9\."),
    "density in g/cm3": (
        in_plate("density_kg_m3 = 400", "density_kg_m3 = 0.39"),
        r"plate\.toml: wood\.density_kg_m3 is 0\.39; expected 150 to 1400\. If that was g/cm3, write 390\.",
    ),
    "density that is none": (
        in_plate("density_kg_m3 = 400", "density_kg_m3 = nan"),
        r"is nan; expected 150 to 1400",
    ),
    "density as text": (
        in_plate("density_kg_m3 = 400", 'density_kg_m3 = "400,5"'),
        r"Write 400\.5 without quotation",
    ),
    "mass and density": (in_plate("EL_GPa = 11.9", "mass_g = 70"), r"gives both density_kg_m3 and mass_g"),
    "mass of a stone": (
        in_plate("density_kg_m3 = 400", "mass_g = 700"),
        r"wood\.mass_g: 700 g in .* kg/m3; expected",
    ),
    # plate.toml itself
    "unknown key": (in_plate("density_kg_m3", "densty_kg_m3"), r"did you mean density_kg_m3\?"),
    "key in the wrong table": (
        in_plate("EL_GPa = 11.9", "min_thickness_mm = 2"),
        r"belongs in the table \[wanted\]",
    ),
    "unknown table": (
        in_plate("[climate]", "[climat]"),
        r"climat is not a known key; did you mean climate\?",
    ),
    "no wood": (in_plate(f"[wood]\n{SPRUCE}\n", ""), r"wood is missing; expected a table \[wood\]"),
    "format of the future": (in_plate("format = 1", "format = 2"), r"format is 2; expected 1\."),
    "unknown role": (in_plate('"top"', '"belly"'), r'role is "belly"; expected "top", "back" or "panel"'),
    "unreadable TOML": (in_plate('"top"', '"top'), r"plate\.toml: line 3, column 12 is not valid TOML"),
    "comma in TOML": (in_plate("11.9", "11,9"), r"line 18, column 12 .*Write a point for the decimal comma"),
    "table twice": (
        in_plate("[climate]", "[wood]"),
        r"line 26, column 6 is not valid TOML: cannot declare \[wood\] twice",
    ),
    "mode of no number": (in_plate("5 = 350.0", "ring = 350.0"), r"expected the trade's number of the mode"),
    "tone in kHz": (
        in_plate("5 = 350.0", "5 = 0.35"),
        r"modes_hz\.5 is 0\.35; .*If that was kHz, write 350\.",
    ),
    "room in Fahrenheit": (
        in_plate("temperature_c = 20.0", "temperature_c = 68"),
        r"degrees Fahrenheit, write 20\.",
    ),
    "humidity as a share": (
        in_plate("humidity_pct = 50.0", "humidity_pct = 0.5"),
        r"a share of one, write 50\.",
    ),
    # log
    "log with an unknown key": (
        replaced(LOG, "mass_g", "mas_g"),
        r"log/2026.*mas_g is not a known key; did you mean mass_g",
    ),
    "log without a time": (
        replaced(LOG, "T19:05:00+01:00", ""),
        r"taken is 2026-03-14; expected a date and time",
    ),
    "log with a lost point": (
        replaced(LOG, "224.0", "22400"),
        r"tones_hz item 1 is 22400; expected 5 to 5000",
    ),
}


def refused(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    """Run a command that must be refused, and return its sentence."""
    assert main(arguments) == 2
    sentence = capsys.readouterr().err
    assert sentence.count("\n") == 1, f"more than one line: {sentence}"
    assert "Traceback" not in sentence
    return sentence


@pytest.mark.parametrize("case", CASES)
def test_a_bad_folder_is_refused_in_one_sentence(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    change, fragment = CASES[case]
    files = ellipse_files()
    change(files)
    for name, text in files.items():
        path = tmp_path / "plate" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    before = contents(tmp_path)
    sentence = refused(["check", str(tmp_path / "plate"), "--picture", str(tmp_path / "out.png")], capsys)
    assert re.search(fragment, sentence), sentence
    assert contents(tmp_path) == before


@pytest.fixture
def shared_folder() -> Iterator[Path]:
    with open_to_all() as folder:
        yield folder


def panel_folder(tmp_path: Path) -> str:
    return str(write_folder(tmp_path / "plate", panel_files()))


COMMAND_LINES: dict[str, tuple[list[str], str]] = {
    "no such folder": (["check", "{nowhere}"], r"there is no such folder"),
    "file for a folder": (
        ["check", "{plate}/plate.toml"],
        r"it is a file; expected the folder in which plate\.toml lies",
    ),
    "no folder": (["modes"], r"Missing argument 'FOLDER'.*For help: platewright --help"),
    "unknown command": (["moeds", "{plate}"], r"No such command 'moeds'"),
    "unknown option": (["modes", "{plate}", "--cuont", "3"], r"No such option: --cuont"),
    "no modes": (["modes", "{plate}", "--count", "0"], r"expected 1 to 40"),
    "too many modes": (["modes", "{plate}", "--count", "41"], r"expected 1 to 40"),
    "count in words": (
        ["modes", "{plate}", "--count", "eight"],
        r"--count: expected a whole number, as in 8",
    ),
    "without what": (
        ["modes", "{plate}", "--without", "hole"],
        r'--without names "hole"; expected holes, bar',
    ),
    "picture of no kind": (
        ["check", "{plate}", "--picture", "{nowhere}.bmp"],
        r"expected a name that ends in \.png",
    ),
    "vtu of another kind": (["modes", "{plate}", "--count", "1", "--vtu", "{nowhere}.stl"], r"ends in \.vtu"),
    "no such stock plate": (
        ["new", "{nowhere}", "--like", "lute-top"],
        r"--like: there is no stock plate 'lute-top'",
    ),
    "new without a kind": (["new", "{nowhere}"], r"Missing option '--like'"),
    "a length in inches": (
        ["new", "{nowhere}", "--like", "violin-top", "--length", "14"],
        r"The length is 14 mm",
    ),
    "new over another": (["new", "{plate}", "--like", "panel"], r"plate: something is there already"),
    "pictures in a file": (
        ["modes", "{plate}", "--count", "1", "--pictures", "{plate}/outline.csv"],
        r"outline\.csv: nothing can be written there",
    ),
}


@pytest.mark.parametrize("case", COMMAND_LINES)
def test_a_slip_on_the_command_line_is_refused_in_one_sentence(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments, fragment = COMMAND_LINES[case]
    places = {"plate": panel_folder(tmp_path), "nowhere": str(tmp_path / "nowhere")}
    before = contents(tmp_path)
    sentence = refused([part.format(**places) for part in arguments], capsys)
    assert re.search(fragment, sentence), sentence
    assert contents(tmp_path) == before


def test_a_file_that_is_no_text(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = panel_folder(tmp_path)
    text = Path(folder, PLATE).read_text().replace("Blank", "Fl\u00fcgel")
    Path(folder, PLATE).write_bytes(text.encode("latin-1"))
    assert re.search(r"plate\.toml: line 2 is not UTF-8 text", refused(["check", folder], capsys))


@pytest.mark.parametrize("name", [PLATE, OUTLINE])
def test_a_file_of_200_megabytes(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = panel_folder(tmp_path)
    os.truncate(Path(folder, name), 200_000_000)
    assert re.search(rf"{name}: it is 200 MB; expected at most", refused(["check", folder], capsys))


@posix
@pytest.mark.parametrize(
    ("name", "rights"), [("", 0o000), ("", 0o600), (PLATE, 0o000), (OUTLINE, 0), ("log", 0)]
)
def test_a_folder_without_rights(
    name: str, rights: int, shared_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = write_folder(shared_folder / "plate", panel_files() | {LOG: LOG_TOML})
    assert main(["check", str(folder)]) == 0  # and whatever is loaded when used is loaded now
    capsys.readouterr()
    (folder / name).chmod(rights)
    with nobody():
        sentence = refused(["check", str(folder)], capsys)
    (folder / name).chmod(0o755)
    assert re.search("rights|Permission denied", sentence)


@posix
def test_pictures_where_nobody_may_write(shared_folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_folder(shared_folder / "plate", panel_files())
    folder.chmod(0o755)
    assert main(["check", str(folder), "--picture", str(shared_folder / "warm.svg")]) == 0
    capsys.readouterr()
    with nobody():
        sentence = refused(["check", str(folder), "--picture", str(folder / "p.svg")], capsys)
    assert re.search(r"plate: nothing can be written there \(Permission denied\)", sentence)
    assert not list(folder.glob("*.svg"))


@posix
@pytest.mark.parametrize(
    "option",
    [
        ["check", "--picture", "p/plate.png"],
        pytest.param(["modes", "--pictures", "p", "--count", "1"], marks=pytest.mark.slow),
    ],
)
def test_a_disk_that_is_full(option: list[str], tmp_path: Path) -> None:
    """A limit on the size of files stands in for the full disk: both fail in the middle of writing."""
    write_folder(tmp_path / "plate", panel_files())
    before = contents(tmp_path)
    limit = "import resource, sys; from solver.cli import main; resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096)); "
    command = [sys.executable, "-c", f"{limit} sys.exit(main(sys.argv[1:]))", option[0], "plate", *option[1:]]
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 2, done.stderr
    assert re.search(r"^p: nothing can be written there \(File too large\)", done.stderr, re.MULTILINE), (
        done.stderr
    )
    assert contents(tmp_path) == before
    assert not (tmp_path / "p").exists()


def test_a_full_disk_at_the_last_moment(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Some disks tell that they are full only when asked to settle."""

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    folder = panel_folder(tmp_path)
    (tmp_path / "shapes.vtu").write_text("what was there before")
    before = contents(tmp_path)
    monkeypatch.setattr(os, "fsync", full)
    sentence = refused(["modes", folder, "--count", "1", "--vtu", str(tmp_path / "shapes.vtu")], capsys)
    assert "nothing can be written there (No space left on device)" in sentence
    assert contents(tmp_path) == before
