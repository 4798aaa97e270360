"""A tab that is closed while something is on its way to it: nobody complains, and it is told nothing more."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any, cast

from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from lugwright.web.shelf import Shelf
from lugwright.web.socket import Tab
from lugwright.web.workshop import Workshop


class Closing:
    """A socket whose other end has just gone."""

    application_state = WebSocketState.CONNECTED

    def __init__(self) -> None:
        self.tried = 0

    async def send_text(self, text: str) -> None:
        self.tried += 1
        raise WebSocketDisconnect(1006)


async def told_twice(socket: Any) -> None:
    tab = Tab(cast(WebSocket, socket), Workshop(Shelf({"amp": Path("amp.toml")})))
    for _ in range(2):
        await tab.say({"t": "progress", "what": "make book", "share": 0.5, "words": "drawing"})


def test_a_closed_tab_is_told_nothing_more() -> None:
    socket = Closing()
    asyncio.run(told_twice(socket))
    assert socket.tried == 1
