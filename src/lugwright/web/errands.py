"""What takes long and does not go with the tab that asked for it: each is done once, however often it is asked for."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from typing import Any

from lugwright.web.call import Call, telling

MOST_KEPT = 64  # that are done: a tab whose link was lost asks again for what it has not heard
Begin = Callable[[Call], Awaitable[Any]]
Listener = Callable[[dict[str, Any]], None]


class Errand:
    """One of them. Whoever listens is told how far it is; it goes on when nobody does."""

    def __init__(self, begin: Begin) -> None:
        self.call = telling(self._tell)
        self._listeners: list[Listener] = []
        self._told: dict[str, Any] | None = None
        self._task = asyncio.ensure_future(begin(self.call))
        self._task.add_done_callback(_heard)

    @property
    def done(self) -> bool:
        """Return whether it has come to an end."""
        return self._task.done()

    async def answer(self, listener: Listener) -> Any:
        """Return its answer, or raise what it has raised; the listener is told how far it is until then."""
        self._listeners.append(listener)
        if self._told is not None and not self.done:
            listener(self._told)
        try:
            return await asyncio.shield(self._task)
        finally:
            self._listeners.remove(listener)

    def _tell(self, message: dict[str, Any]) -> None:
        self._told = message
        for listener in self._listeners:
            listener(message)


class Errands:
    """The errands of a server, by the names that tabs have given them."""

    def __init__(self) -> None:
        self._errands: OrderedDict[str, Errand] = OrderedDict()

    def errand(self, cid: str, begin: Begin) -> Errand:
        """Return the errand of that name; it is begun if it is new."""
        if cid not in self._errands:
            self._errands[cid] = Errand(begin)
            done = [name for name, errand in self._errands.items() if errand.done]
            for name in done[: max(len(done) - MOST_KEPT, 0)]:
                del self._errands[name]
        return self._errands[cid]


def _heard(task: asyncio.Future[Any]) -> None:
    """Take note of how it ended: there may be nobody who waits for it."""
    if not task.cancelled():
        task.exception()
