"""What a tab is told that asks what there is not, asks the wrong way round, asks too much, or takes nothing in."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Any

import pytest
from starlette.websockets import WebSocket, WebSocketState

from lugwright.web import socket as socket_module
from lugwright.web.lanes import How, Refused
from lugwright.web.no_answer import no_such
from lugwright.web.rooms import Rooms
from lugwright.web.shelf import Shelf
from lugwright.web.socket import MOST_AT_ONCE, Tab
from lugwright.web.workshop import Workshop


class Socket:
    """A tab's end of a socket: what it sends is heard in order, what it is told is kept, unless it is deaf."""

    application_state = WebSocketState.CONNECTED

    def __init__(self, *sent: dict[str, Any], deaf: bool = False) -> None:
        self._sent, self._deaf = [json.dumps(each) for each in sent], deaf
        self.told: list[dict[str, Any]] = []
        self.empty = asyncio.Event()

    async def accept(self) -> None:
        """Open."""

    async def receive_text(self) -> str:
        if self._sent:
            return self._sent.pop(0)
        self.empty.set()
        return await asyncio.Future()

    async def send_text(self, text: str) -> None:
        if self._deaf:
            await asyncio.Future()
        self.told.append(json.loads(text))


class Answers:
    """Lanes that know one question and one deed, and answer when they are let."""

    def __init__(self) -> None:
        self.free = asyncio.Event()

    async def writes(self, what: str) -> bool | None:
        return {"look": False, "tick": True}.get(what)

    async def ask(self, what: str, path: Path, copy: str, args: Any, **how: Any) -> Any:
        await self.free.wait()
        return args


def shop() -> Any:
    workshop = Workshop(Shelf({"amp": Path("/nowhere/amp.toml"), "other": Path("/nowhere/other.toml")}))
    workshop.lanes = Answers()  # type: ignore[assignment]
    return workshop


async def told(*sent: dict[str, Any], count: int, wait: bool = False) -> list[dict[str, Any]]:
    socket, workshop = Socket(*sent), shop()
    living = asyncio.create_task(Tab(socket, workshop).live())  # type: ignore[arg-type]
    await socket.empty.wait()
    if not wait:
        workshop.lanes.free.set()
    async with asyncio.timeout(20):
        while len(socket.told) < count:
            await asyncio.sleep(0)
    living.cancel()
    await asyncio.gather(living, return_exceptions=True)
    return socket.told


def lines(answer: dict[str, Any]) -> tuple[str, ...]:
    return tuple(answer["error"][name] for name in ("what", "found", "wanted", "do"))


ASK: dict[str, Any] = {"t": "ask", "id": 7, "what": "look", "build": "amp"}
DEED: dict[str, Any] = {"t": "deed", "cid": "0" * 32, "what": "tick", "build": "amp"}


def test_a_build_that_is_not_there_is_named_and_so_are_those_that_are() -> None:
    (answer,) = asyncio.run(told({**ASK, "build": "none"}, count=1))
    assert lines(answer) == (
        "there is no such build on this bench", "none", "amp; other", "go back to the shelf",
    )  # fmt: skip


@pytest.mark.parametrize("sent", [{**ASK, "what": "tick"}, {**DEED, "what": "look"}])
def test_a_question_is_no_deed_and_a_deed_no_question(sent: dict[str, Any]) -> None:
    (answer,) = asyncio.run(told(sent, count=1))
    assert lines(answer) == (
        "a question was sent as a deed, or a deed as a question", "the other way round",
        "what is written as a deed, what is not as a question", "reload the page; it may be older than the program",
    )  # fmt: skip
    assert not answer["keep"]


def test_more_than_so_many_questions_of_one_tab_are_sent_back() -> None:
    asked = [{**ASK, "id": number} for number in range(MOST_AT_ONCE + 1)]
    (answer,) = asyncio.run(told(*asked, count=1, wait=True))
    assert (answer["id"], answer["keep"]) == (MOST_AT_ONCE, True)
    assert lines(answer) == ("too much is asked at once", "64 things not answered yet", "fewer", "wait a moment")


def test_answers_in_odd_letters_are_said() -> None:
    odd = {**ASK, "args": {"x": "\U0001f50cΩ"}}
    assert asyncio.run(told(odd, count=1)) == [{"t": "answer", "id": 7, "what": "look", "answer": {"x": "\U0001f50cΩ"}}]


def test_a_tab_that_takes_nothing_in_keeps_no_other_waiting(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(socket_module, "LISTENS_WITHIN_S", 0.2)

    async def tell() -> tuple[list[dict[str, Any]], int]:
        workshop = shop()
        rooms: Rooms = workshop.rooms
        deaf, other = Socket(deaf=True), Socket()
        tabs = [Tab(each, workshop) for each in (deaf, other)]  # type: ignore[arg-type]
        for tab in tabs:
            rooms.enter("amp", tab.say)
        telling = asyncio.create_task(rooms.tell("amp", {"t": "changed"}))
        await asyncio.sleep(0.05)
        at_once = list(other.told)
        await telling
        return at_once, len(rooms._tabs["amp"])

    assert asyncio.run(tell()) == ([{"t": "changed"}], 1)


def test_a_tab_that_an_answer_finds_closed_is_left_without_a_complaint() -> None:
    coming = [{"type": "websocket.connect"}, {"type": "websocket.receive", "text": "nothing of ours"}]

    async def receive() -> Any:
        return coming.pop(0)

    async def send(message: Any) -> None:
        if message["type"] == "websocket.send":
            raise OSError

    socket = WebSocket({"type": "websocket", "path": "/socket", "headers": []}, receive, send)
    asyncio.run(Tab(socket, shop()).live())
    assert coming == []


def test_what_there_is_not_is_refused_with_what_there_is() -> None:
    refused = Refused(no_such("x" * 100, {"b": How("log", True), "a": How("log", True)}))
    assert lines({"error": refused.error}) == (
        "there is no such thing to be asked", "x" * 60, "a; b", "reload the page; it may be older than the program",
    )  # fmt: skip
