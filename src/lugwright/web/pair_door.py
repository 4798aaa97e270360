"""The door for devices: what comes in from the network passes only when it shows that it is paired."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from urllib.parse import parse_qs

from starlette.requests import ClientDisconnect, Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from lugwright.errors import PairingError
from lugwright.web.guard import refuse
from lugwright.web.pages.page import rendered
from lugwright.web.pairing import Device, Pairing

MOST_OF_BODY = 200  # bytes
STAYS_S = 30 * 24 * 3600  # in the browser; what it shows is worth nothing once the bench has been started again
_FOR_ALL = (".css", ".woff2", "/icon.svg")  # below /static/: what the page that asks for the code is made of


class PairDoor:
    """An ASGI app in front of another; what comes in at ``home`` passes, everything else only from a paired device."""

    def __init__(self, app: ASGIApp, pairing: Pairing, *, home: str, port: int) -> None:
        self._app, self._pairing, self._home = app, pairing, home
        self._cookie = f"lugwright-{port}"  # cookies do not know ports: two benches must not take each other's

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, ask for the code, or refuse."""
        if scope["type"] not in ("http", "websocket") or scope["server"][0] == self._home:
            await self._app(scope, receive, send)
            return
        device = self._pairing.shown_by(self._tokens(scope))
        if device is None:
            await self._unpaired(scope, receive, send)
        elif scope["path"] == "/pair":
            await RedirectResponse("/", status_code=303)(scope, receive, send)
        elif scope["path"].startswith("/devices"):
            await refuse(scope, receive, send, (403, "only on the machine of the bench"))
        elif scope["type"] == "websocket":
            await self._app(scope, _until_ended(device, receive), _unless_ended(device, send))
        else:
            await self._app(scope, receive, send)

    def _tokens(self, scope: Scope) -> Iterator[str]:
        """Return everything that is shown under the name of our cookie: others of that name may lie beside it."""
        for key, value in scope["headers"]:
            if key == b"cookie":
                for each in value.decode("latin1").split(";"):
                    name, _, content = each.strip().partition("=")
                    if name == self._cookie:
                        yield content

    async def _unpaired(self, scope: Scope, receive: Receive, send: Send) -> None:
        path = scope["path"]
        if scope["type"] == "websocket":
            await refuse(scope, receive, send, (401, "this device is not paired"))
        elif scope["method"] == "POST" and path == "/pair":
            await (await self._taken(Request(scope, receive)))(scope, receive, send)
        elif scope["method"] == "POST":
            await refuse(scope, receive, send, (401, "this device is not paired"))
        elif path.startswith("/static/") and path.endswith(_FOR_ALL):
            await self._app(scope, receive, send)
        else:
            await rendered("pair", {"error": None}, status=401)(scope, receive, send)

    async def _taken(self, request: Request) -> Response:
        """Return what a code that was given leads to."""
        try:
            body = await _short_body(request)
        except ClientDisconnect:
            return Response(status_code=400)
        given = parse_qs(body.decode("latin1")).get("code", [""])[0]
        address = request.client.host if request.client else "an unknown address"
        try:
            token = await self._pairing.pair(
                given, address=address, browser=request.headers.get("user-agent", "")[:120]
            )
        except PairingError as error:
            return rendered("pair", {"error": error}, status=403)
        answer = RedirectResponse("/", status_code=303)
        answer.set_cookie(self._cookie, token, max_age=STAYS_S, path="/", httponly=True, samesite="strict")
        return answer


async def _short_body(request: Request) -> bytes:
    body = b""
    async for piece in request.stream():
        body = (body + piece)[:MOST_OF_BODY]
    return body


def _until_ended(device: Device, receive: Receive) -> Receive:
    """Return a way to hear a device's socket that ends with its pairing."""

    async def heard() -> Message:
        hearing, ended = asyncio.ensure_future(receive()), asyncio.ensure_future(device.ended.wait())
        try:
            await asyncio.wait((hearing, ended), return_when=asyncio.FIRST_COMPLETED)
            if device.ended.is_set():
                return {"type": "websocket.disconnect", "code": 1008}
            return hearing.result()
        finally:
            hearing.cancel()
            ended.cancel()

    return heard


def _unless_ended(device: Device, send: Send) -> Send:
    """Return a way to speak to a device's socket that says nothing once its pairing has ended."""

    async def said(message: Message) -> None:
        if not device.ended.is_set() or message["type"] == "websocket.close":
            await send(message)

    return said
