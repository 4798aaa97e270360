"""How long a connection may stay open that asks for nothing, or that does not take in what it has asked for."""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

ASKS_WITHIN_S = 15.0
TAKES_WITHIN_S = 30.0  # something of what waits for it


class PatientProtocol(H11Protocol):
    """HTTP to one client.

    Closed when a request is not there in time, headers and all, and when of an answer nothing is taken in for a while.
    A slow one may take as long as it needs.
    """

    _patience: asyncio.TimerHandle | None = None
    _taking: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to wait for a request."""
        super().connection_made(transport)
        self._wait()

    def on_response_complete(self) -> None:
        """Begin to wait for the next one."""
        self._wait()
        super().on_response_complete()

    def pause_writing(self) -> None:
        """Begin to look whether what waits is taken in."""
        super().pause_writing()
        self._look()

    def resume_writing(self) -> None:
        """Stop looking: it is taken in."""
        self._stop_looking()
        super().resume_writing()

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop waiting."""
        if self._patience is not None:
            self._patience.cancel()
        self._stop_looking()
        super().connection_lost(exc)

    @property
    def _left(self) -> int:
        """Return how many bytes wait to be taken in."""
        return int(self.transport.get_write_buffer_size())

    def _look(self) -> None:
        self._taking = self.loop.call_later(TAKES_WITHIN_S, self._taken, self._left)

    def _stop_looking(self) -> None:
        if self._taking is not None:
            self._taking.cancel()

    def _taken(self, before: int) -> None:
        """Close it, unless something has been taken in since."""
        if self._left < before:
            self._look()
        else:
            self.transport.abort()

    def _wait(self) -> None:
        if self._patience is not None:
            self._patience.cancel()
        self._patience = self.loop.call_later(ASKS_WITHIN_S, self._enough, self.cycle, self._left)

    def _enough(self, before: Any, left: int) -> None:
        """Close it, unless a request has come to be answered since, or the last answer is still being taken in."""
        if self.cycle is not before or self.transport.get_protocol() is not self:
            return
        if 0 < self._left < left:
            self._wait()
        elif self._left or not self.transport.is_closing():
            self.transport.abort()
