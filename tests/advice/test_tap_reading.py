"""Tones held against a plate: their strength counts, and in a crowd of other sounds none is sure."""

from functools import cache
from itertools import pairwise
from pathlib import Path

from solver.advice.tap_reading import MOST_COMPUTED, TappedPlate, TapReading, chance_of_no_mode, read_taps
from solver.advice.tone_response import meshed, tone_response
from solver.commands.tap import tapped_plate
from solver.measured.tap_tones import TapTones, Tone
from solver.plate_folder.description import read_description
from solver.plate_folder.read import read_folder


@cache
def top() -> TappedPlate:
    folder = read_folder(read_description(Path("cases/violin-top-finished")))
    plate = folder.plate
    return tapped_plate(folder, lambda doubts: tone_response(meshed(plate), plate, doubts, MOST_COMPUTED))


def read(levels: dict[float, float], doubtful: bool = False, sd_hz: float = 0.05) -> TapReading:
    tones = tuple(Tone(hz, sd_hz, 50.0, 1.0, level, 2.0) for hz, level in sorted(levels.items()))
    return read_taps(TapTones(tones, (), 4, doubtful=doubtful), top())


def names(reading: TapReading) -> dict[float, str | None]:
    return {tone.hz: reading.name(place) for place, tone in enumerate(reading.tones)}


def test_the_fainter_a_tone_the_rather_it_is_none_of_the_plate_s() -> None:
    chances = [chance_of_no_mode(level) for level in (0.0, -10.0, -20.0, -30.0, -40.0)]
    assert chances == sorted(chances)
    assert chances[0] < 0.05 < chances[-1]


def test_in_a_doubtful_recording_no_tone_surely_is_a_mode() -> None:
    modes = top().response.modes
    levels = {round(0.99 * float(hz), 2): -5.0 for hz in modes.hz[:7]}
    sure, doubtful = read(levels), read(levels, doubtful=True)
    assert [*names(sure).values()] == [*modes.names[:7]]
    assert set(names(doubtful).values()) == {None}
    assert [doubtful.likely_name(place) for place in range(7)] == [*modes.names[:7]]


def test_a_faint_tone_where_a_mode_was_predicted_is_not_it_for_sure_beside_the_strongest() -> None:
    """The strongest is 3 % off its prediction; under it something rings just where the mode was predicted."""
    hz = top().response.modes.hz
    others = {round(float(f), 2): -8.0 for f in hz[:2]}
    predicted, true = round(float(hz[2]), 2), round(0.97 * float(hz[2]), 2)
    alike = read(others | {true: -12.0, predicted: -12.0})
    assert names(alike)[predicted] == "3"
    faint = read(others | {true: 0.0, predicted: -18.0})
    assert names(faint)[predicted] is None
    fainter = read(others | {true: 0.0, predicted: -35.0})
    assert [fainter.mode(place) for place in (2, 3)] == [2, None]


def test_more_tones_than_the_plate_can_ring_with_are_told_of_and_none_is_sure() -> None:
    """Two more, as of a lamp on the bench, are no reason to doubt all; nor are many that ring as clearly as the plate."""
    hz = top().response.modes.hz
    own = {round(float(f), 2): -5.0 for f in hz[:7]}
    stray = [
        round(float(low + share * (high - low)), 2)
        for low, high in pairwise(hz[1:5])
        for share in (0.3, 0.5, 0.7)
    ]
    few = read(own | dict.fromkeys(stray[:2], -20.0))
    many = read(own | dict.fromkeys(stray, -20.0), sd_hz=0.4)
    assert not read(own | dict.fromkeys(stray, -20.0)).doubtful
    assert not few.doubtful
    assert few.warnings == ()
    assert many.doubtful
    assert set(names(many).values()) == {None}
    assert "where this plate can ring with" in many.warnings[0]
    assert "rattles" in many.warnings[0]
