"""``platewright climate`` as a maker and as another program use it."""

import json
from pathlib import Path

import pytest

from solver.cli import main
from solver.plate.climate import Climate, equilibrium_moisture
from tests.command_answers import answer_of, refusal_of
from tests.plate_folders import ellipse_files, panel_files, replaced, write_folder

ROOM = "[climate]\ntemperature_c = 20.0\nhumidity_pct = 50.0\n"


def entry(
    day: int, temperature: float, humidity: float, mass: float | None = None, stage: str = "thinned"
) -> str:
    """A log entry of one day in March."""
    weighed = "" if mass is None else f"mass_g = {mass}\n"
    return (
        f'taken = 2026-03-{day:02d}T19:05:00+01:00\nstage = "{stage}"\ntemperature_c = {temperature}\n'
        f"humidity_pct = {humidity}\n{weighed}modes_hz = {{ 1 = {80.0 - 0.1 * humidity} }}\ntones_hz = [300.0]\n"
    )


def panel_with(tmp_path: Path, *entries: str, room: str = ROOM) -> Path:
    files = panel_files()
    files["plate.toml"] += room
    files |= {f"log/{number}.toml": text for number, text in enumerate(entries)}
    return write_folder(tmp_path / "panel", files)


def answer(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    """Run the command, which must succeed, and return what it printed."""
    return " ".join(answer_of(capsys, "climate", str(folder), *arguments).split())


def refusal(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    """Run the command, which must refuse in one line, and return the sentence."""
    return refusal_of(capsys, "climate", str(folder), *arguments)


def test_json_has_the_agreed_keys_and_a_damp_room_lowers_every_tone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = panel_with(tmp_path)
    told = json.loads(answer(capsys, folder, "--to", "20,75", "--json"))
    assert told["moisture_pct"] == {
        "from": pytest.approx(equilibrium_moisture(Climate(20, 50)), abs=0.01),
        "to": pytest.approx(equilibrium_moisture(Climate(20, 75)), abs=0.01),
    }
    assert len(told["modes"]) == 8
    for tone in told["modes"]:
        assert {"mode", "hz", "low_hz", "high_hz"} <= set(tone)
        assert tone["low_hz"] < tone["high_hz"] < tone["hz"]
    mass, heavier = (told["changes"]["mass_g"][key] for key in ("from", "low"))
    water = [100 + told["moisture_pct"][key] for key in ("from", "to")]
    assert heavier / mass == pytest.approx(water[1] / water[0], abs=2e-4)


def test_now_is_what_modes_says_in_the_room_of_the_stated_figures(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = panel_with(tmp_path)
    told = json.loads(answer(capsys, folder, "--to", "20,50", "--json"))
    assert main(["modes", str(folder), "--json"]) == 0
    modes = json.loads(capsys.readouterr().out)
    for here, there in zip(told["modes"], modes["modes"], strict=True):
        assert here["hz"] == pytest.approx(there["hz"], abs=0.002)
        assert here["hz"] == here["low_hz"] == here["high_hz"]  # the same room shifts nothing


@pytest.mark.slow
def test_from_another_room_the_tones_now_are_those_of_that_room(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = panel_with(tmp_path)
    home = json.loads(answer(capsys, folder, "--to", "20,75", "--json"))["modes"]
    back = json.loads(answer(capsys, folder, "--from", "20,75", "--to", "20,50", "--json"))["modes"]
    for tone, returned in zip(home, back, strict=True):
        assert tone["low_hz"] < returned["hz"] < tone["high_hz"]
        assert returned["low_hz"] < tone["hz"] < returned["high_hz"]


def test_tables_say_what_becomes_of_wood_and_tones(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = answer(capsys, panel_with(tmp_path), "--to", "20,75")
    assert "from 9.3 to 14.5 % moisture" in said
    for name in ("mass, g", "density", "EL, GPa", "GRT, GPa", "width, mm", "mean thickness, mm"):
        assert name in said
    assert "The Handbook has no such rule for ER" in said
    assert "carried over from EL" in said


def test_the_log_is_brought_to_one_room_and_the_weathers_part_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = panel_with(tmp_path, entry(1, 20, 50), entry(14, 20, 75))
    told = json.loads(answer(capsys, folder, "--to", "20,75", "--json"))
    dry, damp = told["log"]
    assert dry["modes"] == [{"mode": "1", "measured_hz": 75.0, "low_hz": 75.0, "high_hz": 75.0}]
    assert damp["modes"][0]["measured_hz"] < damp["modes"][0]["low_hz"] < damp["modes"][0]["high_hz"]
    assert damp["tones"][0]["measured_hz"] == 300.0
    (part,) = told["since_last_entry"]
    assert part["weather_low_hz"] < part["weather_high_hz"] < 0
    assert "the weather alone makes" in part["in_words"]


def test_tables_of_the_log(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    said = answer(capsys, panel_with(tmp_path, entry(1, 20, 50), entry(3, 20, 75)), "--to", "20,75")
    assert "The log, its tones in Hz brought to 20 °C, 50 %" in said
    assert "From 2026-03-01 19:05 to 2026-03-03 19:05: Mode 1 fell by 2.5 Hz; the weather alone makes" in said
    assert (
        "log/1.toml was taken within three days of an entry in another room: the plate was in between" in said
    )


def test_a_logged_tone_that_cannot_be_is_said_with_its_cure(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A point written into 301 Hz and into 121 Hz of mode 1; the figures of the other entry are not in doubt."""
    wrong = entry(1, 20, 50).replace("[300.0]", "[30.1]").replace("1 = 75.0", "1 = 12.1")
    folder = panel_with(tmp_path, wrong, entry(14, 20, 50))
    remarks = json.loads(answer(capsys, folder, "--to", "20,75", "--json"))["remarks"]
    said = [remark for remark in remarks if "cannot be this plate's" in remark]
    assert [remark.split(" is listed")[0] for remark in said] == [
        "log/0.toml: mode 1 at 12.1 Hz",
        "log/0.toml: a tone at 30.1 Hz",
    ]
    assert "If the decimal point slipped, write 121." in said[0]
    assert "If the decimal point slipped, write 301." in said[1]


def test_scales_go_before_the_hygrometer_and_it_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = panel_with(tmp_path, entry(1, 20, 50, 43.2), entry(2, 20, 75, 44.0))
    told = json.loads(answer(capsys, folder, "--to", "20,75", "--json"))
    first, second = (row["moisture_pct"]["low"] for row in told["log"])
    assert [row["known_by"] for row in told["log"]] == ["scales", "scales"]
    assert (100 + second) / (100 + first) == pytest.approx(44.0 / 43.2, abs=1e-3)
    assert any("The scales tell the moisture better than the air" in line for line in told["remarks"])


def test_same_wood_joins_two_stages(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = panel_with(tmp_path, entry(1, 20, 50, 43.2, "planed"), entry(9, 20, 75, 44.6, "after the rain"))
    told = json.loads(answer(capsys, folder, "--to", "20,75", "--same-wood", "--json"))["log"]
    assert [row["known_by"] for row in told] == ["scales", "scales"]


def test_same_wood_without_two_masses_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = panel_with(tmp_path, entry(1, 20, 50, 43.2), entry(9, 20, 75))
    assert refusal(capsys, folder, "--to", "20,75", "--same-wood").startswith("--same-wood: ")


def test_entries_without_a_room_or_outside_the_rules_are_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = panel_with(tmp_path, entry(1, 20, 50).replace("temperature_c = 20\n", ""), entry(2, 20, 99))
    told = json.loads(answer(capsys, folder, "--to", "20,75", "--json"))
    assert told["log"] == []
    left_out = [line for line in told["remarks"] if "left out" in line]
    assert left_out[0] == "log/0.toml is left out: it has no temperature_c."
    assert left_out[1].startswith("log/1.toml is left out: its room is 99 % humidity")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--to", "20,97"), "--to is 97 % humidity; expected 5 to 95 % humidity"),
        (("--to", "-11,50"), "--to is -11 °C; expected -10 to 50 °C"),
        (("--to", "20,50", "--from", "20,4"), "--from is 4 % humidity; expected 5 to 95"),
        (("--to", "68,45"), "If that was degrees Fahrenheit, write 20,45"),
        (("--to", "20"), '--to is "20"; expected temperature in °C and humidity in %'),
        (("--to", "20;50"), '--to is "20;50"; expected'),
        (("--to", "20,nan"), "--to is nan % humidity"),
        ((), "--to"),
    ],
)
def test_a_room_that_cannot_be_is_refused_in_a_sentence(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...], said: str
) -> None:
    assert said in refusal(capsys, panel_with(tmp_path), *arguments)


def test_figures_of_an_unknown_room_need_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = panel_with(tmp_path, room="")
    assert refusal(capsys, folder, "--to", "20,75").startswith("plate.toml: [climate] is missing")
    assert "from 9.3 to 14.5 % moisture" in answer(capsys, folder, "--to", "20,75", "--from", "20,50")


def test_a_top_with_holes_bar_and_log(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = ellipse_files()
    replaced("plate.toml", "humidity_pct = 50.0", "humidity_pct = 45.0")(files)
    told = json.loads(answer(capsys, write_folder(tmp_path / "top", files), "--to", "20,70", "--json"))
    assert all(tone["high_hz"] < tone["hz"] for tone in told["modes"])
    assert {mode["mode"] for mode in told["log"][0]["modes"]} == {"1", "2", "5"}
    assert told["changes"]["rise_mm"]["low"] > told["changes"]["rise_mm"]["from"]
