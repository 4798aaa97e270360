"""The socket of one tab: questions, deeds, and what the tab is told of what others did."""

from __future__ import annotations

import asyncio
import json
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError
from starlette.websockets import WebSocket, WebSocketDisconnect, WebSocketState

from lugwright.web.lanes import Refused
from lugwright.web.workshop import Workshop

MOST_LETTERS = 200_000  # of a message
MOST_AT_ONCE = 64  # questions of one tab that are not answered yet
LISTENS_WITHIN_S = 30.0  # a tab that takes nothing in for so long is told nothing more


class _Message(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", frozen=True)


Build = Annotated[str, Field(pattern=r"^[a-z0-9-]{1,60}$")]
Copy = Annotated[str, Field(max_length=60)]
Name = Annotated[str, Field(pattern=r"^[a-z_ ]{1,40}$")]


class Hello(_Message):
    """This tab shows a build."""

    t: Literal["hello"]
    build: Build


class Ask(_Message):
    """A question, answered once, lost with the tab."""

    t: Literal["ask"]
    id: Annotated[int, Field(ge=0, le=2**53)]
    what: Name
    build: Build
    copy_: Annotated[Copy, Field(alias="copy")] = ""
    args: dict[str, Any] = Field(default={})


class Deed(_Message):
    """Something to be written: kept by the tab until it is answered, carried out once however often it comes."""

    t: Literal["deed"]
    cid: Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
    what: Name
    build: Build
    copy_: Annotated[Copy, Field(alias="copy")] = ""
    args: dict[str, Any] = Field(default={})


class Cancel(_Message):
    """End what takes long."""

    t: Literal["cancel"]


class There(_Message):
    """A tab asks whether anybody is at the other end: after sleep it cannot know."""

    t: Literal["there?"]


_MESSAGES: TypeAdapter[Hello | Ask | Deed | Cancel | There] = TypeAdapter(
    Annotated[Hello | Ask | Deed | Cancel | There, Field(discriminator="t")]
)


class Tab:
    """One tab's socket."""

    def __init__(self, socket: WebSocket, workshop: Workshop) -> None:
        self._socket, self._shop = socket, workshop
        self._tasks: set[asyncio.Task[None]] = set()
        self._speaking = asyncio.Lock()
        self._deaf = False
        self._deeds = asyncio.Lock()  # one after the other, in the order they came

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
            await self._shop.lanes.cancel_long()
        elif len(self._tasks) >= MOST_AT_ONCE:
            await self.say(_reply(message, {"error": _TOO_MANY, "keep": True}))
        else:
            task = asyncio.create_task(self._deed(message) if isinstance(message, Deed) else self._answer(message))
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)

    async def _deed(self, message: Deed) -> None:
        async with self._deeds:
            await self._answer(message)
        await self._shop.rooms.look_at(message.build) if self._shop.shelf.get(message.build) else None

    async def _answer(self, message: Ask | Deed) -> None:
        def progress(share: float, words: str) -> None:
            told = {"t": "progress", "what": message.what, "share": share, "words": words}
            task = asyncio.create_task(self.say(told))
            self._tasks.add(task)
            task.add_done_callback(self._tasks.discard)

        command = message.cid if isinstance(message, Deed) else ""
        try:
            if await self._shop.lanes.writes(message.what) is (command == ""):
                raise Refused(_WRONG_WAY)
            found = await self._shop.ask(
                message.what, message.build, message.copy_, message.args, command=command, progress=progress
            )
        except Refused as refused:
            await self.say(_reply(message, {"error": refused.error, "keep": refused.keep}))
        else:
            await self.say(_reply(message, {"answer": found}))


def _reply(message: Ask | Deed, rest: dict[str, Any]) -> dict[str, Any]:
    if isinstance(message, Deed):
        return {"t": "done", "cid": message.cid, "what": message.what, **rest}
    return {"t": "answer", "id": message.id, "what": message.what, **rest}


_TOO_MANY = {
    "what": "too much is asked at once",
    "found": f"{MOST_AT_ONCE} things not answered yet",
    "wanted": "fewer",
    "do": "wait a moment",
}
_WRONG_WAY = {
    "what": "a question was sent as a deed, or a deed as a question",
    "found": "the other way round",
    "wanted": "what is written as a deed, what is not as a question",
    "do": "reload the page; it may be older than the program",
}
