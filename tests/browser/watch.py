"""What the pages of a test complain of, and whom they ask; anything unforeseen fails the test."""

from __future__ import annotations

import re
from urllib.parse import urlsplit

from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Request, WebError, WebSocket

WITHIN_THE_PAGE = {"about", "blob", "data"}
THIS_MACHINE = {"127.0.0.1", "::1", "localhost"}


class Watch:
    """Listens to every page of its browser contexts and writes down what they complain of.

    The first http address that a page goes to is its own origin and has to be this machine.
    """

    def __init__(self) -> None:
        self.heard: list[str] = []
        self._foreseen: list[str] = []
        self._own: str | None = None

    def listen(self, context: BrowserContext) -> None:
        """Listen to all pages that the context has and will have."""
        context.on("console", self._console)
        context.on("weberror", self._error)
        context.on("request", self._request)
        context.on("page", self._page)

    def expect(self, pattern: str) -> None:
        """Say that a complaint which the pattern is found in has to come, once or more."""
        self._foreseen.append(pattern)

    def left_over(self) -> list[str]:
        """Return the complaints nobody expected, and the expected ones that never came."""
        unforeseen = [text for text in self.heard if not any(re.search(p, text) for p in self._foreseen)]
        missed = [p for p in self._foreseen if not any(re.search(p, text) for text in self.heard)]
        return [*unforeseen, *(f"expected, but never came: {pattern}" for pattern in missed)]

    def _console(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            where = urlsplit(message.location["url"]).path
            self.heard.append(f"console error: {message.text}" + f" ({where})" * bool(where))

    def _error(self, error: WebError) -> None:
        self.heard.append(f"page error: {error.error.message}")

    def _page(self, page: Page) -> None:
        page.on("websocket", self._socket)

    def _socket(self, socket: WebSocket) -> None:
        self._asked(socket.url)

    def _request(self, request: Request) -> None:
        self._asked(request.url)

    def _asked(self, url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme in WITHIN_THE_PAGE:
            return
        if self._own is None and parts.hostname in THIS_MACHINE:
            self._own = parts.netloc
        if parts.netloc != self._own:
            self.heard.append(f"asked another origin: {url}")
