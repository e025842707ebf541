"""Describe: what the folder says of the plate, checked as one types by the sentences of ``platewright check``."""

from collections.abc import Callable
from typing import Annotated, TypeVar

from pydantic import Field
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from solver.bench.answers import ChangedError, Question, asked, in_thread
from solver.bench.drawn_told import Checked
from solver.bench.plate_routes import MarkedQuestion
from solver.bench.plates import OpenPlate
from solver.bench.state import plate_of
from solver.bench.told import Form, Written
from solver.core.errors import InputError


class Draft(Question):
    """What the maker typed so far: values by their keys in plate.toml, and the tables as pasted; none where untouched."""

    values: dict[Annotated[str, Field(max_length=60)], Annotated[str, Field(max_length=400)]]
    thickness: str | None = None
    arch: str | None = None


class SaveQuestion(MarkedQuestion):
    """Write the draft into the folder that is still as ``mark`` says."""

    draft: Draft


Told = TypeVar("Told")


async def _form(request: Request) -> Response:
    plate = plate_of(request)
    return await in_thread(lambda: _described(plate))


def _described(plate: OpenPlate) -> Form:
    from solver.bench.describing import form_as_json

    return form_as_json(plate.folder)


async def _check(request: Request) -> Response:
    plate, draft = plate_of(request), await asked(request, Draft)
    return await in_thread(lambda: _of_the_form(lambda: _checked(plate, draft)))


def _checked(plate: OpenPlate, draft: Draft) -> Checked:
    from solver.bench.describing import drafted_files, understood_as_json
    from solver.bench.picture import draw, picture_as_json
    from solver.plate_folder.change import try_change

    read = try_change(plate.folder, drafted_files(plate.folder, draft.values, draft.thickness, draft.arch))
    picture = picture_as_json(read.plate, draw(read.plate), read.description)
    return {**understood_as_json(read), "picture": picture}


async def _save(request: Request) -> Response:
    plate, question = plate_of(request), await asked(request, SaveQuestion)
    return await in_thread(lambda: _of_the_form(lambda: _saved(plate, question)))


def _of_the_form(act: Callable[[], Told]) -> Told:
    """Let a refusal call the lines of plate.toml as the form does."""
    from solver.bench.describing import in_form_words

    try:
        return act()
    except ChangedError:
        raise
    except InputError as error:
        raise InputError(in_form_words(str(error))) from None


def _saved(plate: OpenPlate, question: SaveQuestion) -> Written:
    from solver.bench.describing import drafted_files
    from solver.plate_folder.change import write_change

    draft = question.draft
    with plate.lock:
        plate.check_unchanged(question.mark)
        files = drafted_files(plate.folder, draft.values, draft.thickness, draft.arch)
        write_change(plate.folder, files, lambda: plate.check_unchanged(question.mark))
    return {"written": [*files]}


ROUTES = (
    Route("/api/plates/{plate}/description", _form),
    Route("/api/plates/{plate}/description/check", _check, methods=["POST"]),
    Route("/api/plates/{plate}/description", _save, methods=["POST"]),
)
