"""Rights of POSIX in tests: a folder that everybody may enter, and being nobody for a while."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def open_to_all() -> Iterator[Path]:
    """Lend a folder that everybody may enter, unlike pytest's own."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        yield Path(name)


@contextmanager
def nobody() -> Iterator[None]:
    """Be nobody for a while if this is root, whom no rights bind."""
    is_root = os.geteuid() == 0
    if is_root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if is_root:
            os.seteuid(0)


@contextmanager
def read_only(folder: Path) -> Iterator[None]:
    """Let nothing be written in a folder and those in it for a while."""
    places = [folder, *(path for path in folder.rglob("*") if path.is_dir())]
    rights = [place.stat().st_mode for place in places]
    for place in places:
        place.chmod(0o555)
    try:
        with nobody():
            yield
    finally:
        for place, mode in zip(places, rights, strict=True):
            place.chmod(mode)
