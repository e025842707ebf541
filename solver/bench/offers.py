"""What the first page offers: folders used last, demonstration plates, and usual plates to begin a new one from."""

import json
import re
import secrets
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from platformdirs import user_state_path

from solver.bench.demonstrations import demonstration_folders
from solver.bench.told import Named, Offered
from solver.core.atomic_write import whole_file
from solver.core.errors import InputError
from solver.plate_folder.description import PLATE_FILE, read_description
from solver.plate_folder.portable_name import check_portable

MOST_RECENT = 8
_MEMORY_FILE = "bench.json"
_NAME = re.compile(r"[^\W_][\w .-]{0,59}")


@dataclass(frozen=True)
class Memory:
    """What the bench remembers from one start to the next: the folders used last, and the port."""

    folders: tuple[str, ...] = ()
    port: int = 0


@dataclass(frozen=True)
class Offers:
    """Folders that are offered to the page, by keys: a page never names a path. ``refusal`` meets any other key."""

    refusal: str
    folders: dict[str, Path] = field(default_factory=dict)

    def offer(self, folder: Path) -> str:
        """Return the key of a folder."""
        known = next((key for key, path in self.folders.items() if path == folder), None)
        key = known or secrets.token_hex(8)
        self.folders[key] = folder
        return key

    def offered(self, key: str) -> Path:
        """Return the folder offered under a key; raises InputError for any other."""
        if key not in self.folders:
            raise InputError(self.refusal)
        return self.folders[key]

    def told(self, folders: Sequence[Path]) -> list[Offered]:
        """Return folders of plates as the page is told of them, each with its key."""
        return [{"offer": self.offer(folder), **named(folder)} for folder in folders]


def named(folder: Path) -> Named:
    """Return what a plate in a folder is called, or that its description cannot be read."""
    try:
        table = read_description(folder).table
    except InputError:
        return {"title": folder.name, "role": None, "folder": str(folder)}
    return {"title": table.title, "role": table.role, "folder": str(folder)}


@dataclass(frozen=True)
class Known:
    """The folders of plates that the bench knows: those used last, those in its own folder, the demonstrations.

    None is among two of them, and no open one among any.
    """

    recent: tuple[Path, ...]
    beside: tuple[Path, ...]
    demonstrations: tuple[Path, ...]

    @property
    def all(self) -> tuple[Path, ...]:
        """All of them, those used last first."""
        return (*self.recent, *self.beside, *self.demonstrations)


def known_folders(memory: Memory, place: Path, opened: Sequence[Path]) -> Known:
    """Return the folders of plates that are known beside those that are open."""
    recent = [path for path in plate_folders(memory.folders) if path not in opened]
    beside = [path for path in folders_below(place) if path not in {*opened, *recent}]
    shown = {*opened, *recent, *beside}
    copied = {path.name for path in shown if path.parent == place}
    demonstrations = [
        path for path in demonstration_folders() if path not in shown and path.name not in copied
    ]
    return Known((*recent,), (*beside,), (*demonstrations,))


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


def folders_below(place: Path) -> list[Path]:
    """Return the plates in a folder, and those in the folders right below it."""
    found = (path for depth in ("*", "*/*") for path in sorted(place.glob(f"{depth}/{PLATE_FILE}")))
    return [path.parent for path in found]


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
    if not _NAME.fullmatch(name):
        raise InputError(
            f'A plate cannot be called "{name[:60]}" here; expected letters, digits, blanks, - and _, at most 60. '
            "Choose another name."
        )
    check_portable(name)
    return place / name
