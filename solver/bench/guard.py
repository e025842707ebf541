"""Who may talk to the bench: this computer's own browser, with the key made at this start, and in small portions.

A page from elsewhere can make a browser send requests to 127.0.0.1. So every request must name this server as its host and,
if it names an origin, this server as its origin; whatever is not a fixed file must bear the key, which no foreign page can
read; bodies are bounded; and the answers forbid the page to load or reach anything else.
"""

import hmac
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import ClientDisconnect
from starlette.responses import JSONResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from solver.bench.answers import TooLargeError

KEY_HEADER = "x-bench-key"
LARGEST_BODY = 8_000_000
"""Bytes of one request: a spreadsheet of a hundred thousand readings fits."""

UPLOADS = "/brought"
"""How the path ends to which recordings and photos are sent."""

LARGEST_UPLOAD = 60_000_000
"""Bytes of a recording or photo: ten minutes of 16 bit at 48 kHz, or the largest photo of a camera."""

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob:",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(self)",
    "cache-control": "no-store",
}
_METHODS = ("GET", "HEAD", "POST", "DELETE")


@dataclass(frozen=True)
class Guard:
    """Lets requests through to ``app`` that come from the page served at ``port`` and bear the ``key``.

    ``port`` is asked for at each request, because it is known only once the server listens. Paths under ``/api/`` want the
    key, except those that are ``open``.
    """

    app: ASGIApp
    key: str
    port: Callable[[], int]
    open: frozenset[str]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":  # no web sockets are served
            await send({"type": "websocket.close", "code": 1008})
            return
        refused = self._refusal(scope)
        if refused is not None:
            await refused(scope, receive, _hardened(send))
            return
        try:
            await self.app(scope, _bounded(receive, scope["path"]), _hardened(send))
        except ClientDisconnect:
            return

    def _refusal(self, scope: Scope) -> JSONResponse | None:
        """Return the answer to a request that is not let through."""
        headers = Headers(scope=scope)
        if headers.getlist("host") not in [[host] for host in self._hosts()]:
            return _refused(
                421, "This is not the address of the bench; open the one that the command printed."
            )
        origin = headers.get("origin")
        if origin is not None and origin not in {f"http://{host}" for host in self._hosts()}:
            return _refused(403, "Another page asked for this; only the bench's own page is answered.")
        if headers.get("sec-fetch-site") not in (None, "same-origin", "none") and not _opens(scope, headers):
            return _refused(403, "Another page asked for this; only the bench's own page is answered.")
        if scope["method"] not in _METHODS:
            return _refused(405, "The bench does not do that.")
        path = scope["path"]
        if (announced := headers.get("content-length")) and _number(announced) > largest(path):
            return _refused(413, _too_large(path))
        if path.startswith("/api/") and path not in self.open and not self._has_key(headers):
            return _refused(
                401, "The key is missing or from an earlier start; open the address the command printed."
            )
        return None

    def _hosts(self) -> tuple[str, str]:
        return f"127.0.0.1:{self.port()}", f"localhost:{self.port()}"

    def _has_key(self, headers: Headers) -> bool:
        shown = headers.get(KEY_HEADER, "").encode("latin-1", "replace")
        return hmac.compare_digest(shown, self.key.encode())


def _opens(scope: Scope, headers: Headers) -> bool:
    """Tell whether somebody only goes to the page in a window, as by the start file: it shows nothing without the key."""
    kind = (scope["method"], headers.get("sec-fetch-mode"), headers.get("sec-fetch-dest"))
    return scope["path"] == "/" and kind == ("GET", "navigate", "document")


def largest(path: str) -> int:
    """Return how many bytes a request to a path may have."""
    return LARGEST_UPLOAD if path.endswith(UPLOADS) else LARGEST_BODY


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 16 else LARGEST_UPLOAD + 1


def _refused(status: Literal[401, 403, 405, 413, 421], sentence: str) -> JSONResponse:
    return JSONResponse({"sentence": sentence}, status)


def _too_large(path: str) -> str:
    return f"That is more than {largest(path) / 1e6:g} MB; send less at once."


def _bounded(receive: Receive, path: str) -> Receive:
    """Count what comes in, announced or not."""
    taken = 0

    async def counted() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > largest(path):
            raise TooLargeError(_too_large(path))
        return message

    return counted


def _hardened(send: Send) -> Send:
    """Put the policy on every answer."""

    async def with_policy(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers[name] = value
        await send(message)

    return with_policy
