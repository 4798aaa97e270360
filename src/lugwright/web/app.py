"""The app: routes, and the guard in front of them."""

from __future__ import annotations

from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Mount, Route, WebSocketRoute
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp
from starlette.websockets import WebSocket

from lugwright.web.addresses import address_of
from lugwright.web.devices import device_routes
from lugwright.web.downloads import download_routes
from lugwright.web.guard import FORM, LOOPBACK, PICTURES, Guard
from lugwright.web.lanes import Refused
from lugwright.web.pages.page import Page, build_page, rendered
from lugwright.web.pages.table import PAGES
from lugwright.web.pair_door import PairDoor
from lugwright.web.pairing import Pairing
from lugwright.web.photos import photo_shower, photo_taker
from lugwright.web.socket import Tab
from lugwright.web.workshop import Workshop

_STATIC = Path(__file__).parent / "static"
_PACKED = [Middleware(GZipMiddleware, minimum_size=1000, compresslevel=5)]  # for a tablet at the end of the radio
HOME = "127.0.0.1"  # the address that only this machine reaches
_TAKES = {r"/build/[^/]+/photos": PICTURES, "/pair": FORM, "/devices/(code|end)": FORM}


@dataclass(frozen=True)
class ForDevices:
    """Where devices come in, and which of them may."""

    host: str  # the address of this machine that they use
    pairing: Pairing


def bench_app(workshop: Workshop, *, port: int, for_devices: ForDevices | None = None) -> ASGIApp:
    """Return the app that serves the builds of a workshop at a port: to this machine, and to paired devices."""

    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        async with workshop.at_work():
            yield

    async def tab(socket: WebSocket) -> None:
        await Tab(socket, workshop).live()

    async def shelf(request: Request) -> Response:
        return await _shelf(workshop, with_devices=for_devices is not None and _at_home(request))

    routes: list[BaseRoute] = [
        Route("/", shelf, middleware=_PACKED),
        WebSocketRoute("/socket", tab),
        Mount("/static", StaticFiles(directory=_STATIC), middleware=_PACKED),
        Route("/build/{build}", _first_page),
        Route("/build/{build}/photos", photo_taker(workshop), methods=["POST"]),
        Route("/build/{build}/photos/{file}", photo_shower(workshop)),
        *(Route(f"/build/{{build}}/{page.name}", _shown(workshop, page), middleware=_PACKED) for page in PAGES),
    ]
    routes += download_routes(workshop)
    doors = {HOME: LOOPBACK}
    if for_devices is None:
        return Guard(Starlette(routes=routes, lifespan=lifespan), port=port, doors=doors, takes=_TAKES)
    host, pairing = for_devices.host, for_devices.pairing
    routes += device_routes(pairing, address_of(host, port))
    app = PairDoor(Starlette(routes=routes, lifespan=lifespan), pairing, home=HOME, port=port)
    return Guard(app, port=port, doors={**doors, host: frozenset({host})}, takes=_TAKES)


def _at_home(request: Request) -> bool:
    """Return whether a request comes from this machine, by the address that only it reaches."""
    return bool(request.scope["server"][0] == HOME)


def _shown(workshop: Workshop, page: Page) -> Callable[[Request], Awaitable[Response]]:
    async def shown(request: Request) -> Response:
        return await build_page(request, workshop, page, PAGES)

    return shown


async def _first_page(request: Request) -> Response:
    return RedirectResponse(f"/build/{request.path_params['build']}/{PAGES[0].name}", status_code=303)


async def _shelf(workshop: Workshop, *, with_devices: bool) -> Response:
    outlines = {}
    for build in workshop.shelf:
        try:
            outlines[build] = await workshop.ask("outline", build, "", {})
        except Refused as refused:
            outlines[build] = {"title": build, "error": refused.error}
    outlines = dict(sorted(outlines.items(), key=lambda pair: pair[1].get("last") or "", reverse=True))
    told = {"outlines": outlines, "with_devices": with_devices}
    return rendered("shelf", {**told, "pages": PAGES, "page": None, "build": "", "copy": "", "outline": None})
