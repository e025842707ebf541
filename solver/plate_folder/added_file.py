"""Adding a file to a folder to which other programs add too: there whole or not at all, and never over another."""

import os
import shutil
import tempfile
from collections.abc import Callable, Iterable
from pathlib import Path

from solver.core.atomic_write import PART, UnwritableError, clear_leftovers, settle_entries, settle_file
from solver.core.errors import InputError
from solver.plate_folder.inside import is_inside


def folder_in(plate_folder: Path, name: str) -> Path:
    """Return a folder of the plate's, made if need be.

    Raises
    ------
    InputError
        If it is a link that leads out of the plate's folder, is no folder, or cannot be made.
    """
    folder = plate_folder / name
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise UnwritableError(folder, error.strerror or str(error)) from error
    if not is_inside(plate_folder, folder):
        raise InputError(
            f"{folder}: it leads out of the plate's folder; expected a folder inside it. "
            "Put a real one in its place."
        )
    return folder


def add_file(folder: Path, names: Iterable[str], fill: Callable[[Path], object]) -> str:
    """Add a file, written by ``fill``, under the first of ``names`` that is free, and return that name.

    When it returns, the file is on the disk to stay. Whenever it is stopped, the file is there whole or not at all.

    Raises
    ------
    UnwritableError
        If the disk is full or the rights are lacking; then nothing was added.
    """
    part: Path | None = None
    try:
        clear_leftovers(folder)
        part = Path(tempfile.mkdtemp(prefix=PART, dir=folder))
        whole = part / "whole"
        fill(whole)
        settle_file(whole)
        name = next(name for name in names if _placed(whole, folder / name))
        settle_entries(folder)
        settle_entries(folder.parent)
    except OSError as error:
        raise UnwritableError(folder, error.strerror or str(error)) from error
    finally:
        if part is not None:
            shutil.rmtree(part, ignore_errors=True)
    return name


def _placed(whole: Path, target: Path) -> bool:
    """Give a file its name unless another has it: where two try at once, one of them is told so."""
    try:
        os.link(whole, target)
    except FileExistsError:
        return False
    except OSError:  # sticks and some shares know no second name of a file
        return _moved(whole, target)
    return True


def _moved(whole: Path, target: Path) -> bool:
    """Do the same by moving, which asks nobody whether the name is free: so it is reserved by a file that must be new."""
    reserved = target.with_name(f"{PART}{target.name}.reserved")
    try:
        os.close(os.open(reserved, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
    except FileExistsError:
        return False
    try:
        if target.exists():
            return False
        whole.rename(target)
    finally:
        reserved.unlink()
    return True
