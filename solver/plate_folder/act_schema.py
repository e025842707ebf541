"""What stands in the record of an act: the files that are written together, each as it was and as it is to be."""

from typing import Annotated, Literal

from pydantic import Field

from solver.plate_folder.schema import Table

_Digest = Annotated[str, Field(pattern=r"[0-9a-f]{64}")]


class WrittenTable(Table):
    """One file by its name in the folder, and the digests (SHA-256) of its content ``before``, if any, and ``after``."""

    name: str
    before: _Digest | None = None
    after: _Digest


class ActTable(Table):
    """The whole record."""

    format: Literal[1]
    files: Annotated[tuple[WrittenTable, ...], Field(strict=False, min_length=1)]
