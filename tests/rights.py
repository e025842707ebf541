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
