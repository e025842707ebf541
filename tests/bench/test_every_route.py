"""Every way into the bench, as the application lists them, so that a new one cannot be forgotten: refused or served."""

import json
import re
import time
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import cast

import pytest
from starlette.applications import Starlette
from starlette.routing import Route

from solver.bench.answers import Question
from solver.bench.app import OPEN, make_app
from solver.bench.fingerprint import fingerprint
from solver.bench.guard import LARGEST_BODY, UPLOADS, Guard
from solver.bench.state import BenchState
from solver.commands.tones import Json
from tests.bench.served import Served, serving
from tests.plate_folders import contents

PARALLEL = 1000
WAY_OUT = "../../../../etc/passwd"


def ways(app: object) -> list[tuple[str, str]]:
    """Return the method and the path of every route of the application."""
    assert isinstance(app, Guard)
    assert isinstance(app.app, Starlette)
    routes = [route for route in app.app.routes if isinstance(route, Route)]
    return sorted((method, route.path) for route in routes for method in (route.methods or set()) - {"HEAD"})


WAYS = ways(make_app(BenchState(Path(), Path("no-such-folder") / "bench.json")))
LOCKED = [way for way in WAYS if way[1] not in OPEN]
NAMING = [way for way in WAYS if "{" in way[1]]
ASKING = [way for way in WAYS if way[0] == "POST" and not way[1].endswith(UPLOADS)]
TRICKS = ("..", "%2e%2e", "..%2f..%2f..%2fetc%2fpasswd", "%2fetc%2fpasswd", "%00", "%ff%fe", "0" * 3000, "-1")


pytestmark = pytest.mark.xdist_group("every_route")  # one worker, so that what they share is made once


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with serving(tmp_path_factory.mktemp("every")) as running:
        yield running


def filled(path: str, plate: str, other: str = "0") -> str:
    """Return a route's path with the open plate's key, and ``other`` for whatever else it names."""
    return re.sub(r"\{(?!plate)\w+\}", lambda _: other, path).replace("{plate}", plate)


def nasty(schema: Mapping[str, Json], kinds: Mapping[str, Json]) -> Json:
    """Return a value of the kind that a schema asks for, as bad as it may be: paths that lead out, numbers without end."""
    if "$ref" in schema:
        return nasty(_part(kinds, str(schema["$ref"]).rpartition("/")[2]), kinds)
    for choice in ("anyOf", "oneOf"):
        if choice in schema:
            return nasty(cast("list[Mapping[str, Json]]", schema[choice])[0], kinds)
    if "enum" in schema:
        return cast("list[Json]", schema["enum"])[-1]
    if "const" in schema:
        return schema["const"]
    kind = schema.get("type")
    if kind == "object" and "properties" in schema:
        properties = _part(schema, "properties")
        return {name: nasty(_part(properties, name), kinds) for name in properties}
    if kind == "array":
        parts = cast("list[Mapping[str, Json]]", schema.get("prefixItems") or [schema.get("items", {})] * 3)
        return [nasty(part, kinds) for part in parts]
    simple: dict[Json, Json] = {"number": 1e308, "integer": -(2**63), "boolean": True, "null": None}
    return {WAY_OUT: 1e308} if kind == "object" else simple.get(kind, WAY_OUT)


def _part(schema: Mapping[str, Json], name: str) -> Mapping[str, Json]:
    return cast("Mapping[str, Json]", schema[name])


def questions(kind: type[Question] = Question) -> list[type[Question]]:
    """Return every kind of question there is."""
    return [one for child in kind.__subclasses__() for one in (child, *questions(child))]


def nasty_questions(mark: str) -> dict[str, bytes]:
    """Return each kind of question filled as badly as its kind allows, about the plate with this mark."""
    found: dict[str, bytes] = {}
    for kind in questions():
        schema = kind.model_json_schema()
        asked = cast("dict[str, Json]", nasty(schema, cast("Mapping[str, Json]", schema.get("$defs", {}))))
        found[kind.__name__] = json.dumps(asked | ({"mark": mark} if "mark" in asked else {})).encode()
    return found


JUNK = {
    "nothing": b"",
    "no JSON": b"{",
    "not text": b"\xff\xfe\x00",
    "a list": b"[]",
    "null": b"null",
    "too deep": b"[" * 50_000,
    "a long number": b'{"mark": ' + b"9" * 5000 + b"}",
    "twice": b'{"mark": "0", "mark": 0}',
}


@pytest.mark.parametrize("way", LOCKED, ids=" ".join)
def test_no_way_is_open_without_the_key_or_to_another_page(way: tuple[str, str], served: Served) -> None:
    method, path = way[0], filled(way[1], served.plate)
    assert served.ask(method, path, b"{}", x_bench_key="")[0] == 401
    assert served.ask(method, path, b"{}", origin="http://evil.example")[0] == 403
    assert served.ask(method, path, b"{}", host="evil.example")[0] == 421


@pytest.mark.parametrize("half", [r"\ud800", r"x\udc00", r"\udc00\ud83d"])
def test_half_a_letter_typed_into_describe_is_told_of(half: str, served: Served) -> None:
    body = f'{{"values": {{"title": "{half}"}}}}'.encode()
    status, said, _ = served.ask("POST", f"/api/plates/{served.plate}/description/check", body)
    assert status == 400
    assert "holds half of a letter" in said


@pytest.mark.parametrize("way", NAMING, ids=" ".join)
def test_no_name_in_a_path_leads_out(way: tuple[str, str], served: Served) -> None:
    before = contents(served.folder.parent)
    for trick in TRICKS:
        for path in {filled(way[1], trick), filled(way[1], served.plate, trick)} - {
            filled(way[1], served.plate)
        }:
            status, said, _ = served.ask(way[0], path, b"{}")
            assert status in (400, 404, 405), path
            assert "root:" not in said
    assert contents(served.folder.parent) == before


@pytest.mark.parametrize("way", ASKING, ids=" ".join)
def test_malformed_and_oversized_bodies_are_refused_in_one_sentence(
    way: tuple[str, str], served: Served
) -> None:
    path, before = filled(way[1], served.plate), contents(served.folder.parent)
    for name, body in {**JUNK, **nasty_questions("0")}.items():
        status, said, _ = served.ask("POST", path, body)
        assert status in (400, 409), (name, said)
        sentence = json.loads(said)["sentence"]
        assert sentence.endswith(".")
        assert "Traceback" not in sentence
    assert served.ask("POST", path, b"", content_length=str(LARGEST_BODY + 1))[0] == 413
    assert contents(served.folder.parent) == before


@pytest.mark.slow
def test_a_thousand_at_once_by_every_way_are_all_answered(served: Served) -> None:
    def ask(number: int) -> int:
        method, path = (*WAYS, ("GET", "/bench.css"), ("GET", "/api/nothing"))[number % (len(WAYS) + 2)]
        return served.ask(method, filled(path, served.plate), b"{}")[0]

    with ThreadPoolExecutor(PARALLEL) as pool:
        answers = list(pool.map(ask, range(PARALLEL)))
    assert set(answers) <= {200, 400, 404, 409}
    assert answers.count(200) >= 4 * (PARALLEL // (len(WAYS) + 2))


def end_of(served: Served, key: str) -> str:
    """Wait until a piece of work is over and return how it ended."""
    for _ in range(2400):
        state = str(json.loads(served.ask("GET", f"/api/jobs/{key}")[1])["state"])
        if state not in ("waiting", "working"):
            return state
        time.sleep(0.1)
    return "endless"


@pytest.mark.slow
def test_a_plate_at_the_bench_survives_every_question_filled_as_badly_as_it_may_be(tmp_path: Path) -> None:
    with serving(tmp_path) as served:
        there = {path.name for path in tmp_path.iterdir()}
        mark = json.dumps({"mark": fingerprint(served.folder)}).encode()
        _, said, _ = served.ask("POST", f"/api/plates/{served.plate}/solve", mark)
        assert end_of(served, json.loads(said)["key"]) == "done"
        begun: set[str] = set()
        for method, way in WAYS:
            if method == "POST" and not way.endswith(("/solve", "/new", UPLOADS)):
                for name, body in nasty_questions(fingerprint(served.folder)).items():
                    status, said, _ = served.ask("POST", filled(way, served.plate), body)
                    assert status in (200, 400, 409), (way, name, said)
                    begun |= {json.loads(said)["key"]} if '"share"' in said else set()
        assert {end_of(served, key) for key in begun} <= {"done", "refused"}
        assert served.state.plates.find(served.plate).read().plate.title
        assert {path.name for path in tmp_path.iterdir()} == there
