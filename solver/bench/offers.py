"""What the first page offers: folders used last, demonstration plates, and usual plates to begin a new one from."""

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_state_path

from solver.atomic_write import whole_file
from solver.errors import InputError
from solver.plate_folder.description import PLATE_FILE

MOST_RECENT = 8
_MEMORY_FILE = "bench.json"
_NAME = re.compile(r"[^\W_][\w .-]{0,59}")
_DEMONSTRATION = Path(__file__).parents[2] / "cases"
"""The demonstration plates, where the program runs from its source; an installed one has none beside it."""


@dataclass(frozen=True)
class Memory:
    """What the bench remembers from one start to the next: the folders used last, and the port."""

    folders: tuple[str, ...] = ()
    port: int = 0


def memory_file() -> Path:
    """Return where it is remembered."""
    return user_state_path("platewright", appauthor=False) / _MEMORY_FILE


def remembered(file: Path) -> Memory:
    """Return what was remembered; nothing where that cannot be read, for it is a convenience only."""
    try:
        stored = json.loads(file.read_text(encoding="utf-8"))
        folders = tuple(str(folder) for folder in stored["folders"])[:MOST_RECENT]
        port = int(stored["port"])
        return Memory(folders, port if 1024 <= port < 65536 else 0)
    except (OSError, ValueError, KeyError, TypeError):
        return Memory()


def remember(file: Path, memory: Memory) -> None:
    """Remember, if that can be written: a bench on a full disk still opens plates."""
    try:
        with whole_file(file) as part:
            text = json.dumps({"folders": memory.folders, "port": memory.port}, indent=1)
            part.write_text(text + "\n", encoding="utf-8")
    except InputError:
        return


def with_folder(memory: Memory, folder: Path) -> Memory:
    """Return the memory with a folder as the one used last."""
    others = (known for known in memory.folders if known != str(folder))
    return Memory((str(folder), *others)[:MOST_RECENT], memory.port)


def demonstration_folders() -> list[Path]:
    """Return the demonstration plates that are there."""
    return sorted(path.parent for path in _DEMONSTRATION.glob(f"*/{PLATE_FILE}"))


def plate_folders(folders: Sequence[str]) -> list[Path]:
    """Return those of the folders that still are a plate's."""
    return [path for path in map(Path, folders) if (path / PLATE_FILE).is_file()]


def new_folder(place: Path, name: str) -> Path:
    """Return the folder that a new plate of this name gets.

    Raises
    ------
    InputError
        If the name cannot be that of a folder, or leads elsewhere.
    """
    name = name.strip()
    if not _NAME.fullmatch(name) or name.endswith("."):
        raise InputError(
            f'A plate cannot be called "{name[:60]}" here; expected letters, digits, blanks, - and _, at most 60. '
            "Choose another name."
        )
    return place / name
