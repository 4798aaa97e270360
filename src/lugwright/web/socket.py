"""The socket of one tab: questions, deeds, and what the tab is told of what others did."""

from __future__ import annotations

import asyncio
import json
from collections import defaultdict
from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError
from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from lugwright.web.asked.asked import LONG
from lugwright.web.call import Call, telling
from lugwright.web.lanes import How, Refused
from lugwright.web.workshop import Workshop

MOST_LETTERS = 200_000  # of a message
MOST_AT_ONCE = 64  # questions of one tab that are not answered yet
LISTENS_WITHIN_S = 30.0  # a tab that takes nothing in for so long is told nothing more


class _Message(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


Build = Annotated[str, Field(pattern=r"^[a-z0-9-]{1,60}$")]
Copy = Annotated[str, Field(max_length=60)]
Name = Annotated[str, Field(pattern=r"^[a-z_ ]{1,40}$")]
Cid = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]


class Hello(_Message):
    """This tab shows a build."""

    t: Literal["hello"]
    build: Build


class _Order(_Message):
    """Something that is answered: what, of which build and copy, and what comes with it."""

    what: Name
    build: Build
    copy_: Annotated[Copy, Field(alias="copy")] = ""
    args: dict[str, Any] = Field(default={})


class Ask(_Order):
    """A question, answered once, lost with the tab."""

    t: Literal["ask"]
    id: Annotated[int, Field(ge=0, le=2**53)]


class Deed(_Order):
    """Something to be written: kept by the tab until it is answered, carried out once however often it comes."""

    t: Literal["deed"]
    cid: Cid


class Errand(_Order):
    """Something that takes long: goes on without the tab, no deed waits behind it, done once however often it comes."""

    t: Literal["errand"]
    cid: Cid


class Cancel(_Message):
    """End what this tab has asked for, if it takes long."""

    t: Literal["cancel"]
    what: Name
    build: Build
    copy_: Annotated[Copy, Field(alias="copy")] = ""


class There(_Message):
    """A tab asks whether anybody is at the other end: after sleep it cannot know."""

    t: Literal["there?"]


_MESSAGES: TypeAdapter[Hello | Ask | Deed | Errand | Cancel | There] = TypeAdapter(
    Annotated[Hello | Ask | Deed | Errand | Cancel | There, Field(discriminator="t")]
)
Asking = Ask | Deed | Errand
_KINDS: dict[type[_Message], Callable[[How], bool]] = {
    Ask: lambda how: not how.writes,
    Deed: lambda how: how.writes and how.lane != LONG,  # others would wait behind it
    Errand: lambda how: how.lane == LONG,
}


class Tab:
    """One tab's socket."""

    def __init__(self, socket: WebSocket, workshop: Workshop) -> None:
        self._socket, self._shop = socket, workshop
        self._tasks: set[asyncio.Task[None]] = set()
        self._speaking = asyncio.Lock()
        self._deaf = False
        # one after the other in each lane, in the order they came
        self._deeds: dict[str, asyncio.Lock] = defaultdict(asyncio.Lock)
        self._calls: dict[Call, tuple[str, str, str]] = {}  # what takes long and is waited for here

    async def live(self) -> None:
        """Answer until the tab is closed."""
        try:
            await self._socket.accept()
            while self._socket.application_state == WebSocketState.CONNECTED:  # an answer may have found it closed
                await self._hear(await self._socket.receive_text())
        except (WebSocketDisconnect, KeyError):  # KeyError: bytes, which no page of ours sends
            pass
        finally:
            self._shop.rooms.leave(self.say)
            for task in self._tasks:
                task.cancel()

    async def say(self, message: dict[str, Any]) -> None:
        """Send a message."""
        text = json.dumps(message, allow_nan=False)
        try:
            async with asyncio.timeout(LISTENS_WITHIN_S), self._speaking:
                if self._socket.application_state == WebSocketState.CONNECTED and not self._deaf:
                    await self._socket.send_text(text)
        except TimeoutError:  # it takes nothing in: nobody is to wait for it, and it asks anew when it wakes up
            self._say_no_more()
        except WebSocketDisconnect:  # closed while this was on its way
            self._say_no_more()

    def _say_no_more(self) -> None:
        self._deaf = True
        self._shop.rooms.leave(self.say)

    async def _hear(self, text: str) -> None:
        if len(text) > MOST_LETTERS:
            await self._socket.close(1009)
            raise WebSocketDisconnect(1009)
        try:
            message = _MESSAGES.validate_json(text)
        except ValidationError as error:
            first = error.errors(include_url=False, include_input=False)[0]
            await self.say({"t": "not understood", "found": first["msg"][:200]})
            return
        if isinstance(message, Hello):
            self._shop.rooms.leave(self.say)
            if self._shop.shelf.get(message.build):
                self._shop.rooms.enter(message.build, self.say)
        elif isinstance(message, There):
            await self.say({"t": "here"})
        elif isinstance(message, Cancel):
            meant = message.what, message.build, message.copy_
            for call in [call for call, asked in self._calls.items() if asked == meant]:
                call.end()
        elif len(self._tasks) >= MOST_AT_ONCE:
            await self.say(_reply(message, {"error": _TOO_MANY, "keep": True}))
        else:
            self._do(self._answer(message))

    def _do(self, work: Coroutine[Any, Any, None]) -> None:
        """Have something done beside the hearing."""
        task = asyncio.create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def _answer(self, message: Asking) -> None:
        try:
            how = await self._shop.lanes.how(message.what)
            if how is not None and not _KINDS[type(message)](how):
                raise Refused(_WRONG_WAY)
            lane = how.lane if how is not None else ""
            found = await self._found(message, lane)
        except Refused as refused:
            rest = {"error": refused.error, "keep": refused.keep, "stopped": refused.stopped}
            await self.say(_reply(message, rest))
        else:
            await self.say(_reply(message, {"answer": found}))
        if not isinstance(message, Ask) and self._shop.shelf.get(message.build):
            await self._shop.rooms.look_at(message.build)

    async def _found(self, message: Asking, lane: str) -> Any:
        """Return the answer; what takes long can be cancelled until then."""

        def tell(told: dict[str, Any]) -> None:
            about = {"what": message.what, "build": message.build, "copy": message.copy_}
            self._do(self.say({**told, **about}))

        if isinstance(message, Errand):
            errand = self._shop.errands.errand(message.cid, lambda call: self._asked(message, call))
            with self._waited_for(message, errand.call):
                return await errand.answer(tell)
        call = telling(tell, waits=lane == LONG)
        if isinstance(message, Deed):
            async with self._deeds[lane]:
                return await self._asked(message, call)
        if lane != LONG:
            return await self._asked(message, call)
        with self._waited_for(message, call):
            return await self._asked(message, call)

    async def _asked(self, message: Asking, call: Call) -> Any:
        command = "" if isinstance(message, Ask) else message.cid
        return await self._shop.ask(
            message.what, message.build, message.copy_, message.args, command=command, call=call
        )

    @contextmanager
    def _waited_for(self, message: Asking, call: Call) -> Iterator[None]:
        self._calls[call] = message.what, message.build, message.copy_
        try:
            yield
        finally:
            self._calls.pop(call, None)


def _reply(message: Asking, rest: dict[str, Any]) -> dict[str, Any]:
    if isinstance(message, Ask):
        return {"t": "answer", "id": message.id, "what": message.what, **rest}
    return {"t": "done", "cid": message.cid, "what": message.what, **rest}


_TOO_MANY = {
    "what": "too much is asked at once",
    "found": f"{MOST_AT_ONCE} things not answered yet",
    "wanted": "fewer",
    "do": "wait a moment",
}
_WRONG_WAY = {
    "what": "something was sent in the wrong way",
    "found": "a question as a deed, a deed as a question, or the like",
    "wanted": "what is written as a deed, what takes long as an errand, the rest as a question",
    "do": "reload the page; it may be older than the program",
}
