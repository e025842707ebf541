import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from solver.core.arrays import Floats
from solver.core.errors import InputError
from solver.modal.modes import Modes
from solver.modal.node_lines import hold_and_tap, node_lines
from solver.viewer.captions import MINUS
from solver.viewer.mode_sheet import COLUMNS, draw_modes, mode_pages, sign_marks
from tests.viewer.plain_plate import PARTS, SHAPES, TITLE, A, B, plain_modes, plain_plate

NOWHERE = np.empty((0, 2))


def words_of(svg: Path) -> list[str]:
    """All words in an SVG picture, one entry for each piece of text."""
    return re.findall(r"<text[^>]*>([^<]*)</text>", svg.read_text(encoding="utf-8"))


def moving_as(form: Floats) -> Modes:
    """One mode whose motion along the normal is ``form`` (n,)."""
    modes = plain_modes(1)
    fields = np.zeros_like(modes.fields)
    fields[0, :, :3] = form[:, None] * modes.normals
    return replace(modes, fields=fields)


def test_every_mode_has_a_panel_with_number_frequency_and_note(tmp_path: Path) -> None:
    draw_modes(plain_modes(8), plain_plate(), tmp_path / "modes.svg")
    words = words_of(tmp_path / "modes.svg")
    titles = ["mode 1", "mode 2", "3rd tone", "mode 5", "mode 1", "mode 2", "7th tone", "mode 5"]
    assert [w for w in words if re.fullmatch(r"mode \d|\d\w\w tone", w)] == titles
    assert sum(" Hz " in w for w in words) == 8
    # 150 Hz: 12 log2(150/440) = -18.63 semitones, which is 37 cents above the 19th below A4, D3
    assert any(re.fullmatch(r"150\.0 Hz +D3 \+37 cents", w) for w in words)
    assert TITLE in words
    assert "seen from the outside, neck end up, bass side on the left" in words


def test_every_part_that_moves_has_its_sign_on_its_panel() -> None:
    (page,) = mode_pages(plain_modes(4), plain_plate())
    assert len(page.axes) == 4
    for panel, (out, inward) in zip(page.axes, PARTS.values(), strict=True):
        words = [text.get_text() for text in panel.texts]
        assert (words.count("+"), words.count(MINUS)) == (out, inward)


def test_node_lines_are_bold_and_hold_and_tap_have_their_own_marks() -> None:
    modes = plain_modes(4)
    (page,) = mode_pages(modes, replace(plain_plate(), bar=None))
    for index, panel in enumerate(page.axes):
        bold = [line for line in panel.lines if line.get_linewidth() > 2 and line.get_linestyle() == "-"]
        assert len(bold) == len(node_lines(modes, index))
        spots = hold_and_tap(modes, index)
        (held,) = (line for line in panel.lines if line.get_marker() == "o")
        (tapped,) = (line for line in panel.lines if line.get_marker() == "*")
        np.testing.assert_allclose(np.asarray(held.get_xydata()), 1e3 * spots.hold[:, ::-1])
        np.testing.assert_allclose(np.asarray(tapped.get_xydata()), 1e3 * spots.tap[None, ::-1])


def test_signs_stand_where_the_plate_moves_that_way() -> None:
    modes = plain_modes(4)
    for index, name in enumerate(SHAPES):
        marks = sign_marks(modes, index, NOWHERE)
        assert len(marks) == sum(PARTS[name])
        for mark in marks:
            motion = SHAPES[name](np.array([mark.x / A]), np.array([mark.y / B]))[0]
            assert mark.outward == (motion > 0)
            assert mark.room > 0.008


def test_signs_keep_clear_of_other_marks() -> None:
    ring = plain_modes(4)
    centre = np.zeros((1, 2))
    free, pushed = (sign_marks(ring, 3, clear) for clear in (NOWHERE, centre))
    at = {mark.outward: np.hypot(mark.x, mark.y) for mark in free}
    assert at[True] < 0.01
    assert min(np.hypot(mark.x, mark.y) for mark in pushed) > 0.02


def test_motion_is_drawn_where_it_is_upper_end_up_and_left_side_left(tmp_path: Path) -> None:
    plan = plain_modes(1).points[:, :2]
    for axis, name in enumerate(("x", "y")):
        (path,) = draw_modes(moving_as(plan[:, axis]), plain_plate(), tmp_path / f"{name}.png")
        blue = blueness(path)
        panel = blue[:, : blue.shape[1] // COLUMNS]
        half = panel[: panel.shape[0] // 2] if name == "x" else panel[:, : panel.shape[1] // 2]
        rest = panel[panel.shape[0] // 2 :] if name == "x" else panel[:, panel.shape[1] // 2 :]
        assert half[np.abs(half) > 30].mean() > 30
        assert (rest < -30).mean() > 0.1


def blueness(path: Path) -> Floats:
    """Blue less red of every pixel, -255 to 255, without the foot of the page where the key stands."""
    pixels = np.asarray(Image.open(path).convert("RGB"), dtype=float)
    pixels = pixels[: int(0.85 * len(pixels))]
    return np.asarray(pixels[..., 2] - pixels[..., 0])


def test_hold_tap_node_line_and_bar_are_explained(tmp_path: Path) -> None:
    draw_modes(plain_modes(1), plain_plate(), tmp_path / "with.svg")
    draw_modes(plain_modes(1), replace(plain_plate(), bar=None), tmp_path / "without.svg")
    explained = {"hold here", "tap here", "node line: stands still"}
    assert explained | {"bar, underneath"} <= set(words_of(tmp_path / "with.svg"))
    assert explained <= set(words_of(tmp_path / "without.svg"))
    assert "bar, underneath" not in words_of(tmp_path / "without.svg")


@pytest.mark.slow
def test_many_modes_go_on_further_pages(tmp_path: Path) -> None:
    modes = plain_modes(14, rings=8, spokes=32)
    paths = draw_modes(modes, plain_plate(), tmp_path / "modes.svg")
    assert [path.name for path in paths] == ["modes.svg", "modes-2.svg"]
    assert [sum(" Hz " in w for w in words_of(path)) for path in paths] == [12, 2]
    (book,) = draw_modes(modes, plain_plate(), tmp_path / "modes.pdf")
    assert len(re.findall(rb"/Type /Page\b", book.read_bytes())) == 2


def test_a_picture_of_unknown_kind_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"modes\.bmp: .*\.png, \.pdf or \.svg"):
        draw_modes(plain_modes(1), plain_plate(), tmp_path / "modes.bmp")
    assert list(tmp_path.iterdir()) == []
