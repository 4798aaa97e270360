"""What a tab is told that asks what there is not, asks the wrong way round, asks too much, or takes nothing in."""

from __future__ import annotations

import asyncio
import json
from pathlib import Path
from typing import Any

import pytest
from starlette.websockets import WebSocket, WebSocketState

from lugwright.web import errands as errands_module
from lugwright.web import socket as socket_module
from lugwright.web.call import Call
from lugwright.web.errands import Errands
from lugwright.web.lanes import How, Refused
from lugwright.web.no_answer import no_such, stopped
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
            await asyncio.sleep(0.001)  # one message after the other, as over a network
            return self._sent.pop(0)
        self.empty.set()
        return await asyncio.Future()

    async def send_text(self, text: str) -> None:
        if self._deaf:
            await asyncio.Future()
        self.told.append(json.loads(text))


HOW = {"look": How("pages", False), "tick": How("log", True), "write": How("meter", True), "search": How("long", False),
       "plan": How("long", True)}  # fmt: skip


class Answers:
    """Lanes that know a few things to be asked, and answer when they are let: all of them, or one kind of thing."""

    def __init__(self) -> None:
        self.free = asyncio.Event()
        self.quick: set[str] = set()
        self.asked: list[str] = []

    async def how(self, what: str) -> How | None:
        return HOW.get(what)

    async def ask(self, what: str, path: Path, copy: str, args: Any, **how: Any) -> Any:
        self.asked.append(what)
        ended = asyncio.get_running_loop().create_future()
        how["call"].ended_by(lambda: ended.set_exception(Refused(stopped(what), stopped=True)))
        if what not in self.quick:
            how["call"].waits("the book of Godwit 40")
            free = asyncio.ensure_future(self.free.wait())
            await asyncio.wait((free, ended), return_when=asyncio.FIRST_COMPLETED)
            free.cancel()
        return ended.result() if ended.done() else args


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
ERRAND: dict[str, Any] = {"t": "errand", "cid": "1" * 32, "what": "plan", "build": "amp"}
CANCEL: dict[str, Any] = {"t": "cancel", "what": "plan", "build": "amp"}


def test_a_build_that_is_not_there_is_named_and_so_are_those_that_are() -> None:
    (answer,) = asyncio.run(told({**ASK, "build": "none"}, count=1))
    assert lines(answer) == (
        "there is no such build on this bench", "none", "amp; other", "go back to the shelf",
    )  # fmt: skip


@pytest.mark.parametrize(
    "sent",
    [
        {**ASK, "what": "tick"},
        {**ASK, "what": "plan"},
        {**DEED, "what": "look"},
        {**DEED, "what": "plan"},
        {**ERRAND, "what": "tick"},
        {**ERRAND, "what": "look"},
    ],
)
def test_questions_deeds_and_errands_are_told_apart(sent: dict[str, Any]) -> None:
    (answer,) = asyncio.run(told(sent, count=1))
    assert lines(answer) == (
        "something was sent in the wrong way", "a question as a deed, a deed as a question, or the like",
        "what is written as a deed, what takes long as an errand, the rest as a question",
        "reload the page; it may be older than the program",
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


def heard(
    *tabs: tuple[dict[str, Any], ...], until: int, quick: str = ""
) -> tuple[list[list[dict[str, Any]]], list[str]]:
    """Return what tabs are told that send these things, one tab after the other, and what the lanes were asked."""

    async def hear() -> tuple[list[list[dict[str, Any]]], list[str]]:
        workshop = shop()
        workshop.lanes.quick = {quick}
        sockets, living = [Socket(*sent) for sent in tabs], []
        for socket in sockets:
            living.append(asyncio.create_task(Tab(socket, workshop).live()))  # type: ignore[arg-type]
            await socket.empty.wait()
        async with asyncio.timeout(20):
            while sum(len(each.told) for each in sockets) < until:
                await asyncio.sleep(0)
        for each in living:
            each.cancel()
        await asyncio.gather(*living, return_exceptions=True)
        return [each.told for each in sockets], workshop.lanes.asked

    return asyncio.run(hear())


WAITS = {"t": "waits", "for": "the book of Godwit 40", "what": "plan", "build": "amp", "copy": ""}


def test_a_tick_does_not_wait_for_what_takes_long_nor_for_a_reading() -> None:
    sent = (ERRAND, {**DEED, "what": "write", "cid": "2" * 32}, DEED)
    (told_of,), asked = heard(sent, until=2, quick="tick")
    assert WAITS in told_of
    assert {"t": "done", "cid": "0" * 32, "what": "tick", "answer": {}} in told_of
    assert asked == ["plan", "write", "tick"]


def test_readings_are_written_in_the_order_in_which_they_came() -> None:
    write = [{**DEED, "what": "write", "cid": f"{k}" * 32} for k in range(3)]
    _, asked = heard((*write, DEED), until=1, quick="tick")
    assert asked == ["write", "tick"]


def test_an_errand_that_comes_again_is_done_once_and_told_of_where_it_is_asked_for() -> None:
    (one, other), asked = heard((ERRAND, ERRAND), (ERRAND,), until=3)
    assert (one, other) == ([WAITS, WAITS], [WAITS])
    assert asked == ["plan"]


def test_a_tab_ends_what_it_has_asked_for_and_nothing_of_another() -> None:
    other = {**ERRAND, "cid": "2" * 32}
    (first, second), asked = heard(
        (ERRAND,), (other, {**CANCEL, "build": "other"}, {**CANCEL, "copy": "2"}, CANCEL), until=3
    )
    assert asked == ["plan", "plan"]
    assert first == [WAITS]
    assert second[0] == WAITS
    assert lines(second[1]) == ("plan was stopped", "stopped by hand", "time to finish", "ask for it again")
    assert (second[1]["cid"], second[1]["stopped"], second[1]["keep"]) == ("2" * 32, True, False)


def test_an_errand_goes_on_when_its_tab_is_gone() -> None:
    async def go() -> tuple[list[str], list[dict[str, Any]]]:
        workshop = shop()
        socket = Socket(ERRAND)
        tab = asyncio.create_task(Tab(socket, workshop).live())  # type: ignore[arg-type]
        async with asyncio.timeout(20):
            while not socket.told:
                await asyncio.sleep(0)
            tab.cancel()
            await asyncio.gather(tab, return_exceptions=True)
            workshop.lanes.free.set()
            again = Socket(ERRAND)
            tab = asyncio.create_task(Tab(again, workshop).live())  # type: ignore[arg-type]
            while not any(each["t"] == "done" for each in again.told):
                await asyncio.sleep(0)
        tab.cancel()
        await asyncio.gather(tab, return_exceptions=True)
        return workshop.lanes.asked, again.told

    asked, told_again = asyncio.run(go())
    assert asked == ["plan"]
    assert told_again[-1] == {"t": "done", "cid": "1" * 32, "what": "plan", "answer": {}}


def test_only_so_many_errands_that_are_done_are_remembered(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(errands_module, "MOST_KEPT", 2)
    begun: list[str] = []

    async def go() -> None:
        errands = Errands()
        for name in ("a", "b", "c", "d", "a", "d"):

            async def begin(call: Call, name: str = name) -> None:
                begun.append(name)

            await errands.errand(name, begin).answer(lambda told: None)

    asyncio.run(go())
    assert begun == ["a", "b", "c", "d", "a"]
