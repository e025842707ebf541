"""Taking in the recordings and photos that are brought to the page."""

import re
from pathlib import Path

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from solver.bench.brought import Brought, waiting_place
from solver.bench.guard import UPLOADS
from solver.bench.plates import OpenPlate
from solver.bench.state import bench_of, plate_of
from solver.core.errors import InputError

MOST_BROUGHT = 4
"""Files of one plate that wait; the oldest goes when another comes."""

_STRANGE = re.compile(r"[^\w .()+-]")
_LONGEST_NAME = 60


async def _bring(request: Request) -> Response:
    """Take in a file as it comes, so that no large one is ever held in memory."""
    plate = plate_of(request)
    place = waiting_place(bench_of(request).port)
    brought = Brought(Path(place.name) / _plain(request.query_params.get("name", "")), place)
    try:
        with brought.path.open("wb") as file:
            async for piece in request.stream():
                file.write(piece)
    except BaseException as error:
        place.cleanup()
        if isinstance(error, OSError):
            reason = error.strerror or str(error)
            raise InputError(
                f"The file cannot be taken in ({reason}); expected room in the system's folder for temporary files. "
                "Make some, then open it again."
            ) from None
        raise
    return JSONResponse({"key": _keep(plate, brought)})


def _plain(name: str) -> str:
    """Return the last part of a name without what means something to a system."""
    last = re.split(r"[/\\]", name)[-1]
    return _STRANGE.sub("-", last).lstrip(". ")[-_LONGEST_NAME:] or "file"


def _keep(plate: OpenPlate, brought: Brought) -> str:
    key = Path(brought.place.name).name.rpartition("-")[2]
    with plate.lock:
        plate.brought[key] = brought
        gone = [plate.brought.pop(old) for old in [*plate.brought][:-MOST_BROUGHT]]
    for one in gone:
        one.place.cleanup()
    return key


def brought_to(plate: OpenPlate, key: str) -> Brought:
    """Return a file that was brought; raises InputError if it is not there."""
    found = plate.brought.get(key)
    if found is None:
        raise InputError("That file is no longer here; expected one just brought. Open it again.")
    return found


ROUTES = (Route(f"/api/plates/{{plate}}{UPLOADS}", _bring, methods=["POST"]),)
