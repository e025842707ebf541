"""The file by which the browser is opened: whoever sees the browser's command line sees its name, not what stands in it."""

import os
from html import escape
from pathlib import Path

from solver.core.atomic_write import UnwritableError

_PAGE = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="referrer" content="no-referrer">
<meta http-equiv="refresh" content="0; url={address}">
<title>Platewright bench</title>
<p><a href="{address}">Go to the bench</a></p>
</html>
"""
_OWNER_ONLY = 0o700
_READ_AND_WRITE = 0o600


def write_start_file(folder: Path, address: str, name: str = "start.html") -> Path:
    """Write a page that leads to an address into a folder, both for their owner alone; one of before is replaced.

    Raises
    ------
    UnwritableError
        If the folder belongs to somebody else, or nothing can be written there.
    """
    path = folder / name
    try:
        folder.mkdir(mode=_OWNER_ONLY, parents=True, exist_ok=True)
        folder.chmod(_OWNER_ONLY)
        path.unlink(missing_ok=True)
        # made anew and with these rights at once: nobody has it open from before
        with os.fdopen(
            os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _READ_AND_WRITE), "w", encoding="utf-8"
        ) as page:
            page.write(_PAGE.format(address=escape(address)))
    except OSError as error:
        raise UnwritableError(folder, error.strerror or str(error)) from error
    return path
