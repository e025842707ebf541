"""Clients that mean harm, or know no better: refused or served, never a traceback, never a write outside."""

import json
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from solver.bench.brought_routes import MOST_BROUGHT
from solver.bench.fingerprint import fingerprint
from solver.bench.guard import LARGEST_BODY, LARGEST_UPLOAD, UPLOADS
from tests.bench.served import Served, serving
from tests.plate_folders import contents


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    with serving(tmp_path_factory.mktemp("guarded")) as running:
        yield running


def test_the_right_client_is_served_with_a_strict_policy(served: Served) -> None:
    status, said, headers = served.ask("GET", f"/api/plates/{served.plate}")
    assert status == 200
    assert json.loads(said)["title"] == "Ellipse for trying things out"
    policy = headers["content-security-policy"]
    assert policy.startswith("default-src 'none'")
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"


FOREIGN: dict[str, tuple[dict[str, str], int]] = {
    "other host": ({"host": "evil.example"}, 421),
    "other port": ({"host": "127.0.0.1:1"}, 421),
    "host without port": ({"host": "127.0.0.1"}, 421),
    "name that resolves here": ({"host": "bench.example:80"}, 421),
    "other origin": ({"origin": "http://evil.example"}, 403),
    "origin of another port": ({"origin": "http://127.0.0.1:1"}, 403),
    "null origin": ({"origin": "null"}, 403),
    "secure origin": ({"origin": "https://127.0.0.1"}, 403),
    "another site's page": ({"sec_fetch_site": "cross-site"}, 403),
    "another port's page": ({"sec_fetch_site": "same-site"}, 403),
    "no key": ({"x_bench_key": ""}, 401),
    "wrong key": ({"x_bench_key": "x" * 43}, 401),
    "key with strange letters": ({"x_bench_key": "\xe9\xff"}, 401),
}


@pytest.mark.parametrize("case", FOREIGN)
def test_foreign_clients_are_refused_in_one_sentence(case: str, served: Served) -> None:
    headers, expected = FOREIGN[case]
    status, said, _ = served.ask("GET", "/api/start", None, **headers)
    assert status == expected
    assert set(json.loads(said)) == {"sentence"}
    assert str(served.folder) not in said


PATHS = (
    "/../../../../etc/passwd",
    "/%2e%2e/%2e%2e/%2e%2e/etc/passwd",
    "/..%2f..%2fserve.py",
    "/tasks/..%5c..%5cserve.py",
    "//etc/passwd",
    "/bench.js%00.css",
    "/api/plates/..%2f..%2f/mark",
    "/api/plates/%2fetc/modes",
    "/api/nothing",
    "/" + "a" * 5000,
)


@pytest.mark.parametrize("path", PATHS)
def test_no_path_leads_out(path: str, served: Served) -> None:
    status, said, _ = served.ask("GET", path)
    assert status in (400, 404)
    assert "root:" not in said
    assert "import" not in said


ENTRY: dict[str, object] = {
    **dict.fromkeys(("taken", "mass", "tones", "temperature", "humidity", "stage", "note"), ""),
    "modes": {},
    "corrects": None,
    "as_typed": True,
}
BAR = {"from_mm": [80, 17], "to_mm": [280, 12], "width_mm": 5.5, "height_mm": 11.0}
BOOK = {
    "shelf": "",
    "words": {},
    "ranges": [],
    "sort": "name",
    "descending": False,
    "across": "",
    "up": "",
    "alike": False,
    "room": ["20", "50"],
}
"""What the page asks of the book."""


def bodies(plate: str, mark: str) -> dict[str, tuple[str, bytes]]:
    """Bodies that are not what the page sends."""
    trial = f"/api/plates/{plate}/trials"
    return {
        "no JSON": ("/api/open", b"{"),
        "not text": ("/api/open", b"\xff\xfe\x00"),
        "nothing": ("/api/open", b""),
        "a list": ("/api/open", b"[]"),
        "too deep": ("/api/open", b"[" * 100_000),
        "path for an offer": ("/api/open", b'{"offer": "/etc"}'),
        "other keys": ("/api/open", b'{"offer": "a", "folder": "/etc"}'),
        "a number for a text": ("/api/open", b'{"offer": 7}'),
        "a name that leads out": ("/api/new", b'{"like": "panel", "name": "../outside"}'),
        "an absolute name": ("/api/new", b'{"like": "panel", "name": "/tmp/outside"}'),
        "a hidden name": ("/api/new", b'{"like": "panel", "name": ".outside"}'),
        "a name with a break": ("/api/new", b'{"like": "panel", "name": "a\\nb"}'),
        "no such plate": ("/api/new", b'{"like": "drum", "name": "outside"}'),
        "no length": ("/api/new", b'{"like": "panel", "name": "outside", "length_mm": NaN}'),
        "endless length": ("/api/new", b'{"like": "panel", "name": "outside", "length_mm": 1e999}'),
        "a trial before it is live": (trial, b'{"name": "one"}'),
        "a plate as it is not": (f"/api/plates/{plate}/solve", b'{"mark": "0"}'),
        "a recording that was not brought": (
            f"/api/plates/{plate}/listen",
            json.dumps({"mark": mark, "brought": "../x"}).encode(),
        ),
        "tones that were not heard": (
            f"/api/plates/{plate}/listen/log",
            json.dumps({"mark": mark, "brought": "x", "modes": ["1"]}).encode(),
        ),
        "a photo that was not brought": (
            f"/api/plates/{plate}/powder",
            json.dumps({"mark": mark, "brought": "../x"}).encode(),
        ),
        "lines that were not read": (
            f"/api/plates/{plate}/powder/lines",
            json.dumps({"mark": mark, "brought": "x"}).encode(),
        ),
        "an entry with a photo at a path": (
            f"/api/plates/{plate}/log",
            json.dumps(ENTRY | {"mark": mark, "photo": "/etc/passwd"}).encode(),
        ),
        "a bar that reaches over the edge": (
            f"/api/plates/{plate}/bar/use",
            json.dumps(BAR | {"mark": mark, "from_mm": [0, 300]}).encode(),
        ),
        "a bar for a plate as it is not": (
            f"/api/plates/{plate}/bar/use",
            json.dumps(BAR | {"mark": "0"}).encode(),
        ),
        "a plan in a hundred passes": (
            f"/api/plates/{plate}/sheet",
            json.dumps({"mark": mark, "paper": "A4", "passes": 100}).encode(),
        ),
        "a pair with a path": (
            f"/api/plates/{plate}/pair",
            json.dumps({"mark": mark, "other": "/etc", "relations": [], "room": ["", ""]}).encode(),
        ),
        "a book at a path": (f"/api/plates/{plate}/book", json.dumps(BOOK | {"shelf": "/etc"}).encode()),
        "a file of a book at a path": (
            f"/api/plates/{plate}/book/file",
            json.dumps({"kind": "csv", "book": BOOK | {"shelf": "../.."}}).encode(),
        ),
        "a file of no known kind": (
            f"/api/plates/{plate}/book/file",
            json.dumps({"kind": "../x", "book": BOOK}).encode(),
        ),
        "a plate from a shelf that is a path": ("/api/take", b'{"shelf": "/tmp", "name": "top"}'),
        "a plate that is not open": ("/api/plates/0/solve", b'{"mark": "0"}'),
    }


@pytest.mark.parametrize("case", bodies("", ""))
def test_malformed_bodies_get_a_sentence_and_nothing_is_written(case: str, served: Served) -> None:
    path, body = bodies(served.plate, fingerprint(served.folder))[case]
    before = contents(served.folder.parent)
    status, said, _ = served.ask("POST", path, body)
    assert status in (400, 409)
    sentence = json.loads(said)["sentence"]
    assert "Traceback" not in sentence
    assert sentence.endswith(".")
    assert contents(served.folder.parent) == before


def test_oversized_bodies_are_refused_announced_or_not(served: Served) -> None:
    announced, said, _ = served.ask("POST", "/api/open", b"", content_length=str(LARGEST_BODY + 1))
    assert announced == 413
    assert "send less at once" in said
    piece = b"%x\r\n%s\r\n" % (1_000_000, b" " * 1_000_000)
    chunks = piece * (LARGEST_BODY // 1_000_000 + 1) + b"0\r\n\r\n"
    status, said, _ = served.ask("POST", "/api/open", chunks, transfer_encoding="chunked")
    assert status == 413
    assert "send less at once" in said


def test_an_oversized_file_is_refused_announced_or_not_and_none_of_it_stays(served: Served) -> None:
    path, plate = f"/api/plates/{served.plate}{UPLOADS}?name=a.wav", served.state.plates.find(served.plate)
    waiting, place = dict(plate.brought), Path(tempfile.gettempdir())
    own = f"platewright-bench-{served.state.port}-*"  # other benches may take files in at the same time
    before = {*place.glob(own)}
    assert served.ask("POST", path, b"", content_length=str(LARGEST_UPLOAD + 1))[0] == 413
    piece = b"%x\r\n%s\r\n" % (10_000_000, b" " * 10_000_000)
    chunks = piece * (LARGEST_UPLOAD // 10_000_000 + 1) + b"0\r\n\r\n"
    status, said, _ = served.ask("POST", path, chunks, transfer_encoding="chunked")
    assert status == 413
    assert "more than 60 MB" in said
    assert plate.brought == waiting
    assert {*place.glob(own)} <= before


NAMES = ("../../outside.wav", "%2e%2e%2foutside", "/etc/passwd", "..", "", "a%00b", "%0a", "a" * 500)


@pytest.mark.parametrize("name", [*NAMES, "%F0%9D%94%B8" * 90])
def test_a_file_that_is_brought_stays_where_it_waits(name: str, served: Served) -> None:
    before = contents(served.folder.parent)
    status, said, _ = served.ask("POST", f"/api/plates/{served.plate}{UPLOADS}?name={name}", b"sound")
    assert status == 200
    brought = served.state.plates.find(served.plate).brought
    one = brought[json.loads(said)["key"]]
    assert one.path.read_bytes() == b"sound"
    assert one.path.parent == Path(one.place.name)
    assert len(brought) <= MOST_BROUGHT
    assert contents(served.folder.parent) == before


def test_other_methods_are_refused(served: Served) -> None:
    for method in ("PUT", "PATCH", "OPTIONS", "TRACE"):
        assert served.ask(method, "/api/start")[0] == 405
    assert served.ask("DELETE", "/api/start")[0] == 405


def test_a_plate_is_made_only_where_it_belongs_and_never_over_another(served: Served) -> None:
    body = b'{"like": "panel", "name": "My panel 1"}'
    status, said, _ = served.ask("POST", "/api/new", body)
    assert status == 200
    assert (served.folder.parent / "My panel 1" / "plate.toml").exists()
    again, said, _ = served.ask("POST", "/api/new", body)
    assert again == 400
    assert "something is there already" in said


def test_a_plate_is_taken_from_a_shelf_by_its_name_alone(served: Served) -> None:
    _, said, _ = served.ask("GET", f"/api/plates/{served.plate}/book")
    (shelf,) = [one for one in json.loads(said)["shelves"] if one["folder"] == str(served.folder.parent)]
    for name in ("../top", "./top", f"../{served.folder.parent.name}/top", str(served.folder), "", "no-such"):
        status, said, _ = served.ask(
            "POST", "/api/take", json.dumps({"shelf": shelf["shelf"], "name": name}).encode()
        )
        assert status == 400
        assert "No plate of that name" in json.loads(said)["sentence"]
    status, said, _ = served.ask(
        "POST", "/api/take", json.dumps({"shelf": shelf["shelf"], "name": served.folder.name}).encode()
    )
    assert (status, json.loads(said)) == (200, {"plate": served.plate})


def test_what_was_brought_is_cleared_away_when_the_bench_ends(tmp_path: Path) -> None:
    with serving(tmp_path) as served:
        _, said, _ = served.ask("POST", f"/api/plates/{served.plate}{UPLOADS}", b"sound")
        brought = served.state.plates.find(served.plate).brought[json.loads(said)["key"]]
        assert brought.path.read_bytes() == b"sound"
    assert not brought.path.parent.exists()
