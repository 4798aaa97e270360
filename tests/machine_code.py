"""The machine code for single columns, for as long as a test wants it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from lugwright.solve import by_machine


@contextmanager
def machine_code() -> Iterator[None]:
    """Solve single columns by machine code, and afterwards as before."""
    by_machine.load()
    try:
        yield
    finally:
        by_machine.unload()
