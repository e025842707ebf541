"""A plate: geometry and wood joined."""

from dataclasses import dataclass
from typing import Literal

from meshes.arch import Arch
from meshes.graduation import Graduation
from meshes.outline import Outline
from solver.plate.bar import Bar
from solver.plate.wood import Wood

Role = Literal["top", "back", "panel"]


@dataclass(frozen=True, eq=False)
class Plate:
    """What is in the maker's hands: an outline, an arched outer surface, a thickness everywhere, wood, maybe a bar."""

    title: str
    role: Role
    outline: Outline
    arch: Arch
    graduation: Graduation
    wood: Wood
    bar: Bar | None = None
