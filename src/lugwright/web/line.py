"""Who waits for a lane: first come, first served, and everybody is told for what."""

from __future__ import annotations

import asyncio
from collections import deque

from lugwright.web.call import Call


class Ended(Exception):
    """A call was ended before its turn came."""


class Line:
    """One call at a time has its turn; the others stand behind it."""

    def __init__(self) -> None:
        self.at_work: Call | None = None
        self._left: Call | None = None  # that nobody waits for any more
        self._waiting: deque[tuple[Call, asyncio.Future[None]]] = deque()

    def __len__(self) -> int:
        """Return how many wait."""
        return len(self._waiting)

    async def turn(self, call: Call) -> None:
        """Return when it is this call's turn.

        Raises
        ------
        Ended
            It was ended while it waited.
        """
        if call.ended:
            raise Ended
        if self.at_work is None:
            self.at_work = call
            return
        turn: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        place = call, turn
        self._waiting.append(place)
        call.ended_by(lambda: None if turn.done() else turn.set_exception(Ended()))
        call.waits(self._words(len(self._waiting) - 1))
        self._make_room()
        try:
            await turn
        except (Ended, asyncio.CancelledError):
            if place in self._waiting:
                self._waiting.remove(place)
                self._tell()
            else:  # its turn had come just then
                self.next()
            raise
        finally:
            call.ended_by(None)
        call.waits("")

    def next(self) -> None:
        """Let the next one have its turn."""
        self.at_work = None
        while self._waiting:
            call, turn = self._waiting.popleft()
            if not turn.done():
                self.at_work = call
                turn.set_result(None)
                break
        self._tell()

    def left(self, call: Call) -> None:
        """Note that nobody waits for this any more: it is ended once something else is waited for."""
        self._left = call
        self._make_room()

    def _make_room(self) -> None:
        """End what nobody waits for, unless the same is asked for again: then it is nearly there."""
        left = self._left
        if left is not None and left is self.at_work and any(call.name != left.name for call, _ in self._waiting):
            left.end()

    def _tell(self) -> None:
        for place, (call, _) in enumerate(self._waiting):
            call.waits(self._words(place))

    def _words(self, place: int) -> str:
        """Return for what the call at a place in the line waits."""
        name = self.at_work.name if self.at_work is not None else ""
        return name if place == 0 else f"{name} and {place} more"
