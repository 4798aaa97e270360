"""Answers computed in a second process while this one is busy with others.

An answer is a cached property of some frozen object. The second process works through the list from its
beginning, this one, once it asks for the answers, from its end. What the second process cannot give is
computed here, so that an error is raised where it can be explained. It is a plain Python of its own, fed
through a pipe: nothing of the program that called us is run again in it. Started before it has anything to
answer, it imports what it will need meanwhile.
"""

from __future__ import annotations

import gc
import os
import pickle
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from importlib import import_module
from threading import Condition, Thread
from typing import IO, TYPE_CHECKING, Any

from lugwright.errors import LugwrightError

if TYPE_CHECKING:
    from concurrent.futures import Future

_COMMAND = "import sys; from lugwright.second_process import serve; serve(sys.argv[1:])"
_SELDOM = 50_000  # objects made between two looks for rings of dead ones: we leave hardly any
_PROTOCOL = pickle.HIGHEST_PROTOCOL
Helper = subprocess.Popen[bytes]


class Answers:
    """The answers under way; `gather` puts them into the owner's cache."""

    def __init__(self, owner: object, names: Sequence[str], child: Helper | None) -> None:
        self._owner, self._names, self._child = owner, tuple(names), child
        self._told: dict[str, tuple[bool, Any]] = {}
        self._listening = child is not None
        self._news = Condition()
        if child is not None:
            # before anyone computes more into its caches
            self._question = pickle.dumps((owner, self._names), _PROTOCOL)
            self._ear = Thread(target=self._converse, args=(child,), daemon=True)
            self._ear.start()

    def gather(self, then: Callable[[str], object] | None = None) -> None:
        """Wait until the owner has every answer, computing here from the end of the list; end the second process.

        ``then`` is called once with each name whose answer is there: with those that have come while another is
        waited for.
        """
        left = list(self._names)
        while left:
            name = left.pop()
            if name not in self._owner.__dict__ and self._is_under_way(len(left)):
                while left:  # all before it have come
                    self._take(left.pop(0), then)
                self._wait_for(name)
            self._take(name, then)
        self._dismiss()

    def _take(self, name: str, then: Callable[[str], object] | None) -> None:
        """Put an answer where the owner has it, computed here where the second process has none."""
        found, answer = self._told.get(name, (False, None))
        if found:
            self._owner.__dict__.setdefault(name, answer)
        else:
            getattr(self._owner, name)
        if then is not None:
            then(name)

    def close(self) -> None:
        """End the second process, finished or not."""
        if self._child is not None:
            self._dismiss()
            self._ear.join()
            _end(self._child)

    def _dismiss(self) -> None:
        """Let the second process compute nothing that has been computed here meanwhile."""
        if self._child is not None:
            self._child.kill()

    def _is_under_way(self, position: int) -> bool:
        """Return whether the second process has come to that answer, or has it."""
        with self._news:
            return self._listening and len(self._told) >= position

    def _wait_for(self, name: str) -> None:
        with self._news:
            self._news.wait_for(lambda: name in self._told or not self._listening)

    def _converse(self, child: Helper) -> None:
        with suppress(OSError, EOFError, pickle.UnpicklingError):
            if child.stdin and child.stdout:
                child.stdin.write(self._question)
                child.stdin.close()
                for name in self._names:
                    told = pickle.load(child.stdout)
                    with self._news:
                        self._told[name] = told
                        self._news.notify_all()
        with self._news:
            self._listening = False
            self._news.notify_all()


@contextmanager
def second_process(*modules: str) -> Iterator[Helper | None]:
    """Start a second process that imports these modules while it waits to be asked; None if there can be none.

    After a colon stands what is then called there.
    """
    child = _started(modules)
    try:
        yield child
    finally:
        if child is not None:
            _end(child)


@contextmanager
def answers_beside(owner: object, names: Sequence[str], helper: Helper | None = None) -> Iterator[Answers]:
    """Start computing these cached properties of ``owner`` in a second process, if there can be one.

    Parameters
    ----------
    owner : object
        Anything that can be pickled; its caches go along.
    names : sequence of str
        The properties, the longest to compute first.
    helper : Helper, optional
        A second process that waits to be asked; without it one is started.
    """
    answers = Answers(owner, names, helper or _started())
    try:
        yield answers
    finally:
        answers.close()


def _started(modules: Sequence[str] = ()) -> Helper | None:
    if not sys.executable:
        return None
    paths = os.pathsep.join(path for path in sys.path if path)
    try:
        return subprocess.Popen(
            [sys.executable, "-c", _COMMAND, *modules],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": paths},
        )
    except OSError:
        return None


def _end(child: Helper) -> None:
    child.kill()
    child.wait()
    for stream in (child.stdin, child.stdout):
        if stream is not None:
            with suppress(OSError):
                stream.close()


def serve(modules: Sequence[str], source: IO[bytes] | None = None, answers: IO[bytes] | None = None) -> None:
    """Read an owner and names from the pipe and answer one after the other: the second process's whole life."""
    from concurrent.futures import ThreadPoolExecutor

    gc.set_threshold(_SELDOM)
    for each in modules:
        module, _, ready = each.partition(":")
        getattr(import_module(module), ready)() if ready else import_module(module)
    gc.freeze()  # nothing imported dies
    stream = answers or sys.stdout.buffer
    owner, names = pickle.load(source or sys.stdin.buffer)
    with ThreadPoolExecutor(1) as sender:  # who listens is busy, too, and takes little at a time
        sent: Future[None] | None = None
        for name in names:
            told = pickle.dumps(_answer(owner, name), _PROTOCOL)
            if sent is not None:
                sent.result()  # where nobody listens any more it ends here
            sent = sender.submit(_send, told, stream)


def _send(told: bytes, stream: IO[bytes]) -> None:
    stream.write(told)
    stream.flush()


def _answer(owner: object, name: str) -> tuple[bool, Any]:
    try:
        return True, getattr(owner, name)
    except LugwrightError:
        return False, None
