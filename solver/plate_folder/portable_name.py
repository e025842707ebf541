"""Names of files and folders that every computer takes: a plate's folder goes from one to another."""

import re

from solver.core.errors import InputError

FORBIDDEN = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f\ud800-\udfff]')
"""Letters that some system allows in no name."""

_RESERVED = re.compile(
    r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[1-9\u00b9\u00b2\u00b3]) *(\.|$)", re.IGNORECASE
)


def is_reserved(name: str) -> bool:
    """Tell whether Windows keeps a name for a device, whatever its ending."""
    return _RESERVED.match(name) is not None


def check_portable(name: str) -> None:
    """Raise InputError for a name that a folder cannot have everywhere."""
    if is_reserved(name):
        why = "Windows keeps that name for a device"
    elif name != name.rstrip(". "):
        why = "Windows cuts off points and blanks at the end"
    elif FORBIDDEN.search(name):
        why = 'Windows allows none of < > : " / \\ | ? *'
    else:
        return
    raise InputError(
        f'A folder cannot be called "{name}" on every computer: {why}; expected letters, digits, blanks, - and _. '
        "Choose another name."
    )
