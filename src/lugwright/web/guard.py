"""The guard before every request: whose Host, whose Origin, which kind of content, and what a page may load."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlsplit

from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = frozenset({"127.0.0.1", "::1", "localhost"})
_SAFE = frozenset({"GET", "HEAD"})
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = [
    (b"content-security-policy", _POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
]
Refusal = tuple[int, str]


class Guard:
    """An ASGI app in front of another: what does not come from our own pages does not reach it.

    ``content_types`` are those that may be sent to us, by the first part of the path: JSON everywhere else.
    """

    def __init__(self, app: ASGIApp, *, port: int, names: Iterable[str] = LOOPBACK) -> None:
        self._app, self._port, self._names = app, port, frozenset(name.lower() for name in names)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        refusal = self.refusal(scope)
        if refusal is not None:
            await _refuse(scope, receive, send, refusal)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                own = {name for name, _ in message["headers"]}  # a stricter policy of its own stands
                message["headers"] = [*message["headers"], *(each for each in _HEADERS if each[0] not in own)]
            await send(message)

        await self._app(scope, receive, with_headers)

    def refusal(self, scope: Scope) -> Refusal | None:
        """Return why a request is refused, None where it may pass."""
        headers = {key.decode("latin1"): value.decode("latin1") for key, value in scope["headers"]}
        hosts = [value for key, value in scope["headers"] if key == b"host"]
        try:
            name, port = _host(headers.get("host", ""))
        except ValueError:
            return 400, "bad Host"
        if len(hosts) != 1 or name not in self._names or (port or 80) != self._port:
            return 421, "unknown Host"
        if scope["type"] == "websocket" or scope["method"] not in _SAFE:
            return _refused_change(scope, headers)
        from_elsewhere = headers.get("sec-fetch-site") in ("cross-site", "same-site")
        if from_elsewhere and headers.get("sec-fetch-mode") != "navigate":
            return 403, "read from another site"
        return None


def _refused_change(scope: Scope, headers: dict[str, str]) -> Refusal | None:
    """Return why what would change something is refused: it must come from our own pages."""
    origin = headers.get("origin")
    if origin != f"http://{headers['host']}":
        return 403, "foreign Origin" if origin else "no Origin"
    return None


def _host(value: str) -> tuple[str, int | None]:
    """Return name and port: of 'h', 'h:1', '[::1]:1'."""
    if "@" in value or "/" in value:
        raise ValueError(value)
    split = urlsplit("//" + value)
    return (split.hostname or "").lower(), split.port


async def _refuse(scope: Scope, receive: Receive, send: Send, refusal: Refusal) -> None:
    status, words = refusal
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008})
        return
    headers = [(b"content-type", b"text/plain; charset=utf-8"), *_HEADERS]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": words.encode()})
