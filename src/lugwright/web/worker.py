"""A worker process: it answers one thing after the other, and ends when its server is gone."""

from __future__ import annotations

import logging
import os
import queue
import signal
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import IO, Any

from pydantic import ValidationError

from lugwright.errors import AskError, FileAccessError, LogDamaged, LogUnwritable, LugwrightError
from lugwright.web import no_answer
from lugwright.web.asked.asked import Asked
from lugwright.web.asked.table import ASKED
from lugwright.web.desk import Desk, Openings
from lugwright.web.frames import framed, read_frame

Waiting = queue.SimpleQueue[dict[str, Any] | None]  # None: nothing more will be asked

_LOGGER = logging.getLogger(__name__)
_PASSES = (LogUnwritable, LogDamaged, FileAccessError)  # a deed is kept: the same may well go later
_LAST_WORD_S = 5.0  # for a deed that is under way when the server goes


class Worker:
    """Reads what is asked from one pipe and answers into another."""

    def __init__(self, answers: IO[bytes]) -> None:
        self._answers = answers
        self._openings = Openings()
        self._writing = threading.Lock()

    def introduce(self) -> None:
        """Say what can be asked, and how: the first thing a server hears."""
        told = {n: {"lane": each.lane, "writes": each.writes, "words": each.words} for n, each in ASKED.items()}
        self._say(framed(told))

    def attend(self, question: dict[str, Any]) -> None:
        """Answer one question, then do what is to be done when nobody waits for it any more."""
        self.answer(question)
        ASKED[question["what"]].afterwards()

    def answer(self, question: dict[str, Any]) -> None:
        """Answer one question: with what was asked, or with an error in its four lines."""
        number = question["number"]
        try:
            said = framed({"number": number, "answer": self._found(question)})
        except LugwrightError as error:
            lines = four_lines(error, Path(question["path"]).parent)
            said = framed({"number": number, "error": lines, "keep": isinstance(error, _PASSES)})
        except MemoryError:
            self._openings = Openings()
            said = framed({"number": number, "error": no_answer.too_large(question["what"])})
        except Exception as error:  # noqa: BLE001 a defect of ours: it must reach the page as an error, without a trace
            _LOGGER.error("%s: %s: %s", question["what"], type(error).__name__, error)
            said = framed({"number": number, "error": no_answer.defect(question["what"], error)})
        self._say(said)

    def _found(self, question: dict[str, Any]) -> Any:
        asked = ASKED[question["what"]]
        number = question["number"]

        def tell(share: float, words: str) -> None:
            self._say(framed({"number": number, "share": round(share, 3), "words": words}))

        path, private = Path(question["path"]), Path(question["private"])
        desk = Desk(path, question["copy"], question["command"], self._openings, tell, private)
        return asked.answer(desk, checked_args(asked, question["args"]))

    def _say(self, message: bytes) -> None:
        try:
            with self._writing:
                self._answers.write(message)
                self._answers.flush()
        except BrokenPipeError:  # the server is gone; what a deed has written is written
            os._exit(0)


def checked_args(asked: Asked, args: Any) -> Any:
    """Return the arguments, checked; AskError says which one does not fit."""
    try:
        return asked.args.model_validate(args)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(piece)[:40] for piece in first["loc"]) or "the whole"
        raise AskError(
            what=f"{asked.name} cannot be asked so",
            found=f"{where}: {first['msg'].lower()}",
            wanted=f"what {asked.name} takes: {', '.join(asked.args.model_fields) or 'nothing'}",
            do="reload the page; it may be older than the program",
        ) from None


def four_lines(error: LugwrightError, folder: Path) -> dict[str, str]:
    """Return an error as a page shows it: files by their names, not by where they lie on this machine."""
    lines = {"what": error.what, "found": error.found, "wanted": error.wanted, "do": error.do}
    return {name: words.replace(f"{folder}{os.sep}", "") for name, words in lines.items()}


def _leave() -> None:
    """End at once, and what was started from here with it."""
    if os.name == "posix" and os.getpgrp() == os.getpid():
        os.killpg(0, signal.SIGKILL)
    os._exit(0)


def meanwhile(waiting: Waiting, pieces: Iterator[None]) -> dict[str, Any] | None:
    """Return what is asked next; until then work goes on, a piece at a time, with as long a rest behind each.

    So one that asks waits for a piece at the most, and other workers have the processor half of the time.
    """
    before = time.monotonic()
    try:
        for _ in pieces:
            with suppress(queue.Empty):
                return waiting.get(timeout=time.monotonic() - before)
            before = time.monotonic()
    except Exception as error:  # noqa: BLE001 nobody asked for it; whoever asks for the same is told what is wrong
        _LOGGER.error("meanwhile: %s: %s", type(error).__name__, error)
    return waiting.get()


def work() -> None:
    """Answer until the server is gone: the worker's whole life."""
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever else prints does not get between the answers
    worker = Worker(answers)
    waiting: Waiting = queue.SimpleQueue()
    at_deed = threading.Event()

    def listen() -> None:
        try:
            while True:
                waiting.put(read_frame(sys.stdin.buffer))
        except (EOFError, OSError, ValueError):
            waiting.put(None)
        if at_deed.is_set():
            threading.Event().wait(_LAST_WORD_S)
        _leave()

    threading.Thread(target=listen, daemon=True).start()
    worker.introduce()
    question = waiting.get()
    while question is not None:
        if ASKED[question["what"]].writes:
            at_deed.set()
        worker.attend(question)
        at_deed.clear()
        question = meanwhile(waiting, ASKED[question["what"]].meanwhile())


if __name__ == "__main__":
    work()
