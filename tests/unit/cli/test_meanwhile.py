"""What is done while somebody types, and that it stops when the answer is there."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count
from threading import Event, active_count

import pytest

from lugwright.cli import meanwhile as module
from lugwright.cli.meanwhile import meanwhile


def test_work_goes_on_until_the_answer_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "AT_ONCE_S", 0.0)
    done: list[int] = []
    second, before = Event(), active_count()

    def pieces() -> Iterator[None]:
        for k in count():
            done.append(k)
            if k == 1:
                second.set()
            yield

    with meanwhile(pieces()):
        assert second.wait(10.0)
    assert done == list(range(len(done)))
    assert active_count() <= before, "nothing goes on behind the answer"


def test_who_answers_at_once_waits_for_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "AT_ONCE_S", 10.0)
    done: list[int] = []

    def pieces() -> Iterator[None]:
        done.append(0)
        yield

    with meanwhile(pieces()):
        pass
    assert done == []


def test_an_answer_that_is_no_answer_ends_it_too(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "AT_ONCE_S", 10.0)
    with pytest.raises(KeyboardInterrupt), meanwhile(iter([None])):
        raise KeyboardInterrupt
