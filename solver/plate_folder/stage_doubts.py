"""Whether the words of a log entry's stage agree with the plate: said before it is entered, and again by the fit."""

import re
from collections.abc import Iterator

from solver.plate_folder.schema import LogEntry, PlateTable

_PARTS = {
    "holes": (r"(?:the\s+)?(?:f|sound)?[\s-]*holes?", r"cut|sawn|open"),
    "bar": (r"(?:the\s+|a\s+)?(?:bass[\s-]*)?bar", r"fitted|glued|in"),
}
"""What each part is called, and what is said of it once it is there."""


def _lacks(part: str, stage: str) -> bool:
    name, made = _PARTS[part]
    before = rf"\b(?:before|without|no|not\s+yet(?:\s+any)?)\s+(?:{name})\b"
    after = rf"\b{name}\s+(?:are\s+|is\s+)?(?:not|un|to\s+be)[\s-]*(?:yet\s+)?(?:{made})\b"
    return bool(re.search(before, stage, re.IGNORECASE) or re.search(after, stage, re.IGNORECASE))


def _has(part: str, stage: str) -> bool:
    name, made = _PARTS[part]
    return not _lacks(part, stage) and bool(re.search(rf"\b{name}\s+(?:{made})\b", stage, re.IGNORECASE))


def stage_doubts(entry: LogEntry, table: PlateTable) -> Iterator[str]:
    """Yield a sentence for every part of which the stage says otherwise than plate.toml and the entry's ``without``."""
    stage = entry.stage or ""
    there = {"holes": bool(table.outline.holes), "bar": table.bar is not None}
    lacking = [part for part in _PARTS if there[part] and part not in entry.without and _lacks(part, stage)]
    if lacking == ["holes"] and there["bar"] and "bar" not in entry.without and not _has("bar", stage):
        lacking = ["holes", "bar"]  # the bar is fitted after the holes are cut
    if lacking:
        together = {*entry.without, *lacking}
        yield (
            f'stage is "{stage}", but plate.toml has {" and ".join(lacking)}, and no command would know that the plate '
            f"lacked {'it' if lacking == ['bar'] else 'them'} then. Say so with --without "
            f"{','.join(part for part in _PARTS if part in together)}; if it was thicker too, give the readings of then "
            "with --thickness."
        )
    for part in _PARTS:
        if part in entry.without and _has(part, stage):
            yield f'stage is "{stage}", but without names {part}. Leave {part} out of --without, or mend the stage.'
        elif not there[part] and _has(part, stage):
            yield (
                f'stage is "{stage}", but plate.toml has no {part}. Put {"them" if part == "holes" else "it"} into '
                "plate.toml first, and name in older entries what the plate lacked then."
            )
