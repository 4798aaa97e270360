"""Who looks at which build, and what they are told when something in it changes."""

from __future__ import annotations

import asyncio
from collections import defaultdict
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from lugwright.web.file_stamp import Stamp, file_stamp
from lugwright.web.shelf import Shelf

LOOK_EVERY_S = 0.4  # at the files of the builds that somebody looks at
Say = Callable[[dict[str, Any]], Awaitable[None]]


class Rooms:
    """Tabs by the build they show. Files are looked at from outside, so the command line is heard too."""

    def __init__(self, shelf: Shelf) -> None:
        self._shelf = shelf
        self._tabs: dict[str, set[Say]] = defaultdict(set)
        self._seen: dict[Path, Stamp] = {}
        self._telling: set[asyncio.Task[None]] = set()

    def enter(self, build: str, say: Say) -> None:
        """Tell this tab from now on what changes in a build."""
        if not self._tabs[build]:
            self._look(build)
        self._tabs[build].add(say)

    def leave(self, say: Say) -> None:
        """Tell this tab nothing more."""
        for tabs in self._tabs.values():
            tabs.discard(say)

    async def look_at(self, build: str) -> None:
        """Look at the files of a build now, and tell every tab that shows it what has changed."""
        for kind in self._look(build):
            await self.tell(build, {"t": "changed", "build": build, "kind": kind})

    async def tell(self, build: str, message: dict[str, Any]) -> None:
        """Say something to every tab that shows a build."""
        # All at once, so that none waits for another; an error is of a tab that has just been closed.
        await asyncio.gather(*(say(message) for say in tuple(self._tabs[build])), return_exceptions=True)

    def tell_soon(self, build: str, message: dict[str, Any]) -> None:
        """Say something to them without waiting until it is said."""
        task = asyncio.create_task(self.tell(build, message))
        self._telling.add(task)
        task.add_done_callback(self._telling.discard)

    async def watch(self) -> None:
        """Look at the files again and again, until cancelled."""
        while True:
            await asyncio.sleep(LOOK_EVERY_S)
            for build in [name for name, tabs in self._tabs.items() if tabs]:
                await self.look_at(build)

    def _look(self, build: str) -> list[str]:
        """Return which of build file, plan and log have changed since they were last looked at."""
        path = self._shelf.files[build]
        log = path.with_suffix(".log.sqlite")
        files = {
            "file": [path],
            "plan": [path.with_suffix(".plan.json")],
            "log": [log, log.with_name(f"{log.name}-wal")],
        }
        changed = {kind: [self._is_new(each) for each in paths] for kind, paths in files.items()}
        return [kind for kind, new in changed.items() if any(new)]

    def _is_new(self, path: Path) -> bool:
        now = file_stamp(path)
        before = self._seen.get(path)
        self._seen[path] = now
        return before is not None and before != now
