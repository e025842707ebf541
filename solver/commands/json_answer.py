"""The one object that a command prints for other programs."""

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING

from rich.console import Console

from solver.core.version import MADE_BY

if TYPE_CHECKING:
    from solver.commands.tones import Json


def print_json(answer: "Mapping[str, Json]", out: Console) -> None:
    """Print an answer on one line, with the version that made it."""
    out.out(json.dumps({**answer, "made_by": MADE_BY}), highlight=False)
