"""The arch of a plate, from whatever the maker has: heights, templates, or two figures."""

from meshes.arch_drawn import drawn_arch
from meshes.arch_heights import arch_from_heights
from meshes.arch_sections import arch_from_sections
from meshes.surface import Arch, SurfacePoints, arch_from_function, flat_arch

__all__ = [
    "Arch",
    "SurfacePoints",
    "arch_from_function",
    "arch_from_heights",
    "arch_from_sections",
    "drawn_arch",
    "flat_arch",
]
