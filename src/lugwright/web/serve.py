"""Serving the bench until it is told to stop."""

from __future__ import annotations

import signal
import socket
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from lugwright.web.addresses import address_of, listening_at
from lugwright.web.app import HOME, ForDevices, bench_app
from lugwright.web.pairing import Pairing
from lugwright.web.patience import PatientProtocol
from lugwright.web.shelf import shelf_of
from lugwright.web.socket import MOST_LETTERS
from lugwright.web.workshop import Workshop

USUAL_PORT = 8463
MOST_CONNECTIONS = 300


@dataclass(frozen=True)
class Bench:
    """A server that is not running yet, and what it is to listen at."""

    server: uvicorn.Server
    listening: list[socket.socket]
    address: str  # on this machine
    device_address: str  # on a tablet; "" where none can come in
    pairing: Pairing | None


def serve(paths: Sequence[Path], *, port: int = USUAL_PORT, host: str = "", ready: Callable[[Bench], None],
          tell: Callable[[str], None]) -> None:  # fmt: skip
    """Serve some build files, or those of some folders, until interrupted.

    Parameters
    ----------
    paths : sequence of Path
        Build files and folders.
    port : int
        0 takes any that is free. [-]
    host : str
        The address of this machine that paired devices may use; "" serves this machine alone.
    ready : callable
        Is told the addresses once they can be opened.
    tell : callable
        Is told who is paired, and of wrong codes.

    Raises
    ------
    FileAccessError
        There is no such file, or no build file in them.
    ServeError
        The port or the address cannot be used.
    """
    bench = bench_of(paths, port=port, host=host, tell=tell)
    ready(bench)
    if hasattr(signal, "SIGHUP"):  # its terminal is closed
        signal.signal(signal.SIGHUP, bench.server.handle_exit)
    with suppress(KeyboardInterrupt):  # Ctrl-C is how it is ended
        bench.server.run(sockets=bench.listening)


def bench_of(paths: Sequence[Path], *, port: int, host: str, tell: Callable[[str], None]) -> Bench:
    """Return what `serve` runs.

    Raises
    ------
    FileAccessError, ServeError
        As `serve` does.
    """
    shelf = shelf_of(paths)
    listening = [listening_at(HOME, port)]
    bound = listening[0].getsockname()[1]
    pairing = None
    if host:
        listening.append(listening_at(host, bound))
        pairing = Pairing(tell)
    for_devices = ForDevices(host, pairing) if pairing else None
    app = bench_app(Workshop(shelf), port=bound, for_devices=for_devices)
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, lifespan="on", timeout_graceful_shutdown=3,
        http=PatientProtocol, limit_concurrency=MOST_CONNECTIONS, proxy_headers=False,
        ws="websockets-sansio", ws_max_size=4 * MOST_LETTERS, ws_per_message_deflate=False,
    )  # fmt: skip
    there = address_of(host, bound) if host else ""
    return Bench(uvicorn.Server(config), listening, address_of(HOME, bound), there, pairing)
