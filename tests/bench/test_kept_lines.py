"""Powder lines kept with a plate, held against the computed ones."""

from pathlib import Path
from typing import TypedDict, cast

import numpy as np
import pytest

from solver.bench.kept_lines import kept_lines_as_json
from solver.core.units import MM
from solver.measured.seen_lines import write_seen_lines
from solver.modal.node_lines import node_lines
from tests.measured.demonstration_powder import LINES
from tests.measured.powder_subjects import Solved, solved

pytestmark = pytest.mark.xdist_group("kept_lines")
RING = 4
SHIFT_MM = 4.0


class KeptJson(TypedDict, total=False):
    name: str
    refused: str
    lines_mm: list[list[list[float]]]
    likest: int | None
    gaps: list[dict[str, float | None]]


@pytest.fixture(scope="module")
def top() -> Solved:
    return solved("violin-top-finished")


def kept(folder: Path, top: Solved) -> list[KeptJson]:
    return cast("list[KeptJson]", kept_lines_as_json(folder, top.modes, top.plate.outline.area**0.5))


def test_lines_are_likest_their_own_tone_and_as_far_off_as_they_were_moved(
    tmp_path: Path, top: Solved
) -> None:
    (tmp_path / "photos").mkdir()
    lines = node_lines(top.modes, RING)
    moved = [line + np.array([SHIFT_MM, 0.0]) * MM for line in lines]
    write_seen_lines(lines, tmp_path / "photos" / "as-they-are.csv")
    write_seen_lines(moved, tmp_path / "photos" / "moved.csv")
    as_they_are, shifted = kept(tmp_path, top)
    assert [as_they_are["name"], shifted["name"]] == ["as-they-are.csv", "moved.csv"]
    assert as_they_are["likest"] == shifted["likest"] == RING
    assert as_they_are["gaps"][RING] == {
        "half_mm": pytest.approx(0.0, abs=0.1),
        "most_mm": pytest.approx(0.0, abs=0.2),
    }
    half = shifted["gaps"][RING]["half_mm"]
    assert half is not None
    assert 0.3 * SHIFT_MM < half <= SHIFT_MM
    assert len(shifted["lines_mm"]) == len(lines)
    assert shifted["lines_mm"][0][0] == pytest.approx((moved[0][0] / MM).tolist(), abs=0.02)


def test_lines_like_no_tone_are_said_to_be_so(tmp_path: Path, top: Solved) -> None:
    (tmp_path / "photos").mkdir()
    write_seen_lines([np.array([[100.0, 60.0], [100.0, 80.0]]) * MM], tmp_path / "photos" / "scratch.csv")
    [scratch] = kept(tmp_path, top)
    assert scratch["likest"] is None


def test_file_that_is_no_list_of_lines_has_its_sentence(tmp_path: Path, top: Solved) -> None:
    assert kept(tmp_path, top) == []
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "prices.csv").write_text("glue,4.20\n")
    [refused] = kept(tmp_path, top)
    assert refused["name"] == "prices.csv"
    assert "prices.csv" in refused["refused"]
    assert "/" not in refused["refused"].replace("photos/", "")


def test_demonstration_photo_shows_mode_5(top: Solved) -> None:
    named = {one["name"]: one for one in kept(LINES.parent.parent, top)}
    assert top.modes.names[named[LINES.name]["likest"] or 0] == "5"
