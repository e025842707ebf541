"""Which Platewright this is."""

VERSION = "0.2.0"
"""Stands here alone: pyproject.toml reads it from this file."""

MADE_BY = f"platewright {VERSION}"
"""What stands in everything that is made to be read by other programs."""
