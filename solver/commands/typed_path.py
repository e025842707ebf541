"""A path in a command that the maker is told to type."""

import os
import shlex
import subprocess
from pathlib import Path


def as_typed(path: Path) -> str:
    """Return a path as it is typed at a terminal of this machine: in quotes if there is a blank in it."""
    return subprocess.list2cmdline([str(path)]) if os.name == "nt" else shlex.quote(str(path))
