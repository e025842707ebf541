"""A recording listened to in a process of its own: its tones held against the plate, and the picture of its spectrum."""

from dataclasses import dataclass

from solver.advice.tap_reading import TappedPlate, read_taps
from solver.bench.page_words import in_page_words
from solver.bench.told import Answer
from solver.bench.work import Progress
from solver.commands.tap_answer import silent_in_words, tap_as_json
from solver.measured.recording import Recording
from solver.measured.spectrum import tap_spectrum
from solver.measured.tap_tones import hear_tones
from solver.viewer.captions import mode_name
from solver.viewer.page_files import page_as_svg
from solver.viewer.tap_picture import tap_figure


@dataclass(frozen=True)
class Heard:
    """What ``platewright tap`` answers, in JSON and of the silent modes in words, and its spectrum drawn as SVG text.

    ``hz`` are the tones, ``called`` what each most likely is, ``modes`` the numbered modes with what they should sound,
    both in Hz.
    """

    answer: Answer
    hz: tuple[float, ...]
    called: tuple[str | None, ...]
    modes: tuple[tuple[str, float], ...]
    silent_words: tuple[str, ...]
    picture: str


@dataclass(frozen=True, eq=False)
class ListenOrder:
    """What is to be listened to, and the plate, solved, that its tones are held against."""

    recording: Recording
    tapped: TappedPlate


def listen(progress: Progress, order: ListenOrder) -> Heard:
    """Return the tones of a recording; raises InputError as ``platewright tap``."""
    progress.say("Listening", 0.0)
    heard = hear_tones((order.recording,))
    progress.say("Holding the tones against the plate's", 0.5)
    reading = read_taps(heard, order.tapped)
    progress.say("Drawing", 0.7)
    picture = page_as_svg(tap_figure(tap_spectrum((order.recording,)), heard, reading))
    modes = reading.modes
    likely = map(reading.mode, range(len(heard.tones)))
    numbered = [(name, float(hz)) for name, hz in zip(modes.names, modes.hz, strict=True) if name]
    return Heard(
        tap_as_json(heard, reading),
        tuple(tone.hz for tone in heard.tones),
        tuple(None if mode is None else mode_name(modes, mode) for mode in likely),
        tuple(numbered),
        tuple(map(in_page_words, silent_in_words(reading, order.tapped.plate))),
        picture,
    )
