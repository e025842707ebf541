"""Reading the maker's files: what can go wrong before a format is even looked at, said in one sentence."""

import stat
from pathlib import Path

from solver.core.errors import InputError

LARGEST_FILE = 50_000_000
"""Bytes; a million caliper readings fit, a scan saved under the wrong name does not."""


def file_bytes(path: Path, largest: int = LARGEST_FILE) -> bytes:
    """Return what a file holds, after making sure that it is a file of at most ``largest`` bytes which may be read.

    Raises
    ------
    InputError
        If it is missing, is a folder or a device, is larger, or the rights to read it are lacking.
    """
    try:
        _check_kind(path, largest)
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError(
            f"{path.name}: there is no such file in {path.parent.absolute()}; "
            "check its name, or put it there."
        ) from None
    except NotADirectoryError:
        raise InputError(f"{path.name}: {path.parent} is not a folder; check the path to the file.") from None
    except PermissionError:
        raise InputError(
            f"{path.name}: the rights to read it are lacking; allow reading of the file and of its folder."
        ) from None
    except OSError as error:
        raise InputError(
            f"{path.name}: it cannot be read ({error.strerror}); check the disk and the path."
        ) from None


def file_text(path: Path, largest: int = LARGEST_FILE) -> str:
    """Return the text of a UTF-8 file, a byte-order mark left out.

    Raises
    ------
    InputError
        As `file_bytes`, and if the file is not UTF-8 text.
    """
    content = file_bytes(path, largest)
    if b"\0" in content:
        raise InputError(
            f"{path.name}: it is not plain text (a spreadsheet's or a program's own file?); "
            "expected UTF-8 text. Save or export it as text in UTF-8."
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise InputError(
            f"{path.name}: line {line} is not UTF-8 text; expected UTF-8. "
            "Save the file again with the encoding UTF-8."
        ) from None


def _check_kind(path: Path, largest: int) -> None:
    """Refuse folders, devices and huge files by their directory entry alone, before a byte is read."""
    entry = path.stat()
    if stat.S_ISDIR(entry.st_mode):
        raise InputError(f"{path.name}: it is a folder; expected a file. Name the file inside it.")
    if not stat.S_ISREG(entry.st_mode):
        raise InputError(
            f"{path.name}: it is a device or a pipe; expected a file. Save what it gives to a file first."
        )
    if entry.st_size > largest:
        raise InputError(
            f"{path.name}: it is {entry.st_size / 1e6:.0f} MB; expected at most {largest / 1e6:.0f} MB. "
            "Thin the data out, or check that it is the right file."
        )
