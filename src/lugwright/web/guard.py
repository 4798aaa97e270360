"""The guard before every request: which Host, whose Origin, which kind of content, and what a page may load."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterable, Mapping

from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = frozenset({"127.0.0.1", "::1", "localhost"})
JSON = frozenset({"application/json"})
PICTURES = frozenset({"image/jpeg", "image/png", "image/webp"})
FORM = frozenset({"application/x-www-form-urlencoded"})
MOST_OF_ADDRESS, MOST_OF_HEADERS = 8_000, 32_000  # bytes
BODY_WITHIN_S = 120.0  # all of what is sent, from its first byte on: a photo over a poor radio link
_SAFE = frozenset({"GET", "HEAD"})
_METHODS = frozenset({"GET", "HEAD", "POST"})
_ONCE = (b"host", b"origin", b"content-type", b"content-length", b"sec-fetch-site", b"sec-fetch-mode")
_HOST = re.compile(r"(?:\[([0-9a-f:.]+)\]|([a-z0-9](?:[a-z0-9.-]{0,252})))(?::([0-9]{1,5}))?", re.IGNORECASE)
_NOTHING_OF = ("camera", "microphone", "geolocation", "midi", "usb", "serial", "hid", "payment")
_HEADERS = (
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", ", ".join(f"{name}=()" for name in _NOTHING_OF).encode()),
)
Refusal = tuple[int, str]


class Guard:
    """An ASGI app in front of another: what does not come from our own pages does not reach it.

    ``doors`` are the addresses we listen at, each with the names it may be called by. ``takes`` says which kinds of
    content may be sent where, by a pattern of the path; JSON everywhere else.
    """

    def __init__(
        self, app: ASGIApp, *, port: int, doors: Mapping[str, Iterable[str]], takes: Mapping[str, frozenset[str]]
    ) -> None:
        self._app, self._port = app, port
        self._doors = {address: frozenset(name.lower() for name in names) for address, names in doors.items()}
        self._takes = [(re.compile(pattern), kinds) for pattern, kinds in takes.items()]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        refusal = self.refusal(scope)
        if refusal is not None:
            await refuse(scope, receive, send, refusal)
            return
        if scope["type"] == "http":
            await self._app(scope, _in_time(receive), _with_headers(scope, send))
        else:
            await self._app(scope, receive, send)

    def refusal(self, scope: Scope) -> Refusal | None:
        """Return why a request is refused, None where it may pass."""
        if len(scope.get("raw_path") or b"") + len(scope.get("query_string", b"")) > MOST_OF_ADDRESS:
            return 414, "this address is too long"
        names = [key for key, _ in scope["headers"]]
        if sum(len(key) + len(value) for key, value in scope["headers"]) > MOST_OF_HEADERS:
            return 431, "these headers are too long"
        if any(names.count(name) > 1 for name in _ONCE):
            return 400, "a header that has to be there once is there twice"
        headers = {key.decode("latin1"): value.decode("latin1") for key, value in scope["headers"]}
        found = _HOST.fullmatch(headers.get("host", ""))
        if found is None or int(found[3] or 80) > 65535:
            return 400, "bad Host"
        name = (found[1] or found[2]).lower()
        if name not in self._names(scope) or int(found[3] or 80) != self._port:
            return 421, "unknown Host"
        if scope["type"] == "http" and scope["method"] not in _METHODS:
            return 405, "only GET, HEAD and POST are answered here"
        if scope["type"] == "websocket" or scope["method"] not in _SAFE:
            return _foreign(headers) or self._unfit(scope, headers)
        return _read_from_elsewhere(headers)

    def _names(self, scope: Scope) -> frozenset[str]:
        """Return by which names the address may be called that this came in at."""
        door = scope.get("server")
        return self._doors.get(door[0], frozenset()) if door else frozenset()

    def _unfit(self, scope: Scope, headers: Mapping[str, str]) -> Refusal | None:
        """Return why the content of a request is refused."""
        if scope["type"] == "websocket":
            return None
        kinds = next((kinds for path, kinds in self._takes if path.fullmatch(scope["path"])), JSON)
        kind = headers.get("content-type", "").split(";")[0].strip().lower()
        if kind not in kinds:
            return 415, f"only {' or '.join(sorted(kinds))} is taken here"
        if headers.get("content-encoding", "identity").lower() != "identity":
            return 415, "nothing packed is taken here"
        return None


def _foreign(headers: Mapping[str, str]) -> Refusal | None:
    """Return why what would change something is refused: it must come from our own pages, port and all."""
    origin = headers.get("origin")
    if origin is None:
        return 403, "no Origin"
    if origin != f"http://{headers['host'].lower()}":
        return 403, "foreign Origin"
    if headers.get("sec-fetch-site", "same-origin") != "same-origin":
        return 403, "sent from another site"
    return None


def _read_from_elsewhere(headers: Mapping[str, str]) -> Refusal | None:
    """Return why a page of another site, or of another port, gets nothing: it may link to us, no more."""
    if headers.get("sec-fetch-site") not in ("cross-site", "same-site"):
        return None
    linked = headers.get("sec-fetch-mode") == "navigate" and headers.get("sec-fetch-dest", "document") == "document"
    return None if linked else (403, "read from another site")


def policy(host: str) -> str:
    """Return what a page of ours may load: what this server gives, and nothing else; no script within the page."""
    return (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
        f"connect-src 'self' ws://{host}; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    )


def _headers(scope: Scope, own: Iterable[bytes]) -> list[tuple[bytes, bytes]]:
    """Return the headers that go with every answer; what an answer says itself stands."""
    host = next((value.decode("latin1").lower() for key, value in scope["headers"] if key == b"host"), "")
    keep = b"no-cache" if scope["path"].startswith("/static/") else b"no-store"
    found = _HOST.fullmatch(host)
    every = [(b"content-security-policy", policy(host if found else "127.0.0.1").encode()), (b"cache-control", keep)]
    every += _HEADERS
    if found and (found[1] or found[2]) in LOOPBACK:  # elsewhere, without encryption, browsers complain of it
        every.append((b"cross-origin-opener-policy", b"same-origin"))
    named = {name.lower() for name in own}
    return [each for each in every if each[0] not in named]


def _with_headers(scope: Scope, send: Send) -> Send:
    async def with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            own = list(message.get("headers", []))
            message = {**message, "headers": [*own, *_headers(scope, (name for name, _ in own))]}
        await send(message)

    return with_headers


def _in_time(receive: Receive) -> Receive:
    """Return a way to hear what is sent that takes a sender for gone who does not come to an end."""
    loop = asyncio.get_running_loop()
    until, whole = loop.time() + BODY_WITHIN_S, False

    async def in_time() -> Message:
        nonlocal whole
        if whole:
            return await receive()
        try:
            message = await asyncio.wait_for(receive(), max(until - loop.time(), 0.0))
        except TimeoutError:
            return {"type": "http.disconnect"}
        whole = message["type"] != "http.request" or not message.get("more_body", False)
        return message

    return in_time


async def refuse(scope: Scope, receive: Receive, send: Send, refusal: Refusal) -> None:
    """Answer with nothing but why not."""
    status, words = refusal
    if scope["type"] == "websocket":
        await receive()
        await send({"type": "websocket.close", "code": 1008})
        return
    length = str(len(words.encode())).encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", length), (b"connection", b"close")]
    if status == 405:
        headers.append((b"allow", b"GET, HEAD, POST"))
    headers += _headers(scope, ())
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else words.encode()})
