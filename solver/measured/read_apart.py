"""Recordings and photos read in a bounded process: what is damaged or made to do harm costs a sentence, and no more."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, cast

from solver.core.bounded_reading import BoundedFile, BoundedReading, Kind

if TYPE_CHECKING:
    from solver.measured.photo_file import Photo
    from solver.measured.recording import Recording

_SOUND = Kind("a recording (WAV, FLAC, M4A, OGG or MP3)", "Record again, or save it as WAV.")
_PHOTO = Kind("a photo, a JPEG or PNG file", "Save it as JPEG, at half its size.")


@contextmanager
def recordings_apart(paths: Sequence[Path]) -> Iterator[Callable[[], "tuple[Recording, ...]"]]:
    """Begin to read recordings; what is given back waits for them, and raises InputError as `read_recording` or a bound."""
    files = [BoundedFile(str(path), (path,)) for path in paths]
    with BoundedReading("solver.measured.recording:read_recording", files, _SOUND) as reading:
        # made anew: what came from another process may be written to
        yield lambda: tuple(replace(cast("Recording", one)) for one in reading.result())


def photo_apart(path: Path) -> "Photo":
    """Return the photo in a file; raises InputError as `read_photo`, or if it takes more than it may."""
    files = [BoundedFile(str(path), (path,))]
    with BoundedReading("solver.measured.photo_file:read_photo", files, _PHOTO) as reading:
        (photo,) = reading.result()
    return replace(cast("Photo", photo))
