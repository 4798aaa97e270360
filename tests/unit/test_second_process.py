"""Answers from a second process are the answers this one would have found."""

from __future__ import annotations

import gc
import io
import os
import pickle
import time
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import pytest

from lugwright import second_process
from lugwright.errors import LugwrightError
from lugwright.second_process import answers_beside


@dataclass(frozen=True, eq=False)
class Owner:
    start: int

    @cached_property
    def doubled(self) -> int:
        return 2 * self.start

    @cached_property
    def where(self) -> int:
        return os.getpid()

    @cached_property
    def tidies(self) -> bool:
        return gc.isenabled()

    @cached_property
    def broken(self) -> int:
        raise LugwrightError(what="no answer", found="a fault", wanted="none", do="mend it")

    @cached_property
    def killed(self) -> int:
        if os.getpid() != self.start:
            os._exit(3)
        return 7

    @cached_property
    def asleep(self) -> int:
        if os.getpid() != self.start:
            time.sleep(60.0)
        return 9


def test_an_answer_is_found_elsewhere_and_kept_here() -> None:
    owner = Owner(21)
    with answers_beside(owner, ("where", "doubled")) as answers:
        answers.gather()
    assert owner.__dict__ == {"start": 21, "where": owner.where, "doubled": 42}
    assert owner.where != os.getpid()


@dataclass(frozen=True, eq=False)
class Waiting:
    """Its last answer is found only when somebody has left a sign, at the latest after a minute."""

    sign: Path

    @cached_property
    def first(self) -> int:
        return 1

    @cached_property
    def last(self) -> int:
        until = time.monotonic() + 60.0
        while not self.sign.exists() and time.monotonic() < until:
            time.sleep(0.01)
        return 2


def test_what_has_come_is_made_use_of_while_another_answer_is_waited_for(tmp_path: Path) -> None:
    owner, used = Waiting(tmp_path / "used"), list[tuple[str, bool]]()

    def use(name: str) -> None:
        used.append((name, owner.sign.exists()))
        owner.sign.touch()

    with answers_beside(owner, ("first", "last")) as answers:
        until = time.monotonic() + 60.0
        while not answers._told and time.monotonic() < until:
            time.sleep(0.01)
        answers.gather(use)
    assert used == [("first", False), ("last", True)]
    assert (owner.first, owner.last) == (1, 2)


def test_what_was_found_here_meanwhile_is_neither_waited_for_nor_replaced() -> None:
    owner = Owner(1)
    with answers_beside(owner, ("where",)) as answers:
        here = owner.where
        answers.gather()
    assert owner.where == here == os.getpid()


def test_once_everything_is_here_the_second_process_computes_nothing_more() -> None:
    owner = Owner(os.getpid())
    with second_process.second_process() as helper:
        assert helper is not None
        with answers_beside(owner, ("asleep",), helper) as answers:
            assert owner.asleep == 9
            answers.gather()
            assert helper.wait(timeout=10.0) != 0


def test_a_second_process_calls_what_it_is_told_to_while_it_waits() -> None:
    assert gc.isenabled()
    owner = Owner(1)
    with second_process.second_process("gc:disable") as helper:
        assert helper is not None
        with answers_beside(owner, ("tidies",), helper) as answers:
            answers.gather()
    assert owner.__dict__["tidies"] is False


def test_what_fails_there_is_raised_here_in_its_own_words() -> None:
    with answers_beside(Owner(1), ("broken",)) as answers, pytest.raises(LugwrightError, match="no answer"):
        answers.gather()


def test_a_second_process_that_dies_costs_nothing_but_time() -> None:
    owner = Owner(os.getpid())
    with answers_beside(owner, ("killed",)) as answers:
        answers.gather()
    assert owner.killed == 7


def test_where_no_second_process_can_be_had_everything_is_computed_here(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError("no process")

    monkeypatch.setattr(second_process.subprocess, "Popen", refuse)
    owner = Owner(4)
    with answers_beside(owner, ("where", "doubled")) as answers:
        answers.gather()
    assert (owner.where, owner.doubled) == (os.getpid(), 8)


def test_a_helper_started_early_has_its_modules_when_it_is_asked() -> None:
    owner = Owner(5)
    with second_process.second_process("lugwright.quantities") as helper:
        assert helper is not None
        with answers_beside(owner, ("where", "doubled"), helper) as answers:
            answers.gather()
        assert owner.where == helper.pid
    assert helper.poll() is not None


def test_a_helper_that_is_never_asked_is_ended() -> None:
    with second_process.second_process() as helper:
        assert helper is not None
        assert helper.poll() is None
    assert helper.poll() is not None


class Asked:
    """Answers to be given one after the other; remembers how many were asked for, in the process that gives them."""

    given = 0

    def __getattr__(self, name: str) -> int:
        if not name.startswith("answer"):
            raise AttributeError(name)
        Asked.given += 1
        return Asked.given


class Deaf(io.BytesIO):
    """A pipe at whose other end nobody listens any more."""

    def write(self, _: object) -> int:
        raise BrokenPipeError


@pytest.fixture
def tidying() -> Iterator[None]:
    """Leave this process's own tidying as it was: a second process has it seldom."""
    usual = gc.get_threshold()
    yield
    gc.set_threshold(*usual)
    gc.unfreeze()


@pytest.mark.usefixtures("tidying")
def test_a_second_process_to_which_nobody_listens_any_more_computes_no_further() -> None:
    Asked.given = 0
    question = io.BytesIO(pickle.dumps((Asked(), ("answer a", "answer b", "answer c", "answer d"))))
    with pytest.raises(BrokenPipeError):
        second_process.serve((), question, Deaf())
    assert Asked.given == 2


@pytest.mark.usefixtures("tidying")
def test_a_second_process_sends_every_answer_in_its_order() -> None:
    Asked.given, heard = 0, io.BytesIO()
    second_process.serve((), io.BytesIO(pickle.dumps((Asked(), ("answer a", "answer b", "answer c")))), heard)
    heard.seek(0)
    assert [pickle.load(heard) for _ in range(3)] == [(True, 1), (True, 2), (True, 3)]
