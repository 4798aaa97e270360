"""Worker processes as the server sees them: each lane answers one thing after the other."""

from __future__ import annotations

import asyncio
import contextlib
import itertools
import os
import signal
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lugwright.web import no_answer
from lugwright.web.asked.asked import LOG, LONG, METER, PAGES
from lugwright.web.call import Call
from lugwright.web.frames import framed, next_frame
from lugwright.web.line import Ended, Line
from lugwright.web.shares import Shares

_COMMAND = "from lugwright.web.worker import work; work()"
# A worker solves the same circuit again and again. Where the C library hands memory back after each step and asks the
# system for it again, one step in four goes into empty pages: here it keeps it. Where it knows no such words, nothing.
_KEEPS_MEMORY = {"MALLOC_MMAP_THRESHOLD_": str(32 << 20), "MALLOC_TRIM_THRESHOLD_": str(256 << 20)}
_TRIES = 2  # of a question whose worker died
MOST_QUEUED = 256  # of one lane, by all tabs together
# A worker that takes longer is ended: others wait behind it.
LIMITS_S = {PAGES: 180.0, LOG: 600.0, METER: 600.0, LONG: 3600.0}
METERS = 2  # workers of that lane: charts of one build are worked out while readings of another come in


class Refused(Exception):
    """What was asked cannot be answered; ``error`` says why in four lines.

    ``keep``: try the same again later. ``stopped``: who asked wants no answer any more.
    """

    def __init__(self, error: dict[str, str], *, keep: bool = False, stopped: bool = False) -> None:
        super().__init__(error["what"])
        self.error, self.keep, self.stopped = error, keep, stopped


def surroundings() -> dict[str, str]:
    """Return the environment of a worker; what the server's own says of its memory stands."""
    return {**_KEEPS_MEMORY, **os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}


class _Gone(Exception):
    """The worker died."""


@dataclass(frozen=True)
class How:
    """How something can be asked: in which lane, whether it writes, and what it is called by those who wait for it."""

    lane: str
    writes: bool
    words: str = ""


@dataclass(frozen=True)
class _Running:
    """A worker: its process, the pipe it is asked through, what it can be asked, the task that hears its answers."""

    process: asyncio.subprocess.Process
    questions: asyncio.StreamWriter
    told: asyncio.Future[dict[str, How]]
    ear: asyncio.Task[None]


class Lane:
    """One worker process, started when it is first asked something, and again when it died or took too long.

    It is told one question at a time: one that nobody waits for any more is never begun.
    """

    def __init__(self, name: str, limit_s: float) -> None:
        self.name = name
        self._limit_s = limit_s
        self._worker: _Running | None = None
        self._numbers = itertools.count(1)
        self._waiting: dict[int, tuple[asyncio.Future[Any], Call]] = {}
        self._starting, self._line = asyncio.Lock(), Line()
        self._queued = 0
        self._stopped = False

    async def ask(self, question: dict[str, Any], call: Call) -> Any:
        """Return the answer.

        Raises
        ------
        Refused
            There is none; the error in it says why.
        """
        if self._queued >= MOST_QUEUED:
            raise Refused(no_answer.too_many(question["what"], MOST_QUEUED), keep=True)
        self._queued += 1
        try:
            return await self._tried(question, call)
        except Ended:
            raise Refused(no_answer.stopped(question["what"]), stopped=True) from None
        finally:
            self._queued -= 1

    async def _tried(self, question: dict[str, Any], call: Call) -> Any:
        for _ in range(_TRIES):
            await self._line.turn(call)
            asking = asyncio.create_task(self._ask(question, call))
            asking.add_done_callback(self._next)
            call.ended_by(lambda: self._cut_short(call))
            try:
                return await asyncio.shield(asking)
            except asyncio.CancelledError:  # who asked is gone; the worker is busy with it all the same
                if self.name == LONG:
                    self._line.left(call)
                raise
            except _Gone:
                if call.ended or self._stopped:
                    raise Ended from None
        raise Refused(no_answer.died_twice(question["what"]), keep=True)

    def _cut_short(self, call: Call) -> None:
        """End the worker if it is at this; the next question finds a new one."""
        if self._worker is not None and self._line.at_work is call:
            _kill(self._worker.process)

    def _next(self, asked: asyncio.Task[Any]) -> None:
        """Let the next question have its turn."""
        self._line.next()
        if not asked.cancelled():
            asked.exception()  # whoever asked may be gone: then nobody wants to know of it

    async def asked(self, what: str) -> dict[str, How]:
        """Return what its worker can be asked. That it is told, and not imported here, keeps the server small.

        Raises
        ------
        Refused
            It cannot be started.
        """
        for _ in range(_TRIES):
            with contextlib.suppress(_Gone):
                return await asyncio.shield((await self.start()).told)
        raise Refused(no_answer.died_twice(what), keep=True)

    async def start(self) -> _Running:
        """Start the worker, so that its imports are behind it when it is asked something."""
        async with self._starting:
            if self._stopped:
                raise _Gone
            if self._worker is None or self._worker.process.returncode is not None:
                self._worker = await self._started()
            if self._stopped:  # meanwhile
                _kill(self._worker.process)
                raise _Gone
            return self._worker

    async def stop(self) -> None:
        """End the worker, whatever it is doing; the log survives that."""
        self._stopped = True
        await self._end()

    async def _end(self) -> None:
        if self._worker is not None:
            _kill(self._worker.process)
            await asyncio.gather(self._worker.ear, return_exceptions=True)

    async def _started(self) -> _Running:
        process = await asyncio.create_subprocess_exec(
            sys.executable, "-c", _COMMAND, stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
            env=surroundings(), start_new_session=os.name == "posix",
        )  # fmt: skip
        if process.stdin is None or process.stdout is None:
            raise _Gone
        told: asyncio.Future[dict[str, How]] = asyncio.get_running_loop().create_future()
        ear = asyncio.create_task(self._listen(process, process.stdout, told))
        return _Running(process, process.stdin, told, ear)

    async def _ask(self, question: dict[str, Any], call: Call) -> Any:
        number = next(self._numbers)
        try:
            content = framed({**question, "number": number})
        except (ValueError, RecursionError):
            raise Refused(no_answer.not_to_be_said(question["what"])) from None
        worker = await self.start()
        if call.ended:  # while it was started
            raise _Gone
        future: asyncio.Future[Any] = asyncio.get_running_loop().create_future()
        self._waiting[number] = (future, call)
        try:
            worker.questions.write(content)
            return await asyncio.wait_for(_answer(worker.questions, future), self._limit_s)
        except TimeoutError:
            await self._end()
            raise Refused(no_answer.too_long(question["what"], self._limit_s), keep=True) from None
        except (BrokenPipeError, ConnectionResetError):
            await self._end()
            raise _Gone from None
        finally:
            self._waiting.pop(number, None)

    async def _listen(
        self, process: asyncio.subprocess.Process, answers: asyncio.StreamReader, told: asyncio.Future[dict[str, How]]
    ) -> None:
        with contextlib.suppress(EOFError, ConnectionResetError):  # IncompleteReadError is an EOFError
            told.set_result({name: How(**how) for name, how in (await next_frame(answers)).items()})
            while True:
                self._hear(await next_frame(answers))
        _kill(process)  # where it is still there: nothing it says later could be understood
        await process.wait()
        if not told.done():
            told.set_exception(_Gone())
            told.exception()  # whoever asks meanwhile hears of it; if nobody does, that is no defect
        for future, _ in self._waiting.values():
            if not future.done():
                future.set_exception(_Gone())

    def _hear(self, message: dict[str, Any]) -> None:
        future, call = self._waiting.get(message["number"], (None, None))
        if future is None or call is None or future.done():
            return
        if "share" in message:
            call.progress(message["share"], message["words"])
        elif "error" in message:
            future.set_exception(Refused(message["error"], keep=message.get("keep", False)))
        else:
            future.set_result(message["answer"])


async def _answer(questions: asyncio.StreamWriter, future: asyncio.Future[Any]) -> Any:
    """Return the answer to what has just been written to a worker."""
    await questions.drain()
    return await future


def _kill(process: asyncio.subprocess.Process) -> None:
    """End a worker, and what it has started itself."""
    if process.returncode is None:
        with contextlib.suppress(ProcessLookupError):
            if os.name == "posix":
                os.killpg(process.pid, signal.SIGKILL)
            else:
                process.kill()


class Lanes:
    """The four lanes: pages, the log, readings, and what takes long."""

    def __init__(self) -> None:
        self.private = Path()  # for what is made to be taken away; set once there is one
        self._lanes = {name: Lane(name, limit_s) for name, limit_s in LIMITS_S.items()}
        self._meters = [self._lanes[METER], *(Lane(METER, LIMITS_S[METER]) for _ in range(METERS - 1))]
        self._shares = Shares(METERS)

    async def ask(
        self, what: str, path: Path, copy: str, args: Any, *, command: str = "", of: str = "", call: Call | None = None
    ) -> Any:
        """Return the answer to something in the table `ASKED`; ``of`` is the build as those are told who wait.

        Raises
        ------
        Refused
            There is none; the error in it says why.
        """
        table = await self._lanes[PAGES].asked(what)
        if what not in table:
            raise Refused(no_answer.no_such(what, table))
        call = call or Call()
        call.name = " of ".join(filter(None, (table[what].words or what, of)))
        question = {"what": what, "path": str(path), "copy": copy, "args": args, "command": command}
        question["private"] = str(self.private)
        return await self._lane(table[what], (path, copy)).ask(question, call)

    def _lane(self, how: How, of: tuple[Path, str]) -> Lane:
        """Return the lane in which something is asked of a build and a copy."""
        return self._meters[self._shares.place(of, deed=how.writes)] if how.lane == METER else self._lanes[how.lane]

    async def how(self, what: str) -> How | None:
        """Return how something is asked; None if there is no such thing.

        Raises
        ------
        Refused
            No worker can be started.
        """
        return (await self._lanes[PAGES].asked(what)).get(what)

    async def warm(self) -> None:
        """Start the workers that every page needs, pages first."""
        with contextlib.suppress(Refused, _Gone):  # who asks them something is told
            await self._lanes[PAGES].asked("the first page")
            await self._lanes[LOG].start()

    async def stop(self) -> None:
        """End all workers."""
        await asyncio.gather(*(lane.stop() for lane in {*self._lanes.values(), *self._meters}))
