"""Answers computed in a second process while this one is busy with others.

An answer is a cached property of some frozen object. What the second process has not begun when it is
wanted here is computed here; what it could not give is computed here, too, so that an error is raised
where it can be explained.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context
from typing import Any

from lugwright.errors import LugwrightError


class Answers:
    """The answers under way; `gather` puts them into the owner's cache."""

    def __init__(self, owner: object, names: Sequence[str], pool: ProcessPoolExecutor | None) -> None:
        self._owner, self._names = owner, names
        self._waiting: dict[str, Future[tuple[bool, Any]]] = (
            {} if pool is None else {name: pool.submit(_answer, name) for name in names}
        )

    def gather(self) -> None:
        """Wait until the owner has every answer, computing here from the end of the list meanwhile."""
        for name in reversed(self._names):
            future = self._waiting.get(name)
            if future is None or future.cancel():
                getattr(self._owner, name)
        for name, future in self._waiting.items():
            if not future.cancelled():
                self._take(name, future)

    def _take(self, name: str, future: Future[tuple[bool, Any]]) -> None:
        try:
            found, answer = future.result()
        except (BrokenProcessPool, OSError):
            found, answer = False, None
        if found:
            self._owner.__dict__[name] = answer
        else:
            getattr(self._owner, name)


@contextmanager
def answers_beside(owner: object, names: Sequence[str]) -> Iterator[Answers]:
    """Start computing these cached properties of ``owner`` in a second process, if there can be one.

    Parameters
    ----------
    owner : object
        Anything that can be pickled; its caches go along.
    names : sequence of str
        The properties, the longest to compute first.
    """
    pool = _pool(owner)
    try:
        yield Answers(owner, names, pool)
    finally:
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)


def _pool(owner: object) -> ProcessPoolExecutor | None:
    try:
        return ProcessPoolExecutor(1, get_context("spawn"), initializer=_begin, initargs=(owner,))
    except (ImportError, NotImplementedError, OSError):  # no semaphores here
        return None


_owners: list[object] = []  # in the second process: whose answers are asked for


def _begin(owner: object) -> None:
    _owners[:] = [owner]


def _answer(name: str) -> tuple[bool, Any]:
    try:
        return True, getattr(_owners[0], name)
    except LugwrightError:
        return False, None
