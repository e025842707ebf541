"""Starting the bench: a server on this computer alone, and the browser that shows it."""

import errno
import logging
import os
import socket
import threading
import webbrowser
from dataclasses import dataclass
from pathlib import Path

import uvicorn
from rich.console import Console

from solver.bench.app import make_app
from solver.bench.brought import clear_abandoned
from solver.bench.offers import memory_file
from solver.bench.plate_routes import begin_solving
from solver.bench.start_file import write_start_file
from solver.bench.state import BenchState
from solver.core.errors import InputError

LOOPBACK = "127.0.0.1"
_MOST_WAITING = 2048
_KEPT_S = 3600
"""How long [s] an idle connection is kept: a stroke sent at the moment in which one is closed would be lost."""

_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
"""Set before the matrix libraries are loaded, which happens later: two threads hand the small matrices of a stroke back
and forth for twenty times as long as one takes."""


@dataclass(frozen=True)
class BenchRequest:
    """What the maker asked for on the command line; port 0 is the one of last time, or any that is free."""

    folders: tuple[Path, ...]
    port: int
    browser: bool


def run_bench(request: BenchRequest, out: Console) -> None:
    """Serve the bench until it is stopped with Ctrl-C.

    Raises
    ------
    InputError
        If a folder is not there, or the port is taken.
    """
    os.environ.update(dict.fromkeys(_ONE_THREAD, "1"))
    state = BenchState(Path.cwd(), memory_file())
    for folder in request.folders:
        state.open(folder)
    listening = listen(request.port, state.memory.port)
    state.port = listening.getsockname()[1]
    state.keep_memory()
    clear_abandoned(state.port)
    _show_addresses(state, out)
    server = uvicorn.Server(
        uvicorn.Config(
            make_app(state),
            log_level="error",
            access_log=False,
            lifespan="on",
            server_header=False,
            backlog=_MOST_WAITING,
            timeout_graceful_shutdown=2,
            timeout_keep_alive=_KEPT_S,
        )
    )
    # what is cut off because the maker stops the bench is no error to be told of
    logging.getLogger("uvicorn.error").addFilter(lambda _: not server.should_exit)
    for plate in state.plates.all()[:1]:  # the one that the page will show
        begin_solving(state, plate)
    threading.Thread(target=_warm_up, daemon=True).start()
    if request.browser:
        _open_browser(state, out)
    server.run(sockets=[listening])


def _show_addresses(state: BenchState, out: Console) -> None:
    """Print an address, which opens the bench once, and another whenever it was used."""
    shown = _address(state, state.tickets.issue())
    out.print(f"The bench is at {shown}", markup=False, soft_wrap=True)
    out.print(
        "It serves this computer only. Stop it with Ctrl-C; what you tried is kept in the plates' folders."
    )

    def show_next(used: str) -> None:
        nonlocal shown
        if shown == _address(state, used):
            shown = _address(state, state.tickets.issue())
            out.print(
                f"That address was used. The next browser gets in by {shown}", markup=False, soft_wrap=True
            )

    state.tickets.on_use = show_next


def _address(state: BenchState, ticket: str) -> str:
    return f"http://{LOOPBACK}:{state.port}/#start={ticket}"


def _open_browser(state: BenchState, out: Console) -> None:
    """Open the browser by a file that only its owner reads: everybody sees what a browser is started with."""
    address = _address(state, state.tickets.issue())
    try:
        start = write_start_file(state.memory_file.parent / "start", address, f"{state.port}.html")
    except InputError as refusal:
        out.print(f"{refusal} Open the address above by yourself.", markup=False, soft_wrap=True)
        return
    state.start_file = start
    threading.Thread(target=webbrowser.open, args=(start.absolute().as_uri(),), daemon=True).start()


def listen(port: int, last: int) -> socket.socket:
    """Return a socket on the port, or on that of last time, so that a page still open finds the bench again."""
    for wanted in (port,) if port else (last, 0):
        # named as TCP, or the loop leaves out TCP_NODELAY, and every answer waits 40 ms for the browser's acknowledgement
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
        listening.setsockopt(socket.SOL_SOCKET, _own_port(), 1)
        try:
            listening.bind((LOOPBACK, wanted))
            listening.listen(_MOST_WAITING)  # at once: the browser may be faster than the server
        except OSError as error:
            listening.close()
            if wanted and not port:
                continue
            if error.errno not in (errno.EADDRINUSE, errno.EACCES):
                raise
            raise InputError(
                f"--port: {port} cannot be had ({error.strerror}); expected one that is free. "
                "Leave the option out, and one is found."
            ) from None
        return listening
    raise AssertionError("port 0 is always free")


def _own_port() -> int:
    """Return the option by which a port is had at once after the last bench, and by this one alone.

    Under Windows SO_REUSEADDR would let a second program listen at a port that is in use; there is an option against that.
    """
    option: int = getattr(socket, "SO_EXCLUSIVEADDRUSE", socket.SO_REUSEADDR)
    return option


def _warm_up() -> None:
    """Import what the first plate will need, while the browser opens."""
    import solver.bench.live
    import solver.plate_folder.read  # noqa: F401
