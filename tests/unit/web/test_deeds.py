"""Deeds over a real socket: each is carried out once, in order, whatever happens to the worker that carries it out."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from websockets.sync.client import ClientConnection, connect

from lugwright.workflow import open_build

from .served import ANSWERS_WITHIN_S


@contextmanager
def tab(port: int) -> Iterator[ClientConnection]:
    """Open a socket as a tab of the Dunlin does."""
    origin = f"http://127.0.0.1:{port}"
    with connect(f"ws://127.0.0.1:{port}/socket", origin=origin, proxy=None) as socket:  # type: ignore[arg-type]
        socket.send(json.dumps({"t": "hello", "build": "dunlin-5"}))
        yield socket


def deed(cid: str, what: str, copy: str, **args: object) -> str:
    return json.dumps(
        {"t": "deed", "cid": (cid * 32)[:32], "what": what, "build": "dunlin-5", "copy": copy, "args": args}
    )


def done(socket: ClientConnection, count: int) -> list[dict[str, Any]]:
    """Return the next answers to deeds; what else is told is passed over."""
    found = []
    while len(found) < count:
        message = json.loads(socket.recv(timeout=ANSWERS_WITHIN_S))
        found += [message] if message["t"] == "done" else []
    return found


def told(folder: Path, copy: str) -> list[tuple[str, str]]:
    entries = open_build(folder / "dunlin_5.toml").bench_log.entries
    return [(e.kind, e.subject or e.body["text"]) for e in entries if e.copy == copy]


def test_a_deed_that_comes_again_over_any_tab_is_written_once(port: int, folder: Path) -> None:
    note = deed("a", "note", "again", text="sits loose")
    with tab(port) as one, tab(port) as other:
        one.send(note)
        one.send(note)
        other.send(note)
        answers = done(one, 2) + done(other, 1)
    assert [answer["answer"] for answer in answers] == [{"copy": "again", "written": 1}] * 3
    assert told(folder, "again") == [("note", "sits loose")]


def test_deeds_are_carried_out_in_the_order_in_which_they_came(port: int, folder: Path) -> None:
    with tab(port) as socket:
        for number in range(10):
            socket.send(deed(f"{number:x}", "note", "order", text=str(number)))
        assert [answer["cid"][0] for answer in done(socket, 10)] == list("0123456789")
    assert [words for _, words in told(folder, "order")] == list("0123456789")


def test_an_old_deed_that_comes_again_does_not_undo_what_was_done_since(port: int, folder: Path) -> None:
    into = deed("b", "tick", "old", leads=["W6.2"])
    with tab(port) as socket:
        socket.send(into)
        socket.send(deed("c", "tick", "old", leads=["W6.2"], undo=True))
        socket.send(into)
        assert all("answer" in answer for answer in done(socket, 3))
    assert [kind for kind, _ in told(folder, "old")] == ["lead in", "taken out"]


def test_a_worker_that_is_killed_at_its_work_is_replaced_and_nothing_is_done_twice(port: int, folder: Path) -> None:
    with tab(port) as socket:
        for number in range(8):
            socket.send(deed(f"{number}e", "note", "killed", text=str(number)))
            if number == 3:
                for worker in _workers():
                    os.kill(worker, signal.SIGKILL)
        assert all("answer" in answer for answer in done(socket, 8))
    assert [words for _, words in told(folder, "killed")] == list("01234567")


def _workers() -> list[int]:
    """Return the processes that answer for this one."""
    found = []
    for each in Path("/proc/self/task").glob("*/children"):
        for child in each.read_text().split():
            if b"lugwright.web.worker" in Path(f"/proc/{child}/cmdline").read_bytes():
                found.append(int(child))
    return found


def test_a_log_that_another_program_holds_is_waited_for(port: int, folder: Path) -> None:
    with tab(port) as socket:
        socket.send(deed("d", "note", "held", text="before"))
        done(socket, 1)
        with closing(sqlite3.connect(folder / "dunlin_5.log.sqlite", isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            socket.send(deed("e", "note", "held", text="meanwhile"))
            socket.send(json.dumps({"t": "there?"}))
            while json.loads(socket.recv(timeout=ANSWERS_WITHIN_S)) != {"t": "here"}:
                continue  # the server goes on meanwhile
            other.execute("ROLLBACK")
        assert "answer" in done(socket, 1)[0]
    assert [words for _, words in told(folder, "held")] == ["before", "meanwhile"]


@pytest.mark.parametrize("name", ["dunlin_5.toml", "dunlin_5.log.sqlite"])
def test_an_error_that_may_pass_says_so_and_names_no_folder(port: int, folder: Path, name: str) -> None:
    path = folder / name
    with tab(port) as socket:
        socket.send(deed("f", "note", "passing", text="once"))
        done(socket, 1)
        held = path.read_bytes()
        path.unlink()
        if name.endswith("sqlite"):
            path.write_bytes(b"no database" * 999)
        socket.send(deed("0", "note", "passing", text="later"))
        (answer,) = done(socket, 1)
        path.write_bytes(held)
        assert answer["keep"] is True
        assert answer["error"]["what"].startswith(name)
        assert str(folder) not in json.dumps(answer)
        socket.send(deed("0", "note", "passing", text="later"))
        assert "answer" in done(socket, 1)[0]


def test_an_error_that_stays_is_not_to_be_tried_again(port: int) -> None:
    with tab(port) as socket:
        socket.send(deed("1", "tick", "wrong", cards=[999]))
        (answer,) = done(socket, 1)
    assert answer["keep"] is False
    assert answer["error"] == {
        "what": "there is no card 999",
        "found": "31 cards",
        "wanted": "1 to 31",
        "do": "look at the cards: lugwright jobs FILE",
    }
