"""Work done while somebody types."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, suppress
from threading import Event, Thread

AT_ONCE_S = 0.3  # who answers sooner than that has waited for nothing


@contextmanager
def meanwhile(pieces: Iterator[None]) -> Iterator[None]:
    """Do one piece after the other until the block is left; whoever leaves it waits for the one at hand.

    What goes wrong in a piece ends the work: nobody asked for it, and whoever asks for the same is told.
    """
    over = Event()

    def go_on() -> None:
        if over.wait(AT_ONCE_S):
            return
        with suppress(Exception):
            for _ in pieces:
                if over.is_set():
                    return

    thread = Thread(target=go_on, daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()
