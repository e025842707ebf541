"""A recording or photo brought to the page: it waits in a folder of its own, outside the plate's."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from solver.errors import InputError


@dataclass(frozen=True, eq=False)
class Brought:
    """A file that the maker brought, and the folder that goes with it."""

    path: Path
    place: "tempfile.TemporaryDirectory[str]"


@contextmanager
def called_by_name(path: Path) -> Iterator[None]:
    """Let sentences about a file that was brought call it by its name alone: the maker never saw where it waits."""
    try:
        yield
    except InputError as error:
        raise InputError(str(error).replace(f"{path.parent}{os.sep}", "")) from None
