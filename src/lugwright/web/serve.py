"""Serving the bench until it is told to stop."""

from __future__ import annotations

import signal
import socket
from collections.abc import Callable, Sequence
from contextlib import suppress
from pathlib import Path

import uvicorn

from lugwright.errors import ServeError
from lugwright.web.app import HOME, bench_app
from lugwright.web.patience import PatientProtocol
from lugwright.web.shelf import shelf_of
from lugwright.web.socket import MOST_LETTERS
from lugwright.web.workshop import Workshop

USUAL_PORT = 8463
MOST_CONNECTIONS = 300


def serve(paths: Sequence[Path], *, port: int = USUAL_PORT, ready: Callable[[str], None]) -> None:
    """Serve some build files, or those of some folders, to this machine until interrupted.

    ``ready`` is told the address once it can be opened. Port 0 takes any that is free.

    Raises
    ------
    FileAccessError
        There is no such file, or no build file in them.
    ServeError
        The port is taken.
    """
    server, listening = bench_server(paths, port=port)
    ready(f"http://{HOME}:{listening[0].getsockname()[1]}/")
    if hasattr(signal, "SIGHUP"):  # its terminal is closed
        signal.signal(signal.SIGHUP, server.handle_exit)
    with suppress(KeyboardInterrupt):  # Ctrl-C is how it is ended
        server.run(sockets=listening)


def bench_server(paths: Sequence[Path], *, port: int) -> tuple[uvicorn.Server, list[socket.socket]]:
    """Return a server of some builds that is not running yet, and what it is to listen at.

    Raises
    ------
    FileAccessError, ServeError
        As `serve` does.
    """
    shelf = shelf_of(paths)
    listening = _listening(HOME, port)
    app = bench_app(Workshop(shelf), port=listening.getsockname()[1])
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, server_header=False, lifespan="on", timeout_graceful_shutdown=3,
        http=PatientProtocol, limit_concurrency=MOST_CONNECTIONS, proxy_headers=False,
        ws="websockets-sansio", ws_max_size=4 * MOST_LETTERS, ws_per_message_deflate=False,
    )  # fmt: skip
    return uvicorn.Server(config), [listening]


def _listening(host: str, port: int) -> socket.socket:
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
        listening.listen(128)
    except OSError as error:
        listening.close()
        raise ServeError(
            what=f"port {port} cannot be used",
            found=error.strerror or type(error).__name__,
            wanted="a port that nothing else on this machine listens at",
            do="lugwright bench FILE --port 0 takes one that is free",
        ) from None
    return listening
