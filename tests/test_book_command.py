"""``platewright book`` as a maker and as another program use it."""

import csv
import json
import os
import re
from pathlib import Path

import polars
import pytest

from solver.commands import book_rows
from solver.commands.book_rows import Row, read_rows
from solver.plate.climate import Climate, equilibrium_moisture
from solver.plate_folder.book import read_page
from solver.plate_folder.read import read_plate
from tests.book_plates import write_book, write_plate
from tests.command_answers import answer_of, refusal_of
from tests.plate_folders import ellipse_files, panel_files, write_folder

RECORD = """
[[fitted]]
date = 2026-0{month}-01T10:00:00+01:00
entries = []
density_kg_m3 = 401.0
EL_GPa = {EL}
ER_GPa = 0.9
ET_GPa = 0.5
GLR_GPa = 0.75
GLT_GPa = 0.7
GRT_GPa = 0.04
tones = []
offsets = []
covariance = [{rows}]
"""


def write_log(folder: Path, **entries: str) -> None:
    (folder / "log").mkdir(exist_ok=True)
    for name, text in entries.items():
        (folder / "log" / f"{name}.toml").write_text(text)


@pytest.fixture
def plates(tmp_path: Path) -> Path:
    """A top with a log, a panel without one, six plates of a made-up book."""
    folder = tmp_path / "plates"
    write_book(folder, 6, 4, readings=20)
    write_folder(folder / "ellipse", ellipse_files())
    write_folder(folder / "blank", panel_files())
    return folder


def answer(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    """Run the command, which must succeed, and return what it printed."""
    return answer_of(capsys, "book", str(folder), *arguments)


def told(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> list[dict[str, object]]:
    plates = json.loads(answer(capsys, folder, *arguments, "--json"))["plates"]
    assert isinstance(plates, list)
    return plates


def names(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> list[object]:
    return [plate["name"] for plate in told(capsys, folder, *arguments)]


def refusal(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    return refusal_of(capsys, "book", str(folder), *arguments)


def the_row(plates: Path) -> Row:
    """Return the row of the only plate, in an ordinary room."""
    (row,), left_out = read_rows(plates, Climate(20, 50))
    assert left_out == []
    return row


def test_a_row_has_what_the_folder_says(plates: Path) -> None:
    rows = {row.name: row for row in read_rows(plates, Climate(14.0, 48.0))[0]}
    row = rows["ellipse"]
    assert (row.role, row.species, row.cut, row.stage) == ("top", "Sitka spruce", "quarter", "holes cut")
    assert row.figures["mass"].value == 55.0  # taken in that very room
    assert (row.figures["mode5"].low, row.figures["mode5"].high) == pytest.approx((342.0, 342.0))
    readings = read_plate(plates / "ellipse").graduation.readings
    assert readings is not None
    assert row.figures["thickness"].value == pytest.approx(1e3 * readings[:, 2].mean(), abs=1e-6)
    assert row.figures["thinnest"].value == pytest.approx(1e3 * readings[:, 2].min(), abs=1e-6)
    assert set(rows["blank"].figures) == {"thickness", "thinnest"}
    assert rows["blank"].figures["thickness"].value == 3.0


@pytest.mark.parametrize(
    ("ring", "cut"),
    [(0, "quarter"), (-12, "quarter"), (170, "quarter"), (45, "between"), (90, "slab"), (-80, "slab")],
)
def test_the_cut_is_told_by_the_rings(tmp_path: Path, ring: float, cut: str) -> None:
    files = panel_files()
    files["plate.toml"] += f"ring_deg = {ring:.1f}\n"
    write_folder(tmp_path / "plates" / "a", files)
    assert the_row(tmp_path / "plates").cut == cut


def test_mass_and_modes_are_the_newest_in_one_room(tmp_path: Path) -> None:
    folder = write_folder(tmp_path / "plates" / "a", panel_files())
    write_log(
        folder,
        a='taken = 2026-03-01T10:00:00Z\nmass_g = 50.0\nmodes_hz = { 1 = 90.0, 2 = 160.0 }\nstage = "thick"\n'
        "temperature_c = 20.0\nhumidity_pct = 75.0\n",
        b='taken = 2026-04-01T10:00:00Z\nmodes_hz = { 1 = 85.0 }\nstage = "thin"\n',
        c="taken = 2026-03-01T10:00:00Z\nmass_g = 45.0\nmodes_hz = { 1 = 90.0, 2 = 150.0 }\n"
        'temperature_c = 20.0\nhumidity_pct = 75.0\ncorrects = "a"\n',
    )
    row = the_row(tmp_path / "plates")
    damp, dry = (100 + equilibrium_moisture(Climate(20, humidity)) for humidity in (75, 50))
    assert row.figures["mass"].value == pytest.approx(45.0 * dry / damp)  # the correction, its water off
    assert 150.0 < row.figures["mode2"].low < row.figures["mode2"].high < 167.0
    assert (row.figures["mode1"].value, row.figures["mode1"].brought) == (85.0, False)
    assert (row.stage, row.entries) == ("thin", 2)


def test_the_newest_fit_stands_in_the_book(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = ", ".join(str([0.0] * n) for n in range(1, 13))
    folder = write_folder(tmp_path / "plates" / "a", panel_files())
    with (folder / "plate.toml").open("a") as file:
        file.writelines(RECORD.format(month=month, EL=EL, rows=rows) for month, EL in ((4, 12.5), (3, 11.0)))
    (plate,) = told(capsys, tmp_path / "plates")
    figures = plate["figures"]
    assert isinstance(figures, dict)
    assert (figures["EL"]["value"], figures["density"]["value"]) == (12.5, 401.0)
    assert "12.50" in answer(capsys, tmp_path / "plates")


def test_choosing_and_ordering(plates: Path, capsys: pytest.CaptureFixture[str]) -> None:
    everything = told(capsys, plates)
    assert len(everything) == 8

    def value(plate: dict[str, object], name: str) -> float | None:
        figures = plate["figures"]
        assert isinstance(figures, dict)
        return figures[name]["value"] if name in figures else None

    tops = {plate["name"] for plate in everything if plate["role"] == "top"}
    light = {plate["name"] for plate in everything if (mass := value(plate, "mass")) and mass <= 66}
    loud = {plate["name"] for plate in everything if (hz := value(plate, "mode5")) and hz >= 340}
    assert set(names(capsys, plates, "--max", "mass=66", "--min", "mode5=340")) == light & loud
    assert set(names(capsys, plates, "--role", "top", "--species", "spruce")) == tops
    by_mass = [value(plate, "mass") for plate in told(capsys, plates, "--sort", "mass")]
    assert by_mass[-1] is None  # the blank, which was never weighed
    weighed = [mass for mass in by_mass if mass is not None]
    assert weighed == sorted(weighed)
    falling = [value(plate, "mass") for plate in told(capsys, plates, "--sort", "mass", "--descending")]
    assert falling == [*weighed[::-1], None]


def test_a_broken_plate_is_named_and_left_out(plates: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (plates / "plate-0000" / "plate.toml").write_text("format = 1\ntitle = ")
    (plates / "plate-0001" / "thickness.csv").write_text("x_mm,y_mm,t_mm\n1,2,3\n1,2,x\n")
    (plates / "plate-0002" / "log" / "z.toml").write_bytes(b"\x00\xff")
    leads_out = plates / "plate-0003" / "plate.toml"
    leads_out.write_text(leads_out.read_text().replace('"thickness.csv"', '"../ellipse/thickness.csv"'))
    (plates / "plate-0004" / "thickness.csv").write_text("x_mm,y_mm,t_mm\n1,2,-3\n1,3,2.5\n2,2,2.6\n")
    (plates / "notes").mkdir()
    printed = json.loads(answer(capsys, plates, "--json"))
    assert [plate["name"] for plate in printed["plates"]] == ["blank", "ellipse", "plate-0005"]
    for number, part in enumerate(
        ("plate.toml: line 2", "line 3, t_mm is x", "z.toml", "inside the plate's folder", "is -3 mm")
    ):
        assert printed["left_out"][number].startswith(f"plate-000{number} is left out. ")
        assert part in printed["left_out"][number]
    assert "plate-0002 is left out." in answer(capsys, plates)


def test_a_large_book_is_read_the_same_by_several_processes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_book(tmp_path, 5, 2, readings=10)
    (tmp_path / "plate-0002" / "plate.toml").write_text("")
    alone = read_rows(tmp_path, Climate(20, 50))
    monkeypatch.setattr(book_rows, "LEAST_SHARE", 2)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    assert read_rows(tmp_path, Climate(20, 50)) == alone
    assert (len(alone[0]), len(alone[1])) == (4, 1)


def test_tables_with_a_slip_in_them_are_read_as_carefully_as_anywhere(tmp_path: Path) -> None:
    folder = tmp_path / "plates" / "a"
    write_plate(folder, 1, 1, 20)
    expected = read_page(folder).thickness_mm
    tidy = (folder / "thickness.csv").read_text()
    (folder / "thickness.csv").write_bytes(
        b"\xef\xbb\xbf" + tidy.replace("\n", ",\r\n\r\n").replace(",", " , ").encode()
    )
    assert read_page(folder).thickness_mm == pytest.approx(expected)


def test_csv_and_parquet_hold_the_same(
    plates: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    paths = tmp_path / "book.csv", tmp_path / "book.parquet"
    answer(capsys, plates, "--csv", str(paths[0]), "--parquet", str(paths[1]))
    with paths[0].open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    frame = polars.read_parquet(paths[1])
    assert frame.columns == list(rows[0])
    assert len(rows) == frame.height == 8
    for row, other in zip(rows, frame.to_dicts(), strict=True):
        assert row["title"] == other["title"]
        assert (row["mode5_low_hz"] or None) == (other["mode5_low_hz"] and str(other["mode5_low_hz"]))
    assert frame.schema["mode5_hz"] == polars.Float64


def test_no_word_in_the_csv_is_a_formula_to_a_spreadsheet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_plate(tmp_path / "plates" / "one", 4, 4, 20)
    described = tmp_path / "plates" / "one" / "plate.toml"
    described.write_text(re.sub("title = .*", "title = '=1+1'", described.read_text()))
    answer(capsys, tmp_path / "plates", "--csv", str(tmp_path / "book.csv"))
    with (tmp_path / "book.csv").open(encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    assert row["title"] == "'=1+1"
    assert float(row["mass_g"]) > 0


def test_the_most_alike_come_first(plates: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_plate(plates / "twin", 4, 4, 20)
    alike = told(capsys, plates, "--like", str(plates / "plate-0004"))
    assert (alike[0]["name"], alike[0]["steps"]) == ("twin", 0.0)
    assert all(plate["role"] == "top" and plate["name"] != "plate-0004" for plate in alike)
    steps = [plate["steps"] for plate in alike]
    assert steps == sorted(steps, key=float)  # type: ignore[arg-type]
    said = " ".join(answer(capsys, plates, "--like", str(plates / "plate-0004")).split())
    assert "Steps off: distance from plate-0004" in said


def test_a_trend_is_said_and_drawn_as_sure_as_it_is(
    plates: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture = tmp_path / "trend.svg"
    said = " ".join(answer(capsys, plates, "--scatter", "mass,mode5", "--picture", str(picture)).split())
    assert "mode5 against mass, 7 plates of 3 kinds, each held against the mean of its own kind" in said
    assert "By kind:" in said
    assert "backs, too few for a trend of their own" in said
    drawn = picture.read_text()
    for words in ("mass  [g]", "mode5  [Hz]", "plate-0003", "tops", "backs"):
        assert words in drawn
    few = json.loads(answer(capsys, plates, "--scatter", "mass,mode5", "--species", "maple", "--json"))
    assert few["trend"] is None
    assert "Too few plates" in few["remarks"][0]


def sized_plate(folder: Path, length: float, mass: float, hz: float, species: str = "Norway spruce") -> None:
    """A top of which no more is known than a book needs: outline, mass and mode 5."""
    files = panel_files()
    edge = "".join(
        f"{x},{y}\n" for x, y in ((0, -60), (length, -60), (length, 60), (0, 60)) for _ in range(2)
    )
    files["outline.csv"] = f"x_mm,y_mm\n{edge}"
    files["plate.toml"] = (
        files["plate.toml"].replace('role = "panel"', 'role = "top"').replace("Sitka spruce", species)
    )
    files["log/a.toml"] = f"taken = 2026-03-14T19:05:00\nmass_g = {mass}\nmodes_hz = {{ 5 = {hz} }}\n"
    write_folder(folder, files)


def test_violas_among_violins_do_not_turn_the_trend(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every plate rises by 2 Hz per gram against others of its kind; violas are heavier and lower."""
    for k in range(8):
        off = (1.5, -1.5, 0.5, -0.5)[k % 4]
        sized_plate(tmp_path / "plates" / f"a-{k}", 355, 64 + k, 330 + 2 * k + off)
        sized_plate(tmp_path / "plates" / f"b-{k}", 410, 92 + k, 270 + 2 * k - off)
    told = json.loads(answer(capsys, tmp_path / "plates", "--scatter", "mass,mode5", "--json"))
    slope = told["trend"]["slope"]
    assert slope["low"] < 2.0 < slope["high"]
    assert slope["value"] == pytest.approx(2.0, abs=0.3)
    assert [(one["group"], one["plates"]) for one in told["groups"]] == [("viola top", 8), ("violin top", 8)]
    assert all(one["trend"]["slope"]["value"] > 0 for one in told["groups"])
    assert told["mixed"]["turned"]
    assert told["mixed"]["slope"]["high"] < 0
    assert "the other way: that comes of kinds that differ" in " ".join(told["remarks"])
    alone = json.loads(
        answer(capsys, tmp_path / "plates", "--size", "viola", "--scatter", "mass,mode5", "--json")
    )
    assert (alone["mixed"], len(alone["groups"])) == (None, 1)
    picture = tmp_path / "trend.svg"
    answer(capsys, tmp_path / "plates", "--scatter", "mass,mode5", "--picture", str(picture))
    assert all(words in picture.read_text() for words in ("violin tops", "viola tops"))


def test_heaps_within_a_kind_that_turn_the_trend_are_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two woods, each rising, the heavier lower: the whole kind falls."""
    for k in range(6):
        off = (1.0, -1.0, 0.5)[k % 3]
        sized_plate(tmp_path / "plates" / f"a-{k}", 355, 60 + k, 350 + 2 * k + off)
        sized_plate(tmp_path / "plates" / f"b-{k}", 355, 80 + k, 300 + 2 * k - off, "Sitka spruce")
    told = json.loads(answer(capsys, tmp_path / "plates", "--scatter", "mass,mode5", "--json"))
    assert told["trend"]["slope"]["high"] < 0
    assert [part["what"] for part in told["turned_by"]] == ["species", "heaps"]
    said = " ".join(told["remarks"])
    assert "Within one species it goes the other way" in said
    assert "The plates lie in two heaps" in said


def test_long_books_are_cut_and_say_so(plates: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = answer(capsys, plates, "--first", "2")
    assert "8 of 8 plates, the first 2 shown" in said
    assert "plate-0000" not in said
    assert "plate-0005" in answer(capsys, plates, "--first", "0")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--min", "mode5>340"), "--min is 'mode5>340'; expected a figure and a number with = between"),
        (("--min", "5=340"), "--min: there is no figure '5'; expected mass, thickness"),
        (("--max", "weight=70"), "--max: there is no figure 'weight'"),
        (("--sort", "colour"), "--sort: there is no column 'colour'"),
        (("--scatter", "mass"), "--scatter is 'mass'; expected two figures"),
        (("--scatter", "mass,mass"), "expected two different figures"),
        (("--picture", "x.png"), "--picture: there is nothing to draw"),
        (("--scatter", "mass,mode5", "--picture", "x.gif"), "a picture of kind 'gif'"),
        (("--room", "20"), '--room is "20"; expected temperature'),
        (("--room", "20,99"), "--room is 99 % humidity; expected 5 to 95"),
        (("--min", "mass=5000"), "none of its 8 plates is as asked for"),
        (("--like", "nowhere"), "nowhere: there is no such folder"),
        (("--csv", "/proc/x/book.csv"), "nothing can be written there"),
        (("--first", "-1"), "--first"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_a_sentence(
    plates: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], said: str
) -> None:
    assert said in refusal(capsys, plates, *arguments)


def test_what_is_no_book_is_refused(plates: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "it is the folder of one plate" in refusal(capsys, plates / "blank")
    (tmp_path / "empty").mkdir()
    assert "no plate lies in it" in refusal(capsys, tmp_path / "empty")
    assert "it cannot be opened" in refusal(capsys, tmp_path / "nowhere")
