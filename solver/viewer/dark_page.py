"""Pictures for a dark screen: the same page with light and dark exchanged, the colours kept in kind."""

import re
from colorsys import hls_to_rgb, rgb_to_hls

DARK_PAPER = "#282e2c"
"""What white paper becomes."""

DARKEST, LIGHTEST = 0.16, 0.95
"""Lightness, 0 to 1, that white and black become; what lies between keeps its order, the other way round."""

_COLOUR = re.compile(r"(?<=: )#[0-9a-f]{6}\b")


def in_the_dark(svg: str) -> str:
    """Return a page as SVG text for a dark screen; words that had no colour, which means black, become light."""
    turned = _COLOUR.sub(lambda found: dark_colour(found[0]), svg)
    return turned.replace("<svg ", f'<svg fill="{dark_colour("#000000")}" ', 1)


def dark_colour(colour: str) -> str:
    """Return the colour ``#rrggbb`` as it stands on dark paper: its hue kept, its lightness turned round."""
    if colour == "#ffffff":
        return DARK_PAPER
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    hue, lightness, saturation = rgb_to_hls(red, green, blue)
    turned = hls_to_rgb(hue, LIGHTEST - (LIGHTEST - DARKEST) * lightness, saturation)
    return "#" + "".join(f"{round(255 * part):02x}" for part in turned)
