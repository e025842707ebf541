"""``platewright pair`` as a maker and as another program use it."""

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from solver.advice.plate_pair import Relation
from solver.commands.pair_request import read_relations
from tests.command_answers import answer_of, refusal_of
from tests.plate_folders import panel_files, write_folder

ROOM = "\n[climate]\ntemperature_c = 20.0\nhumidity_pct = {}\n"
LIMIT = "\n[wanted]\nmin_thickness_mm = 2.4\n"


def flat(folder: Path, role: str, more: str = LIMIT, modes: str | None = None, room: str = "") -> str:
    """Write a flat board as one plate of a pair - what solves in no time - maybe with an entry of its log."""
    files = panel_files()
    files["plate.toml"] = files["plate.toml"].replace("panel", role) + more
    if modes is not None:
        files["log/1.toml"] = (
            f"taken = 2026-03-14T19:05:00+01:00\nstage = 'planed'\nmass_g = 44\n{room}modes_hz = {modes}\n"
        )
    return str(write_folder(folder, files))


@pytest.fixture(scope="module")
def pair(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, str]:
    """A top and a back, of one size and one wood."""
    parent = tmp_path_factory.mktemp("pair")
    return flat(parent / "top", "top"), flat(parent / "back", "back")


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    return answer_of(capsys, "pair", *arguments)


def refusal(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    return refusal_of(capsys, "pair", *arguments)


def test_the_interval_heard_is_the_musicians(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """372 Hz against 350 Hz is 105.5 cents (common practice, no source)."""
    room = "temperature_c = 20\nhumidity_pct = 50\n"
    top = flat(tmp_path / "top", "top", modes="{ 1 = 350.0 }", room=room)
    back = flat(tmp_path / "back", "back", modes="{ 1 = 372.0, 2 = 170.0 }", room=room)
    told = json.loads(answer(capsys, top, back, "--json", "--relation", "1=semitone..tone"))
    heard = {mode["mode"]: mode for mode in told["modes"] if mode["heard"]}
    assert [*heard] == ["1"]
    assert heard["1"]["cents"] == pytest.approx(105.5, abs=0.2)
    assert heard["1"]["in_words"] == "a semitone above"
    assert heard["1"]["computed"]["in_words"] == "the same"
    assert told["relations"][0]["holds"]
    assert told["ways"] == []


def test_without_a_relation_nothing_is_judged(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Mode 5 far from any usual interval, both plates with a limit: still no relation, no plan, no word of one."""
    room = "temperature_c = 20\nhumidity_pct = 50\n"
    top = flat(tmp_path / "top", "top", modes="{ 1 = 341.0 }", room=room)
    back = flat(tmp_path / "back", "back", modes="{ 1 = 520.0 }", room=room)
    told = json.loads(answer(capsys, top, back, "--json"))
    assert [round(mode["cents"]) for mode in told["modes"] if mode["heard"]] == [730]
    assert (told["relations"], told["ways"], told["less_wood"]) == ([], [], None)
    picture = tmp_path / "pair.svg"
    said = " ".join(answer(capsys, top, back, "--picture", str(picture)).split())
    assert "+730" in said
    assert "The intervals are shown and not judged; say which you want with --relation" in said
    assert "wanted" not in picture.read_text()


@pytest.mark.slow
def test_thinning_one_plate_brings_the_pair_there(
    pair: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    told = json.loads(answer(capsys, *pair, "--json", "--relation", "1=-80..-30"))
    back, top = (next(way for way in told["ways"] if way["thin"] == side) for side in ("back", "top"))
    assert back["reached"]
    assert 0 < back["removed_g"] < 5
    assert back["min_thickness_mm"] >= 2.4
    mode = next(mode for mode in back["modes"] if mode["mode"] == "1")
    assert -80 <= mode["cents"] <= -30
    assert mode["cents"] == pytest.approx(1200 * np.log2(mode["planned_hz"] / mode["now_hz"]), abs=0.1)
    assert told["less_wood"] == "back", "the top's tone would have to rise"
    assert not top["reached"] or top["removed_g"] > back["removed_g"]


@pytest.mark.slow
def test_what_cannot_be_reached_is_said(pair: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    told = " ".join(answer(capsys, *pair, "--relation", "1=octave").split())
    assert "Mode 1, wanted an octave above" in told
    assert "at the same pitch by the computed tones; that does not hold" in told
    assert "No removal from one plate alone brings the pair there" in told


def test_a_damp_back_is_brought_to_the_room_of_the_top(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two equal boards, the figures of one stated in a damp room: dried to the other's room it sounds higher."""
    top = flat(tmp_path / "top", "top", ROOM.format(50.0))
    back = flat(tmp_path / "back", "back", ROOM.format(75.0))
    told = json.loads(answer(capsys, top, back, "--json"))
    assert told["room"] == {"temperature_c": 20.0, "humidity_pct": 50.0}
    assert told["modes"]
    for mode in told["modes"]:
        assert mode["top_low_hz"] == mode["top_high_hz"]
        assert 20 < mode["low_cents"] < mode["cents"] < mode["high_cents"]


def test_picture_and_what_it_all_rests_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    top = flat(tmp_path / "top", "top", more="", modes="{ 1 = 80.0 }")
    back = Path(flat(tmp_path / "back", "back", more=""))
    outline = back / "outline.csv"
    outline.write_text(outline.read_text().replace("300", "321"))
    picture = tmp_path / "pair.svg"
    said = " ".join(answer(capsys, top, str(back), "--relation", "1=-500", "--picture", str(picture)).split())
    assert "it names no room, so the plate's is taken" in said
    assert "No plan for the back:" in said
    assert "differs in length from the top by +7 %" in said
    assert "back above top" in picture.read_text()


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("5=semitone..tone", 100, 200),
        ("2=same", 0, 0),
        ("5=+50..+150", 50, 150),
        ("12 = -30 cents .. same", -30, 0),
        ("1=minor third", 300, 300),
    ],
)
def test_relations_in_words_and_cents(text: str, low: float, high: float) -> None:
    (relation,) = read_relations([text])
    assert (relation.low, relation.high) == (low, high)


def test_a_relation_aims_inside_its_range() -> None:
    relation = Relation("5", 100, 200)
    assert not relation.holds(99)
    assert relation.holds(relation.aim(50))
    assert relation.aim(150) == 150
    assert 100 < relation.aim(50) < 110
    assert Relation("2", 0, 0).aim(80) == 0
    assert Relation("2", 0, 0).holds(-9)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--relation", "5"], "expected a mode and the interval"),
        (["--relation", "ring=tone"], "expected a mode and the interval"),
        (["--relation", "5=sixty"], "expected a mode and the interval"),
        (["--relation", "5=1..2..3"], "expected a mode and the interval"),
        (["--relation", "5=nan"], "expected a mode and the interval"),
        (["--relation", "5=tone..semitone"], "expected LOW below HIGH"),
        (["--relation", "5=+1300"], "expected within an octave"),
        (["--relation", "5=tone", "--relation", "5=same"], "mode 5 is named twice"),
        (["--relation", "9=tone"], "mode 9 was not found by its shape in both plates"),
        (["--to", "20,99"], "--to is 99 % humidity; expected 5 to 95"),
        (["--picture", "pair.gif"], "expected a name that ends in .png, .pdf or .svg"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_sentence(
    arguments: Sequence[str], said: str, pair: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert said in refusal(capsys, *pair, *arguments)


def test_no_pair_is_refused(
    pair: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    top, back = pair
    assert "expected the top first. Exchange them." in refusal(capsys, back, top)
    panel = str(write_folder(tmp_path / "panel", panel_files()))
    assert 'role is "panel"; expected "back"' in refusal(capsys, top, panel)
    assert 'role is "top"; expected "back"' in refusal(capsys, top, top)
    assert "there is no such folder" in refusal(capsys, top, str(tmp_path / "none"))
