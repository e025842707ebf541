"""How tones are told that share a pattern, in words, table and JSON."""

from dataclasses import replace

import numpy as np

from solver.commands.tones import shares_of
from solver.modal.labels import names_by
from solver.modal.modes import Modes
from solver.plate.mode_label import NUMBERS
from solver.viewer.tone_words import mixed_words, mode_cell
from tests.viewer.plain_plate import plain_modes


def _modes(*ring: float) -> Modes:
    amplitudes = np.zeros((6, len(NUMBERS)))
    amplitudes[0, 0] = 1.0
    amplitudes[6 - len(ring) :, NUMBERS.index("5")] = np.sqrt(ring)
    return replace(plain_modes(6, 4, 12), amplitudes=amplitudes, names=names_by(amplitudes**2))


def test_a_shared_ring_is_told_with_its_parts() -> None:
    modes = _modes(0.54, 0.36)
    assert [*mixed_words(modes)] == [
        "The 5th and 6th tones share the ring of mode 5, 60 : 40: a bar, holes or uneven wood have mixed their shapes."
    ]
    assert [mode_cell(modes, place) for place in (0, 1, 4, 5)] == ["1", "-", "5 (60 %)", "5 (40 %)"]
    assert shares_of(modes, 4) == [{"mode": "5", "share": 0.54}]
    assert shares_of(modes, 5) == [{"mode": "5", "share": 0.36}]


def test_the_parts_stand_in_the_order_of_the_tones() -> None:
    (said,) = mixed_words(_modes(0.22, 0.4, 0.3))
    assert said.startswith("The 4th, 5th and 6th tones share the ring of mode 5, 24 : 43 : 33")


def test_a_clear_ring_needs_no_words() -> None:
    modes = _modes(0.8, 0.1)
    assert [*mixed_words(modes)] == []
    assert [mode_cell(modes, place) for place in (4, 5)] == ["5", "-"]
    assert shares_of(modes, 5) == []
