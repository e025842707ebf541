"""A plate before its holes were cut or its bar was glued."""

from collections.abc import Collection
from dataclasses import replace

from solver.plate.plate import Plate


def without(plate: Plate, parts: Collection[str]) -> Plate:
    """Return the plate as it was before its holes were cut or its bar was glued."""
    if "holes" in parts:
        plate = replace(plate, outline=plate.outline.without_holes())
    return replace(plate, bar=None) if "bar" in parts else plate
