"""The page on which devices are let in and sent away; only the machine of the bench itself has it."""

from __future__ import annotations

from urllib.parse import parse_qs

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from lugwright.web.pages.page import rendered
from lugwright.web.pages.table import PAGES
from lugwright.web.pairing import MOST_MISSES, Pairing

MOST_OF_BODY = 200  # bytes


def device_routes(pairing: Pairing, address: str) -> list[BaseRoute]:
    """Return the routes of that page. ``address`` is what is to be typed on a device."""

    async def shown(request: Request) -> Response:
        return _shown(pairing, address)

    async def code(request: Request) -> Response:
        pairing.open_code()
        return RedirectResponse("/devices", status_code=303)

    async def end(request: Request) -> Response:
        body = b""
        async for piece in request.stream():
            body = (body + piece)[:MOST_OF_BODY]
        number = parse_qs(body.decode("latin1")).get("device", [""])[0]
        if number.isascii() and number.isdecimal() and len(number) < 10:
            pairing.end(int(number))
        return RedirectResponse("/devices", status_code=303)

    return [
        Route("/devices", shown),
        Route("/devices/code", code, methods=["POST"]),
        Route("/devices/end", end, methods=["POST"]),
    ]


def _shown(pairing: Pairing, address: str) -> Response:
    devices = [
        {"number": each.number, "address": each.address, "browser": each.browser,
         "since": f"{each.since:%Y-%m-%d %H:%M} UTC", "last": f"{each.last:%Y-%m-%d %H:%M} UTC"}
        for each in pairing.devices
    ]  # fmt: skip
    told = {
        "address": address, "code": f"{pairing.code[:4]} {pairing.code[4:]}".strip(), "locked": pairing.locked,
        "misses": pairing.misses, "most": MOST_MISSES, "devices": devices,
    }  # fmt: skip
    return rendered("devices", {**told, "pages": PAGES, "page": None, "build": "", "copy": "", "outline": None})
