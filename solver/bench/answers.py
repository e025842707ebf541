"""What goes over the wire: checked questions in, JSON or one sentence out."""

import json
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, ClassVar, TypeVar

from anyio import to_thread
from pydantic import BaseModel, ConfigDict, ValidationError
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from solver.bench.page_words import in_page_words
from solver.core.errors import InputError

if TYPE_CHECKING:
    from pydantic_core import ErrorDetails


Asked = TypeVar("Asked", bound="Question")


class Question(BaseModel):
    """What the page asks: nothing but the known keys, each of its own kind; ``called`` is how the page calls its fields."""

    called: ClassVar[Mapping[str, str]] = {}
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class ChangedError(InputError):
    """What the page knew of a folder or a trial is no longer so."""


class TooLargeError(InputError):
    """More came in than a question may hold."""


async def refused(_: Request, error: Exception) -> Response:
    """Say in one sentence, in the words of the page, what cannot be done as asked: the application, for every route."""
    if isinstance(error, ChangedError):
        return JSONResponse({"sentence": str(error)}, 409)
    if isinstance(error, TooLargeError):
        return JSONResponse({"sentence": str(error)}, 413)
    return JSONResponse({"sentence": in_page_words(str(error))}, 400)


async def asked(request: Request, kind: type[Asked]) -> Asked:
    """Return the checked body of a request; raises InputError if it is not what was expected."""
    body = await request.body()
    try:
        return kind.model_validate_json(body)
    except ValidationError as error:
        if _has_half_a_letter(body):
            raise InputError(
                "What was typed holds half of a letter, as of a picture letter that was cut in two; expected whole "
                "letters. Delete it, and type it again."
            ) from None
        raise InputError(_sentence(error.errors(include_url=False)[0], kind)) from None


def _sentence(fault: "ErrorDetails", kind: type[Question]) -> str:
    """Say what is wrong with a question: a figure out of its range is the maker's to mend, all else the page's."""
    where = ".".join(str(part) for part in fault["loc"]) or "the request"
    if fault["type"] == "expected":
        return f"{kind.called.get(where, where)}: it is {fault['input']:g}; {fault['msg']}"
    said = fault["msg"] if fault["type"] != "json_invalid" else "it is not JSON"
    return f"{where}: {said.rstrip('.')}. Reload the page and try again."


def _has_half_a_letter(body: bytes) -> bool:
    """Tell whether a body is JSON but for a letter of two halves of which only one is there."""
    try:
        json.dumps(json.loads(body), ensure_ascii=False).encode()
    except UnicodeEncodeError:
        return True
    except (ValueError, RecursionError):
        return False
    return False


async def in_thread(work: Callable[[], Mapping[str, object]]) -> Response:
    """Do something that takes a moment beside the loop, and answer with what comes of it."""
    return JSONResponse(await to_thread.run_sync(work))
