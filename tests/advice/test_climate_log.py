"""The log in one weather: the moisture of its entries, and the weather told from the carving."""

from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np
import pytest

from solver.advice.climate_log import (
    Observation,
    Weathered,
    WeatherPart,
    brought_to,
    moistures,
    shift_between,
    tones_brought_to,
    weather_parts,
)
from solver.plate.climate import Climate, equilibrium_moisture, settled_in
from tests.advice.test_climate_shift import response

START = datetime.fromisoformat("2026-03-01T18:00:00+01:00")
ROOM, DAMP = Climate(20, 50), Climate(20, 75)
DRY_MOISTURE, DAMP_MOISTURE = equilibrium_moisture(ROOM), equilibrium_moisture(DAMP)


def noted(
    day: float,
    climate: Climate = ROOM,
    mass: float | None = None,
    stage: str = "thinned",
    hz: dict[str, float] | None = None,
) -> Observation:
    taken = START + timedelta(days=day)
    return Observation(f"{day:g}.toml", taken, stage, climate, mass, hz or {})


def weighing(moisture: float, dry: float = 0.060) -> float:
    """Mass [kg] of so much dry wood at a moisture [%]."""
    return dry * (1 + moisture / 100)


def test_without_a_scale_the_room_tells_the_moisture() -> None:
    first, second = moistures([noted(0), noted(10, DAMP)])
    assert (first.low, first.high, first.known_by) == (DRY_MOISTURE, DRY_MOISTURE, "room")
    assert (second.low, second.high, second.known_by) == (DAMP_MOISTURE, DAMP_MOISTURE, "room")


@pytest.mark.parametrize(("days", "left"), [(0.0, 1.0), (0.6, 0.8), (1.5, 0.5)])
def test_soon_after_a_change_the_plate_is_in_between(days: float, left: float) -> None:
    """The longer it has been in the new room, the less of the way back to the old one is left."""
    first, soon, late = moistures([noted(0), noted(days, DAMP), noted(7, DAMP)])
    assert first.known_by == "room"
    assert soon.low == pytest.approx(DAMP_MOISTURE + left * (DRY_MOISTURE - DAMP_MOISTURE))
    assert (soon.high, soon.known_by) == (DAMP_MOISTURE, "between")
    assert (late.low, late.known_by) == (DAMP_MOISTURE, "room")


@pytest.mark.parametrize("days", [2.9, 3.0, 3.1])
def test_after_three_days_the_plate_is_as_damp_as_its_room(days: float) -> None:
    _, later = moistures([noted(0), noted(days, DAMP)])
    assert (later.low, later.high, later.known_by) == (DAMP_MOISTURE, DAMP_MOISTURE, "room")


def test_two_days_in_the_new_room_are_still_in_between() -> None:
    _, _, third = moistures([noted(0), noted(1, DAMP), noted(2, DAMP)])
    assert third.low == pytest.approx(DAMP_MOISTURE + 4 / 9 * (DRY_MOISTURE - DAMP_MOISTURE))
    assert (third.high, third.known_by) == (DAMP_MOISTURE, "between")


def test_the_same_room_soon_after_is_no_change() -> None:
    _, again = moistures([noted(0), noted(1, Climate(20.3, 51))])
    assert again.known_by == "room"


def test_the_scales_tell_the_moisture_where_the_wood_is_the_same() -> None:
    """The plate took up half of what its new room would give it: the hygrometer cannot know, the scales do."""
    halfway = (DRY_MOISTURE + DAMP_MOISTURE) / 2
    first, soon = moistures(
        [noted(0, ROOM, weighing(DRY_MOISTURE)), noted(1, DAMP, weighing(halfway), stage="Thinned ")]
    )
    assert (first.known_by, soon.known_by) == ("scales", "scales")
    assert soon.low == soon.high == pytest.approx(halfway)
    assert first.low == pytest.approx(DRY_MOISTURE)


def test_the_difference_is_the_scales_even_where_both_hygrometers_are_off() -> None:
    true = (8.0, 11.0)
    entries = moistures(
        [
            noted(i * 10.0, room, weighing(m))
            for i, (room, m) in enumerate(zip((ROOM, DAMP), true, strict=True))
        ]
    )
    ratio = (100 + entries[1].low) / (100 + entries[0].low)
    assert ratio == pytest.approx((100 + true[1]) / (100 + true[0]))
    assert DRY_MOISTURE < (entries[0].low + entries[1].low) / 2 < DAMP_MOISTURE


def test_another_stage_is_other_wood_unless_the_maker_says_so() -> None:
    log = [
        noted(0, ROOM, weighing(DRY_MOISTURE), stage="thinned"),
        noted(9, DAMP, weighing(DAMP_MOISTURE - 1), stage="rested"),
    ]
    assert [entry.known_by for entry in moistures(log)] == ["room", "room"]
    assert [entry.known_by for entry in moistures(log, same_wood=True)] == ["scales", "scales"]


def test_entries_without_a_stage_are_not_taken_for_the_same_wood() -> None:
    log = [noted(0, ROOM, weighing(9), stage=""), noted(9, DAMP, weighing(12), stage="")]
    assert {entry.known_by for entry in moistures(log)} == {"room"}


def test_wood_that_came_off_is_not_taken_for_water() -> None:
    """A twentieth of the mass between two like rooms: the scales are set aside, and it is said."""
    first, second = moistures([noted(0, ROOM, 0.0694), noted(9, ROOM, 0.0660)])
    assert (first.known_by, second.known_by) == ("room", "room")
    assert (first.carved, second.carved) == (False, True)


def test_a_weighing_between_carvings_joins_those_of_its_own_wood() -> None:
    log = [
        noted(0, ROOM, weighing(DRY_MOISTURE, 0.064)),
        noted(9, ROOM, weighing(DRY_MOISTURE, 0.060)),
        noted(18, DAMP, weighing(13.0, 0.060)),
    ]
    entries = moistures(log)
    assert [entry.carved for entry in entries] == [False, True, False]
    assert [entry.known_by for entry in entries] == ["room", "scales", "scales"]


def test_there_and_back_the_tone_is_the_measured_one() -> None:
    told = response()
    entry = Weathered(noted(0, DAMP, hz={"1": 100.0}), DAMP_MOISTURE, DAMP_MOISTURE, "room")
    low, high = brought_to(told, entry, settled_in(ROOM))["1"]
    assert 100.0 < low < high
    back = shift_between(told, "1", [settled_in(ROOM)], entry.conditions)
    assert (low * np.exp(back[1]), high * np.exp(back[0])) == pytest.approx((100.0, 100.0))


def test_a_plate_on_its_way_has_a_wider_band() -> None:
    told = response()
    settled = Weathered(noted(0, DAMP, hz={"1": 100.0}), DAMP_MOISTURE, DAMP_MOISTURE, "room")
    on_its_way = replace(settled, low=DRY_MOISTURE, known_by="between")
    low, high = brought_to(told, on_its_way, settled_in(ROOM))["1"]
    assert low == pytest.approx(100.0)  # it may not have taken up anything yet
    assert high == pytest.approx(brought_to(told, settled, settled_in(ROOM))["1"][1])


def test_tones_of_no_known_mode_get_a_band_that_holds_every_mode() -> None:
    told = response()
    seen = replace(noted(0, DAMP, hz={name: 100.0 for name in told.modes.names if name}), tones=(100.0,))
    entry = Weathered(seen, DAMP_MOISTURE, DAMP_MOISTURE, "room")
    ((low, high),) = tones_brought_to(told, entry, settled_in(ROOM))
    for one in brought_to(told, entry, settled_in(ROOM)).values():
        assert low <= one[0] <= one[1] <= high


@pytest.mark.parametrize("carved", [0.95, 0.98, 1.0])
def test_the_weathers_part_is_told_from_the_carvings(carved: float) -> None:
    """A damp week and a known carving together: the rest that is not the weather's holds the carving's own part."""
    told = response()
    a, b = settled_in(ROOM), settled_in(DAMP)
    true = 100.0 * np.exp(told.shift_of("1", a, b).mean())
    entries = moistures([noted(0, ROOM, hz={"1": 100.0}), noted(10, DAMP, hz={"1": carved * true})])
    (part,) = weather_parts(told, *entries)
    assert part.low < true < part.high
    rest = part.after - np.array([part.low, part.high])
    assert rest[1] < (carved - 1) * true < rest[0] or carved == 1.0
    if carved == 1.0:
        assert not part.goes_beyond


def test_shares_of_a_change() -> None:
    part = WeatherPart("5", before=350.0, after=330.0, low=340.0, high=345.0)
    assert part.goes_beyond
    assert part.shares == pytest.approx((0.25, 0.5))
    assert not replace(part, after=339.5).goes_beyond  # a reading is off by up to 1 Hz
    assert replace(part, after=360.0).shares == pytest.approx((-1.0, -0.5))
