"""``platewright blank`` as a maker and as another program use it: boards whose wood is known from outside."""

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from solver.core.units import GPA, GRAM, MM
from solver.plate_folder.write import table_text
from tests.command_answers import answer_of, refusal_of
from tests.plate_folders import ellipse_files, write_folder
from tests.validation.make_references import STORE
from tests.validation.solid_plates import PLATES

BEAM_ROOTS = (4.730041, 7.853205, 10.995608)
"""Roots of cos(b) cosh(b) = 1, the free beam's; exact."""


def board(
    folder: Path,
    sizes: tuple[float, float, float],
    density: float,
    tones: Sequence[float],
    wood: str = "",
    weighed: bool = True,
) -> Path:
    """Write a board [m, kg/m3, Hz] as a maker would; of Sitka spruce, for all that its maker knows."""
    length, width, thickness = (size / MM for size in sizes)
    corners = [(0, 0), (length, 0), (length, width), (0, width)]
    mass = density * float(np.prod(sizes)) / GRAM
    heard = ", ".join(f"{hz:.1f}" for hz in tones)
    files = {
        "plate.toml": (
            'format = 1\ntitle = "Board"\nrole = "panel"\n[outline]\nfile = "outline.csv"\n[arch]\nflat = true\n'
            f'[thickness]\nuniform_mm = {thickness}\n[wood]\nspecies = "Sitka spruce"\n{wood}'
        ),
        "outline.csv": table_text(("x_mm", "y_mm"), [corner for corner in corners for _ in range(2)]),
        "log/1.toml": (
            "taken = 2026-02-20T16:00:00+01:00\ntemperature_c = 20.0\nhumidity_pct = 50.0\n"
            f"{f'mass_g = {mass:.1f}' if weighed else ''}\ntones_hz = [{heard}]\n"
        ),
    }
    return write_folder(folder, files)


def answer(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    return answer_of(capsys, "blank", str(folder), *arguments)


def refusal(capsys: pytest.CaptureFixture[str], folder: Path, *arguments: str) -> str:
    return refusal_of(capsys, "blank", str(folder), *arguments)


def beam(modulus: float, density: float, length: float, thickness: float) -> list[float]:
    """The tones [Hz] of a slender free beam: b^2 / (2 pi l^2) sqrt(E h^2 / 12 rho)."""
    return [
        root**2 / (2 * np.pi * length**2) * float(np.sqrt(modulus * thickness**2 / (12 * density)))
        for root in BEAM_ROOTS
    ]


def expect_constants(told: dict[str, dict[str, float]], name: str, names: Sequence[str]) -> None:
    """The constants of a reference plate lie in their intervals and within 3 % of the value."""
    for constant in names:
        true = getattr(PLATES[name].wood, constant) / GPA
        found = told[f"{constant}_GPa"]
        assert found["low"] <= true <= found["high"]
        assert found["value"] == pytest.approx(true, rel=0.03)


def test_the_wood_of_a_panel_of_solids_is_found_from_its_first_tones(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A spruce panel in CalculiX: three-dimensional solids, no plate theory; its maker believes it to be Sitka spruce."""
    tones = json.loads(STORE.read_text())["spruce-panel"]["runs"][-1]["hz"][:6]
    wood = PLATES["spruce-panel"].wood
    folder = board(tmp_path / "panel", (0.57944, 0.21538, 4.72e-3), wood.density, tones)
    told = json.loads(answer(capsys, folder, "--json"))
    expect_constants(told["wood"], "spruce-panel", ("EL", "ER", "GLR"))
    assert [told["wood"][f"{name}_GPa"]["from"] for name in ("EL", "ER", "GLR", "ET")] == [
        *3 * ["the tones"],
        "the species",
    ]
    assert [tone["form"] for tone in told["tones"][:4]] == ["twist", "along", None, "across"]
    assert told["wood"]["density_kg_m3"]["value"] == pytest.approx(wood.density, rel=0.01)
    speed = np.sqrt(wood.EL / wood.density)
    assert told["speed_along_m_s"]["low"] < speed < told["speed_along_m_s"]["high"]
    assert told["radiation_m4_kg_s"]["value"] == pytest.approx(speed / wood.density, rel=0.02)
    # beside it the thin plate's formula, whose twist leaves out that the corners bend
    assert -15 < told["wood"]["GLR_GPa"]["thin_plate_off_pct"] < -5
    assert abs(told["wood"]["EL_GPa"]["thin_plate_off_pct"]) < 3
    assert told["doubts"] == []


@pytest.mark.slow
def test_a_strip_along_the_grain_tells_nothing_but_along(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = board(tmp_path / "strip", (0.30, 0.02, 3e-3), 400, beam(11.9e9, 400, 0.30, 3e-3)[:2])
    told = " ".join(answer(capsys, folder).split())
    assert "say next to nothing of ER, ET, GLR, GLT, GRT" in told
    assert "Sound goes along the grain at 54" in told  # sqrt(11.9e9 / 400) = 5454 m/s
    assert "Across it" not in told
    assert "between" in told[told.index("Listen for the twist") :]


@pytest.mark.slow
def test_a_strip_across_the_grain_tells_across_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tones = beam(0.75e9, 400, 0.18, 3e-3)[:1]
    folder = board(tmp_path / "strip", (0.18, 0.02, 3e-3), 400, tones, wood="grain_deg = 90.0\n")
    wood = json.loads(answer(capsys, folder, "--json"))["wood"]
    assert wood["ER_GPa"]["value"] == pytest.approx(0.75, rel=0.02)
    assert wood["ER_GPa"]["thin_plate"] == pytest.approx(0.75, rel=0.01)
    assert wood["ER_GPa"]["from"] == "the tones"
    assert {wood[f"{name}_GPa"]["from"] for name in ("EL", "GLR", "GLT")} == {"the species"}


@pytest.mark.slow
def test_the_wood_of_a_small_panel_of_solids(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A flat Sitka rectangle in CalculiX; the wood is that of the species' table but for EL."""
    tones = json.loads(STORE.read_text())["sitka-flat"]["runs"][-1]["hz"][:5]
    folder = board(tmp_path / "panel", (0.36, 0.20, 3e-3), 400, tones)
    told = json.loads(answer(capsys, folder, "--json"))
    expect_constants(told["wood"], "sitka-flat", ("EL", "ER", "GLR"))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("tones", "cure"),
    [
        # 14.75 for 147.5 is nearest to the first tone, which was heard at 121 Hz: the cure is another tone's
        ("[121.0, 14.75, 284.0, 405.5]", "write 147.5."),
        ("[13.8]", "write 138."),
    ],
)
def test_a_point_that_slipped_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], tones: str, cure: str
) -> None:
    folder = board(tmp_path / "board", (0.41, 0.13, 4.6e-3), 418, [])
    entry = folder / "log" / "1.toml"
    entry.write_text(entry.read_text().replace("tones_hz = []", f"tones_hz = {tones}"))
    (doubt,) = json.loads(answer(capsys, folder, "--json"))["doubts"]
    assert f"It was not used. If the decimal point slipped, {cure}" in doubt


@pytest.mark.parametrize(
    ("tones", "arguments", "said"),
    [
        ([], (), "has no tones; expected what was heard of the board"),
        ([120.0], ("--entry", "2025"), "begins the name of 0 entries; expected one of 1.toml"),
        ([120.0], (), "neither log/1.toml nor [wood] has mass_g"),
    ],
)
def test_what_lacks_is_said_in_one_sentence(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    tones: Sequence[float],
    arguments: Sequence[str],
    said: str,
) -> None:
    folder = board(tmp_path / "board", (0.3, 0.1, 3e-3), 400, tones, weighed=False)
    assert said in refusal(capsys, folder, *arguments)


def test_a_carved_plate_is_no_board(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_folder(tmp_path / "top", ellipse_files())
    said = refusal(capsys, folder)
    assert 'its role is "top"; expected a flat rectangular board' in said
    assert "platewright fit" in said
