"""The key under a picture: what its lines and colours stand for."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from solver.viewer.colours import INK

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.figure import Figure


def add_key(figure: "Figure", entries: Mapping[str, "Artist"]) -> None:
    """Put a key at the foot of a ``figure``: words, and the line or patch they stand for."""
    figure.legend(
        list(entries.values()),
        list(entries),
        loc="lower center",
        ncols=3,
        frameon=False,
        fontsize=9,
        labelcolor=INK,
    )
