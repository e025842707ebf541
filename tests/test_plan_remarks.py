"""What a plan says of the log: which entries are of the plate as it stands, and which tones it does not reproduce."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from solver.advice.carving_plan import CarvingPlan, PlannedFigure
from solver.advice.plan_trials import PlanTrial
from solver.commands.plan_remarks import heard_of, how_sure, is_borne_out, newest_heard, unlike_tones
from solver.modal.assembly import ModalModel
from solver.modal.labels import names_by
from solver.plate.mode_label import NUMBERS
from solver.plate_folder.description import Description, read_description
from solver.plate_folder.schema import ClimateTable, LogEntry
from solver.stock import write_stock_plate
from tests.viewer.plain_plate import plain_modes

ROOM = ClimateTable(temperature_c=20.0, humidity_pct=50.0)
TAKEN = "2026-03-0{}T12:00:00+00:00"


@pytest.fixture
def back(tmp_path: Path) -> Path:
    write_stock_plate(tmp_path / "back", "violin-back")
    (tmp_path / "back" / "log").mkdir()
    return tmp_path / "back"


def _described(back: Path, *entries: str) -> Description:
    for day, lines in enumerate(entries, start=1):
        text = f"taken = {TAKEN.format(day)}\n{lines}\n"
        (back / "log" / f"2026-03-0{day}T120000.toml").write_text(text)
    return read_description(back)


def test_entries_of_the_plate_as_it_stands_count_and_no_others(back: Path) -> None:
    (back / "thickness-old.csv").write_text((back / "thickness.csv").read_text())
    described = _described(
        back,
        'thickness = "thickness-old.csv"\nmodes_hz = { 1 = 91.0, 5 = 390.0 }',
        'thickness = "thickness.csv"\nwithout = ["bar"]\nmodes_hz = { 2 = 170.0, 5 = 372.0 }',
        "mass_g = 101.0",
    )
    assert heard_of(described) == {"2": 170.0, "5": 372.0}
    newest = newest_heard(described)
    assert newest is not None
    assert newest[0].startswith("2026-03-02")


def _plan(bands: dict[str, tuple[float, float]] | None = None) -> CarvingPlan:
    """Tones 1, 2 and 5 at 100, 150 and 200 Hz; mode 5 is wished for."""
    amplitudes = np.zeros((3, len(NUMBERS)))
    amplitudes[[0, 1, 2], [0, 1, 4]] = 1.0
    modes = replace(plain_modes(3, 4, 12), amplitudes=amplitudes, names=names_by(amplitudes**2))
    trial = PlanTrial(cast(ModalModel, None), modes, np.eye(3))
    low, high = (bands or {}).get("5", (None, None))
    figures = (PlannedFigure("5", 200.0, 196.0, 196.2, low, high), PlannedFigure("2", 150.0, None, 149.0))
    return cast(CarvingPlan, SimpleNamespace(before=trial, bands=bands or {}, figures=figures))


@pytest.mark.parametrize(
    ("entry", "unlike"),
    [
        ({"modes_hz": {"5": 201.0}}, []),
        ({"modes_hz": {"5": 203.5}}, ["5"]),
        ({"modes_hz": {"1": 100.0, "2": 146.0}}, ["2"]),
        ({"tones_hz": [147.0]}, ["2"]),
        ({"tones_hz": [900.0]}, []),
    ],
)
def test_tones_that_the_plan_does_not_reproduce_are_named(
    entry: dict[str, object], unlike: list[str]
) -> None:
    told = LogEntry.model_validate(
        {"taken": "2026-03-01T12:00:00+00:00", "temperature_c": 20.0, "humidity_pct": 51.0, **entry},
        strict=False,
    )
    assert [one.key for one in unlike_tones(_plan(), told, ROOM)] == unlike


def test_a_tone_of_another_room_may_be_twice_as_far_off() -> None:
    damp = LogEntry.model_validate(
        {
            "taken": "2026-03-01T12:00:00+00:00",
            "humidity_pct": 75.0,
            "temperature_c": 20.0,
            "modes_hz": {"5": 197.0},
        },
        strict=False,
    )
    assert unlike_tones(_plan(), damp, ROOM) == ()


def test_wishes_are_borne_out_only_within_the_tolerance() -> None:
    assert is_borne_out(_plan({"5": (195.9, 196.5)}))
    wide = _plan({"5": (193.0, 199.4)})
    assert not is_borne_out(wide)
    assert "mode 5 lies between 193.0 and 199.4 Hz (95 %)" in how_sure(wide)


def test_without_a_fit_nothing_is_borne_out() -> None:
    assert not is_borne_out(_plan())
    assert "the wood was not fitted" in how_sure(_plan())
