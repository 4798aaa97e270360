"""A worker that nobody asks goes on with what will be asked next, and lets whoever asks in after a piece of it."""

from __future__ import annotations

import logging
import queue
from collections.abc import Iterator
from typing import Any

import pytest

from lugwright.web.worker import Waiting, meanwhile


def test_who_asks_is_answered_after_the_piece_at_hand() -> None:
    waiting: Waiting = queue.SimpleQueue()
    done: list[int] = []

    def pieces() -> Iterator[None]:
        for k in range(5):
            done.append(k)
            if k == 2:
                waiting.put({"what": "work"})
            yield

    assert meanwhile(waiting, pieces()) == {"what": "work"}
    assert done == [0, 1, 2]


def test_the_end_of_the_server_ends_it_too() -> None:
    waiting: Waiting = queue.SimpleQueue()
    waiting.put(None)
    assert meanwhile(waiting, iter([None, None])) is None


def test_what_goes_wrong_unasked_is_noted_and_nobody_hears_of_it(caplog: pytest.LogCaptureFixture) -> None:
    waiting: Waiting = queue.SimpleQueue()

    def pieces() -> Iterator[None]:
        waiting.put({"what": "work"})
        raise ValueError("no such thing")
        yield

    with caplog.at_level(logging.ERROR):
        found: Any = meanwhile(waiting, pieces())
    assert found == {"what": "work"}
    assert caplog.messages == ["meanwhile: ValueError: no such thing"]
