"""The pictures of the cards: from the plate's files, kept until they change, refused where they cannot be read."""

import json
from pathlib import Path

import pytest

from solver.bench import picture
from solver.bench.cards import Cards
from solver.bench.drawn_told import Drawn
from solver.core.errors import InputError
from solver.plate.plate import Plate
from tests.bench.served import serving
from tests.plate_folders import ellipse_files, write_folder


def test_a_card_is_drawn_once_and_again_when_the_files_change(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, cards, draw = write_folder(tmp_path / "top", ellipse_files()), Cards(), picture.card_as_json
    drawn: list[Plate] = []

    def counted(plate: Plate) -> Drawn:
        drawn.append(plate)
        return draw(plate)

    monkeypatch.setattr(picture, "card_as_json", counted)
    first = cards.of(folder)
    assert cards.of(folder) is first
    assert len(drawn) == 1
    described = folder / "plate.toml"
    described.write_text(described.read_text() + "\n# measured anew\n")
    assert cards.of(folder) == first
    assert len(drawn) == 2
    described.write_text("format = 9\n")
    with pytest.raises(InputError):
        cards.of(folder)


def test_a_card_is_small_and_true_to_the_outline(tmp_path: Path) -> None:
    with serving(tmp_path) as served:
        status, said, _ = served.ask("GET", f"/api/plates/{served.plate}/card")
        assert status == 200
        assert len(said) < 60_000
        card = json.loads(said)
        x, y = zip(*card["edge_mm"], strict=True)
        xmin, ymin, xmax, ymax = card["bounds_mm"]
        assert (min(x), max(x)) == pytest.approx((xmin, xmax), abs=0.5)
        assert (min(y), max(y)) == pytest.approx((ymin, ymax), abs=0.5)
        offer = served.state.offers.offer(served.folder)
        assert served.ask("GET", f"/api/offers/{offer}/card")[1] == said
