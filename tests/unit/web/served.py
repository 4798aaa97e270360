"""A bench served from a thread of the test, and bytes sent to it as no browser would."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from lugwright.web.serve import Bench, bench_of

ANSWERS_WITHIN_S = 60.0


@contextmanager
def running(folder: Path, *, host: str = "", told: list[str] | None = None) -> Iterator[Bench]:
    """Serve the builds of a folder; ``host`` is where devices come in, ``told`` gets what a terminal would show."""
    bench = bench_of([folder], port=0, host=host, tell=(told if told is not None else []).append)
    thread = threading.Thread(target=bench.server.run, kwargs={"sockets": bench.listening})
    thread.start()
    try:
        yield bench
    finally:
        bench.server.should_exit = True
        thread.join(ANSWERS_WITHIN_S)
        assert not thread.is_alive()


@contextmanager
def served(folder: Path) -> Iterator[int]:
    """Serve the builds of a folder to this machine; give the port."""
    with running(folder) as bench:
        yield port_of(bench)


def port_of(bench: Bench) -> int:
    """Return the port of a bench."""
    return int(bench.listening[0].getsockname()[1])


def exchanged(port: int, sent: bytes, *, address: str = "127.0.0.1") -> bytes:
    """Return everything that comes back for some bytes until the server closes the connection."""
    with socket.create_connection((address, port), timeout=ANSWERS_WITHIN_S) as connection:
        with suppress(BrokenPipeError, ConnectionResetError):  # refused meanwhile: the answer is there all the same
            connection.sendall(sent)
        return heard(connection)


def heard(connection: socket.socket) -> bytes:
    """Return what a connection gives until it is closed."""
    found = bytearray()
    with suppress(ConnectionResetError):
        while piece := connection.recv(65536):
            found += piece
    return bytes(found)


def request(port: int, target: str, *headers: str, method: str = "GET", body: bytes = b"", host: str = "") -> bytes:
    """Return a request that asks for the connection to be closed after it."""
    lines = [f"{method} {target} HTTP/1.1", f"Host: {host or f'127.0.0.1:{port}'}", "Connection: close", *headers]
    if body:
        lines.append(f"Content-Length: {len(body)}")
    return "\r\n".join([*lines, "", ""]).encode("latin1") + body


def status_of(answer: bytes) -> int:
    """Return the status of an answer, 0 for none."""
    return int(answer.split(b" ", 2)[1]) if answer.startswith(b"HTTP/1.1 ") else 0


def headers_of(answer: bytes) -> dict[str, str]:
    """Return the headers of an answer."""
    lines = answer.split(b"\r\n\r\n", 1)[0].decode("latin1").split("\r\n")[1:]
    return {name.lower(): value.strip() for name, value in (line.split(":", 1) for line in lines)}
