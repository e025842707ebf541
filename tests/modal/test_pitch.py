"""Names of notes against the tempered scale."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver.core.errors import InputError
from solver.modal.pitch import cents_between, interval_in_words, pitch


@pytest.mark.parametrize(
    ("hz", "note"),
    [
        # Frequencies of equal temperament at A4 = 440 Hz to .01 Hz: from memory, as tuning tables print them.
        (440.00, "A4"),
        (261.63, "C4"),
        (246.94, "B3"),
        (92.50, "F#2"),
        (196.00, "G3"),
        (369.99, "F#4"),
        (27.50, "A0"),
        (16.35, "C0"),
    ],
)
def test_tempered_notes_are_named_and_in_tune(hz: float, note: str) -> None:
    got, cents = pitch(hz)
    assert got == note
    assert abs(cents) < 0.6


def test_a_plate_tone_is_named_as_a_tuner_would() -> None:
    note, cents = pitch(93.4)  # F#2 is 92.499 Hz; 1200 log2(93.4 / 92.499) = 16.8
    assert note == "F#2"
    assert cents == pytest.approx(16.8, abs=0.05)


@given(st.floats(17, 5000))
def test_octaves_keep_name_and_cents(hz: float) -> None:
    (low, off), (high, off_above) = pitch(hz), pitch(2 * hz)
    if abs(off) < 49.999:
        assert low[:-1] == high[:-1]
        assert int(high[-1]) == int(low[-1]) + 1
        assert off == pytest.approx(off_above, abs=1e-6)
    assert -50.0001 <= off <= 50.0001


@pytest.mark.parametrize("hz", [0.0, -3.0, float("nan"), float("inf")])
def test_no_tone_has_no_name(hz: float) -> None:
    with pytest.raises(InputError, match="no name; expected more than 0 Hz"):
        pitch(hz)


@pytest.mark.parametrize(
    ("cents", "said"),
    [
        (0, "the same"),
        (-8, "the same"),
        (33, "33 cents above"),
        (105.5, "a semitone above"),
        (-146, "a semitone and 46 cents below"),
        (702, "a fifth above"),  # the pure fifth, 3:2
        (1300, "more than an octave above"),
    ],
)
def test_intervals_are_called_as_a_musician_calls_them(cents: float, said: str) -> None:
    assert interval_in_words(cents) == said


def test_a_pure_fifth_is_two_cents_wider_than_the_tempered() -> None:
    assert cents_between(200, 300) == pytest.approx(701.955, abs=1e-3)  # 1200 log2(3/2), exact
    assert cents_between(300, 200) == pytest.approx(-701.955, abs=1e-3)
