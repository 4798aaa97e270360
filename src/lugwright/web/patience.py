"""How long a connection may stay open that asks for nothing."""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

ASKS_WITHIN_S = 15.0


class PatientProtocol(H11Protocol):
    """HTTP to one client; closed when a request is not there in time, headers and all."""

    _patience: asyncio.TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Begin to wait for a request."""
        super().connection_made(transport)
        self._wait()

    def on_response_complete(self) -> None:
        """Begin to wait for the next one."""
        self._wait()
        super().on_response_complete()

    def connection_lost(self, exc: Exception | None) -> None:
        """Stop waiting."""
        if self._patience is not None:
            self._patience.cancel()
        super().connection_lost(exc)

    def _wait(self) -> None:
        if self._patience is not None:
            self._patience.cancel()
        before = self.cycle
        self._patience = self.loop.call_later(ASKS_WITHIN_S, self._enough, before)

    def _enough(self, before: Any) -> None:
        """Close it, unless a request has come to be answered since."""
        if self.cycle is before and self.transport.get_protocol() is self and not self.transport.is_closing():
            self.transport.abort()
