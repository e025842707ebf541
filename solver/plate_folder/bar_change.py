"""The table [bar] of plate.toml: the lines that describe a bar, and another bar put in the place of the present one."""

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Table

from solver.core.errors import InputError
from solver.core.units import MM
from solver.plate.bar import Bar
from solver.plate_folder.description import PLATE_FILE

_DIGITS = 2
"""Hundredths of a millimetre: finer than any bar is planed."""


def bar_lines(bar: Bar) -> str:
    """Return the lines by which plate.toml describes a bar, without those of its wood."""
    taper = ", ".join(f"[{_figure(fraction)}, {_mm(height)}]" for fraction, height in bar.profile.tolist())
    ends = (f"{name} = [{_mm(x)}, {_mm(y)}]" for name, (x, y) in (("from_mm", bar.start), ("to_mm", bar.end)))
    return "\n".join(["[bar]", *ends, f"width_mm = {_mm(bar.width)}", f"height_mm = [{taper}]"]) + "\n"


def _mm(length: float) -> str:
    return _figure(round(length / MM, _DIGITS))


def _figure(value: float) -> str:
    """Write a number as TOML has it: always with a point."""
    return repr(float(value))


def with_bar(text: str, bar: Bar) -> str:
    """Return the text of plate.toml with another bar: comments, order and the bar's wood stay as they are.

    Raises
    ------
    InputError
        If the text is not TOML, or its bar is no table.
    """
    try:
        document = tomlkit.parse(text)
    except TOMLKitError as error:
        raise InputError(f"{PLATE_FILE}: it is not valid TOML ({error}); mend it in a text editor.") from None
    lines = bar_lines(bar)
    if "bar" not in document:
        return f"{text.rstrip()}\n\n{lines}" if text.strip() else lines
    present, new = document["bar"], tomlkit.parse(lines)["bar"]
    if not isinstance(present, Table) or not isinstance(new, Table):
        raise InputError(
            f"{PLATE_FILE}: bar is no table; expected [bar] and its lines. Mend it in a text editor."
        )
    for name, value in new.items():
        if present.get(name) != value:
            present[name] = value
    return tomlkit.dumps(document)
