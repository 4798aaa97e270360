"""What one server holds: the shelf, the workers, and who looks at what."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from lugwright.web.call import Call
from lugwright.web.errands import Errands
from lugwright.web.lanes import Lanes, Refused
from lugwright.web.rooms import Rooms
from lugwright.web.shelf import Shelf


class Workshop:
    """Everything that pages and sockets share."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self.lanes, self.errands = Lanes(), Errands()
        self._titles: dict[str, str] = {}
        self.rooms = Rooms(shelf)

    async def ask(
        self, what: str, build: str, copy: str, args: Any, *, command: str = "", call: Call | None = None
    ) -> Any:
        """Return the answer to something asked of a build on the shelf.

        Raises
        ------
        Refused
            There is no such build, or no answer; the error in it says why.
        """
        path = self.shelf.get(build)
        if path is None:
            raise Refused(
                {
                    "what": "there is no such build on this bench",
                    "found": build,
                    "wanted": "; ".join(self.shelf),
                    "do": "go back to the shelf",
                }
            )
        of = self._titles.get(build, build)
        found = await self.lanes.ask(what, path, copy, args, command=command, of=of, call=call)
        if what == "outline":
            self._titles[build] = found["title"]
        return found

    @asynccontextmanager
    async def at_work(self) -> AsyncIterator[None]:
        """Keep workers ready and files watched while the server runs."""
        watch = asyncio.create_task(self.rooms.watch())
        warm = asyncio.create_task(self.lanes.warm())
        with TemporaryDirectory(prefix="lugwright-bench-", ignore_cleanup_errors=True) as private:
            self.lanes.private = Path(private)
            try:
                yield
            finally:
                for task in (watch, warm):
                    task.cancel()
                    with suppress(asyncio.CancelledError):
                        await task
                await self.lanes.stop()
