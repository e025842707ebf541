"""A bench inside the process of the tests, asked as any program could ask it."""

import http.client
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import uvicorn

from solver.bench.app import make_app
from solver.bench.guard import KEY_HEADER
from solver.bench.serve import listen
from solver.bench.state import BenchState
from tests.plate_folders import ellipse_files, write_folder


class Served:
    """A bench inside this process, and the plate that is open on it."""

    def __init__(self, state: BenchState, folder: Path) -> None:
        self.state, self.folder = state, folder
        self.plate = state.open(folder).key

    def ask(
        self, method: str, path: str, body: bytes | None = None, **headers: str
    ) -> tuple[int, str, Mapping[str, str]]:
        """Send a request with the key and the right host unless others are given; None leaves a header out."""
        sent = {"host": f"127.0.0.1:{self.state.port}", KEY_HEADER: self.state.key}
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        connection = http.client.HTTPConnection("127.0.0.1", self.state.port, timeout=30)
        connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        for name, value in sent.items():
            connection.putheader(name, value)
        if body is not None and "transfer-encoding" not in sent:
            connection.putheader("content-length", sent.get("content-length", str(len(body))))
        connection.endheaders(body)
        answer = connection.getresponse()
        said = answer.read().decode()
        connection.close()
        return answer.status, said, dict(answer.getheaders())


@contextmanager
def serving(place: Path, folder: Path | None = None) -> Iterator[Served]:
    """Serve a bench in a folder with one plate, an ellipse unless it is given, and end it."""
    folder = folder or write_folder(place / "top", ellipse_files())
    state = BenchState(place, place / "state" / "bench.json")
    listening = listen(0, 0)
    state.port = listening.getsockname()[1]
    server = uvicorn.Server(
        uvicorn.Config(make_app(state), log_level="error", access_log=False, lifespan="on")
    )
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    yield Served(state, folder)
    server.should_exit = True
    thread.join()
